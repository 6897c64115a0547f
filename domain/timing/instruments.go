package timing

import (
	"errors"
	"math"
	"strconv"
	"strings"

	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/metrology"
)

// SPerDayPerPPM is the rate that one part in a million of frequency makes: 86400 s/d × 1e-6.
const SPerDayPerPPM = 0.0864

// UncalibratedClockPPM is the half-width taken for the frequency of a clock that was never calibrated
// (rectangular). Common practice: cheap quartz oscillators are sold to within ±50 ppm.
const UncalibratedClockPPM = 50.0

// UsualLiftAngleRel is the relative standard uncertainty taken for a lift angle that nobody determined; see LiftAngle.
const UsualLiftAngleRel = UsualLiftAngleStdDeg / UsualLiftAngleDeg

// ClockStdSPerDay returns the standard uncertainty, in s/d, that a clock known to within ±halfWidthPPM (rectangular)
// gives to every rate measured by it. It panics if the half-width is negative or not finite.
func ClockStdSPerDay(halfWidthPPM float64) float64 {
	return metrology.FromHalfWidth(halfWidthPPM) * SPerDayPerPPM
}

// Instruments says what the shop knows of the instruments its readings come from. These contributions are
// systematic: readings of one instrument share them, so they cancel in differences and stay whole in means.
type Instruments struct {
	// ClockStdSPerDay is the standard uncertainty of the clock, by Reading.Instrument.
	ClockStdSPerDay map[string]float64
	// OtherClockStdSPerDay is taken for an instrument that is not listed; the shop's setting.
	OtherClockStdSPerDay float64
	// LiftAngleRel is the relative standard uncertainty of the lift angle the amplitudes were found with
	// (0.01 for 1 %; see LiftAngle.Rel). Amplitude is in proportion to the lift angle, so all amplitudes of a run share it.
	LiftAngleRel float64
}

// Check says in plain words why i cannot be used, or returns nil.
func (i Instruments) Check() error {
	for _, u := range i.ClockStdSPerDay {
		if !usable(u) {
			return errors.New("the uncertainty of a clock must be zero or more")
		}
	}
	if !usable(i.OtherClockStdSPerDay) {
		return errors.New("the uncertainty of an unlisted clock must be zero or more")
	}
	if !usable(i.LiftAngleRel) {
		return errors.New("the uncertainty of the lift angle must be zero or more")
	}
	return nil
}

func usable(u float64) bool { return u >= 0 && !math.IsInf(u, 0) }

// Value returns the reading's figure of quantity q as a value with its combined standard uncertainty: the stated one,
// that of the step, and the share of the instrument. ok is false when the figure was not measured.
func (i Instruments) Value(r Reading, q Quantity) (v metrology.Value, ok bool) {
	if r.Figure(q) == nil {
		return metrology.Value{}, false
	}
	return metrology.Linear(q.Unit(), i.term(r, q, 1)), true
}

// Text writes the reading's figure of quantity q with the decimals that mean something: as many as its combined
// uncertainty leaves in a grid, and never more than were read. It is "" where the figure was not measured.
func (i Instruments) Text(r Reading, q Quantity) string {
	v, measured := i.Value(r, q)
	if !measured {
		return ""
	}
	f := r.Figure(q)
	read := f.Text(q)
	left := decimals(v.Brief(q.Signed()).Value)
	if v.StdUncertainty == 0 || left >= decimals(read) {
		return read
	}
	return figure.Printed(strconv.FormatFloat(f.Value, 'f', left, 64), q.Signed())
}

// decimals counts those of a written number.
func decimals(number string) int {
	_, fraction, _ := strings.Cut(number, ".")
	return len(fraction)
}

// term returns the measured figure of quantity q as a term of a linear model.
func (i Instruments) term(r Reading, q Quantity, coefficient float64) metrology.Term {
	f := r.Figure(q)
	t := metrology.Term{Coefficient: coefficient, Value: f.Value, StdUncertainty: f.Independent()}
	switch q {
	case Rate:
		t.Source, t.SharedStdUncertainty = "clock of "+r.Instrument, i.clock(r.Instrument)
	case Amplitude:
		t.Source, t.SharedStdUncertainty = "lift angle", f.Value*i.LiftAngleRel
	}
	return t
}

func (i Instruments) clock(instrument string) float64 {
	if u, listed := i.ClockStdSPerDay[instrument]; listed {
		return u
	}
	return i.OtherClockStdSPerDay
}
