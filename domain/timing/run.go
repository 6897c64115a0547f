package timing

import (
	"fmt"
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

// Kinds returns the kinds in the order they are taken in. A run-down is none of them: it belongs to one.
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

// Reading returns the first reading in position p at the state of wind hours.
func (r Run) Reading(p Position, hours float64) (Reading, bool) {
	return r.Like(Reading{Position: p, HoursAfterWinding: hours})
}

// Like returns the reading that stands in the same place as one: position, state of wind and which time it was read.
func (r Run) Like(one Reading) (Reading, bool) {
	for _, reading := range r.Readings {
		if reading.sameCell(one) {
			return reading, true
		}
	}
	return Reading{}, false
}

// Again are the readings of the run that were taken again.
func (r Run) Again() []Reading {
	var out []Reading
	for _, x := range r.Readings {
		if x.Repeat > 0 {
			out = append(out, x)
		}
	}
	return out
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
		if _, found := r.Reading(reading.Position, reading.HoursAfterWinding); !found && reading.Repeat > 0 {
			bad[reading.firstField()] = fmt.Sprintf("Give the first reading of %s %s in the grid before another one.",
				reading.Position, StateWords(reading.HoursAfterWinding))
		}
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
			bad[r.FieldName(Quantity(field))] = reason
		default:
			name := "cell-" + cell
			bad[name] = strings.TrimSpace(bad[name] + " " + reason)
		}
	}
}

func validKind(k Kind) bool {
	if k == RunDown {
		return true
	}
	for _, known := range Kinds() {
		if k == known {
			return true
		}
	}
	return false
}
