package recorder

import (
	"fmt"
	"math"
	"strings"
	"time"
	"unicode/utf8"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/metrology"
)

// Method says how a calibration was made.
type Method string

// The methods.
const (
	ByPulses      Method = "pulses"       // reference pulses, one a second
	ByQuartzWatch Method = "quartz watch" // the steps of a quartz watch of known rate
	ByServerClock Method = "server clock" // a live session against the server's clock
	Typed         Method = "typed"        // found elsewhere
)

// methods returns all methods.
func methods() []Method { return []Method{ByPulses, ByQuartzWatch, ByServerClock, Typed} }

// Words says the method in a few words.
func (m Method) Words() string {
	switch m {
	case ByPulses:
		return "reference pulses, one a second"
	case ByQuartzWatch:
		return "quartz watch of known rate"
	case ByServerClock:
		return "live session against the server’s clock"
	case Typed:
		return "found elsewhere"
	}
	return string(m)
}

// Calibration is one finding of a recorder's clock. It is never changed: a later one takes its place, or it is retired.
type Calibration struct {
	ID         int64
	RecorderID int64
	PPM        float64 // how far the clock runs fast, parts per million
	StdPPM     float64 // standard uncertainty of PPM when it was found, without ageing and temperature since
	Method     Method
	At         time.Time // when it was made, UTC
	RedoBy     time.Time // last civil day before it is overdue, midnight UTC
	Note       string    // where a typed one comes from, or what the reference was

	ByID   int64 // of the member of staff who kept it
	By     string
	KeptAt time.Time // when it was written down; zero takes At

	DurationS     float64 // of the recording or session; 0 when not known
	RateHz        float64 // samples a second it was made at; 0 when not known
	Used, Missed  int     // pulses, or stretches of a session; 0 when not known
	ScatterUs     float64 // of one pulse, or of one stretch of a session, about the line, microseconds
	ReferenceRate float64 // of the reference, s/d, gains positive
	ReferenceU95  float64 // its expanded uncertainty (k = 2), s/d

	Asked string // what was asked about its figures before it was kept, and who confirmed it; "" for nothing

	RetiredAt  time.Time // zero while it may be used
	RetiredBy  string
	RetiredWhy string
}

// Value is the figure as a value with its unit.
func (c Calibration) Value() metrology.Value {
	return metrology.Value{Value: c.PPM, StdUncertainty: c.StdPPM, Unit: "ppm"}
}

// DefaultRedoBy returns the civil day by which a calibration made at the time is to be made anew.
func DefaultRedoBy(at time.Time) time.Time {
	return at.UTC().AddDate(0, defaultRedoMonths, 0).Truncate(24 * time.Hour)
}

// maxPPM is how far any quartz may be off. Common practice: those sold for counting time or sound lie within ±100 ppm;
// ten times that leaves room for converters made of something else, and keeps a mistaken pulse apart.
const maxPPM = 1000

// Problems says, by form field, what stops c being kept: "ppm", "uncertainty", "method", "made_on", "redo_by", "note".
func (c Calibration) Problems() map[string]string {
	bad := map[string]string{}
	if !(c.PPM >= -maxPPM && c.PPM <= maxPPM) { // refuses NaN too
		bad["ppm"] = "Give parts per million from −1000 to +1000, plus for a clock that runs fast."
	}
	switch limit := metrology.FromHalfWidth(acoustic.UncalibratedClockPPM); {
	case !(c.StdPPM > 0 && !math.IsInf(c.StdPPM, 0)):
		bad["uncertainty"] = "Give an uncertainty above zero, in parts per million: nothing is known exactly."
	case c.StdPPM >= limit:
		bad["uncertainty"] = "That is no better than a clock never calibrated (±50 ppm)."
	case c.StdPPM < FloorStdPPM(c.DurationS, c.RateHz)*(1-1e-9):
		bad["uncertainty"] = fmt.Sprintf("No count of %.0f s of sound is that sure: %s at best.", c.DurationS,
			PlusMinus(FloorStdPPM(c.DurationS, c.RateHz)))
	}
	known := false
	for _, m := range methods() {
		known = known || m == c.Method
	}
	if !known {
		bad["method"] = "Choose how it was found."
	}
	switch {
	case c.At.IsZero():
		bad["made_on"] = "Say on which day it was found."
	case !c.KeptAt.IsZero() && c.At.After(c.KeptAt):
		bad["made_on"] = "This day lies ahead."
	case !c.KeptAt.IsZero() && c.At.Before(c.KeptAt.AddDate(-staleYears, 0, 0)):
		bad["made_on"] = "This lies over five years back: the quartz may have aged, or be another."
	}
	switch {
	case c.RedoBy.IsZero():
		bad["redo_by"] = "Say by which day it is to be made again."
	case c.RedoBy.Before(c.At.Truncate(24 * time.Hour)):
		bad["redo_by"] = "This day lies before the calibration itself."
	case c.RedoBy.After(c.At.AddDate(staleYears, 0, 0)):
		bad["redo_by"] = "Choose a day within five years: a quartz ages."
	}
	switch {
	case utf8.RuneCountInString(c.Note) > maxNoteRunes:
		bad["note"] = "This is too long: at most 500 characters."
	case c.Method == Typed && strings.TrimSpace(c.Note) == "":
		bad["note"] = "Say where the figure comes from, such as a certificate and its number."
	}
	return bad
}

// yearsTo is how far from the calibration a time lies, before or after.
func (c Calibration) yearsTo(at time.Time) float64 {
	return math.Abs(at.Sub(c.At).Hours()) / hoursPerYear
}

func (c Calibration) stale(at time.Time) bool { return c.yearsTo(at) > staleYears }

// InForce returns the calibration that was in force at a time, nil for none: of those that had been kept by then and
// not retired by then, the one made last.
func InForce(calibrations []Calibration, at time.Time) *Calibration {
	var found *Calibration
	for i := range calibrations {
		c := &calibrations[i]
		kept := c.KeptAt
		if kept.IsZero() {
			kept = c.At
		}
		if kept.After(at) || !c.RetiredAt.IsZero() && !c.RetiredAt.After(at) {
			continue
		}
		if found == nil || c.At.After(found.At) || c.At.Equal(found.At) && c.ID > found.ID {
			found = c
		}
	}
	return found
}

// RetireProblem says why a calibration or recorder cannot be retired for the reason given, or "".
func RetireProblem(why string) string {
	switch {
	case strings.TrimSpace(why) == "":
		return "Say why, for whoever wonders later."
	case utf8.RuneCountInString(why) > maxNoteRunes:
		return "This is too long: at most 500 characters."
	}
	return ""
}
