package chart

import (
	"context"
	"fmt"
	"io"
	"math"
	"strings"

	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
)

// RateAgainstAmplitude shows how the rate goes with the amplitude, by state of wind: isochronism, and how far the
// positions part as the amplitude falls.
type RateAgainstAmplitude struct {
	ID     string // of the element; unique on its page
	Title  string
	States []AmplitudeSeries // in the order the legend says them; at most six
	// MarkNeutral rules the amplitude at which a heavy spot of the balance has no effect on the rate, where it lies on
	// the chart.
	MarkNeutral bool
}

// AmplitudeSeries is what was measured at one state of wind.
type AmplitudeSeries struct {
	Name   string // as the legend says it: "full wind"
	Points []AmplitudePoint
}

// AmplitudePoint is one position's amplitude (degrees) and rate (s/d).
type AmplitudePoint struct {
	Position        timing.Position
	Amplitude, Rate metrology.Value
}

// neutralAmplitudeDeg is the bench rule for the amplitude at which poise has no effect; theory gives 219.5°.
const neutralAmplitudeDeg = 220

// Render writes the chart; it makes RateAgainstAmplitude a templ component.
func (c RateAgainstAmplitude) Render(ctx context.Context, w io.Writer) error {
	return write(ctx, w, c.SVG)
}

// SVG returns the chart as an svg element. It fails on an unusable ID, on more than six states, and on figures that
// are not finite.
func (c RateAgainstAmplitude) SVG() (string, error) {
	var rates, amplitudes []metrology.Value
	for _, state := range c.States {
		for _, p := range state.Points {
			rates, amplitudes = append(rates, p.Rate), append(amplitudes, p.Amplitude)
		}
	}
	if err := checkFigures(append(append([]metrology.Value{}, rates...), amplitudes...)); err != nil {
		return "", err
	}
	if len(c.States) > len(marks) {
		return "", ErrTooMany
	}
	rateSpan, found := around(rates)
	if !found {
		return empty(c.ID, c.Title)
	}
	amplitudeSpan, _ := around(amplitudes)
	l := c.layout(rateSpan, amplitudeSpan)
	var s svg
	rateRules(&s, l.y, l.left, rightEdge)
	l.amplitudeRules(&s)
	l.bars(&s)
	l.points(&s)
	height := l.legend(&s)
	return frame{id: c.ID, title: c.Title, desc: c.desc(), height: height}.document(&s)
}

// amplitudeLayout places the chart's parts.
type amplitudeLayout struct {
	RateAgainstAmplitude
	x, y axis
	left float64
}

// Least spans drawn, so that equal figures are not drawn as if their last digits mattered.
const leastAmplitudeSpan = 20 // degrees

func (c RateAgainstAmplitude) layout(rates, amplitudes span) amplitudeLayout {
	rates = rates.with(0, leastRateSpan)
	if room := leastAmplitudeSpan - (amplitudes.high - amplitudes.low); room > 0 {
		amplitudes = span{amplitudes.low - room/2, amplitudes.high + room/2}
	}
	if room := leastRateSpan - (rates.high - rates.low); room > 0 {
		rates = span{rates.low - room/2, rates.high + room/2}
	}
	y := newAxis(rates, 6, plotBottom, plotTop)
	left := y.labelWidth(true) + 8
	// The marks at the ends keep clear of the edges.
	return amplitudeLayout{RateAgainstAmplitude: c, y: y, left: left,
		x: newAxis(amplitudes, 5, left+markRadius+2, rightEdge-14)}
}

// amplitudeRules draws the foot of the chart, and the neutral amplitude.
func (l amplitudeLayout) amplitudeRules(s *svg) {
	s.line("chart-axis", l.left, plotBottom, rightEdge, plotBottom)
	for _, tick := range l.x.ticks {
		x := l.x.at(tick)
		s.line("chart-axis", x, plotBottom, x, plotBottom+5)
		s.text("chart-tick", middle, x, plotBottom+19, l.x.label(tick, false)+"°")
	}
	s.text("chart-caption", end, rightEdge, plotBottom+36, "amplitude")
	if l.neutralVisible() {
		x := l.x.at(neutralAmplitudeDeg)
		s.line("chart-limit", x, plotTop, x, plotBottom)
	}
}

func (l amplitudeLayout) neutralVisible() bool {
	return l.MarkNeutral && l.x.low <= neutralAmplitudeDeg && neutralAmplitudeDeg <= l.x.high
}

// bars draws the uncertainties first, so that no bar crosses a mark.
func (l amplitudeLayout) bars(s *svg) {
	for n, state := range l.States {
		for _, p := range state.Points {
			x, y := l.x.at(p.Amplitude.Value), l.y.at(p.Rate.Value)
			if u := p.Rate.Expanded(); u > 0 {
				s.bar(n, x, l.y.at(p.Rate.Value-u), x, l.y.at(p.Rate.Value+u))
			}
			if u := p.Amplitude.Expanded(); u > 0 {
				s.bar(n, l.x.at(p.Amplitude.Value-u), y, l.x.at(p.Amplitude.Value+u), y)
			}
		}
	}
}

// points draws the marks, and beside each its position's symbol where there is room.
func (l amplitudeLayout) points(s *svg) {
	labels := labelPlacer{bounds: box{l.left, plotTop - 4, rightEdge, plotBottom - 1}}
	for _, state := range l.States {
		for _, p := range state.Points {
			x, y := l.x.at(p.Amplitude.Value), l.y.at(p.Rate.Value)
			labels.taken = append(labels.taken, markBox(x, y))
			du, dv := l.x.at(p.Amplitude.Value+p.Amplitude.Expanded())-x, l.y.at(p.Rate.Value-p.Rate.Expanded())-y
			labels.spared = append(labels.spared, box{x - du, y - 2, x + du, y + 2}, box{x - 2, y - dv, x + 2, y + dv})
		}
	}
	for n, state := range l.States {
		for _, p := range state.Points {
			x, y := l.x.at(p.Amplitude.Value), l.y.at(p.Rate.Value)
			place, found := labels.place(x, y, textWidth(string(p.Position), smallSize))
			if found {
				if place.led {
					s.line("chart-link", x, y, place.middleX(), place.middleY())
				}
				s.text("chart-label", middle, place.middleX(), place.bottom-3, string(p.Position))
			}
			s.drawMark(n, x, y)
		}
	}
}

// legend writes the states under the chart and returns its height.
func (l amplitudeLayout) legend(s *svg) float64 {
	y := plotBottom + 46.0
	for n, state := range l.States {
		s.line("chart-rule", 0, y, width, y)
		s.drawMark(n, markRadius+1, y+13)
		s.nameRow(y+17, state.Name, countText(len(state.Points)))
		y += 26
	}
	if l.neutralVisible() {
		s.line("chart-rule", 0, y, width, y)
		s.line("chart-limit", markRadius+1, y+5, markRadius+1, y+21)
		s.text("chart-caption", start, nameLeft, y+17, fmt.Sprintf("%d°: poise has no effect on the rate", neutralAmplitudeDeg))
		y += 26
	}
	s.line("chart-zero", 0, y, width, y)
	s.line("chart-zero", 0, y+3, width, y+3)
	return y + 4
}

func countText(n int) string {
	if n == 1 {
		return "1 position"
	}
	return fmt.Sprintf("%d positions", n)
}

// desc says in words all that the drawing shows.
func (c RateAgainstAmplitude) desc() string {
	var b strings.Builder
	b.WriteString("Rate in seconds per day against amplitude in degrees, with expanded uncertainty (k = 2).")
	for _, state := range c.States {
		var said []string
		for _, p := range state.Points {
			said = append(said, fmt.Sprintf("%s %s at %s", p.Position, p.Rate.FormatSigned(), p.Amplitude.Format()))
		}
		fmt.Fprintf(&b, " %s: %s.", state.Name, orNothing(strings.Join(said, "; ")))
	}
	return b.String()
}

// box is a rectangle on the drawing.
type box struct{ left, top, right, bottom float64 }

func (b box) overlaps(o box) bool {
	return b.left < o.right && o.left < b.right && b.top < o.bottom && o.top < b.bottom
}

func (b box) inside(o box) bool {
	return b.left >= o.left && b.right <= o.right && b.top >= o.top && b.bottom <= o.bottom
}

func markBox(x, y float64) box {
	return box{x - markRadius, y - markRadius, x + markRadius, y + markRadius}
}

// placement is where a label stands; led says that it is too far from its mark to belong to it without a line.
type placement struct {
	box
	led bool
}

func (p placement) middleX() float64 { return (p.left + p.right) / 2 }
func (p placement) middleY() float64 { return (p.top + p.bottom) / 2 }

// labelPlacer finds room for labels beside their marks.
type labelPlacer struct {
	bounds box
	taken  []box // never written over
	spared []box // written over only where there is no other room
}

// rings is how far out a label may stand from its mark; beyond it the description alone names the point.
const rings = 4

// place finds a place for a label of the given width about x, y, the nearest that is free: first clear of bars too.
func (l *labelPlacer) place(x, y, width float64) (placement, bool) {
	for ring := range rings {
		for _, b := range around8(x, y, width, ring) {
			if b.inside(l.bounds) && clearOf(b, l.taken) && clearOf(b, l.spared) {
				return l.take(b, ring)
			}
		}
		for _, b := range around8(x, y, width, ring) {
			if b.inside(l.bounds) && clearOf(b, l.taken) {
				return l.take(b, ring)
			}
		}
	}
	return placement{}, false
}

func (l *labelPlacer) take(b box, ring int) (placement, bool) {
	l.taken = append(l.taken, b)
	return placement{box: b, led: ring > 0}, true
}

// around8 returns the places about x, y at one distance: right, left, above and below, then between them.
func around8(x, y, width float64, ring int) []box {
	const height = smallSize + 1
	var places []box
	for _, eighth := range []int{0, 4, 6, 2, 7, 5, 1, 3} { // of a turn, clockwise from right
		angle := 2 * math.Pi * float64(eighth) / 8
		out := markRadius + 2 + float64(ring)*14
		cx, cy := x+math.Cos(angle)*(out+width/2), y+math.Sin(angle)*(out+height/2)
		places = append(places, box{cx - width/2, cy - height/2, cx + width/2, cy + height/2})
	}
	return places
}

// clearOf reports whether b touches none of the others.
func clearOf(b box, others []box) bool {
	for _, o := range others {
		if b.overlaps(o) {
			return false
		}
	}
	return true
}
