package timing

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"
)

// Reading is what was read in one position at one state of wind. A figure that is nil was not measured.
type Reading struct {
	Position          Position
	HoursAfterWinding float64 // 0 is full wind
	Repeat            int     // 0 for the first reading there, 1 and on for those taken again

	RateSPerDay  *Figure // positive gains
	AmplitudeDeg *Figure // rest to turning point
	BeatErrorMs  *Figure // half the difference of successive beat intervals, not negative

	Instrument   string   // as the shop names it; readings of one name share a clock
	TemperatureC *float64 // nil when not noted
	TakenBy      string
	TakenAt      time.Time // UTC
}

// MaxRepeats is how often a position may be read again at one state of wind.
const MaxRepeats = 3

// FieldName names the form field of the reading's figure of q: that of the grid, and for one taken again "again1-rate-CH-0".
func (r Reading) FieldName(q Quantity) string {
	return AgainName(FieldName(q, r.Position, r.HoursAfterWinding), r.Repeat)
}

// AgainName is the name of a field of the grid for a reading that was taken again, repeat times after the first.
func AgainName(field string, repeat int) string {
	if repeat == 0 {
		return field
	}
	return fmt.Sprintf("again%d-%s", repeat, field)
}

// firstField names the form field of the first of the reading's figures that was measured.
func (r Reading) firstField() string {
	for _, q := range Quantities() {
		if r.Figure(q) != nil {
			return r.FieldName(q)
		}
	}
	return r.FieldName(Rate)
}

// sameCell reports whether two readings stand in one place: position, state of wind, and which time it was read.
func (r Reading) sameCell(o Reading) bool {
	return r.Position == o.Position && r.Repeat == o.Repeat && sameHours(r.HoursAfterWinding, o.HoursAfterWinding)
}

// Figure returns the reading's figure of quantity q, nil when it was not measured.
func (r Reading) Figure(q Quantity) *Figure {
	switch q {
	case Rate:
		return r.RateSPerDay
	case Amplitude:
		return r.AmplitudeDeg
	case BeatError:
		return r.BeatErrorMs
	}
	return nil
}

// SetFigure sets the reading's figure of quantity q. It panics if q is not one of the three.
func (r *Reading) SetFigure(q Quantity, f *Figure) {
	switch q {
	case Rate:
		r.RateSPerDay = f
	case Amplitude:
		r.AmplitudeDeg = f
	case BeatError:
		r.BeatErrorMs = f
	default:
		panic(fmt.Sprintf("timing: %q is not a quantity", string(q)))
	}
}

// Asked is what was asked about the figures of r when they were typed, and who confirmed it.
func (r Reading) Asked() string {
	var texts []string
	for _, q := range Quantities() {
		if f := r.Figure(q); f != nil && f.Asked != "" {
			texts = append(texts, f.Asked)
		}
	}
	return strings.Join(texts, " ")
}

// Measured reports whether any figure was read.
func (r Reading) Measured() bool {
	return r.RateSPerDay != nil || r.AmplitudeDeg != nil || r.BeatErrorMs != nil
}

const maxNameRunes = 120

// Problems says, by form field, what stops r being saved: "position", "hours_after_winding", the quantities' own
// names, "temperature", "instrument" and "taken_by".
func (r Reading) Problems() map[string]string {
	bad := map[string]string{}
	if !r.Position.Valid() {
		bad["position"] = "Choose one of CH, FH, 3H, 6H, 9H and 12H."
	}
	if reason := hoursProblem(r.HoursAfterWinding); reason != "" {
		bad["hours_after_winding"] = reason
	}
	if r.Repeat < 0 || r.Repeat > MaxRepeats {
		bad["repeat"] = fmt.Sprintf("A position is read again %d times at most.", MaxRepeats)
	}
	if !r.Measured() {
		bad[string(Rate)] = "Give at least one of rate, amplitude and beat error."
	}
	for _, q := range Quantities() {
		if f := r.Figure(q); f != nil {
			if reason := f.problem(q); reason != "" {
				bad[string(q)] = reason
			}
		}
	}
	if t := r.TemperatureC; t != nil && !(*t >= -40 && *t <= 80) {
		bad["temperature"] = "Give a temperature from −40 to +80 °C."
	}
	if utf8.RuneCountInString(r.Instrument) > maxNameRunes {
		bad["instrument"] = "This name is too long: at most 120 characters."
	}
	if utf8.RuneCountInString(r.TakenBy) > maxNameRunes {
		bad["taken_by"] = "This name is too long: at most 120 characters."
	}
	return bad
}

// hoursTolerance tells states of wind apart: they are typed to hundredths of an hour, so a difference below half
// of that is rounding of the binary fraction only.
const hoursTolerance = 0.005

func sameHours(a, b float64) bool { return math.Abs(a-b) < hoursTolerance }

// HoursText writes a state of wind without needless decimals: "0", "24", "36.5".
func HoursText(hours float64) string {
	return strconv.FormatFloat(math.Round(hours*100)/100, 'f', -1, 64)
}

// StateWords says a state of wind: "full wind", "after 24 h".
func StateWords(hours float64) string {
	if sameHours(hours, 0) {
		return "full wind"
	}
	return "after " + HoursText(hours) + " h"
}

// FieldName names the form field of one figure of the grid: "rate-CH-0", "beat_error-12H-36.5".
func FieldName(q Quantity, p Position, hours float64) string {
	return string(q) + "-" + CellName(p, hours)
}

// CellName names one position at one state of wind: "CH-0".
func CellName(p Position, hours float64) string { return string(p) + "-" + HoursText(hours) }

// states returns the states of wind of the readings, each once, least first.
func states(readings []Reading) []float64 {
	var hours []float64
	for _, r := range readings {
		if !slices.ContainsFunc(hours, func(h float64) bool { return sameHours(h, r.HoursAfterWinding) }) {
			hours = append(hours, r.HoursAfterWinding)
		}
	}
	slices.Sort(hours)
	return hours
}
