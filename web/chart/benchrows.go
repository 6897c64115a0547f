package chart

import (
	"errors"
	"math"
	"strings"
)

// Fact is a row under a drawing: a name and its figure with unit, worded for print.
type Fact struct{ Name, Value string }

// ErrSize reports a size or a count that no such part has.
var ErrSize = errors.New("a size or count of the drawing is negative, not finite or beyond any such part's")

// benchRows are the rows under a drawing of the bench, each with its rule above.
type benchRows struct {
	s *svg
	y float64 // of the next rule
}

const rowHeight = 24.0

// add writes a name with its figure at the right; a figure too long for that takes lines of its own. The icon, if
// any, is drawn about x = markRadius+1.
func (r *benchRows) add(name, value string, icon func(y float64)) {
	r.s.line("chart-rule", 0, r.y, width, r.y)
	left := 0.0
	if icon != nil {
		icon(r.y + 12)
		left = nameLeft
	}
	base := r.y + 16
	ofName := float64(len([]rune(name))) * wordWidth * textSize
	ofValue := float64(len([]rune(value))) * wordWidth * textSize
	r.s.text("chart-name", start, left, base, fit(name, rightEdge-left, textSize))
	r.y += rowHeight
	switch {
	case value == "":
	case left+ofName+10+ofValue <= rightEdge:
		r.s.text("chart-caption", end, rightEdge, base, value)
	default:
		r.y = r.s.paragraph("chart-caption", left, base+lineHeight, rightEdge-left, smallSize, value) - 8
	}
}

func (r *benchRows) facts(facts []Fact) {
	for _, f := range facts {
		r.add(f.Name, f.Value, nil)
	}
}

// end closes the rows and returns the height of the drawing.
func (r *benchRows) end() float64 {
	r.s.line("chart-zero", 0, r.y, width, r.y)
	r.s.line("chart-zero", 0, r.y+3, width, r.y+3)
	return r.y + 4
}

// factSentences says the rows in words.
func factSentences(b *strings.Builder, facts []Fact) {
	for _, f := range facts {
		b.WriteString(" " + strings.TrimSpace(f.Name+": "+f.Value) + ".")
	}
}

// point is the place at an angle, clockwise from the right, and a radius about a centre.
func point(cx, cy, deg, radius float64) (x, y float64) {
	sin, cos := math.Sincos(deg * math.Pi / 180)
	return cx + radius*cos, cy + radius*sin
}

// arrow draws an arc with a head at its end; degrees clockwise from the right, from the first to the last.
func (s *svg) arrow(cx, cy, radius, from, to float64) {
	sweep, ahead := "1", 90.0
	if to < from {
		sweep, ahead = "0", -90
	}
	x1, y1 := point(cx, cy, from, radius)
	x2, y2 := point(cx, cy, to, radius)
	r := num(radius)
	s.element("path", "class", "chart-turning", "d",
		"M"+num(x1)+" "+num(y1)+"A"+r+" "+r+" 0 0 "+sweep+" "+num(x2)+" "+num(y2))
	s.arrowHead(x2, y2, to+ahead)
}

// arrowHead draws a full head whose tip lies a little ahead of x, y.
func (s *svg) arrowHead(x, y, deg float64) {
	const long, wide = 5.0, 3.0
	tipX, tipY := point(x, y, deg, long)
	leftX, leftY := point(x, y, deg-90, wide)
	rightX, rightY := point(x, y, deg+90, wide)
	s.element("path", "class", "chart-head", "d",
		"M"+num(tipX)+" "+num(tipY)+"L"+num(leftX)+" "+num(leftY)+"L"+num(rightX)+" "+num(rightY)+"Z")
}

// dimension draws a dimension line from x1 to x2 at y, closed at both ends, and its text under the middle.
func (s *svg) dimension(x1, x2, y float64, content string) {
	s.line("chart-axis", x1, y, x2, y)
	s.line("chart-axis", x1, y-4, x1, y+4)
	s.line("chart-axis", x2, y-4, x2, y+4)
	s.text("chart-figure", middle, (x1+x2)/2, y+16, content)
}

// polyline is the path through points given as x, y in turn.
func polyline(points []float64) string {
	var b strings.Builder
	for i := 0; i+1 < len(points); i += 2 {
		letter := byte('L')
		if i == 0 {
			letter = 'M'
		}
		b.WriteByte(letter)
		b.WriteString(num(points[i]) + " " + num(points[i+1]))
	}
	return b.String()
}

// spiral appends the points of a spiral about a centre: turns from one angle and radius to another radius; negative
// turns run anticlockwise.
func spiral(points []float64, cx, cy, fromDeg, turns, r1, r2 float64) []float64 {
	const perTurn = 32
	steps := max(2, int(math.Ceil(math.Abs(turns)*perTurn)))
	for i := range steps + 1 {
		part := float64(i) / float64(steps)
		x, y := point(cx, cy, fromDeg+360*turns*part, r1+(r2-r1)*part)
		points = append(points, x, y)
	}
	return points
}

// sizes reports whether all are finite, not negative and at most most.
func sizes(most float64, all ...float64) bool {
	for _, x := range all {
		if !finite(x) || x < 0 || x > most {
			return false
		}
	}
	return true
}

// ringPath is a circle as a path, to be one of several contours.
func ringPath(cx, cy, radius float64) string {
	r := num(radius)
	half := "A" + r + " " + r + " 0 1 1 " + num(cx) + " "
	return "M" + num(cx) + " " + num(cy-radius) + half + num(cy+radius) + half + num(cy-radius) + "Z"
}
