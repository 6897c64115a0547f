package chart_test

import (
	"testing"

	"ledgerwheel/domain/timing"
	"ledgerwheel/web/chart"
)

// TestRepeatsAreDrawnByTheirMean: a position read twice is one point, at the mean of both.
func TestRepeatsAreDrawnByTheirMean(t *testing.T) {
	t.Parallel()
	var run timing.Run
	for n, rate := range []float64{5, 9} {
		run.Readings = append(run.Readings, timing.Reading{Position: timing.DialUp, Repeat: n,
			RateSPerDay: &timing.Figure{Value: rate}, AmplitudeDeg: &timing.Figure{Value: 280 + rate}})
	}
	if got := chart.RatesOf("", run, 0, timing.Instruments{}).Rates[timing.DialUp]; got.Value != 7 || got.StdUncertainty == 0 {
		t.Errorf("rate %+v, want 7 with its scatter", got)
	}
	states := chart.AmplitudesOf(run, timing.Instruments{})
	if len(states) != 1 || len(states[0].Points) != 1 || states[0].Points[0].Rate.Value != 7 ||
		states[0].Points[0].Amplitude.Value != 287 {
		t.Errorf("points %+v, want one at 287° and 7 s/d", states)
	}
}
