package timing_test

import (
	"strings"
	"testing"

	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
)

// TestLetDown: the limits are common practice (see rundown.go); the first case is a watch that was once kept without a word.
func TestLetDown(t *testing.T) {
	t.Parallel()
	down := func(p timing.Position, figures ...float64) (out []timing.Reading) { // hours, rate, amplitude
		for i := 0; i < len(figures); i += 3 {
			out = append(out, timing.Reading{Position: p, HoursAfterWinding: figures[i],
				RateSPerDay:  &timing.Figure{Value: figures[i+1], StdUncertainty: 0.1},
				AmplitudeDeg: &timing.Figure{Value: figures[i+2], StdUncertainty: 1}})
		}
		return out
	}
	least := 220.0
	shop := timing.RateLimits{Limits: []timing.Limit{{Key: timing.LeastVerticalAmplitude,
		Limits: metrology.Limits{Lower: &least}}}}
	for _, tt := range []struct {
		name     string
		readings []timing.Reading
		limits   timing.RateLimits
		verdict  metrology.Verdict
		says     string
	}{
		{"a train that sticks", down(timing.DialUp, 0, 3, 289, 0.7, 0, 250, 1.5, -4, 197), timing.RateLimits{}, metrology.Fail, "92"},
		{"a good day", down(timing.DialUp, 0, 3, 290, 12, 2, 275, 24, 1, 262), timing.RateLimits{}, metrology.Pass, "28"},
		{"a good hour", down(timing.DialUp, 0, 3, 290, 1, 3, 289), timing.RateLimits{}, metrology.NotMeasured, "not heard to its end"},
		{"at the limit", down(timing.DialUp, 0, 3, 290, 24, 1, 240), timing.RateLimits{}, metrology.Undecided, "50°"},
		{"low after a day", down(timing.Positions()[3], 0, 3, 215, 24, 1, 170), timing.RateLimits{}, metrology.Fail, "180°"},
		{"low for this shop", down(timing.Positions()[3], 0, 3, 240, 24, 1, 205), shop, metrology.Fail, "220°"},
		{"the second day counts not", down(timing.DialUp, 0, 3, 290, 24, 1, 262, 40, -9, 120), timing.RateLimits{}, metrology.Pass, "28"},
	} {
		d, ok := timing.LetDownOf(tt.readings, tt.limits, metrology.Guarded, timing.Instruments{LiftAngleRel: 0.02})
		if !ok || d.Verdict != tt.verdict || !strings.Contains(d.Text, tt.says) {
			t.Errorf("%s: %v %q, want %v and %q", tt.name, d.Verdict, d.Text, tt.verdict, tt.says)
		}
	}
	d, _ := timing.LetDownOf(down(timing.DialUp, 0, 3, 289, 1.5, -4, 197), timing.RateLimits{}, metrology.Guarded,
		timing.Instruments{})
	if d.RateDrift.Value != -7 || d.SpanH != 1.5 {
		t.Errorf("rate drifts by %v in %v h", d.RateDrift, d.SpanH)
	}
	if _, ok := timing.LetDownOf(down(timing.DialUp, 0, 3, 289), timing.RateLimits{}, metrology.Guarded, timing.Instruments{}); ok {
		t.Error("one reading is judged")
	}
}
