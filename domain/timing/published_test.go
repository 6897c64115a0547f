package timing_test

import (
	"encoding/json"
	"math"
	"os"
	"strings"
	"testing"

	"ledgerwheel/domain/timing"
)

// published is one row of testdata/published.json. Each row names its source and whether the number was read there,
// recalled ("memory") or computed from the formula named ("derived").
type published struct {
	ID         string
	Inputs     json.RawMessage
	Expected   json.RawMessage
	Source     string
	Confidence string
}

func publishedRows(t *testing.T, prefix string) []published {
	t.Helper()
	raw, err := os.ReadFile("testdata/published.json")
	if err != nil {
		t.Fatal(err)
	}
	var all, some []published
	if err := json.Unmarshal(raw, &all); err != nil {
		t.Fatal(err)
	}
	for _, r := range all {
		if strings.HasPrefix(r.ID, prefix) {
			some = append(some, r)
		}
	}
	if len(some) == 0 {
		t.Fatalf("no published row begins with %s", prefix)
	}
	return some
}

func (r published) decode(t *testing.T, inputs, expected any) {
	t.Helper()
	t.Logf("%s: %s (%s)", r.ID, r.Source, r.Confidence)
	if err := json.Unmarshal(r.Inputs, inputs); err != nil {
		t.Fatalf("%s: %v", r.ID, err)
	}
	if err := json.Unmarshal(r.Expected, expected); err != nil {
		t.Fatalf("%s: %v", r.ID, err)
	}
}

// near holds exact arithmetic of small decimals to their binary rounding.
func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: got %v, want %v within %v", what, got, want, tol)
	}
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

// Kleinlein, Rules and Practice for Adjusting Watches (1920), figures 16 to 27: position cards with the rates carried
// out for each day, and their greatest less least. His watches hang by the pendant, at 12 on an open face.
func TestDeltaAgreesWithKleinleinsCards(t *testing.T) {
	t.Parallel()
	symbols := map[string]timing.Position{"DU": timing.DialUp, "DD": timing.DialDown,
		"PU": timing.TwelveUp, "PR": timing.NineUp, "PL": timing.ThreeUp}
	count := 0
	for _, row := range publishedRows(t, "KL-FIG") {
		var in struct{ Positions []string }
		var want struct{ Daily []float64 }
		var variation struct{ Variation float64 }
		row.decode(t, &in, &want)
		row.decode(t, &in, &variation)
		rates := map[timing.Position]float64{}
		for i, s := range in.Positions {
			rates[symbols[s]] = want.Daily[i]
		}
		stats := timing.StatisticsOf(rateRun(rates), timing.Options{Positions: keysOf(rates)})
		got := stats.States[0].Delta
		if !got.Computable() {
			t.Errorf("%s: %s", row.ID, got.Why)
		}
		near(t, row.ID, got.Value.Value, variation.Variation, rounding)
		count++
	}
	if count < 15 {
		t.Errorf("only %d cards were checked", count)
	}
}

// Five positions printed with their greatest difference, 5 - (-8) = 13 s/d; the mean is derived.
func TestMeanAndDeltaAgreeWithPrintedFivePositions(t *testing.T) {
	t.Parallel()
	row := publishedRows(t, "PUB-JP-POS")[0]
	var rates map[timing.Position]float64
	var want struct {
		Delta float64 `json:"greatest_positional_difference"`
		Mean  float64
	}
	row.decode(t, &rates, &want)
	stats := timing.StatisticsOf(rateRun(rates), timing.Options{Positions: keysOf(rates)})
	near(t, "delta", stats.States[0].Delta.Value.Value, want.Delta, rounding)
	near(t, "mean", stats.States[0].Mean.Value.Value, want.Mean, rounding)
	six := timing.StatisticsOf(rateRun(rates), timing.Options{})
	if got, want := six.States[0].Mean.Why, "needs the rate in all six positions; 12H is missing"; got != want {
		t.Errorf("mean of six: got %q, want %q", got, want)
	}
}

// Printed examples that a zero mean can hide a large spread.
func TestMeanAndSpreadAgreeWithPrintedExamples(t *testing.T) {
	t.Parallel()
	for _, row := range publishedRows(t, "PUB-ABS") {
		var in struct{ Rates []float64 }
		var want struct{ Mean, Spread float64 }
		row.decode(t, &in, &want)
		rates := map[timing.Position]float64{}
		for i, r := range in.Rates {
			rates[timing.Positions()[i]] = r
		}
		state := timing.StatisticsOf(rateRun(rates), timing.Options{Positions: keysOf(rates)}).States[0]
		near(t, row.ID+" mean", state.Mean.Value.Value, want.Mean, rounding)
		near(t, row.ID+" spread", state.Delta.Value.Value, want.Spread, rounding)
	}
}

func TestPartPerMillionInSecondsPerDay(t *testing.T) {
	t.Parallel()
	row := publishedRows(t, "HS-PPM")[0]
	var in any
	var want float64
	row.decode(t, &in, &want)
	near(t, "1 ppm", timing.SPerDayPerPPM, want, 0)
	near(t, "±50 ppm", timing.ClockStdSPerDay(timing.UncalibratedClockPPM), 50*want/math.Sqrt(3), rounding)
}

// The mean of the chronometer-style grade is that of ISO 3159, category 1, as digests of the standard give it.
func TestChronometerStyleMeanIsThatOfISO3159(t *testing.T) {
	t.Parallel()
	row := publishedRows(t, "ISO3159-LIM1-M")[0]
	var in any
	var want struct{ Min, Max float64 }
	row.decode(t, &in, &want)
	limit, set := timing.ShippedGrades()[0].Limit(timing.MeanRate)
	if !set || limit.Limits.Lower == nil || limit.Limits.Upper == nil {
		t.Fatal("the grade has no two-sided limit on the mean")
	}
	near(t, "lower", *limit.Limits.Lower, want.Min, 0)
	near(t, "upper", *limit.Limits.Upper, want.Max, 0)
}
