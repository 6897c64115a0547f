package toolset

import (
	"errors"
	"fmt"
	"net/url"
	"strings"
	"time"

	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
)

// dailyRateTool works out the mean daily rate from comparisons with a reference clock.
func dailyRateTool() Tool {
	const rows, clock = "Comparisons", "The reference clock"
	return Tool{
		Slug: "daily-rate", Title: "Average daily rate",
		Purpose: "The mean daily rate of a watch or sea clock over several days, and how it varies, from comparisons with a " +
			"reference clock, such as a customer’s own notes.",
		Fields: []Field{
			{Name: "comparisons", Label: "One comparison a line", Kind: "textarea", Group: rows,
				Hint: "Day, time by the reference, and seconds that the watch is ahead, as 2026-05-01 12:00 +3.5; behind is −. " +
					"Write set at the end where the hands were set just after. Summer time is left out."},
			{Name: "within", Label: "Each read to within", Unit: "± s", Kind: "number", Group: rows, Default: "0.5"},
			{Name: "reference_rate", Label: "Its own rate", Unit: "s/d", Kind: "number", Group: clock, Default: "0",
				Hint: "+ gains. It is added to what the watch seems to do."},
			{Name: "reference_within", Label: "Known to within", Unit: "± s/d", Kind: "number", Group: clock, Default: "0",
				Hint: "0 for a radio or network time signal; a quartz clock keeps about half a second a day (common practice)."},
		},
		Solve: solveDailyRate,
		Formulas: []Formula{
			{"rate = (seconds ahead after − before)/days + the reference’s own rate",
				"The rate of the rate books of sea clocks; a rate is the change of error in a day.",
				"A watch ahead that falls behind loses. From twelve hours on nobody can tell fast from slow."},
			{"mean = all gains/all days; only the first and the last reading remain in it",
				"JCGM 100:2008, 5.2: the readings between cancel; each is rectangular (4.3.7), the reference’s rate is shared.",
				"It says how well those days’ mean is known. How the watch will go is told by the variation."},
			{"variation = mean of |rate − the next one|; scatter = standard deviation of the rates",
				"As criterion V of ISO 3159 takes it of pairs of days.", "Intervals of unlike length are not weighted."},
		},
		Cautions: []string{"A rate from wear mixes positions, temperature and wind: it is no reading in a position."},
	}
}

// mostDailyS bounds how well a clock is read, s, and what a reference may go by itself, s/d.
const mostDailyS = 600

func solveDailyRate(v url.Values) (Answer, map[string]string) {
	bad := map[string]string{}
	number := func(name, unit string, least float64) float64 {
		if figure.Blank(v.Get(name)) {
			return 0
		}
		n, err := figure.Parse(v.Get(name), unit)
		switch {
		case err != nil:
			bad[name] = figure.Sentence(err, "Give a figure such as 0.5.")
		case n.Float() < least || n.Float() > mostDailyS:
			bad[name] = fmt.Sprintf("Give a figure from %s to %d.", placesText(least, 0), mostDailyS)
		}
		if bad[name] != "" {
			return 0
		}
		return n.Float()
	}
	within := number("within", "s", 0)
	reference := metrology.Value{Value: number("reference_rate", "s/d", -mostDailyS), Unit: timing.UnitSPerDay,
		StdUncertainty: metrology.FromHalfWidth(number("reference_within", "s/d", 0))}
	list, why := readComparisons(v.Get("comparisons"), within)
	if why != "" {
		bad["comparisons"] = why
	}
	if len(bad) > 0 {
		return Answer{}, bad
	}
	got, err := timing.DailyRatesOf(list, reference)
	var wrong *timing.OffsetError
	if errors.As(err, &wrong) {
		says := wrong.Why
		if wrong.Row > 0 {
			says = fmt.Sprintf("Comparison %d: %s", wrong.Row, wrong.Why)
		}
		return Answer{}, map[string]string{"comparisons": says}
	}
	return dailyRateAnswer(got, reference), nil
}

// readComparisons reads a line each; empty lines are left out.
func readComparisons(typed string, within float64) (list []timing.Offset, why string) {
	for line := range strings.Lines(typed) {
		words := strings.Fields(line)
		if len(words) == 0 {
			continue
		}
		o := timing.Offset{HalfS: within}
		if last := len(words) - 1; strings.EqualFold(words[last], "set") {
			o.HandsSet, words = true, words[:last]
		}
		says := fmt.Sprintf("Line %q: give day, time and seconds ahead, as 2026-05-01 12:00 +3.5.", strings.TrimSpace(line))
		if len(words) < 3 {
			return nil, says
		}
		at, err := time.Parse("2006-01-02 15:04:05", words[0]+" "+words[1])
		if err != nil {
			at, err = time.Parse("2006-01-02 15:04", words[0]+" "+words[1])
		}
		n, bad := figure.Parse(strings.Join(words[2:], " "), "s")
		if err != nil || bad != nil {
			return nil, says
		}
		o.At, o.FastS = at, n.Float()
		list = append(list, o)
	}
	return list, ""
}

func dailyRateAnswer(d timing.DailyRates, reference metrology.Value) Answer {
	days := figure.Places(toPlaces(d.Days, 1), 1)
	a := Answer{Finding: fmt.Sprintf("Mean daily rate %s over %s days (%d intervals).", d.Mean.FormatSigned(), days,
		len(d.Intervals))}
	a.Add("Mean daily rate", d.Mean.FormatSigned(), "k = 2, over "+days+" days; the readings and the reference clock only.")
	if reference.Value != 0 {
		a.Add("Of that the reference", reference.FormatSigned(), "Its own rate, added.")
	}
	if d.Variation != nil {
		variation, scatter := placesText(*d.Variation, 2)+" s/d", placesText(*d.Scatter, 2)+" s/d"
		a.Add("Variation", variation, "Mean difference of a rate and the next.")
		a.Add("Scatter", scatter, "Standard deviation of the rates.")
		a.Add("Farthest from the mean", d.Greatest.Rate.FormatSigned(), "Up to "+d.Greatest.To.Format("2006-01-02 15:04")+".")
		a.Finding += " Variation " + variation + ", scatter " + scatter + "."
	}
	t := Table{Caption: "From comparison to comparison", Head: []string{"From", "To", "Days", "Rate, s/d", "±, k = 2"}}
	for _, i := range d.Intervals {
		t.Rows = append(t.Rows, []string{i.From.Format("2006-01-02 15:04"), i.To.Format("2006-01-02 15:04"),
			placesText(i.Days, 2), signedPlaces(i.Rate.Value, 2), placesText(i.Rate.Expanded(), 2)})
	}
	a.Tables = []Table{t}
	return a
}
