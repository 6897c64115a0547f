package chart

import (
	"context"
	"fmt"
	"io"
	"math"
	"math/big"
	"strconv"
	"strings"
)

// TrainMotion is a going train whose wheels turn, each at its true ratio to the others, for people who do not work on
// watches. It is drawn as TrainDrawing is, without counts. What moves it is a style sheet ([TrainMotion.Styles]), so that
// it needs no script, stands still where motion is not wanted and in print, and can be stopped; see static/css/chart.css.
type TrainMotion struct {
	ID, Title, Desc string
	Train           TrainDrawing // its counts, names and first direction
	TurnsPerHour    []*big.Rat   // of each arbor from the first, in the watch
}

// Render writes the drawing; it makes TrainMotion a templ component.
func (d TrainMotion) Render(ctx context.Context, w io.Writer) error { return write(ctx, w, d.SVG) }

// escapeTurnS is how long the last arbor takes for a turn as it is drawn, in seconds, at least: fast enough to be seen
// turning, slow enough for its teeth to be followed.
const escapeTurnS = 2

// TimesAsFast is how many times faster than in the watch the wheels turn: a whole number, or below 1 where it is slower.
func (d TrainMotion) TimesAsFast() float64 {
	if len(d.TurnsPerHour) == 0 {
		return 1
	}
	inWatch, _ := new(big.Rat).Quo(big.NewRat(3600, 1), d.TurnsPerHour[len(d.TurnsPerHour)-1]).Float64() // seconds a turn
	if inWatch < escapeTurnS {
		return 1 / math.Ceil(escapeTurnS/inWatch)
	}
	return math.Floor(inWatch / escapeTurnS)
}

// Styles are the style sheet that turns the wheels of the drawing that stands in an element with that ID: for each arbor the time of one turn as it
// is drawn, to a microsecond, and the direction.
func (d TrainMotion) Styles() string {
	var b strings.Builder
	for i, turns := range d.TurnsPerHour {
		seconds := new(big.Rat).Quo(big.NewRat(3600, 1), turns)
		fast, _ := seconds.Float64()
		way := "normal"
		if (i%2 == 0) == d.Train.Anticlockwise {
			way = "reverse"
		}
		fmt.Fprintf(&b, "#%s .chart-turns-%d { animation-duration: %ss; animation-direction: %s; }\n", d.ID, i+1,
			strconv.FormatFloat(fast/d.TimesAsFast(), 'f', 6, 64), way)
	}
	return b.String()
}

// SVG returns the drawing as an svg element. It fails as TrainDrawing does, and where a count or an arbor's turns are not
// known: what isn't known can't turn.
func (d TrainMotion) SVG() (string, error) {
	t := d.Train
	t.ID = d.ID
	if _, err := t.SVG(); err != nil {
		return "", err
	}
	if t.EscapeTeeth == 0 || len(t.Stages) == 0 || len(d.TurnsPerHour) != len(t.Stages)+1 {
		return "", ErrSize
	}
	for _, st := range t.Stages {
		if st.Wheel == 0 || st.Pinion == 0 {
			return "", ErrSize
		}
	}
	l := trainLayout{TrainDrawing: t, arbors: t.arbors()}
	l.place()
	var s svg
	for i := range l.arbors {
		l.turning(&s, i)
	}
	for i := range l.arbors {
		l.named(&s, i)
	}
	return frame{id: d.ID, title: d.Title, desc: d.Desc, height: l.foot - 16}.document(&s)
}

// turning draws what sits on an arbor about the origin of a group of its own, which the style sheet turns.
func (l *trainLayout) turning(s *svg, i int) {
	a := l.arbors[i]
	s.open("g", "transform", "translate("+num(a.x)+" "+num(l.cy)+")")
	s.open("g", "class", "chart-turns chart-turns-"+strconv.Itoa(i+1))
	larger, smaller := a.largerSmaller()
	still := a
	still.x = 0
	for _, t := range []*toothed{larger, smaller} {
		if t == nil {
			continue
		}
		towards, ink := 0.0, "chart-wheel"
		if t == a.driven {
			towards = 180
		}
		if t == smaller {
			ink = "chart-pinion"
		}
		s.circle(ink, 0, 0, t.radius)
		s.element("path", "class", "chart-teeth", "d", teeth(*t, still, 0, towards))
		if t == larger {
			s.element("path", "class", "chart-arm", "d", arms(t.radius-3))
		}
	}
	s.circle("chart-pivot", 0, 0, 1.5)
	s.close("g")
	s.close("g")
}

// arms are the four arms of a wheel, by which its turning is seen; one is marked with a dot of its own.
func arms(radius float64) string {
	if radius < 4 {
		return ""
	}
	dot := radius * 0.72
	return stroke(-radius, 0, radius, 0) + stroke(0, -radius, 0, radius) +
		"M" + num(dot-2) + " 0A2 2 0 1 0 " + num(dot+2) + " 0A2 2 0 1 0 " + num(dot-2) + " 0Z"
}

// named writes the name of an arbor above it, where there is room.
func (l *trainLayout) named(s *svg, i int) {
	a := l.arbors[i]
	left, right := l.nameEnds(i)
	if foot := l.write(s, "chart-name", (left+right)/2, a.name, l.names-4, l.names-4-nameRowFoot); foot > 0 {
		s.line("chart-column", a.x, foot+4, a.x, l.cy-a.outer()-4)
	}
}
