package timing

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"unicode/utf8"
)

// Kind says at what point of a docket a run was taken.
type Kind string

// The kinds of run.
const (
	AsReceived   Kind = "as received"
	AfterService Kind = "after service"
	Adjustment   Kind = "adjustment" // numbered by Run.Adjustment
	Final        Kind = "final"
)

// Kinds returns the kinds in the order they are taken in.
func Kinds() []Kind { return []Kind{AsReceived, AfterService, Adjustment, Final} }

// Run is a set of readings taken together.
type Run struct {
	Kind       Kind
	Adjustment int     // 1, 2, …, of an adjustment; 0 for the other kinds
	Label      string  // the shop's own note, may be empty
	CrownHour  int     // where the crown sits, 1 to 12
	Touched    []Touch // before an adjustment; empty where nobody said
	Readings   []Reading
}

// Title names the run: "as received", "after adjustment 2", "final".
func (r Run) Title() string {
	if r.Kind == Adjustment {
		return fmt.Sprintf("after adjustment %d", r.Adjustment)
	}
	return string(r.Kind)
}

// States returns the run's states of wind, in hours after winding, each once, least first.
func (r Run) States() []float64 { return states(r.Readings) }

// Reading returns the reading in position p at the state of wind hours.
func (r Run) Reading(p Position, hours float64) (Reading, bool) {
	for _, reading := range r.Readings {
		if reading.Position == p && sameHours(reading.HoursAfterWinding, hours) {
			return reading, true
		}
	}
	return Reading{}, false
}

// Averaged returns the run with repeated readings of one cell drawn together: the mean of each figure, its stated
// uncertainty that of a mean of independent readings. It is what limits are held against.
func (r Run) Averaged() Run {
	repeated := false
	for _, x := range r.Readings {
		repeated = repeated || x.Repeat > 0
	}
	if !repeated {
		return r
	}
	out := r
	out.Readings = nil
	for _, first := range r.Readings {
		if _, had := out.Reading(first.Position, first.HoursAfterWinding); had {
			continue
		}
		mean := first
		mean.Repeat = 0
		for _, q := range Quantities() {
			mean.SetFigure(q, r.meanFigure(first, q))
		}
		out.Readings = append(out.Readings, mean)
	}
	return out
}

// meanFigure is the mean of one figure over the repeats of a reading, nil where none has it.
func (r Run) meanFigure(like Reading, q Quantity) *Figure {
	sum, squares, n := 0.0, 0.0, 0.0
	var out Figure
	for _, x := range r.Readings {
		f := x.Figure(q)
		if f == nil || x.Position != like.Position || !sameHours(x.HoursAfterWinding, like.HoursAfterWinding) {
			continue
		}
		if n == 0 {
			out = *f
		}
		sum, squares, n = sum+f.Value, squares+f.StdUncertainty*f.StdUncertainty, n+1
	}
	if n == 0 {
		return nil
	}
	out.Value, out.StdUncertainty = sum/n, math.Sqrt(squares)/n
	return &out
}

// Problems says, by form field, what stops r being saved: "kind", "adjustment", "label", "touched", "crown_hour",
// "readings";
// for a figure its FieldName; and for anything else about one reading "cell-" and its CellName.
func (r Run) Problems() map[string]string {
	bad := map[string]string{}
	switch {
	case !validKind(r.Kind):
		bad["kind"] = "Choose as received, after service, adjustment or final."
	case r.Kind == Adjustment && !(r.Adjustment >= 1 && r.Adjustment <= 999):
		bad["adjustment"] = "Number the adjustment, 1 to 999."
	case r.Kind != Adjustment && r.Adjustment != 0:
		bad["adjustment"] = "Only an adjustment has a number."
	}
	if utf8.RuneCountInString(r.Label) > maxNameRunes {
		bad["label"] = "This label is too long: at most 120 characters."
	}
	for _, t := range r.Touched {
		if !slices.Contains(Touches(), t) {
			bad["touched"] = "Choose from what the sheet offers."
		}
	}
	if r.CrownHour < 1 || r.CrownHour > 12 {
		bad["crown_hour"] = "Say at which hour the crown sits, 1 to 12."
	}
	if len(r.Readings) == 0 {
		bad["readings"] = "Give at least one figure."
	}
	taken := map[string]bool{}
	for _, reading := range r.Readings {
		cell := CellName(reading.Position, reading.HoursAfterWinding)
		again := fmt.Sprintf("%s %d", cell, reading.Repeat)
		if taken[again] {
			bad["cell-"+cell] = fmt.Sprintf("%s %s is given twice.", reading.Position, StateWords(reading.HoursAfterWinding))
		}
		taken[again] = true
		reading.addProblems(bad, cell)
	}
	return bad
}

// addProblems adds the reading's problems to bad under the names of the grid's fields.
func (r Reading) addProblems(bad map[string]string, cell string) {
	for field, reason := range r.Problems() {
		switch Quantity(field) {
		case Rate, Amplitude, BeatError:
			bad[field+"-"+cell] = reason
		default:
			name := "cell-" + cell
			bad[name] = strings.TrimSpace(bad[name] + " " + reason)
		}
	}
}

func validKind(k Kind) bool {
	for _, known := range Kinds() {
		if k == known {
			return true
		}
	}
	return false
}
