package chart

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"slices"
	"strings"

	"ledgerwheel/domain/metrology"
)

// RateAgainstTemperature shows the rate at each temperature, with the straight line between the outermost two: its
// slope is the temperature coefficient, and what lies off it in the middle is the secondary error.
type RateAgainstTemperature struct {
	ID     string // of the element; unique on its page
	Title  string
	Points []TemperaturePoint
}

// TemperaturePoint is a rate (s/d) at a temperature (°C).
type TemperaturePoint struct {
	TemperatureC float64
	Rate         metrology.Value
}

// Render writes the chart; it makes RateAgainstTemperature a templ component.
func (c RateAgainstTemperature) Render(ctx context.Context, w io.Writer) error {
	return write(ctx, w, c.SVG)
}

const leastTemperatureSpan = 5 // °C

// SVG returns the chart as an svg element. It fails on an unusable ID and on figures that are not finite.
func (c RateAgainstTemperature) SVG() (string, error) {
	var rates, temperatures []metrology.Value
	for _, p := range c.Points {
		rates, temperatures = append(rates, p.Rate), append(temperatures, metrology.Value{Value: p.TemperatureC})
	}
	if err := checkFigures(append(slices.Clone(rates), temperatures...)); err != nil {
		return "", err
	}
	rateSpan, found := around(rates)
	if !found {
		return empty(c.ID, c.Title)
	}
	across, _ := around(temperatures)
	y := newAxis(rateSpan.with(0, leastRateSpan).atLeast(leastRateSpan), 6, plotBottom, plotTop)
	left := y.labelWidth(true) + 8
	x := newAxis(across.atLeast(leastTemperatureSpan), 5, left+markRadius+2, rightEdge-14)
	var s svg
	rateRules(&s, y, left, rightEdge)
	s.line("chart-axis", left, plotBottom, rightEdge, plotBottom)
	for _, tick := range x.ticks {
		s.line("chart-axis", x.at(tick), plotBottom, x.at(tick), plotBottom+5)
		s.text("chart-tick", middle, x.at(tick), plotBottom+19, x.label(tick, false))
	}
	s.text("chart-caption", end, rightEdge, plotBottom+36, "temperature, °C")
	sorted := c.sorted()
	if n := len(sorted); n > 1 {
		a, b := sorted[0], sorted[n-1]
		s.line("chart-link", x.at(a.TemperatureC), y.at(a.Rate.Value), x.at(b.TemperatureC), y.at(b.Rate.Value))
	}
	for _, p := range sorted {
		if u := p.Rate.Expanded(); u > 0 {
			s.bar(0, x.at(p.TemperatureC), y.at(p.Rate.Value-u), x.at(p.TemperatureC), y.at(p.Rate.Value+u))
		}
	}
	for _, p := range sorted {
		s.drawMark(0, x.at(p.TemperatureC), y.at(p.Rate.Value))
	}
	return frame{id: c.ID, title: c.Title, desc: c.desc(), height: plotBottom + 44}.document(&s)
}

func (c RateAgainstTemperature) sorted() []TemperaturePoint {
	return slices.SortedFunc(slices.Values(c.Points), func(a, b TemperaturePoint) int {
		return cmp.Compare(a.TemperatureC,
			b.TemperatureC)
	})
}

// desc says in words all that the drawing shows.
func (c RateAgainstTemperature) desc() string {
	var b strings.Builder
	b.WriteString("Rate in seconds per day against temperature in °C, with expanded uncertainty (k = 2) and the " +
		"straight line between the outermost two.")
	for _, p := range c.sorted() {
		fmt.Fprintf(&b, " %s °C: %s.", plainFigure(p.TemperatureC), p.Rate.FormatSigned())
	}
	return b.String()
}
