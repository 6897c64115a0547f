package heard

import (
	"math"
	"time"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
)

// Reading returns what was heard as a reading of a run.
//
// The rate is corrected for the recorder's clock already; its stated uncertainty is that of the fit alone, since the
// clock's is shared by all readings of one recorder (see [timing.Instruments]). A figure heard has no step, but is
// rounded to the second digit of its expanded uncertainty as figures are stated (JCGM 100, 7.2.6), so that the grid
// shows no more than is known; that adds less than one part in a hundred to the uncertainty. The beat error loses its
// sign, for which of the swings is which cannot be heard.
func Reading(r acoustic.Result, position timing.Position, hours float64, instrument, takenBy string,
	at time.Time) timing.Reading {
	reading := timing.Reading{Position: position, HoursAfterWinding: hours, Instrument: instrument, TakenBy: takenBy,
		TakenAt:     at,
		RateSPerDay: figureOf(r.Rate.Value, r.RateFitStdSPerDay)}
	if e := r.BeatError; e != nil {
		reading.BeatErrorMs = figureOf(math.Abs(e.Value), e.StdUncertainty)
	}
	if a := r.Amplitude; a != nil {
		reading.AmplitudeDeg = figureOf(a.Value, a.StdUncertainty)
	}
	return reading
}

// finest is the least step that a figure is rounded to: that of the finest typed figure.
const finest = 1e-6

func figureOf(value, u float64) *timing.Figure {
	step := finest
	if expanded := metrology.CoverageFactor * u; expanded > 0 && !math.IsInf(expanded, 0) {
		step = math.Max(finest, math.Pow10(int(math.Floor(math.Log10(expanded)))-1))
	}
	// Divided by a whole number where the step is a fraction, so that 3.25 stays 3.25 in binary.
	if step < 1 {
		per := math.Round(1 / step)
		return &timing.Figure{Value: math.Round(value*per) / per, StdUncertainty: u}
	}
	return &timing.Figure{Value: math.Round(value/step) * step, StdUncertainty: u}
}
