package trial

import (
	"errors"
	"fmt"
	"strings"
	"time"

	"ledgerwheel/domain/chronometer"
	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/timing"
)

// Entry is what was noted at the end of one day; day 0 is the comparison that day 1 begins with.
type Entry struct {
	Day              int
	Rate             *timing.Figure // s/d, by instrument
	Compared         *Compared      // by comparison
	Position         timing.Position
	TemperatureC     *float64  // nil when not noted
	FunctionsEngaged *bool     // of day 10
	ReadAt           time.Time // by comparison it is that of the reference
	Note             string
	// Asked is what was asked about its figures when they were typed, and who confirmed it, by form field.
	Asked map[string]string
}

// Compared is one reading of the watch against a reference clock.
type Compared struct {
	Reference, Watch time.Time
	WithinS          float64 // half-width of how well both were read together, s, rectangular
}

// State is StateS with the uncertainty of reading both clocks together.
func (c Compared) State() metrology.Value {
	return metrology.Value{Value: c.StateS(), StdUncertainty: metrology.FromHalfWidth(c.WithinS), Unit: "s"}
}

// StateS is what the watch shows less the reference, in s; plus is fast.
func (c Compared) StateS() float64 { return c.Watch.Sub(c.Reference).Seconds() }

const maxWithinS = 60.0

// Problems says by form field why e can't be noted at the moment now. Rates that don't follow from the comparisons of
// neighbouring days are told by TogetherProblems.
func (e Entry) Problems(p Plan, now time.Time) map[string]string {
	bad := map[string]string{}
	if e.Day < p.FirstNoted() || e.Day > chronometer.Days {
		bad["day"] = fmt.Sprintf("Choose a day from %d to %d.", p.FirstNoted(), chronometer.Days)
	}
	e.figureProblems(p, bad)
	if !e.Position.Valid() {
		bad["position"] = "Choose the position in which the watch spent the day."
	}
	record := chronometer.DayRecord{Day: max(1, e.Day), TemperatureC: e.TemperatureC}
	for field, why := range (chronometer.Trial{Category: chronometer.Category1, Days: []chronometer.DayRecord{
		record}}).Problems() {
		if strings.HasSuffix(field, "_temperature") {
			bad["temperature"] = why
		}
	}
	const slack = time.Minute // clocks of the shop and of the computer
	switch due := p.DueAt(e.Day, time.UTC); {
	case e.ReadAt.IsZero():
		bad["read_time"] = "Give the day and the time of the reading."
	case e.ReadAt.After(now.Add(slack)):
		bad["read_time"] = "This lies in the future. A day is noted when it has been read."
	case e.ReadAt.Sub(due).Abs() > maxOffDue:
		bad["read_time"] = fmt.Sprintf("The reading of day %d falls due on %s; this lies more than three days from it.",
			e.Day, due.Format("2 January 2006"))
	}
	if text.TooLong(e.Note, maxNote) {
		bad["note"] = fmt.Sprintf("Use at most %d characters.", maxNote)
	}
	return bad
}

// maxOffDue tells a late reading, of which the programme warns, from one of another day.
const maxOffDue = 72 * time.Hour

func (e Entry) figureProblems(p Plan, bad map[string]string) {
	if p.Method == ByComparison {
		switch c := e.Compared; {
		case c == nil || c.Watch.IsZero() || c.Reference.IsZero():
			bad["watch_time"] = "Give what the watch showed."
		case !(c.WithinS > 0 && c.WithinS <= maxWithinS):
			bad["within"] = "Give seconds above 0, at most 60."
		}
		return
	}
	switch {
	case e.Rate == nil:
		bad["rate"] = "Give the rate of the day."
	default:
		if err := new(chronometer.Rates).Set(1, *e.Rate); err != nil {
			bad["rate"] = "Give a rate from −9999 to +9999 s/d."
		}
	}
}

// With returns the entries with e in its place, in order of days.
func With(entries []Entry, e Entry) []Entry {
	var list []Entry
	placed := false
	for _, old := range entries {
		if !placed && old.Day >= e.Day {
			list, placed = append(list, e), true
		}
		if old.Day != e.Day {
			list = append(list, old)
		}
	}
	if !placed {
		list = append(list, e)
	}
	return list
}

// TogetherProblems says by form field what of the entries does not go together, after the entry of day was noted.
func TogetherProblems(entries []Entry, day int) map[string]string {
	bad := map[string]string{}
	var wrong *chronometer.ComparisonError
	_, err := Record(Plan{}, entries, time.UTC).Rates()
	if errors.As(err, &wrong) {
		bad["watch_time"] = wrong.Why
		if wrong.Day != day {
			bad["watch_time"] = fmt.Sprintf("It does not go with the comparison of day %d. %s", wrong.Day, wrong.Why)
		}
	}
	return bad
}

// Edit is one thing that a correction changed.
type Edit struct{ What, From, To string }

// Edits lists what differs between two states of one day; moments are written by RFC 3339.
func Edits(before, after Entry) []Edit {
	var edits []Edit
	b, a := before.terms(), after.terms()
	for i := range a {
		if a[i].text != b[i].text {
			edits = append(edits, Edit{a[i].what, b[i].text, a[i].text})
		}
	}
	return edits
}

type term struct{ what, text string }

// terms are the parts of an entry in words, always the same ones in the same order.
func (e Entry) terms() []term {
	list := []term{{"rate, s/d", ""}, {"reference", ""}, {"watch less reference, s", ""}, {"read within, s", ""},
		{"position", string(e.Position)},
		{"temperature, °C", ""}, {"functions engaged", ""}, {"read at", e.ReadAt.UTC().Format(time.RFC3339)},
		{"note", e.Note}}
	if e.Rate != nil {
		list[0].text = e.Rate.Text(timing.Rate)
	}
	if c := e.Compared; c != nil {
		list[1].text = c.Reference.UTC().Format(time.RFC3339Nano)
		list[2].text, list[3].text = figure.Printed(figure.Plain(c.StateS()), true), figure.Plain(c.WithinS)
	}
	if e.TemperatureC != nil {
		list[5].text = figure.Shown(*e.TemperatureC)
	}
	if e.FunctionsEngaged != nil {
		list[6].text = map[bool]string{true: "yes", false: "no"}[*e.FunctionsEngaged]
	}
	return list
}

// Was says what a corrected entry read before, of what a bulletin prints, as in "+2.3 s/d", "29 °C", "6H"; nothing where nothing of
// that changed. notNoted stands for a temperature that was not.
func (e Entry) Was(before Entry, notNoted string) []string {
	var was []string
	if before.Text() != e.Text() {
		was = append(was, before.Text())
	}
	b, a := before.terms(), e.terms()
	if b[5].text != a[5].text {
		if was = append(was, notNoted); b[5].text != "" {
			was[len(was)-1] = b[5].text + " °C"
		}
	}
	if before.Position != e.Position {
		was = append(was, string(before.Position))
	}
	return was
}

// Text says in a few words what was read.
func (e Entry) Text() string {
	switch {
	case e.Rate != nil:
		return e.Rate.Text(timing.Rate) + " s/d"
	case e.Compared != nil:
		return "watch less reference " + e.Compared.State().FormatSigned()
	}
	return "nothing"
}
