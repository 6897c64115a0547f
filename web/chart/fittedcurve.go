package chart

import (
	"fmt"
	"math"
	"strings"

	"ledgerwheel/domain/metrology"
)

// FittedCurve is a fitted rate against amplitude, with the band in which the fit lies to 95 %.
type FittedCurve struct {
	Name   string // as the legend says it: "fit, hanging positions"
	Remark string // at the right of the legend, already worded: "−0.6 ± 0.2 s/d per 10°"
	Points []CurvePoint
}

// CurvePoint is one point of a fitted curve: an amplitude in degrees, and the rate there with the ends of its band,
// in s/d. Points stand in the order of their amplitudes.
type CurvePoint struct{ AmplitudeDeg, RateSPerDay, LowerSPerDay, UpperSPerDay float64 }

// curveClasses are the strokes that tell curves apart.
var curveClasses = []string{"chart-curve", "chart-curve chart-dashed", "chart-curve chart-dotted"}

// standsOff is what is written beside a reading that does not fit.
const standsOff = "stands off"

// ringRadius is that of the ring about such a reading.
const ringRadius = 9.5

func (c RateAgainstAmplitude) checkCurves() error {
	if len(c.Curves) > len(curveClasses) {
		return ErrTooMany
	}
	for _, curve := range c.Curves {
		for _, p := range curve.Points {
			for _, x := range []float64{p.AmplitudeDeg, p.RateSPerDay, p.LowerSPerDay, p.UpperSPerDay} {
				if math.IsNaN(x) || math.IsInf(x, 0) {
					return ErrNotFinite
				}
			}
		}
	}
	return nil
}

// between cuts a curve to a range of amplitudes, with points at the cuts.
func (f FittedCurve) between(s span) []CurvePoint {
	var out []CurvePoint
	for i, p := range f.Points {
		if i > 0 {
			q := f.Points[i-1]
			for _, edge := range []float64{s.low, s.high} {
				if q.AmplitudeDeg < edge && edge < p.AmplitudeDeg {
					out = append(out, q.towards(p, (edge-q.AmplitudeDeg)/(p.AmplitudeDeg-q.AmplitudeDeg)))
				}
			}
		}
		if s.low <= p.AmplitudeDeg && p.AmplitudeDeg <= s.high {
			out = append(out, p)
		}
	}
	return out
}

// towards is the point a part of the way from p to q.
func (p CurvePoint) towards(q CurvePoint, part float64) CurvePoint {
	mix := func(a, b float64) float64 { return a + part*(b-a) }
	return CurvePoint{mix(p.AmplitudeDeg, q.AmplitudeDeg), mix(p.RateSPerDay, q.RateSPerDay),
		mix(p.LowerSPerDay, q.LowerSPerDay), mix(p.UpperSPerDay, q.UpperSPerDay)}
}

// withCurves widens the rates to the curves as they pass over the amplitudes, as far as the readings stay legible.
func (c RateAgainstAmplitude) withCurves(rates, amplitudes span) span {
	for _, curve := range c.Curves {
		for _, p := range curve.between(amplitudes) {
			rates = rates.with(p.RateSPerDay, leastRateSpan)
		}
	}
	return rates
}

// curveBands draws the bands under all else.
func (l amplitudeLayout) curveBands(s *svg) {
	for _, curve := range l.Curves {
		points := curve.between(l.x.span)
		if len(points) < 2 {
			continue
		}
		var d strings.Builder
		letter := "M"
		corner := func(amplitude, rate float64) {
			d.WriteString(letter + num(l.x.at(amplitude)) + " " + num(l.y.within(rate)))
			letter = "L"
		}
		for _, p := range points {
			corner(p.AmplitudeDeg, p.UpperSPerDay)
		}
		for i := len(points) - 1; i >= 0; i-- {
			corner(points[i].AmplitudeDeg, points[i].LowerSPerDay)
		}
		s.element("path", "class", "chart-fit-band", "d", d.String()+"Z")
	}
}

// curveLines draws the curves, each only as far as it runs on the chart.
func (l amplitudeLayout) curveLines(s *svg) {
	for n, curve := range l.Curves {
		var d strings.Builder
		points := curve.between(l.x.span)
		for i := 1; i < len(points); i++ {
			from, to, found := l.onChart(points[i-1], points[i])
			if !found {
				continue
			}
			if d.Len() == 0 || from != points[i-1] {
				d.WriteString("M" + num(l.x.at(from.AmplitudeDeg)) + " " + num(l.y.at(from.RateSPerDay)))
			}
			d.WriteString("L" + num(l.x.at(to.AmplitudeDeg)) + " " + num(l.y.at(to.RateSPerDay)))
		}
		if d.Len() > 0 {
			s.element("path", "class", curveClasses[n], "d", d.String())
		}
	}
}

// onChart cuts a piece of a curve to the rates of the chart.
func (l amplitudeLayout) onChart(p, q CurvePoint) (from, to CurvePoint, found bool) {
	low, high := 0.0, 1.0
	rise := q.RateSPerDay - p.RateSPerDay
	for _, edge := range []struct{ room, fall float64 }{
		{p.RateSPerDay - l.y.low, -rise}, {l.y.high - p.RateSPerDay, rise},
	} {
		switch { // room − part·fall must not be negative
		case edge.fall > 0:
			high = math.Min(high, edge.room/edge.fall)
		case edge.fall < 0:
			low = math.Max(low, edge.room/edge.fall)
		case edge.room < 0:
			return p, q, false
		}
	}
	if low >= high {
		return p, q, false
	}
	from, to = p, q
	if low > 0 {
		from = p.towards(q, low)
	}
	if high < 1 {
		to = p.towards(q, high)
	}
	return from, to, true
}

// curveRows writes the curves and the mark of what stands off into the legend from y on, and returns where it ends.
func (l amplitudeLayout) curveRows(s *svg, y float64) float64 {
	for n, curve := range l.Curves {
		if len(curve.Points) == 0 {
			continue
		}
		s.line("chart-rule", 0, y, width, y)
		s.element("rect", "class", "chart-fit-band", "x", "0", "y", num(y+7), "width", "16", "height", "12")
		s.line(curveClasses[n], 0, y+13, 16, y+13)
		y += s.nameRow(y+17, curve.Name, curve.Remark) + 26
	}
	if !l.anyStandsOff() {
		return y
	}
	s.line("chart-rule", 0, y, width, y)
	s.element("circle", "class", "chart-off", "cx", num(ringRadius), "cy", num(y+13), "r", num(ringRadius))
	return y + 26 + s.caption(nameLeft+4, y+17, standsOff+" the fit by more than its uncertainty")
}

func (l amplitudeLayout) anyStandsOff() bool {
	for _, state := range l.States {
		for _, p := range state.Points {
			if p.StandsOff {
				return true
			}
		}
	}
	return false
}

// curveWords says the curves at their ends and middle, with the 95 % band.
func (c RateAgainstAmplitude) curveWords() string {
	var b strings.Builder
	for _, curve := range c.Curves {
		n := len(curve.Points)
		if n == 0 {
			continue
		}
		fmt.Fprintf(&b, " Fitted curve, %s", curve.Name)
		if curve.Remark != "" {
			fmt.Fprintf(&b, " (%s)", curve.Remark)
		}
		b.WriteString(", with its 95 % band:")
		separator := " "
		last := -1
		for _, i := range []int{0, n / 2, n - 1} {
			if i == last {
				continue
			}
			last = i
			p := curve.Points[i]
			fmt.Fprintf(&b, "%sat %s° %s (%s to %s) s/d", separator, tenths(p.AmplitudeDeg, false),
				tenths(p.RateSPerDay, true), tenths(p.LowerSPerDay, true), tenths(p.UpperSPerDay, true))
			separator = "; "
		}
		b.WriteString(".")
	}
	return b.String()
}

// tenths writes a figure of a curve, whose uncertainty the band says, to a tenth.
func tenths(x float64, signed bool) string {
	return metrology.Value{Value: math.Round(x*10) / 10}.Print(signed).Value
}
