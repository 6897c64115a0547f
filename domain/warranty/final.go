package warranty

import (
	"slices"

	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
)

// FinalOf states a final run as a card does: mean and delta over the positions measured at the least time
// after winding, which is full wind where that was measured, and the rate and amplitude in each of them.
// USPerDay is the greatest of the rates' expanded uncertainties (k = 2). verdict is kept as given.
func FinalOf(run timing.Run, instruments timing.Instruments, verdict string) Final {
	run = run.Averaged()
	final := Final{Verdict: verdict}
	states := run.States()
	if len(states) == 0 {
		return final
	}
	hours := slices.Min(states)
	var measured []timing.Position
	for _, p := range timing.Positions() {
		reading, ok := run.Reading(p, hours)
		if !ok || reading.RateSPerDay == nil {
			continue
		}
		measured = append(measured, p)
		rate := Rate{Position: string(p), Wind: timing.StateWords(hours), RateSPerDay: reading.RateSPerDay.Value}
		if reading.AmplitudeDeg != nil {
			rate.AmplitudeDeg = reading.AmplitudeDeg.Value
		}
		final.Rates = append(final.Rates, rate)
		if v, ok := instruments.Value(reading, timing.Rate); ok {
			final.USPerDay = max(final.USPerDay, v.Expanded())
		}
	}
	if len(measured) == 0 {
		return final
	}
	stats := timing.StatisticsOf(run, timing.Options{Positions: measured, Instruments: instruments})
	if state, ok := stats.At(hours); ok {
		final.MeanSPerDay = computed(state.Mean)
		final.DeltaSPerDay = computed(state.Delta)
	}
	return final
}

func computed(s timing.Statistic) float64 {
	if !s.Computable() {
		return 0
	}
	return s.Value.Value
}

// RateWords writes a rate with its sign as a card prints it, to the place that the expanded uncertainty U (k = 2)
// has two significant digits in; without uncertainty, as it stands.
func (f Final) RateWords(rateSPerDay float64) string {
	return metrology.Value{Value: rateSPerDay, StdUncertainty: f.USPerDay / metrology.CoverageFactor}.Print(true).Value
}

// SpreadWords is RateWords for the delta, which has no sign.
func (f Final) SpreadWords() string {
	return metrology.Value{Value: f.DeltaSPerDay, StdUncertainty: f.USPerDay / metrology.CoverageFactor}.Print(false).Value
}

// UncertaintyWords writes the expanded uncertainty to two significant digits, "" where none is stated.
func (f Final) UncertaintyWords() string {
	return metrology.Value{StdUncertainty: f.USPerDay / metrology.CoverageFactor}.Print(false).Uncertainty
}
