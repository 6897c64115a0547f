package chart

import (
	"context"
	"fmt"
	"io"
	"math"
	"strings"
)

// PoisingWay draws the heavy spot round by round of poising, as it shrinks towards the middle: seen from the dial side,
// the balance at rest, the distance from the centre its share of the rate from greatest to least.
type PoisingWay struct {
	ID     string // of the element; unique on its page
	Title  string
	Rounds []PoisingPoint // oldest first
	// StopSPerDay is where poising stops, as the same share of the rate.
	StopSPerDay float64
}

// PoisingPoint is one round.
type PoisingPoint struct {
	Name          string  // short: "1"
	AngleDeg      float64 // of the heavy spot, clockwise from 12 seen from the dial side
	SpreadSPerDay float64 // its share of the rates, greatest less least
	Text          string  // "84 ± 5 s/d, towards 4:30"
}

// mostInLegend of the newest rounds are named below the drawing; all are drawn and described.
const mostInLegend = 6

// Render writes the chart; it makes PoisingWay a templ component.
func (c PoisingWay) Render(ctx context.Context, w io.Writer) error { return write(ctx, w, c.SVG) }

// SVG returns the chart as an svg element. It fails on an unusable ID and on figures that are not finite or negative.
func (c PoisingWay) SVG() (string, error) {
	largest := c.StopSPerDay
	if !finite(c.StopSPerDay) || c.StopSPerDay < 0 {
		return "", ErrNotFinite
	}
	for _, r := range c.Rounds {
		if !finite(r.AngleDeg) || !finite(r.SpreadSPerDay) || r.SpreadSPerDay < 0 {
			return "", ErrNotFinite
		}
		largest = math.Max(largest, r.SpreadSPerDay)
	}
	if len(c.Rounds) == 0 {
		return emptyOf(c.ID, c.Title, "No round yet.")
	}
	rim := 1.0
	if largest >= leastSize {
		rim = niceStep(largest)
	}
	d := dialSide{x: width / 2, hand: 1}
	var s svg
	s.text("chart-caption", middle, d.x, smallSize, "from the dial side, the balance at rest")
	s.circle("chart-rule", d.x, dialCentreY, dialRadius)
	d.hours(&s)
	s.circle("chart-rim", d.x, dialCentreY, rimRadius)
	s.circle("chart-limit", d.x, dialCentreY, c.StopSPerDay/rim*rimRadius)
	c.way(&s, d, rim)
	s.circle("chart-pivot", d.x, dialCentreY, 1.5)
	height := c.legend(&s, rim)
	return frame{id: c.ID, title: c.Title, desc: c.desc(), height: height}.document(&s)
}

// way draws the line from round to round, a spoke to the newest, and the rounds with their names where there is room.
func (c PoisingWay) way(s *svg, d dialSide, rim float64) {
	var path strings.Builder
	for i, r := range c.Rounds {
		x, y := d.at(r.AngleDeg, r.SpreadSPerDay/rim*rimRadius)
		letter := "L"
		if i == 0 {
			letter = "M"
		}
		path.WriteString(letter + num(x) + " " + num(y))
	}
	s.element("path", "class", "chart-dotted", "fill", "none", "d", path.String())
	last := len(c.Rounds) - 1
	labels := labelPlacer{bounds: box{d.x - dialRadius, dialTop, d.x + dialRadius, dialCentreY + dialRadius}}
	for _, r := range c.Rounds {
		x, y := d.at(r.AngleDeg, r.SpreadSPerDay/rim*rimRadius)
		labels.taken = append(labels.taken, markBox(x, y))
	}
	for i := last; i >= 0; i-- {
		r := c.Rounds[i]
		x, y := d.at(r.AngleDeg, r.SpreadSPerDay/rim*rimRadius)
		if i == last {
			s.line("chart-spoke", d.x, dialCentreY, x, y)
			s.heavySpot(x, y)
		} else {
			s.circle("chart-ring", x, y, 3.5)
		}
		if place, found := labels.place(x, y, textWidth(r.Name, smallSize)); found {
			s.text("chart-label", middle, place.middleX(), place.bottom-3, r.Name)
		}
	}
}

func (c PoisingWay) legend(s *svg, rim float64) float64 {
	y := dialCentreY + hourRadius + 16.0
	row := func(name, remark string, icon func(y float64)) {
		s.line("chart-rule", 0, y, width, y)
		icon(y + 13)
		y += s.nameRow(y+17, name, remark) + 26
	}
	const iconX = markRadius + 1
	for i := len(c.Rounds) - 1; i >= max(0, len(c.Rounds)-mostInLegend); i-- {
		r := c.Rounds[i]
		row("round "+r.Name, r.Text, func(y float64) {
			if i == len(c.Rounds)-1 {
				s.heavySpot(iconX, y)
				return
			}
			s.circle("chart-ring", iconX, y, 3.5)
		})
	}
	row("stop within", plainFigure(c.StopSPerDay)+" s/d", func(y float64) { s.circle("chart-limit", iconX, y, 6) })
	row("centre to rim", plainFigure(rim)+" s/d", func(y float64) { s.line("chart-axis", 0, y, 13, y) })
	s.line("chart-zero", 0, y, width, y)
	s.line("chart-zero", 0, y+3, width, y+3)
	return y + 4
}

// desc says in words all that the drawing shows.
func (c PoisingWay) desc() string {
	var b strings.Builder
	b.WriteString("The heavy spot of the balance at rest, round by round, seen from the dial side.")
	for _, r := range c.Rounds {
		fmt.Fprintf(&b, " Round %s: %s.", r.Name, r.Text)
	}
	fmt.Fprintf(&b, " Poising stops within %s s/d.", plainFigure(c.StopSPerDay))
	return b.String()
}
