package chart

import (
	"errors"
	"math"

	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/metrology"
)

// ErrNotFinite reports a figure that cannot be drawn.
var ErrNotFinite = errors.New("a figure of the chart is not a finite number, or its uncertainty is negative")

// span is a range of figures.
type span struct{ low, high float64 }

// around returns the span of figures with their uncertainties; ok is false when there are none.
func around(values []metrology.Value) (s span, ok bool) {
	for i, v := range values {
		low, high := v.Value-v.Expanded(), v.Value+v.Expanded()
		if i == 0 {
			s = span{low, high}
			continue
		}
		s = span{math.Min(s.low, low), math.Max(s.high, high)}
	}
	return s, len(values) > 0
}

// atLeast returns the span, widened on both sides where it is shorter than least.
func (s span) atLeast(least float64) span {
	room := math.Max(0, least-(s.high-s.low))
	return span{s.low - room/2, s.high + room/2}
}

// maxStretch is how many times its own length a span may grow to take in a reference such as nought or a limit:
// beyond it the differences between the figures, which matter more, would shrink to nothing.
const maxStretch = 4

// with takes x into the span, if that does not stretch it beyond maxStretch times its own length or least, whichever
// is more.
func (s span) with(x, least float64) span {
	wider := span{math.Min(s.low, x), math.Max(s.high, x)}
	if wider.high-wider.low > maxStretch*math.Max(s.high-s.low, least) {
		return s
	}
	return wider
}

// axis maps figures to coordinates: low at from, high at to.
type axis struct {
	span
	from, to float64
	step     float64 // between ticks
	ticks    []float64
}

// newAxis lays an axis over a span, widened to whole ticks. About wanted ticks are set, at 1, 2 or 5 times a power
// of ten.
func newAxis(s span, wanted int, from, to float64) axis {
	size := math.Max(1, math.Max(math.Abs(s.low), math.Abs(s.high)))
	if s.high-s.low < 1e-9*size { // a single exact figure: give it room
		room := math.Max(1, 1e-6*size)
		s = span{s.low - room, s.high + room}
	}
	step := niceStep((s.high - s.low) / float64(wanted))
	// The small amount keeps a figure that lies on a tick, but for binary rounding, from opening another interval.
	first, last := math.Floor(s.low/step+1e-9), math.Ceil(s.high/step-1e-9)
	a := axis{span: span{first * step, last * step}, from: from, to: to, step: step}
	for i := first; i <= last; i++ {
		a.ticks = append(a.ticks, i*step)
	}
	return a
}

// niceStep returns the 1, 2 or 5 times a power of ten that is next to raw or above it.
func niceStep(raw float64) float64 {
	power := math.Pow(10, math.Floor(math.Log10(raw)))
	for _, m := range []float64{1, 2, 5} {
		if m*power >= raw*(1-1e-9) {
			return m * power
		}
	}
	return 10 * power
}

// at returns the coordinate of x.
func (a axis) at(x float64) float64 {
	return a.from + (x-a.low)/(a.high-a.low)*(a.to-a.from)
}

// holds reports whether x lies on the axis.
func (a axis) holds(x float64) bool { return a.low <= x && x <= a.high }

// within returns the coordinate of x, or of the end of the axis that it lies beyond.
func (a axis) within(x float64) float64 { return a.at(math.Max(a.low, math.Min(a.high, x))) }

// plainFigure writes an exact figure, with a true minus.
func plainFigure(x float64) string { return metrology.Value{Value: x}.Print(false).Value }

// label writes a tick with the decimals of the step, a true minus, and a plus if signed.
func (a axis) label(tick float64, signed bool) string {
	decimals := max(0, int(math.Ceil(-math.Log10(a.step)-1e-9)))
	switch {
	case math.Abs(tick) < a.step/2:
		return "0"
	case signed:
		return figure.Signed(tick, decimals)
	}
	return figure.Places(tick, decimals)
}

// labelWidth is the width of the widest tick label.
func (a axis) labelWidth(signed bool) float64 {
	widest := 0.0
	for _, t := range a.ticks {
		widest = math.Max(widest, textWidth(a.label(t, signed), textSize))
	}
	return widest
}

func checkFigures(values []metrology.Value) error {
	for _, v := range values {
		if v.Check() != nil {
			return ErrNotFinite
		}
	}
	return nil
}
