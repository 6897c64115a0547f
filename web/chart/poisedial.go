package chart

import (
	"context"
	"fmt"
	"io"
	"math"
	"strings"
)

// PoiseDial shows the balance at rest behind the hours of the dial: where its heavy spot is and how large, to 95 %,
// seen from the dial side and, mirrored, from the balance side. All angles are in degrees clockwise from the 12 of
// the dial as seen from the dial side, and words are already worded for print.
type PoiseDial struct {
	ID    string // of the element; unique on its page
	Title string
	// Missing says why nothing can be concluded; the balance is then drawn without a heavy spot.
	Missing string
	// Significant says that there is a heavy spot. Otherwise a circle of radius SizeHigh about the centre shows how
	// large one might be unseen.
	Significant bool
	AngleDeg    float64
	AngleU95Deg float64 // half the width of the 95 % sector; 180 and above is a full ring
	// Size and the ends of its 95 % region, in Unit.
	Size, SizeLow, SizeHigh float64
	Unit                    string // "µg·mm"
	DirectionText           string // "towards 4 h 20, 130° ± 9°"
	SizeText                string // "32 ± 8 µg·mm"
	JewelDeg                *float64
	JewelText               string // beside "impulse jewel at rest"; "" writes the angle
	Marks                   []PoiseMark
}

// PoiseMark is a screw or weight of the balance rim.
type PoiseMark struct {
	AngleDeg float64
	Name     string // short: "3"
	Turn     bool   // the one, or ones, the advice is about
	Action   string // what is to be thought of, in few words: "one turn in"
}

// Measures of the drawing, in user units.
const (
	dialTop      = 24.0 // where the two dials begin
	dialRadius   = 70.0
	hourRadius   = 80.0 // of the numerals
	rimRadius    = 52.0
	nameRadius   = 60.5 // of the names of the screws
	rollerRadius = 9.0
	dialCentreY  = dialTop + hourRadius + 8
)

// leastSize is far below any size that means something and far above the least that a float64 holds in full.
const leastSize = 1e-200

// Render writes the chart; it makes PoiseDial a templ component.
func (c PoiseDial) Render(ctx context.Context, w io.Writer) error { return write(ctx, w, c.SVG) }

// SVG returns the chart as an svg element. It fails on an unusable ID and on figures that are not finite, negative or
// out of order.
func (c PoiseDial) SVG() (string, error) {
	if err := c.check(); err != nil {
		return "", err
	}
	var s svg
	for _, side := range []dialSide{{PoiseDial: c, x: width / 4, hand: 1}, {PoiseDial: c, x: width * 3 / 4, hand: -1}} {
		side.draw(&s)
	}
	height := c.legend(&s)
	return frame{id: c.ID, title: c.Title, desc: c.desc(), height: height}.document(&s)
}

func (c PoiseDial) check() error {
	figures := []float64{c.AngleDeg, c.AngleU95Deg, c.Size, c.SizeLow, c.SizeHigh}
	if c.JewelDeg != nil {
		figures = append(figures, *c.JewelDeg)
	}
	for _, m := range c.Marks {
		figures = append(figures, m.AngleDeg)
	}
	for _, x := range figures {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return ErrNotFinite
		}
	}
	if c.SizeHigh < 0 || c.Significant && (c.AngleU95Deg < 0 || c.Size < 0 || c.SizeLow < 0 || c.SizeHigh < c.SizeLow) {
		return ErrNotFinite
	}
	return nil
}

// rimSize is the size that the rim stands for: a round figure that leaves the region inside.
func (c PoiseDial) rimSize() float64 {
	largest := c.SizeHigh
	if c.Significant {
		largest = math.Max(c.Size, c.SizeHigh)
	}
	if largest < leastSize { // nought, or a figure so small that a power of ten beside it would be nought
		return 1
	}
	return niceStep(largest)
}

// dialSide is the drawing from one side; hand is 1 where the hours run clockwise, -1 where they are mirrored.
type dialSide struct {
	PoiseDial
	x, hand float64
}

// at returns the point at an angle and a radius.
func (d dialSide) at(deg, radius float64) (x, y float64) {
	sin, cos := math.Sincos(deg * math.Pi / 180)
	return d.x + d.hand*radius*sin, dialCentreY - radius*cos
}

func (d dialSide) draw(s *svg) {
	words := "from the dial side"
	if d.hand < 0 {
		words = "from the balance side"
	}
	s.text("chart-caption", middle, d.x, smallSize, words)
	s.circle("chart-rule", d.x, dialCentreY, dialRadius)
	d.hours(s)
	s.circle("chart-rim", d.x, dialCentreY, rimRadius)
	s.circle("chart-rim", d.x, dialCentreY, rimRadius-4)
	if d.Missing == "" {
		d.region(s)
	}
	d.jewel(s)
	d.screws(s)
	if d.Missing == "" && d.Significant {
		x, y := d.at(d.AngleDeg, d.Size/d.rimSize()*rimRadius)
		s.line("chart-spoke", d.x, dialCentreY, x, y)
		s.heavySpot(x, y)
	}
	s.circle("chart-pivot", d.x, dialCentreY, 1.5)
}

// heavySpot draws a small full lozenge, which leaves its region in sight.
func (s *svg) heavySpot(x, y float64) {
	s.element("path", "class", "chart-mark chart-series-1", "transform", "translate("+num(x)+" "+num(y)+")", "d",
		"M0 -4L3.7 0L0 4L-3.7 0Z")
}

// hours draws the ring of the dial: a stroke at each hour, four of them with their figures.
func (d dialSide) hours(s *svg) {
	for hour := 1; hour <= 12; hour++ {
		deg := float64(hour) * 30
		x1, y1 := d.at(deg, dialRadius-4)
		x2, y2 := d.at(deg, dialRadius)
		s.line("chart-axis", x1, y1, x2, y2)
		if hour%3 == 0 {
			x, y := d.at(deg, hourRadius)
			s.text("chart-tick", middle, x, y+textSize*0.35, fmt.Sprint(hour))
		}
	}
}

// region draws where the heavy spot lies to 95 %: part of a ring, a whole ring, or a disc about the centre.
func (d dialSide) region(s *svg) {
	scale := rimRadius / d.rimSize()
	inner, outer := d.SizeLow*scale, d.SizeHigh*scale
	if !d.Significant {
		s.circle("chart-region", d.x, dialCentreY, outer)
		return
	}
	if d.AngleU95Deg < 180 {
		s.element("path", "class", "chart-region", "d", d.sector(d.AngleDeg-d.AngleU95Deg, d.AngleDeg+d.AngleU95Deg, inner,
			outer))
		return
	}
	s.element("path", "class", "chart-region", "fill-rule", "evenodd", "d", d.ring(outer)+d.ring(inner))
}

// sector is the path of a part of a ring.
func (d dialSide) sector(from, to, inner, outer float64) string {
	large, sweep, back := "0", "1", "0"
	if to-from > 180 {
		large = "1"
	}
	if d.hand < 0 {
		sweep, back = back, sweep
	}
	point := func(deg, radius float64) string {
		x, y := d.at(deg, radius)
		return num(x) + " " + num(y)
	}
	arc := func(radius float64, sweep, end string) string {
		return "A" + num(radius) + " " + num(radius) + " 0 " + large + " " + sweep + " " + end
	}
	path := "M" + point(from, outer) + arc(outer, sweep, point(to, outer)) + "L" + point(to, inner)
	if inner > 0 {
		path += arc(inner, back, point(from, inner))
	}
	return path + "Z"
}

// ring is the path of a circle about the centre.
func (d dialSide) ring(radius float64) string {
	r, top, foot := num(radius), num(dialCentreY-radius), num(dialCentreY+radius)
	half := "A" + r + " " + r + " 0 1 1 " + num(d.x) + " "
	return "M" + num(d.x) + " " + top + half + foot + half + top + "Z"
}

func (d dialSide) jewel(s *svg) {
	if d.JewelDeg == nil {
		return
	}
	s.circle("chart-roller", d.x, dialCentreY, rollerRadius)
	x, y := d.at(*d.JewelDeg, rollerRadius)
	s.circle("chart-jewel", x, y, jewelRadius)
}

const (
	jewelRadius = 2.8
	screwRadius = 3.6
	turnRadius  = 6.5
)

// screws draws the marks on the rim and names them where there is room; those to turn are always named.
func (d dialSide) screws(s *svg) {
	labels := labelPlacer{}
	for _, wanted := range []bool{true, false} {
		for _, m := range d.Marks {
			if m.Turn != wanted {
				continue
			}
			x, y := d.at(m.AngleDeg, rimRadius-2)
			s.screw(x, y, m.Turn)
			tx, ty := d.at(m.AngleDeg, nameRadius)
			half := textWidth(m.Name, smallSize) / 2
			b := box{tx - half, ty - smallSize/2, tx + half, ty + smallSize/2}
			if m.Name != "" && half < smallSize && clearOf(b, labels.taken) {
				labels.taken = append(labels.taken, b)
				s.text("chart-label", middle, tx, ty+smallSize*0.35, m.Name)
			}
		}
	}
}

// screw draws a screw head with its slot; one to turn is full and ringed.
func (s *svg) screw(x, y float64, turn bool) {
	if !turn {
		s.circle("chart-screw", x, y, screwRadius)
		s.line("chart-slot", x-2, y+2, x+2, y-2)
		return
	}
	s.circle("chart-turn-ring", x, y, turnRadius)
	s.circle("chart-turn", x, y, screwRadius)
}

func (s *svg) circle(class string, x, y, r float64) {
	s.element("circle", "class", class, "cx", num(x), "cy", num(y), "r", num(r))
}

const noSignificantError = "no significant poise error"

// legend writes what the drawing shows under it and returns the height.
func (c PoiseDial) legend(s *svg) float64 {
	y := dialCentreY + hourRadius + 16
	row := func(name, remark string, icon func(y float64)) {
		s.line("chart-rule", 0, y, width, y)
		icon(y + 13)
		y += s.nameRow(y+17, name, remark) + 26
	}
	const iconX = markRadius + 1
	switch {
	case c.Missing != "":
		s.line("chart-rule", 0, y, width, y)
		y = s.paragraph("chart-caption", 0, y+17, rightEdge, smallSize, c.Missing) - 7
	case c.Significant:
		row("heavy spot at rest", c.DirectionText, func(y float64) { s.heavySpot(iconX, y) })
		row("its size, with the 95 % region", c.SizeText, func(y float64) {
			s.element("rect", "class", "chart-region", "x", "1", "y", num(y-6), "width", "12", "height", "12")
		})
	default:
		row(noSignificantError, c.SizeText, func(y float64) { s.circle("chart-region", iconX, y, 6) })
	}
	if c.JewelDeg != nil {
		row("impulse jewel at rest", c.jewelText(), func(y float64) { s.circle("chart-jewel", iconX, y, jewelRadius) })
	}
	others := 0
	for _, m := range c.Marks {
		if !m.Turn {
			others++
			continue
		}
		row("turn: "+m.words(), m.Action, func(y float64) { s.screw(iconX, y, true) })
	}
	if others > 0 {
		row("other screws or weights", fmt.Sprint(others), func(y float64) { s.screw(iconX, y, false) })
	}
	if c.Missing == "" && c.SizeHigh > 0 {
		row("centre to rim", strings.TrimSpace(plainFigure(c.rimSize())+" "+c.Unit),
			func(y float64) { s.line("chart-axis", 0, y, 13, y) })
	}
	s.line("chart-zero", 0, y, width, y)
	s.line("chart-zero", 0, y+3, width, y+3)
	return y + 4
}

func (c PoiseDial) jewelText() string {
	if c.JewelText != "" {
		return c.JewelText
	}
	return "at " + wholeDegrees(*c.JewelDeg)
}

func (m PoiseMark) words() string {
	if m.Name == "" {
		return "at " + wholeDegrees(m.AngleDeg)
	}
	return m.Name + " at " + wholeDegrees(m.AngleDeg)
}

// wholeDegrees writes an angle as 0° to 359°.
func wholeDegrees(deg float64) string {
	turned := math.Mod(math.Round(math.Mod(deg, 360))+360, 360)
	return plainFigure(turned) + "°"
}

// desc says in words all that the drawing shows.
func (c PoiseDial) desc() string {
	var b strings.Builder
	b.WriteString("The balance at rest behind the hours of the dial, angles clockwise from 12 seen from the dial side.")
	switch {
	case c.Missing != "":
		b.WriteString(" " + c.Missing)
	case c.Significant:
		fmt.Fprintf(&b, " Heavy spot: %s (%s from the dial side; from the balance side it lies %s clockwise from 12). "+
			"Size: %s. Its 95 %% region reaches %s either side in direction.",
			c.DirectionText, wholeDegrees(c.AngleDeg), wholeDegrees(-c.AngleDeg), c.SizeText, spread(c.AngleU95Deg))
	default:
		fmt.Fprintf(&b, " There is %s: %s.", noSignificantError, c.SizeText)
	}
	if c.JewelDeg != nil {
		fmt.Fprintf(&b, " Impulse jewel at rest: %s.", c.jewelText())
	}
	for _, m := range c.Marks {
		fmt.Fprintf(&b, " Screw or weight %s", m.words())
		if m.Turn {
			b.WriteString(", the one to turn")
		}
		if m.Action != "" {
			b.WriteString(": " + m.Action)
		}
		b.WriteString(".")
	}
	return b.String()
}

func spread(halfDeg float64) string {
	if halfDeg >= 180 {
		return "all the way round"
	}
	return plainFigure(math.Round(halfDeg)) + "°"
}
