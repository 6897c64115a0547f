package timing_test

import (
	"math"
	"testing"

	"ledgerwheel/domain/published"
	"ledgerwheel/domain/timing"
)

// TestPublishedRows holds the package to testdata/published.json.
func TestPublishedRows(t *testing.T) {
	t.Parallel()
	published.Hold(t, "testdata/published.json", map[string]published.Check{
		"POS-[CF]H": checkSymbol, "POS-[369]H": checkSymbol, "POS-12H": checkSymbol, "POS-GEO": checkCrown,
		"POS-SIX":     checkSix,
		"POS-PENDANT": checkPendantNames, "KL-FIG*": checkCard, "PUB-JP-POS": checkFivePositions,
		"PUB-ABS-*": checkMeanAndSpread,
		"HS-PPM":    checkPPM, "ISO3159-LIM1-M": checkChronometerStyleMean,
	}, nil)
}

func near(t published.T, what string, got, want, tol float64) {
	t.Helper()
	published.Near(t, what, got, want, tol)
}

// rounding is allowed where a sum of a few decimals is compared with the exact figure.
const rounding = 1e-9

// rateRun returns a run at full wind with the given rates, read to whole seconds.
func rateRun(rates map[timing.Position]float64) timing.Run {
	run := timing.Run{Kind: timing.Final, CrownHour: timing.CrownAtThree}
	for _, p := range timing.Positions() {
		if rate, taken := rates[p]; taken {
			run.Readings = append(run.Readings, timing.Reading{
				Position: p, RateSPerDay: &timing.Figure{Value: rate, Step: 1}})
		}
	}
	return run
}

func keysOf(rates map[timing.Position]float64) []timing.Position {
	var set []timing.Position
	for _, p := range timing.Positions() {
		if _, taken := rates[p]; taken {
			set = append(set, p)
		}
	}
	return set
}

// checkCard: Kleinlein, Rules and Practice for Adjusting Watches (1920), figures 16 to 27: position cards with the
// rates carried out for each day, and their greatest less least. His watches hang by the pendant, at 12 on an open
// face.
func checkCard(t published.T, row published.Row) {
	symbols := map[string]timing.Position{"DU": timing.DialUp, "DD": timing.DialDown,
		"PU": timing.TwelveUp, "PR": timing.NineUp, "PL": timing.ThreeUp}
	var in struct {
		Positions []string
		Errors    []float64 `json:"progressive_errors_s"`
	}
	var want struct {
		Daily     []float64
		Variation float64
	}
	row.Read(t, &in, &want)
	rates, before := map[timing.Position]float64{}, 0.0
	for i, s := range in.Positions {
		near(t, "carried out in "+s, in.Errors[i]-before, want.Daily[i], 0)
		rates[symbols[s]], before = in.Errors[i]-before, in.Errors[i]
	}
	got := timing.StatisticsOf(rateRun(rates), timing.Options{Positions: keysOf(rates)}).States[0].Delta
	if !got.Computable() {
		t.Error(got.Why)
	}
	near(t, "variation", got.Value.Value, want.Variation, rounding)
}

// checkFivePositions: printed with their greatest difference, 5 - (-8) = 13 s/d; the mean is derived.
func checkFivePositions(t published.T, row published.Row) {
	var rates map[timing.Position]float64
	var want struct {
		Delta float64 `json:"greatest_positional_difference"`
		Mean  float64
	}
	row.Read(t, &rates, &want)
	stats := timing.StatisticsOf(rateRun(rates), timing.Options{Positions: keysOf(rates)})
	near(t, "delta", stats.States[0].Delta.Value.Value, want.Delta, rounding)
	near(t, "mean", stats.States[0].Mean.Value.Value, want.Mean, rounding)
	six := timing.StatisticsOf(rateRun(rates), timing.Options{})
	if got, want := six.States[0].Mean.Why, "needs the rate in all six positions; 12H is missing"; got != want {
		t.Errorf("mean of six: got %q, want %q", got, want)
	}
}

// checkMeanAndSpread: printed examples that a zero mean can hide a large spread.
func checkMeanAndSpread(t published.T, row published.Row) {
	var in struct{ Rates []float64 }
	var want struct{ Mean, Spread float64 }
	row.Read(t, &in, &want)
	rates := map[timing.Position]float64{}
	for i, r := range in.Rates {
		rates[timing.Positions()[i]] = r
	}
	state := timing.StatisticsOf(rateRun(rates), timing.Options{Positions: keysOf(rates)}).States[0]
	near(t, "mean", state.Mean.Value.Value, want.Mean, rounding)
	near(t, "spread", state.Delta.Value.Value, want.Spread, rounding)
}

func checkPPM(t published.T, row published.Row) {
	var want float64
	row.Read(t, nil, &want)
	near(t, "1 ppm", timing.SPerDayPerPPM, want, 0)
	near(t, "±50 ppm", timing.ClockStdSPerDay(timing.UncalibratedClockPPM), 50*want/math.Sqrt(3), rounding)
}

// checkChronometerStyleMean: that grade's mean is that of ISO 3159, category 1, as digests of the standard give it.
func checkChronometerStyleMean(t published.T, row published.Row) {
	var want struct{ Min, Max float64 }
	row.Read(t, nil, &want)
	limit, set := timing.ShippedGrades()[0].Limit(timing.MeanRate)
	if !set || limit.Limits.Lower == nil || limit.Limits.Upper == nil {
		t.Fatal("the grade has no two-sided limit on the mean")
	}
	near(t, "lower", *limit.Limits.Lower, want.Min, 0)
	near(t, "upper", *limit.Limits.Upper, want.Max, 0)
}
