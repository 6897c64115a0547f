package chart

import (
	"context"
	"fmt"
	"io"
	"math"
	"strings"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/text"
)

// LongRun shows rate, amplitude and beat error of a long recording against time, one above the other.
type LongRun struct {
	ID        string // of the element; unique on its page
	Title     string
	Stretches []acoustic.Stretch
	Run       acoustic.Run // what the stretches say; the zero value where that is not asked
}

// Measures in user units.
const (
	ruledTop    = 26.0 // of the first panel
	ruledHeight = 96.0
	ruledGap    = 34.0
)

// mostStretches drawn; beyond it the least and the greatest of each of a number of short times are.
const mostStretches = 300

// Render writes the chart; it makes LongRun a templ component.
func (c LongRun) Render(ctx context.Context, w io.Writer) error { return write(ctx, w, c.SVG) }

// SVG returns the chart as an svg element. It fails on an unusable ID. Stretches with a time or figure that is not
// finite are passed over; where a stretch has no amplitude its line is broken.
func (c LongRun) SVG() (string, error) {
	panels := c.panels()
	if len(panels[0].points) == 0 {
		return emptyOf(c.ID, c.Title, noBeats)
	}
	l := c.layout(panels)
	var s svg
	for i := range l.panels {
		l.panel(&s, &l.panels[i])
	}
	bottom := l.panels[len(l.panels)-1].y.from
	l.time.foot(&s, bottom)
	if l.Run.Stopped && finite(l.Run.StopS) {
		for _, p := range l.panels {
			s.line("chart-limit", l.time.at(l.Run.StopS), p.y.to, l.time.at(l.Run.StopS), p.y.from)
		}
	}
	height := l.legend(&s, bottom)
	return frame{id: c.ID, title: c.Title, desc: l.desc(), height: height}.document(&s)
}

// runPanel is one figure against time.
type runPanel struct {
	name, unit string
	signed     bool
	leastSpan  float64
	trend      *acoustic.Line
	points     []runPoint
	y          axis
}

// runPoint is one figure of one stretch; joined says that it follows the one before without a gap.
type runPoint struct {
	atS    float64
	value  metrology.Value
	joined bool
}

// Least spans drawn, so that steady figures are not drawn as if their last digits mattered.
const (
	leastRunRateSpan  = 1   // s/d
	leastRunErrorSpan = 0.1 // ms
)

func (c LongRun) panels() []runPanel {
	panels := []runPanel{
		{name: "rate", unit: "s/d", signed: true, leastSpan: leastRunRateSpan, trend: c.Run.RateTrend},
		{name: "amplitude", unit: "°", leastSpan: leastAmplitudeSpan, trend: c.Run.AmplitudeTrend},
		{name: "beat error", unit: "ms", signed: true, leastSpan: leastRunErrorSpan, trend: c.Run.BeatErrorTrend},
	}
	for i := range panels {
		p := &panels[i]
		var before float64
		for _, stretch := range c.Stretches {
			value, known := runFigure(stretch, i)
			if !known {
				continue
			}
			length := stretch.EndS - stretch.StartS
			joined := len(p.points) > 0 && stretch.StartS-before < length/2
			p.points = append(p.points, runPoint{stretch.MiddleS(), value, joined})
			before = stretch.EndS
		}
	}
	return panels
}

// runFigure returns the i-th figure of a stretch; known is false where it has none that can be drawn.
func runFigure(s acoustic.Stretch, i int) (v metrology.Value, known bool) {
	switch {
	case !finite(s.StartS) || !finite(s.EndS):
		return v, false
	case i == 0:
		v = s.Rate
	case i == 1 && s.Amplitude != nil:
		v = *s.Amplitude
	case i == 2 && s.BeatError != nil:
		v = *s.BeatError
	default:
		return v, false
	}
	return v, v.Check() == nil
}

// runLayout places the chart's parts.
type runLayout struct {
	LongRun
	panels []runPanel
	time   timeAxis
}

func (c LongRun) layout(panels []runPanel) runLayout {
	l := runLayout{LongRun: c, panels: panels}
	low, high := math.Inf(1), math.Inf(-1)
	left := 0.0
	for i := range panels {
		p := &panels[i]
		var values []metrology.Value
		for _, point := range p.points {
			values = append(values, point.value)
			low, high = math.Min(low, point.atS), math.Max(high, point.atS)
		}
		full, found := around(values)
		if !found {
			full = span{0, p.leastSpan}
		}
		top := ruledTop + float64(i)*(ruledHeight+ruledGap)
		p.y = newAxis(full.atLeast(p.leastSpan), 4, top+ruledHeight, top)
		left = math.Max(left, p.y.labelWidth(p.signed)+8)
	}
	if c.Run.Stopped && finite(c.Run.StopS) {
		low, high = math.Min(low, c.Run.StopS), math.Max(high, c.Run.StopS)
	}
	l.time = newTimeAxis(low, high, left, rightEdge-14)
	return l
}

// panel draws one figure: its name and trend, ruled lines, the band of its uncertainty and its line.
func (l runLayout) panel(s *svg, p *runPanel) {
	s.text("chart-symbol", start, 0, p.y.to-12, p.heading())
	switch {
	case len(p.points) == 0:
		s.text("chart-caption", end, rightEdge, p.y.to-12, "not heard")
	case p.trend != nil:
		s.text("chart-caption", end, rightEdge, p.y.to-12, fit(trendWords(*p.trend), rightEdge-150, smallSize))
	}
	for _, tick := range p.y.ticks {
		class := "chart-rule"
		if p.signed && math.Abs(tick) < p.y.step/2 {
			class = "chart-zero"
		}
		s.line(class, l.time.from, p.y.at(tick), rightEdge, p.y.at(tick))
		s.text("chart-tick", end, l.time.from-6, p.y.at(tick)+textSize*0.35, p.y.label(tick, p.signed))
	}
	points := decimated(p.points)
	for first := 0; first < len(points); {
		past := first + 1
		for past < len(points) && points[past].joined {
			past++
		}
		l.piece(s, p.y, points[first:past])
		first = past
	}
}

func (p runPanel) heading() string {
	switch {
	case p.unit == "°":
		return p.name + ", degrees"
	case p.unit == "s/d":
		return p.name + ", s/d (+ gains)"
	}
	return p.name + ", " + p.unit
}

// trendWords says a trend, with twice its standard uncertainty.
func trendWords(l acoustic.Line) string {
	if l.Slope.Check() != nil {
		return ""
	}
	slope := legible(l.Slope)
	if slope.Unit == "°" {
		slope.Unit = "°/h"
		return slope.Print(true).String()
	}
	return slope.Print(true).String() + " per h"
}

// legible widens an uncertainty that would be printed with more decimals than anyone reads.
func legible(v metrology.Value) metrology.Value {
	const least = 5e-5
	v.StdUncertainty = math.Max(v.StdUncertainty, least)
	return v
}

// piece draws points that follow each other without a gap; a single one as a dot with its bar.
func (l runLayout) piece(s *svg, y axis, points []runPoint) {
	var upper, line strings.Builder
	lower := make([]string, len(points))
	letter := "M"
	for i, p := range points {
		x, u := l.time.at(p.atS), p.value.Expanded()
		upper.WriteString(letter + num(x) + " " + num(y.at(p.value.Value+u)))
		line.WriteString(letter + num(x) + " " + num(y.at(p.value.Value)))
		lower[len(points)-1-i] = "L" + num(x) + " " + num(y.at(p.value.Value-u))
		letter = "L"
	}
	if len(points) == 1 {
		x, u := l.time.at(points[0].atS), points[0].value.Expanded()
		s.bar(0, x, y.at(points[0].value.Value-u), x, y.at(points[0].value.Value+u))
		s.element("path", "class", "chart-dots", "d", line.String()+"Z")
		return
	}
	s.element("path", "class", "chart-fit-band", "d", upper.String()+strings.Join(lower, "")+"Z")
	s.element("path", "class", "chart-thread", "d", line.String())
}

// decimated leaves at most mostStretches points: of each of a number of groups the least and the greatest, in order.
func decimated(points []runPoint) []runPoint {
	if len(points) <= mostStretches {
		return points
	}
	const groups = mostStretches / 2
	var out []runPoint
	for g := range groups {
		first, past := g*len(points)/groups, (g+1)*len(points)/groups
		least, most := first, first
		broken := false
		for i := first; i < past; i++ {
			if points[i].value.Value < points[least].value.Value {
				least = i
			}
			if points[i].value.Value >= points[most].value.Value {
				most = i
			}
			broken = broken || !points[i].joined
		}
		one, other := points[min(least, most)], points[max(least, most)]
		one.joined = !broken
		out = append(out, one)
		if least != most {
			other.joined = true
			out = append(out, other)
		}
	}
	return out
}

// legend says what was drawn under the chart and returns its height.
func (l runLayout) legend(s *svg, bottom float64) float64 {
	y := bottom + 46
	s.line("chart-rule", 0, y, width, y)
	s.element("rect", "class", "chart-fit-band", "x", "0", "y", num(y+7), "width", "14", "height", "12")
	s.line("chart-thread", 0, y+13, 14, y+13)
	y += s.caption(nameLeft, y+17, "with its uncertainty, 95 %") + 24
	if words := l.ranWords(); words != "" {
		if l.Run.Stopped {
			s.line("chart-limit", 7, y+5, 7, y+21)
		}
		y += s.caption(nameLeft, y+17, words) + 24
	}
	s.line("chart-zero", 0, y+3, width, y+3)
	s.line("chart-zero", 0, y+6, width, y+6)
	return y + 7
}

func (l runLayout) ranWords() string {
	switch {
	case !finite(l.Run.RanS) || l.Run.RanS <= 0:
		return ""
	case l.Run.Stopped:
		return "stopped after " + durationWords(l.Run.RanS)
	}
	return "heard for " + durationWords(l.Run.RanS) + ", still running"
}

// desc says in words what the drawing shows: each figure at its ends, its least and its greatest.
func (l runLayout) desc() string {
	var b strings.Builder
	fmt.Fprintf(&b, "Rate, amplitude and beat error against time in %s, with expanded uncertainty (k = 2), from %d stretches.", l.time.unit, len(l.Stretches))
	for _, p := range l.panels {
		fmt.Fprintf(&b, " %s: ", text.Capital(p.name))
		if len(p.points) == 0 {
			b.WriteString("not heard.")
			continue
		}
		least, most := p.points[0], p.points[0]
		for _, point := range p.points {
			if point.value.Value < least.value.Value {
				least = point
			}
			if point.value.Value > most.value.Value {
				most = point
			}
		}
		say := func(point runPoint) string {
			return fmt.Sprintf("%s at %s", point.value.Print(p.signed), durationWords(point.atS))
		}
		fmt.Fprintf(&b, "first %s, last %s", say(p.points[0]), say(p.points[len(p.points)-1]))
		if len(p.points) > 2 {
			fmt.Fprintf(&b, ", least %s, greatest %s", say(least), say(most))
		}
		if p.trend != nil {
			fmt.Fprintf(&b, ", trend %s", trendWords(*p.trend))
		}
		if len(p.points) > mostStretches {
			fmt.Fprintf(&b, "; %d of %d points drawn", len(decimated(p.points)), len(p.points))
		}
		b.WriteString(".")
	}
	if words := l.ranWords(); words != "" {
		b.WriteString(" " + text.Sentence(words))
	}
	return b.String()
}
