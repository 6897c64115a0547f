package chart

import (
	"fmt"
	"math"
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
		minutes := int64(math.Round(s / 60))
		return fmt.Sprintf("%d h %d min", minutes/60, minutes%60)
	case s >= 60:
		seconds := int64(math.Round(s))
		return fmt.Sprintf("%d min %d s", seconds/60, seconds%60)
	}
	return fmt.Sprintf("%.3g s", s)
}
