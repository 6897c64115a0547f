package chart

import (
	"fmt"
	"math"
	"slices"
)

// timeAxis is an axis of time in the unit that suits its length.
type timeAxis struct {
	axis
	unitS float64
	unit  string
}

// newTimeAxis lays an axis over a time in seconds.
func newTimeAxis(lowS, highS, from, to float64) timeAxis {
	t := timeAxis{unitS: 1, unit: "s"}
	switch length := highS - lowS; {
	case length > 3*3600:
		t.unitS, t.unit = 3600, "h"
	case length > 180:
		t.unitS, t.unit = 60, "min"
	}
	s := span{lowS / t.unitS, highS / t.unitS}
	if s.high-s.low < 1e-9*math.Max(1, math.Abs(s.low)) {
		s = span{math.Floor(s.low), math.Floor(s.low) + 2}
	}
	wanted := 6
	if s.high >= 1e6 {
		wanted = 3 // long labels
	}
	t.axis = newAxis(s, wanted, from, to)
	t.span = s // the time heard and no more
	t.ticks = slices.DeleteFunc(t.ticks, func(tick float64) bool { return !t.holds(tick) })
	t.to = math.Min(to, width-t.labelWidth(false)/2) // room for half of the last label
	return t
}

// at returns the coordinate of a time in seconds.
func (t timeAxis) at(s float64) float64 { return t.axis.at(s / t.unitS) }

// foot draws the axis under a chart.
func (t timeAxis) foot(s *svg, y float64) {
	s.line("chart-axis", t.from, y, rightEdge, y)
	for _, tick := range t.ticks {
		x := t.axis.at(tick)
		s.line("chart-axis", x, y, x, y+5)
		s.text("chart-tick", middle, x, y+19, t.label(tick, false))
	}
	s.text("chart-caption", end, rightEdge, y+36, "time, "+t.unit)
}

// durationWords says a length of time: "41 h 12 min", "12 min 5 s", "30.0 s".
func durationWords(s float64) string {
	switch {
	case s >= 3600:
		return twoParts(int64(math.Round(s/60)), "h", "min")
	case s >= 60:
		return twoParts(int64(math.Round(s)), "min", "s")
	}
	return fmt.Sprintf("%.3g s", s)
}

// twoParts says a number of small units with sixty of them to a large one.
func twoParts(small int64, large, unit string) string {
	if small%60 == 0 {
		return fmt.Sprintf("%d %s", small/60, large)
	}
	return fmt.Sprintf("%d %s %d %s", small/60, large, small%60, unit)
}
