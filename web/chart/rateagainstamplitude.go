package chart

import (
	"cmp"
	"context"
	"fmt"
	"io"
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
	Curves      []FittedCurve // drawn under the points; at most three
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
	// StandsOff marks a reading that lies further from the fit than its uncertainty explains.
	StandsOff bool
}

// neutralAmplitudeDeg is the bench rule for the amplitude at which poise has no effect; theory gives 219.5°.
const neutralAmplitudeDeg = 220

// Render writes the chart; it makes RateAgainstAmplitude a templ component.
func (c RateAgainstAmplitude) Render(ctx context.Context, w io.Writer) error {
	return write(ctx, w, c.SVG)
}

// SVG returns the chart as an svg element. It fails on an unusable ID, on more than six states or three curves, and
// on figures that are not finite.
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
	if err := c.checkCurves(); err != nil {
		return "", err
	}
	rateSpan, found := around(rates)
	if !found {
		return empty(c.ID, c.Title)
	}
	amplitudeSpan, _ := around(amplitudes)
	l := c.layout(rateSpan, amplitudeSpan)
	var s svg
	l.curveBands(&s)
	rateRules(&s, l.y, l.left, rightEdge)
	l.amplitudeRules(&s)
	l.curveLines(&s)
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
	rates = c.withCurves(rates, newAxis(amplitudes, 5, 0, 1).span)
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
			label := string(p.Position)
			if p.StandsOff {
				label += " " + standsOff
			}
			place, found := labels.place(x, y, textWidth(label, smallSize))
			if !found {
				label = string(p.Position)
				place, found = labels.place(x, y, textWidth(label, smallSize))
			}
			if found {
				if place.led {
					s.line("chart-link", x, y, place.middleX(), place.middleY())
				}
				s.text("chart-label", middle, place.middleX(), place.bottom-3, label)
			}
			s.drawMark(n, x, y)
			if p.StandsOff {
				s.element("circle", "class", "chart-off", "cx", num(x), "cy", num(y), "r", num(ringRadius))
			}
		}
	}
}

// legend writes the states under the chart and returns its height.
func (l amplitudeLayout) legend(s *svg) float64 {
	y := plotBottom + 46.0
	for n, state := range l.States {
		s.line("chart-rule", 0, y, width, y)
		s.drawMark(n, markRadius+1, y+13)
		y += s.nameRow(y+17, state.Name, countText(len(state.Points))) + 26
	}
	y = l.curveRows(s, y)
	if l.neutralVisible() {
		s.line("chart-rule", 0, y, width, y)
		s.line("chart-limit", markRadius+1, y+5, markRadius+1, y+21)
		y += s.caption(nameLeft, y+17, fmt.Sprintf("%d°: poise has no effect on the rate", neutralAmplitudeDeg)) + 26
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
			words := fmt.Sprintf("%s %s at %s", p.Position, p.Rate.FormatSigned(), p.Amplitude.Format())
			if p.StandsOff {
				words += ", " + standsOff + " the fit"
			}
			said = append(said, words)
		}
		fmt.Fprintf(&b, " %s: %s.", state.Name, cmp.Or(strings.Join(said, "; "), "nothing measured"))
	}
	b.WriteString(c.curveWords())
	return b.String()
}
