package chart

import (
	"fmt"
	"strconv"
	"strings"

	"ledgerwheel/domain/timing"
)

// mark is the shape that tells a series from the others.
type mark struct {
	path  string // about the origin
	solid bool
}

// markRadius is half the height of a mark.
const markRadius = 6.0

// marks are the shapes in the order series take them; the newest or fullest series takes the first.
var marks = []mark{
	{path: "M0 -6.5L6 0L0 6.5L-6 0Z", solid: true},
	{path: "M0 -6.5L6 0L0 6.5L-6 0Z"},
	{path: "M-4.5 -4.5H4.5V4.5H-4.5Z", solid: true},
	{path: "M0 -5A5 5 0 1 1 0 5A5 5 0 1 1 0 -5Z"},
	{path: "M0 -5.5L5.5 4.5H-5.5Z", solid: true},
	{path: "M0 5.5L5.5 -4.5H-5.5Z"},
}

// predictedShape stands for the mark of what was worked out and not measured: a hollow hexagon, dashed.
const predictedShape = -1

const predictedPath = "M-3 -5.5H3L6.2 0L3 5.5H-3L-6.2 0Z"

// ErrTooMany reports more series than there are shapes to tell them apart.
var ErrTooMany = fmt.Errorf("a chart has at most %d series", len(marks))

// class gives a series its ink: the n-th shape goes with the n-th colour.
func seriesClass(n int) string {
	if n == predictedShape {
		return "chart-predicted"
	}
	return "chart-series-" + strconv.Itoa(n+1)
}

// drawMark draws the n-th mark at x, y.
func (s *svg) drawMark(n int, x, y float64) {
	class, path := "chart-mark "+seriesClass(n)+" chart-hollow", predictedPath
	if n != predictedShape {
		path = marks[n].path
		if marks[n].solid {
			class = "chart-mark " + seriesClass(n)
		}
	}
	s.element("path", "class", class, "transform", "translate("+num(x)+" "+num(y)+")", "d", path)
}

// bar draws an uncertainty from (x1, y1) to (x2, y2), which share one coordinate, closed at both ends.
func (s *svg) bar(n int, x1, y1, x2, y2 float64) {
	const cap = 3.0
	dx, dy := 0.0, cap
	if x1 == x2 {
		dx, dy = cap, 0
	}
	s.element("path", "class", "chart-bar "+seriesClass(n), "d", stroke(x1, y1, x2, y2)+
		stroke(x1-dx, y1-dy, x1+dx, y1+dy)+stroke(x2-dx, y2-dy, x2+dx, y2+dy))
}

// watch draws a small watch at x, y the way it lies in position p: flat ones show their dial or, the crown then on the other side, their back; hanging
// ones stand on a line with twelve and the crown where they then are.
func (s *svg) watch(p timing.Position, crownHour int, x, y float64) {
	const degreesPerHour = 30
	hour, hanging := p.UppermostHour()
	turn := 0
	if hanging {
		turn = -hour * degreesPerHour
	}
	if p == timing.DialDown && crownHour < 12 {
		crownHour = 12 - crownHour // seen from the back left and right change places
	}
	at := func(deg int) string { return fmt.Sprintf("translate(%s %s) rotate(%d)", num(x), num(y), deg) }
	if crownHour >= 1 && crownHour <= 12 {
		s.element("path", "class", "chart-crown", "transform", at(turn+crownHour*degreesPerHour), "d", "M-2 -11.5H2V-8H-2Z")
	}
	s.element("circle", "class", "chart-case", "cx", num(x), "cy", num(y), "r", "8.5")
	switch p {
	case timing.DialDown:
		s.element("circle", "class", "chart-back", "cx", num(x), "cy", num(y), "r", "5")
	case timing.DialUp:
		s.element("path", "class", "chart-hand", "transform", at(turn), "d", "M-3.2 -2.6L0 0L4.2 -3.6")
		fallthrough
	default:
		s.element("path", "class", "chart-twelve", "transform", at(turn), "d", "M0 -4.2L-2.2 -7.4H2.2Z")
	}
	if hanging {
		s.line("chart-case", x-11, y+11.8, x+11, y+11.8)
	}
}

// wordLines breaks the plain words of a position for a narrow column: "crown" over "left"; a crown between two
// directions takes three lines.
func wordLines(words string) []string {
	return strings.Fields(strings.ReplaceAll(words, "-", "- "))
}
