package toolset

import (
	"fmt"
	"math/big"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
	"ledgerwheel/domain/train"
	"ledgerwheel/domain/watch"
	"ledgerwheel/web/chart"
)

// What can be counted, by the option's value.
var countedKinds = map[string]train.Counted{"ticks": train.CountTicks, "turns": train.CountTurns,
	"teeth": train.CountTeeth}

// countingTool leads from a timed count to the beat.
func countingTool() Tool {
	const count, wheel, check = "The count", "Where a wheel was counted", "To check against"
	return Tool{
		Slug: "counting", Title: "Counting check",
		Purpose: "From a timed count of ticks, or of a wheel’s turns or teeth, to the beats per hour, and which of the " +
			"usual beats the count allows.",
		Fields: []Field{
			{Name: "of", Label: "Counted were", Kind: "select", Group: count, Default: "ticks",
				Options: [][2]string{{"ticks", "ticks"}, {"turns", "turns of a wheel"}, {"teeth", "teeth of a wheel that passed"}}},
			{Name: "number", Label: "How many", Kind: "number", Group: count, Hint: "Call the first one 0, so that gaps " +
				"are counted."},
			{Name: "within", Label: "It may be off by", Unit: "±", Kind: "number", Group: count, Default: "1"},
			{Name: "seconds", Label: "Time that it took", Unit: "s", Kind: "number", Group: count},
			{Name: "within_s", Label: "The time may be off by", Unit: "± s", Kind: "number", Group: count, Default: "0.5",
				Hint: "Two presses of a stopwatch by hand are good to half a second."},
			{Name: "rate", Label: "The watch may be off rate by", Unit: "± s/d", Kind: "number", Group: count, Default: "300",
				Hint: "A usual beat this near is allowed."},
			{Name: "train", Label: "Train", Group: wheel, Hint: "As 80:10,75:10,80:8,15. Not needed for ticks; with it, what " +
				"was counted is set against the train."},
			{Name: "arbor", Label: "The wheel counted", Kind: "select", Group: wheel, Default: "4",
				Options: [][2]string{{"2", "centre (second)"}, {"3", "third"}, {"4", "fourth"},
					{"5", "the fifth arbor: mostly the escape wheel"}, {"6", "the sixth arbor"}}},
			{Name: "beats_per_hour", Label: "Beats per hour it should have", Kind: "number", Group: check,
				Hint: "May stay empty."},
		},
		Solve: solveCounting, Fill: fillCounting,
		Formulas: []Formula{
			{"beats per hour = number · beats for each · 3600 / seconds; for each tick 1, for a turn 2 · escape teeth · " +
				"wheels / pinions from that arbor on, for a tooth that over the wheel’s teeth",
				"The train formula read from the arbor that was counted.",
				"What turns once an hour doesn’t enter, so a wrong motion work or cannon pinion can’t mislead."},
			{"least = (number − a) · … / (seconds + b), greatest = (number + a) · … / (seconds − b)",
				"Interval arithmetic, exact fractions.",
				"Sure as long as a and b are: count longer rather than trust a smaller a."},
			{"u = beats/√3 · √((a/number)² + (b/seconds)²), shown as ± 2u", "JCGM 100:2008, 4.3.7 and 5.1.2: rectangular " +
				"limits combined in quadrature.", "Small relative limits; near them the interval above is the better guide."},
			{"usual beats: 14400, 16200, 18000, 19800, 21600, 25200, 28800, 36000", "Common practice.",
				"A rare watch has another; the interval says so."},
		},
		Cautions: goingTrainCautions,
	}
}

func fillCounting(c watch.Calibre) url.Values {
	v := url.Values{}
	if c.Train != "" {
		v.Set("train", c.Train)
	}
	if c.BeatsPerHour > 0 {
		v.Set("beats_per_hour", strconv.Itoa(c.BeatsPerHour))
	}
	return v
}

// countAsked is what was typed of a count.
type countAsked struct {
	count  train.Count
	train  *train.Train // nil when none is given
	stated *big.Rat     // nil when none is given
}

func readCounting(v url.Values) (countAsked, map[string]string) {
	bad := map[string]string{}
	number := func(name string) *big.Rat {
		if figure.Blank(v.Get(name)) {
			return nil
		}
		n, err := figure.Parse(v.Get(name), "s", timing.UnitSPerDay)
		if err != nil {
			bad[name] = "Give a figure such as 300 or 0.5."
			return nil
		}
		return n.Rat()
	}
	a := countAsked{count: train.Count{Of: countedKinds[v.Get("of")], Number: number("number"), Within: number("within"),
		Seconds: number("seconds"), WithinS: number("within_s"), RateSPerDay: number("rate")}}
	for name, says := range a.count.Problems() {
		if bad[name] == "" {
			bad[name] = says
		}
	}
	var problem string
	if a.stated, problem = readStatedBeat(v); problem != "" {
		bad["beats_per_hour"] = problem
	}
	switch line := strings.TrimSpace(v.Get("train")); {
	case line != "":
		t, problems := readTrainLine(line)
		if len(problems) == 0 {
			problems = underTrain(t.Problems())
		}
		for _, says := range problems {
			bad["train"] = says
		}
		a.train = &t
	case a.count.Of != train.CountTicks:
		bad["train"] = "Give the train: a wheel’s turns are worth as many beats as the counts behind it make."
	}
	if a.count.Of != train.CountTicks {
		a.count.Arbor, _ = strconv.Atoi(v.Get("arbor")) // 0 is no arbor, which is said
		if a.train != nil && bad["train"] == "" {
			if _, ok := a.train.BeatsPerTurn(a.count.Arbor); !ok {
				bad["arbor"] = "The train has no such arbor: choose another."
			}
		}
	}
	return a, bad
}

func solveCounting(v url.Values) (Answer, map[string]string) {
	asked, bad := readCounting(v)
	if len(bad) > 0 {
		return Answer{}, bad
	}
	var t train.Train
	if asked.train != nil {
		t = *asked.train
	}
	found, err := asked.count.Solve(t)
	if err != nil {
		return Answer{}, map[string]string{"arbor": "The train has no such arbor: choose another."}
	}
	best, _ := found.BeatsPerHour.Float64()
	figure := metrology.Value{Value: best, StdUncertainty: found.StandardBeatsPerHour, Unit: "beats per hour"}
	least, most := found.Low.FloatString(0), found.High.FloatString(0)
	allowed := allowedWords(found.Allowed)
	a := Answer{Rows: []Row{
		{"Beat by the count", figure.Format(), "k = 2"},
		{"Limits of the count", least + " to " + most + " beats per hour",
			"with the count and the time off by as much as they may be"},
		{"Usual beats that it allows", allowed, "with the watch up to " + train.Words(asked.count.RateSPerDay) +
			" s/d off rate"},
	}}
	a.Finding = fmt.Sprintf("Counted %s in %s s: %s; of the usual beats it allows %s.", countedWords(asked),
		train.Words(asked.count.Seconds), figure.Format(), allowed)
	if asked.stated != nil {
		a.Rows = append(a.Rows, Row{"The beat it should have", train.Words(asked.stated), fits(found, asked.stated)})
	}
	if asked.train != nil {
		a.Rows = append(a.Rows, Row{"The beat by the train", train.Words(t.Beats()), fits(found, t.Beats())})
	}
	a.Drawing = countDrawing(asked, found)
	if len(found.Allowed) == 1 {
		a.Correction = map[string]string{"beats_per_hour": strconv.Itoa(found.Allowed[0])}
	} else if len(found.Allowed) > 1 {
		a.Rows = append(a.Rows, Row{"To look at", "More than one beat is allowed: count for longer.", ""})
	}
	return a, nil
}

// countDrawing sets the count among the usual beats.
func countDrawing(asked countAsked, found train.Counting) chart.BeatScale {
	near := func(r *big.Rat) float64 { f, _ := r.Float64(); return f }
	d := chart.BeatScale{ID: "counting-drawing", Title: "The count among the usual beats", Best: near(found.BeatsPerHour),
		Low:  near(found.Low),
		High: near(found.High), Usual: train.UsualBeats(), Allowed: found.Allowed}
	if asked.train != nil {
		d.Facts = append(d.Facts, chart.Fact{Name: "by the train", Value: train.Words(asked.train.Beats()) +
			" beats per hour"})
	}
	if asked.stated != nil {
		d.Facts = append(d.Facts, chart.Fact{Name: "it should have", Value: train.Words(asked.stated) + " beats per hour"})
	}
	return d
}

// fits says whether a beat is one that the count allows.
func fits(found train.Counting, beat *big.Rat) string {
	if beat.IsInt() && beat.Num().IsInt64() && slices.Contains(found.Allowed, int(beat.Num().Int64())) ||
		beat.Cmp(found.Low) >= 0 && beat.Cmp(found.High) <= 0 {
		return "the count allows it"
	}
	return "the count doesn’t allow it"
}

func allowedWords(beats []int) string {
	if len(beats) == 0 {
		return "none"
	}
	var words []string
	for _, b := range beats {
		words = append(words, strconv.Itoa(b))
	}
	return strings.Join(words, ", ")
}

// countedWords says what was counted: 300 ticks, 5 turns of the fourth wheel.
func countedWords(a countAsked) string {
	number := train.Words(a.count.Number)
	if a.count.Of == train.CountTicks {
		return number + " ticks"
	}
	what := "turns"
	if a.count.Of == train.CountTeeth {
		what = "teeth"
	}
	return fmt.Sprintf("%s %s of the %s wheel", number, what, a.train.Arbors()[a.count.Arbor-2].Name)
}
