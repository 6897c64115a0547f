package heard

import (
	"math"
	"time"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/timing"
)

// Reading returns what was heard as a reading of a run.
//
// The rate is corrected for the recorder's clock already; its stated uncertainty is that of the fit alone, since the
// clock's is shared by all readings of one recorder (see [timing.Instruments]). A figure heard has no step. The beat
// error loses its sign, for which of the swings is which cannot be heard.
func Reading(r acoustic.Result, position timing.Position, hours float64, instrument, takenBy string, at time.Time) timing.Reading {
	reading := timing.Reading{Position: position, HoursAfterWinding: hours, Instrument: instrument, TakenBy: takenBy, TakenAt: at,
		RateSPerDay: &timing.Figure{Value: r.Rate.Value, StdUncertainty: r.RateFitStdSPerDay},
		BeatErrorMs: &timing.Figure{Value: math.Abs(r.BeatError.Value), StdUncertainty: r.BeatError.StdUncertainty}}
	if a := r.Amplitude; a != nil {
		reading.AmplitudeDeg = &timing.Figure{Value: a.Value, StdUncertainty: a.StdUncertainty}
	}
	return reading
}
