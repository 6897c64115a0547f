package oscillator_test

import (
	"slices"
	"testing"

	"ledgerwheel/domain/oscillator"
	"ledgerwheel/domain/timing"
)

// TestRunDownHidesNothing: a run-down stands beside the readings of its run. What those show is still said, and a train that
// sticks, from 289° to 197° and by 7 s/d in an hour and a half, is spoken of; a good run-down adds nothing to be done.
func TestRunDownHidesNothing(t *testing.T) {
	t.Parallel()
	unpoised := sound
	unpoised.s, unpoised.hour = 0.004, 7
	run := quiet(unpoised, nil, 0, 24)
	down := func(figures ...float64) (out []timing.Reading) { // hours, amplitude
		for i := 0; i < len(figures); i += 2 {
			out = append(out, timing.Reading{Position: timing.DialUp, HoursAfterWinding: figures[i], Instrument: "microphone",
				RateSPerDay:  &timing.Figure{Value: unpoised.rate(timing.DialUp, figures[i+1]), StdUncertainty: 0.1},
				AmplitudeDeg: &timing.Figure{Value: figures[i+1], StdUncertainty: 1}})
		}
		return out
	}
	sticks := down(0.1, 289, 0.5, 262, 1, 230, 1.5, 197)
	for i := range sticks {
		sticks[i].RateSPerDay.Value -= 7 * float64(i) / 3
	}
	for _, tt := range []struct {
		name  string
		downs [][]timing.Reading
		kinds []oscillator.Kind
	}{
		{"none", nil, []oscillator.Kind{oscillator.OutOfPoise}},
		{"good", [][]timing.Reading{down(0.1, 289, 8, 275, 16, 262, 24, 248)}, []oscillator.Kind{oscillator.OutOfPoise}},
		{"a train that sticks", [][]timing.Reading{sticks}, []oscillator.Kind{oscillator.PowerLow, oscillator.OutOfPoise}},
	} {
		report, err := oscillator.Advise([]oscillator.Occasion{{Run: run, RunDowns: tt.downs}}, options())
		if err != nil {
			t.Fatal(err)
		}
		for _, kind := range tt.kinds {
			if !slices.Contains(kinds(report.Advice), kind) {
				t.Errorf("%s: advice is %v, without %s", tt.name, kinds(report.Advice), kind)
			}
		}
		if report.Next.Kind != tt.kinds[0] {
			t.Errorf("%s: next is %s, want %s", tt.name, report.Next.Kind, tt.kinds[0])
		}
		if tt.kinds[0] == oscillator.PowerLow {
			says(t, tt.name, adviceOf(t, report, oscillator.PowerLow), "run-down in CH", "92", "in 1.4 h", "at most 50°", "Its rate went by −")
		}
	}
}
