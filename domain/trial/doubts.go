package trial

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"ledgerwheel/domain/chronometer"
	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
)

// What is typed of a day is looked at once, before it is noted. A watch on trial was adjusted for it, so its daily rates
// lie near one another; a slip of the hand, such as a digit too many, lies far off. The bounds are this program's own,
// chosen so that TestPlausibleTrialsAreSeldomAsked and TestSlipsOfATrialAreAsked come out as they say; the standard has
// none.
const (
	doubtSpreads = 5.0 // of the other days
	// doubtRateS is how far from the other days a rate lies at least before it is asked about, s/d; on the cold and the
	// warm day, which may differ by 15 °C times a few tenths of s/d per °C, it is doubtThermalS.
	doubtRateS, doubtThermalS = 15.0, 25.0
	// doubtMostS is how far off a rate may lie at most, however the other days differ.
	doubtMostS = 35.0
	// doubtFirstS is how far from nothing a rate lies while there are fewer than leastDays others.
	doubtFirstS = 60.0
	leastDays   = 3
	// doubtOff is how far from its time a reading may be: beyond it the programme counts the day as read too late.
	doubtOff = time.Hour
	// doubtCelsius is how far from the programme's a temperature may be: 32 for 23 is farther, a poor chamber is not.
	doubtCelsius = 5.0
)

// Doubts returns a question, in a sentence or two, for each thing typed of a day that looks like a slip of the hand, by
// form field: "rate" or "watch_time", "read_time" and "temperature". Entries are those noted so far; what the day's own
// entry among them says already is not asked about again.
func (e Entry) Doubts(p Plan, entries []Entry, zone *time.Location) map[string]string {
	asked := map[string]string{}
	before := e.among(entries)
	if e.Rate != nil && (before.Rate == nil || before.Rate.InputText(timing.Rate) != e.Rate.InputText(timing.Rate)) ||
		e.Compared != nil && (before.Compared == nil || *before.Compared != *e.Compared) {
		if why := e.rateDoubt(p, entries, zone); why != "" {
			asked[map[bool]string{true: "watch_time", false: "rate"}[p.Method == ByComparison]] = why
		}
	}
	due := p.DueAt(e.Day, zone)
	if off := e.ReadAt.Sub(due); off.Abs() > doubtOff && !before.ReadAt.Equal(e.ReadAt) {
		word := map[bool]string{true: "after", false: "before"}[off > 0]
		asked["read_time"] = fmt.Sprintf("The reading was due at %s; this is %s %s it. Was it read then?",
			due.In(zone).Format("15:04"), spanWords(off.Abs()), word)
	}
	if want, ok := chronometer.DayOf(max(1, e.Day)); ok && e.TemperatureC != nil &&
		math.Abs(*e.TemperatureC-want.TemperatureC) > doubtCelsius &&
		(before.TemperatureC == nil || *before.TemperatureC != *e.TemperatureC) {
		asked["temperature"] = fmt.Sprintf("The programme asks for %s °C; this is %s °C. Is it so?",
			figure.Shown(want.TemperatureC), figure.Shown(*e.TemperatureC))
	}
	return asked
}

// Confirm keeps with e what was asked about its figures, by form field, and who confirmed it; and what was confirmed
// before of figures that stay as they were among the entries.
func (e Entry) Confirm(questions map[string]string, by string, entries []Entry) Entry {
	before := e.among(entries)
	kept := map[string]string{}
	for field, text := range before.Asked {
		if e.says(field) == before.says(field) {
			kept[field] = text
		}
	}
	for field, question := range questions {
		kept[field] = timing.ConfirmedText(question, by)
	}
	e.Asked = kept
	return e
}

// AskedText is what was asked about e's figures, in the order of the form.
func (e Entry) AskedText() string {
	var texts []string
	for _, field := range []string{"rate", "watch_time", "read_time", "temperature"} {
		if text := e.Asked[field]; text != "" {
			texts = append(texts, text)
		}
	}
	return strings.Join(texts, " ")
}

// says is what stands in a field that may be asked about.
func (e Entry) says(field string) string {
	list := e.terms()
	switch field {
	case "rate":
		return list[0].text
	case "watch_time":
		return list[1].text + " " + list[2].text
	case "temperature":
		return list[5].text
	}
	return list[7].text
}

// among is what the entries say of e's day; nothing where they don't.
func (e Entry) among(entries []Entry) Entry {
	if i := slices.IndexFunc(entries, func(x Entry) bool { return x.Day == e.Day }); i >= 0 {
		return entries[i]
	}
	return Entry{}
}

// rateDoubt says why the rates that follow from e look like a slip, or "". A comparison settles the rate of its own day
// and that of the next.
func (e Entry) rateDoubt(p Plan, entries []Entry, zone *time.Location) string {
	rates, err := Record(p, With(entries, e), zone).Rates()
	if err != nil {
		return "" // TogetherProblems tells it
	}
	for _, day := range []int{e.Day, e.Day + 1} {
		if day > e.Day && e.Compared == nil {
			break
		}
		rate, known := rates.Rate(day)
		if !known {
			continue
		}
		var others []float64
		for _, other := range rates.Known() {
			if v, _ := rates.Rate(other); other != day && (other <= e.Day || e.Compared == nil) {
				others = append(others, v.Value)
			}
		}
		if why := doubtOfRate(day, rate, others); why != "" {
			return why
		}
	}
	return ""
}

func doubtOfRate(day int, rate metrology.Value, others []float64) string {
	said := figure.Signed(rate.Value, 1)
	if len(others) < leastDays {
		if math.Abs(rate.Value) <= doubtFirstS {
			return ""
		}
		return fmt.Sprintf("That makes %s s/d on day %d, much for a watch on trial. Is it so?", said, day)
	}
	middle, spread := metrology.Middle(others)
	least := doubtRateS
	if want, _ := chronometer.DayOf(day); want.TemperatureC != chronometer.SettlingTemperatureC {
		least = doubtThermalS
	}
	if math.Abs(rate.Value-middle) <= math.Max(least, math.Min(doubtSpreads*spread, doubtMostS)) {
		return ""
	}
	return fmt.Sprintf("That makes %s s/d on day %d, far from the other days, whose middle is %s s/d. Is it so?", said, day,
		figure.Signed(middle, 1))
}

// spanWords writes a span of time to the minute.
func spanWords(d time.Duration) string {
	minutes := int(d.Round(time.Minute).Minutes())
	if minutes < 60 {
		return fmt.Sprintf("%d min", minutes)
	}
	return fmt.Sprintf("%d h %d min", minutes/60, minutes%60)
}
