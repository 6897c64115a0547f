package timing

import (
	"fmt"
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
	Adjustment int    // 1, 2, …, of an adjustment; 0 for the other kinds
	Label      string // the shop's own note, may be empty
	CrownHour  int    // where the crown sits, 1 to 12
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

// Problems says, by form field, what stops r being saved: "kind", "adjustment", "label", "crown_hour", "readings";
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
	if r.CrownHour < 1 || r.CrownHour > 12 {
		bad["crown_hour"] = "Say at which hour the crown sits, 1 to 12."
	}
	if len(r.Readings) == 0 {
		bad["readings"] = "Give at least one figure."
	}
	taken := map[string]bool{}
	for _, reading := range r.Readings {
		cell := CellName(reading.Position, reading.HoursAfterWinding)
		if taken[cell] {
			bad["cell-"+cell] = fmt.Sprintf("%s %s is given twice.", reading.Position, StateWords(reading.HoursAfterWinding))
		}
		taken[cell] = true
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
