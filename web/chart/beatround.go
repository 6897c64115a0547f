package chart

import (
	"context"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"ledgerwheel/domain/acoustic"
)

// BeatRound shows the beats on one turn of a wheel, laid over one another turn by turn: each at its tooth, early inward
// and late outward, so that what repeats with the wheel stands still.
type BeatRound struct {
	ID     string // of the element; unique on its page
	Title  string
	Result acoustic.Result
	// Teeth of the escape wheel: one turn is two beats a tooth. 0 for one turn of the seconds hand, a minute.
	Teeth     int
	TeethSaid string // the number and whence it is known
	// From is the number of the beat that stands at the first tooth.
	From int64
	// LastS shows the beats of the last seconds alone; 0 all.
	LastS float64
	// Short leaves the words under the round to one line, where there is little room.
	Short bool
}

// Measures in user units.
const (
	roundTop   = 30.0 // of the numerals' circle
	roundRim   = 134.0
	roundZero  = 88.0
	roundHub   = 42.0
	roundLabel = 154.0
	tockRadius = 1.7 // of a tock
	roundX     = width / 2
	roundY     = roundTop + roundLabel
)

// Most beats of a swing that are drawn one by one; of more, a stroke stands for nine in ten of a tooth's.
const (
	roundDots    = 320
	roundCrosses = 80 // beats not used or beyond the scale
)

const (
	greatestTeeth  = 60
	leastOfMedian  = 3 // beats
	secondsOfTurn  = 60
	leastRoundSpan = 0.02 // ms, so that microseconds of a very even watch are not drawn as if they mattered
)

// Render writes the chart; it makes BeatRound a templ component.
func (c BeatRound) Render(ctx context.Context, w io.Writer) error { return write(ctx, w, c.SVG) }

// SVG returns the chart as an svg element. It fails on an unusable ID and on more than sixty teeth. Beats whose time or
// residual is not finite are passed over.
func (c BeatRound) SVG() (string, error) {
	if c.Teeth < 0 || c.Teeth > greatestTeeth {
		return "", ErrTooMany
	}
	l := c.layout()
	if l.count() == 0 {
		return emptyOf(c.ID, c.Title, noBeats)
	}
	var s svg
	l.rings(&s)
	l.teeth(&s)
	for swing := range l.used {
		l.beats(&s, acoustic.Swing(swing))
	}
	l.medians(&s)
	l.crosses(&s)
	height := l.legend(&s)
	return frame{id: c.ID, title: c.Title, desc: l.desc(), height: height}.document(&s)
}

// radius is that of an instant, held within rim and hub.
func (l *roundLayout) radius(ms float64) float64 {
	return roundZero + (roundRim-roundZero)*math.Max(-1, math.Min(1, ms/l.reach))
}

// onRound is the point at a place of the turn, clockwise from the top.
func onRound(at, radius float64) (x, y float64) {
	sin, cos := math.Sincos(2 * math.Pi * at)
	return roundX + radius*sin, roundY - radius*cos
}

// arc is a piece of a circle about the middle.
func arc(from, to, radius float64) string {
	x1, y1 := onRound(from, radius)
	x2, y2 := onRound(to, radius)
	return "M" + num(x1) + " " + num(y1) + "A" + num(radius) + " " + num(radius) + " 0 0 1 " + num(x2) + " " + num(y2)
}

// rings draws the scale: hub, middle and rim, and the band about the middle.
func (l *roundLayout) rings(s *svg) {
	circle := func(class string, radius float64) {
		s.element("circle", "class", class, "cx", num(roundX), "cy", num(roundY), "r", num(radius))
	}
	if half := l.halfBandMs(); half > 0 {
		outer, inner := l.radius(half), l.radius(-half)
		s.element("path", "class", "chart-fit-band", "fill-rule", "evenodd", "d", ringPath(roundX, roundY, outer)+ringPath(roundX, roundY, inner))
	}
	circle("chart-rule", (roundRim+roundZero)/2)
	circle("chart-rule", (roundHub+roundZero)/2)
	circle("chart-zero", roundZero)
	circle("chart-rim", roundRim)
	circle("chart-rim", roundHub)
	s.text("chart-caption", start, 0, smallSize, "rim +"+milliseconds(l.reach)+" ms late")
	s.text("chart-caption", end, rightEdge, smallSize, "hub −"+milliseconds(l.reach)+" ms early")
	name, of := strconv.Itoa(l.Teeth), "teeth"
	if l.Teeth == 0 {
		name, of = strconv.Itoa(secondsOfTurn), "seconds"
	}
	s.text("chart-symbol", middle, roundX, roundY-2, name)
	s.text("chart-caption", middle, roundX, roundY+15, of)
}

// teeth numbers the places of the turn: the teeth, or every fifth second.
func (l *roundLayout) teeth(s *svg) {
	marks, every, first := l.Teeth, 1, 1
	for float64(every)*2*math.Pi*roundLabel/float64(max(marks, 1)) < 24 {
		every++
	}
	if l.Teeth == 0 {
		marks, every, first = secondsOfTurn, 5, 0
	}
	var ticks strings.Builder
	for i := range marks {
		at := float64(i) / float64(marks)
		x1, y1 := onRound(at, roundRim)
		x2, y2 := onRound(at, roundRim+5)
		ticks.WriteString(stroke(x1, y1, x2, y2))
		if i%every == 0 {
			x, y := onRound(at, roundLabel)
			s.text("chart-tick", middle, x, y+textSize*0.35, strconv.Itoa(i+first))
		}
	}
	s.element("path", "class", "chart-teeth", "d", ticks.String())
}

// beats draws each beat of a swing, ticks as dots and tocks as rings, or where they are too many a stroke a slot.
func (l *roundLayout) beats(s *svg, swing acoustic.Swing) {
	var d strings.Builder
	if l.manyBeats() {
		for i, reach := range l.strokes {
			if math.IsNaN(l.median[i]) || l.Teeth > 0 && i&1 != int(swing) || l.Teeth == 0 && swing != acoustic.Tick {
				continue
			}
			x1, y1 := onRound(l.middleOf(i), l.radius(reach[0]))
			x2, y2 := onRound(l.middleOf(i), l.radius(reach[1]))
			d.WriteString(stroke(x1, y1, x2, y2))
		}
		if d.Len() > 0 {
			s.element("path", "class", "chart-range", "d", d.String())
		}
		return
	}
	for _, p := range l.used[swing] {
		x, y := onRound(p.at, l.radius(p.ms))
		if swing == acoustic.Tick {
			dot(&d, x, y)
		} else {
			d.WriteString(ringPath(x, y, tockRadius))
		}
	}
	if d.Len() > 0 {
		s.element("path", "class", [2]string{"chart-dots", "chart-rings"}[swing], "d", d.String())
	}
}

// middleOf is where a slot's median stands.
func (l *roundLayout) middleOf(slot int) float64 {
	if l.Teeth > 0 {
		return float64(slot) / float64(l.slots)
	}
	return (float64(slot) + 0.5) / float64(l.slots)
}

// medians draws the median of each slot as a step along the turn.
func (l *roundLayout) medians(s *svg) {
	var d [2]strings.Builder
	half := 0.44 / float64(l.slots)
	for i, m := range l.median {
		if math.IsNaN(m) {
			continue
		}
		swing := 0
		if l.Teeth > 0 {
			swing = i & 1
		}
		d[swing].WriteString(arc(l.middleOf(i)-half, l.middleOf(i)+half, l.radius(m)))
	}
	for swing := range d {
		if d[swing].Len() > 0 {
			s.element("path", "class", [2]string{"chart-step", "chart-step-open"}[swing], "d", d[swing].String())
		}
	}
}

// crosses draws the beats that were not used and those beyond the scale, these at rim or hub; of a long recording they
// are counted only.
func (l *roundLayout) crosses(s *svg) {
	if l.manyBeats() {
		return
	}
	list := slices.Clone(l.outside)
	for _, swing := range l.used {
		for _, p := range swing {
			if math.Abs(p.ms) > l.reach {
				list = append(list, p)
			}
		}
	}
	var d strings.Builder
	for _, p := range thinned(list, roundCrosses) {
		x, y := onRound(p.at, l.radius(p.ms))
		d.WriteString(cross(x, y))
	}
	if d.Len() > 0 {
		s.element("path", "class", "chart-off", "d", d.String())
	}
}

func cross(x, y float64) string { return stroke(x-3, y-3, x+3, y+3) + stroke(x-3, y+3, x+3, y-3) }
