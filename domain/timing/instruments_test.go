package timing_test

import (
	"testing"

	"ledgerwheel/domain/timing"
)

// A grid shows the digits that the uncertainty leaves, and none that was not read.
func TestFiguresShowTheDigitsThatMeanSomething(t *testing.T) {
	t.Parallel()
	// ± 0.11 s/d in all: what the fit is sure of to hundredths, the clock is not.
	heard := timing.Instruments{ClockStdSPerDay: map[string]float64{"": 0.055}}
	for _, c := range []struct {
		name  string
		known timing.Instruments
		f     timing.Figure
		q     timing.Quantity
		want  string
	}{
		{"heard, by a clock less sure than the fit", heard, timing.Figure{Value: 5.232, StdUncertainty: 0.004}, timing.Rate,
			"+5.2"},
		{"typed, finer than the clock", heard, timing.Figure{Value: -5.232, Step: 0.001}, timing.Rate, "−5.2"},
		{"typed to the second", heard, timing.Figure{Value: -5, Step: 1}, timing.Rate, "−5"},
		{"a clock never calibrated", timing.Instruments{OtherClockStdSPerDay: timing.ClockStdSPerDay(50)},
			timing.Figure{Value: 4.25, Step: 0.01}, timing.Rate, "+4"},
		{"whole figures stay", timing.Instruments{OtherClockStdSPerDay: 60}, timing.Figure{Value: 214, Step: 1}, timing.Rate,
			"+214"},
		{"an amplitude", heard, timing.Figure{Value: 214.83, StdUncertainty: 0.2}, timing.Amplitude, "214.8"},
		{"exact", timing.Instruments{}, timing.Figure{Value: 3.125}, timing.Rate, "+3.125"},
	} {
		r := timing.Reading{Position: timing.DialUp}
		r.SetFigure(c.q, &c.f)
		if got := c.known.Text(r, c.q); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
	if got := heard.Text(timing.Reading{}, timing.Rate); got != "" {
		t.Errorf("not measured, yet %q", got)
	}
}
