package chart

import (
	"context"
	"fmt"
	"io"
	"math"
	"strings"

	"ledgerwheel/domain/text"
)

// BalanceDrawing shows a balance from the side of its cock: the rim with its screws or weights and the heavy spot, the
// hairspring from collet to stud, and the regulator pins with the way to move them. Angles are in degrees clockwise
// from the top of the drawing.
type BalanceDrawing struct {
	ID           string // of the element; unique on its page
	Title        string
	DiameterText string         // across the rim, worded: "9.8 mm"; "" leaves the dimension out
	Screws       []BalanceScrew // in any order; none draws a plain rim
	// HeavySpotDeg is where the rim is heavy; nil draws none.
	HeavySpotDeg  *float64
	HeavySpotText string
	JewelDeg      *float64 // of the impulse jewel on its roller; nil draws none
	// Coils of the hairspring; 0 draws no spring, and neither stud nor pins.
	Coils float64
	// StudDeg is where the stud holds the outer end.
	StudDeg float64
	// PinsDeg is where the regulator pins are; nil: a free-sprung balance without them.
	PinsDeg *float64
	// PinsMove says which way to move the pins.
	PinsMove PinsMove
	PinsText string // beside "regulator pins": "0.4 mm towards the stud"
	Facts    []Fact // further rows under the drawing
}

// PinsMove is a way to move the regulator pins.
type PinsMove int

// Ways to move the pins: towards the stud the working length grows and the watch loses; away from it, it gains.
const (
	PinsStay PinsMove = iota
	PinsTowardsStud
	PinsAwayFromStud
)

// BalanceScrew is a screw or weight of the rim.
type BalanceScrew struct {
	AngleDeg float64
	Name     string // short: "3"
	Washer   bool   // sits under a washer
	Turn     bool   // the one, or ones, the answer is about
	Action   string // what is to be done, in few words: "half a turn out"
}

// Render writes the drawing; it makes BalanceDrawing a templ component.
func (d BalanceDrawing) Render(ctx context.Context, w io.Writer) error { return write(ctx, w, d.SVG) }

// Bounds of what is drawn.
const (
	mostCoils  = 40
	mostScrews = 40
)

// SVG returns the drawing as an svg element. It fails on an unusable ID, on figures that are not finite, and on more
// coils or screws than any balance has.
func (d BalanceDrawing) SVG() (string, error) {
	if err := d.check(); err != nil {
		return "", err
	}
	var s svg
	d.rim(&s)
	if d.Coils > 0 {
		d.hairspring(&s)
	}
	d.roller(&s)
	d.screws(&s)
	if d.HeavySpotDeg != nil {
		x, y := d.at(*d.HeavySpotDeg, balanceRim-3.5)
		s.heavySpot(x, y)
	}
	height := d.rows(&s)
	return frame{id: d.ID, title: d.Title, desc: d.desc(), height: height}.document(&s)
}

func (d BalanceDrawing) check() error {
	if len(d.Screws) > mostScrews {
		return ErrTooMany
	}
	if !sizes(mostCoils, d.Coils) {
		return ErrSize
	}
	angles := []float64{d.StudDeg}
	for _, a := range []*float64{d.HeavySpotDeg, d.JewelDeg, d.PinsDeg} {
		if a != nil {
			angles = append(angles, *a)
		}
	}
	for _, w := range d.Screws {
		angles = append(angles, w.AngleDeg)
	}
	for _, a := range angles {
		if !finite(a) {
			return ErrNotFinite
		}
	}
	return nil
}

// Measures of the drawing, in user units.
const (
	balanceRim    = 92.0 // outer radius
	balanceInside = balanceRim - 7
	balanceNames  = balanceRim + 19
	balanceY      = balanceNames + 10
	colletRadius  = 9.0
	springRadius  = 58.0 // of the outer end
	rollerOutline = 20.0
)

// at returns the place at an angle clockwise from the top and a radius.
func (d BalanceDrawing) at(deg, radius float64) (x, y float64) {
	return point(width/2, balanceY, deg-90, radius)
}

func (d BalanceDrawing) rim(s *svg) {
	s.element("path", "class", "chart-wall", "fill-rule", "evenodd", "d",
		ringPath(width/2, balanceY, balanceRim)+ringPath(width/2, balanceY, balanceInside))
	const half = 4.0
	for _, side := range []float64{-1, 1} { // two arms
		for _, edge := range []float64{-half, half} {
			s.line("chart-rim", width/2+side*colletRadius, balanceY+edge,
				width/2+side*math.Sqrt(balanceInside*balanceInside-half*half), balanceY+edge)
		}
	}
}

// outward is 1 where the hairspring runs outwards clockwise: so that the pins hold it shortly before the stud.
func (d BalanceDrawing) outward() float64 {
	if d.PinsDeg != nil && turnsRound(d.StudDeg-*d.PinsDeg) > 180 {
		return -1
	}
	return 1
}

// turnsRound brings an angle to 0 up to 360.
func turnsRound(deg float64) float64 { return math.Mod(math.Mod(deg, 360)+360, 360) }

func (d BalanceDrawing) hairspring(s *svg) {
	s.circle("chart-rim", width/2, balanceY, colletRadius)
	hand := d.outward()
	inner := colletRadius + 1
	from := d.StudDeg - 90 - hand*360*d.Coils
	s.element("path", "class", "chart-blade", "d",
		polyline(spiral(nil, width/2, balanceY, from, hand*d.Coils, inner, springRadius)))
	x, y := d.at(d.StudDeg, springRadius+3)
	s.element("path", "class", "chart-stud", "transform",
		"translate("+num(x)+" "+num(y)+") rotate("+num(turnsRound(d.StudDeg))+")", "d", "M-4 -5H4V4H-4Z")
	if d.PinsDeg == nil {
		return
	}
	ahead := turnsRound(hand * (d.StudDeg - *d.PinsDeg)) // along the spring to the stud
	radius := math.Max(inner, springRadius-(springRadius-inner)/d.Coils*ahead/360)
	for _, side := range []float64{-3.2, 3.2} {
		x, y := d.at(*d.PinsDeg, radius+side)
		s.circle("chart-pin", x, y, 2)
	}
	if d.PinsMove != PinsStay {
		turn := hand
		if d.PinsMove == PinsAwayFromStud {
			turn = -hand
		}
		a := *d.PinsDeg - 90
		s.arrow(width/2, balanceY, springRadius+14, a, a+turn*26)
	}
}

func (d BalanceDrawing) roller(s *svg) {
	if d.JewelDeg != nil {
		s.circle("chart-roller", width/2, balanceY, rollerOutline)
		x, y := d.at(*d.JewelDeg, rollerOutline)
		s.circle("chart-jewel", x, y, jewelRadius)
	}
	s.circle("chart-pivot", width/2, balanceY, 2)
}

// screws draws the screws and weights outside the rim and names them where there is room; those to turn first.
func (d BalanceDrawing) screws(s *svg) {
	var taken []box
	for _, wanted := range []bool{true, false} {
		for _, w := range d.Screws {
			if w.Turn != wanted {
				continue
			}
			d.screw(s, w)
			x, y := d.at(w.AngleDeg, balanceNames)
			half := textWidth(w.Name, smallSize) / 2
			b := box{x - half - 1, y - smallSize/2, x + half + 1, y + smallSize/2}
			if w.Name != "" && half < 2*smallSize && clearOf(b, taken) {
				taken = append(taken, b)
				s.text("chart-label", middle, x, y+smallSize*0.35, w.Name)
			}
		}
	}
}

// screw draws a screw head on the outside of the rim; one to turn is full, a washer is a stroke under the head.
func (d BalanceDrawing) screw(s *svg, w BalanceScrew) {
	class := "chart-head-open"
	if w.Turn {
		class = "chart-head"
	}
	x, y := d.at(w.AngleDeg, balanceRim)
	place := "translate(" + num(x) + " " + num(y) + ") rotate(" + num(turnsRound(w.AngleDeg)) + ")"
	s.element("path", "class", class, "transform", place, "d", "M-4 -10H4V-3H-4Z")
	s.element("path", "class", "chart-rim", "transform", place, "d", "M-1.5 0V-3M1.5 0V-3")
	if w.Washer {
		s.element("path", "class", "chart-off", "transform", place, "d", "M-5 -2H5")
	}
}

const balanceIcon = markRadius + 1

func (d BalanceDrawing) rows(s *svg) float64 {
	y := balanceY + balanceNames + 8
	if d.DiameterText != "" {
		s.dimension(width/2-balanceRim, width/2+balanceRim, y, "⌀ "+d.DiameterText)
		y += 26
	}
	r := benchRows{s: s, y: y}
	if d.HeavySpotDeg != nil {
		r.add("heavy spot", d.heavy(), func(y float64) { s.heavySpot(balanceIcon, y) })
	}
	others := 0
	for _, w := range d.Screws {
		if !w.Turn {
			others++
			continue
		}
		r.add(w.words(), w.Action, func(y float64) { s.element("path", "class", "chart-head", "d", square(balanceIcon, y)) })
	}
	if others > 0 {
		r.add("other screws or weights", fmt.Sprint(others), func(y float64) {
			s.element("path", "class", "chart-head-open",
				"d", square(balanceIcon, y))
		})
	}
	if d.Coils > 0 {
		r.add("hairspring, held by the stud", d.coils(), func(y float64) {
			s.element("path", "class", "chart-stud", "d",
				square(balanceIcon, y))
		})
		if d.PinsDeg != nil {
			r.add("regulator pins", d.pins(), func(y float64) {
				s.circle("chart-pin", balanceIcon-3, y, 2)
				s.circle("chart-pin", balanceIcon+3, y, 2)
			})
		}
	}
	if d.JewelDeg != nil {
		r.add("impulse jewel at rest", "at "+wholeDegrees(*d.JewelDeg),
			func(y float64) { s.circle("chart-jewel", balanceIcon, y, jewelRadius) })
	}
	r.facts(d.Facts)
	return r.end()
}

// square is the path of a small square about x, y.
func square(x, y float64) string {
	const half = 4
	return polyline([]float64{x - half, y - half, x + half, y - half, x + half, y + half, x - half, y + half}) + "Z"
}

func (d BalanceDrawing) heavy() string {
	if d.HeavySpotText != "" {
		return d.HeavySpotText
	}
	return "at " + wholeDegrees(*d.HeavySpotDeg)
}

func (w BalanceScrew) words() string {
	kind := "screw "
	if w.Washer {
		kind = "screw with washer "
	}
	return kind + PoiseMark{Name: w.Name, AngleDeg: w.AngleDeg}.words()
}

// coils words the number of coils, to a quarter.
func (d BalanceDrawing) coils() string {
	return plainFigure(math.Round(d.Coils*4)/4) + " coils"
}

func (d BalanceDrawing) pins() string {
	switch {
	case d.PinsText != "":
		return d.PinsText
	case d.PinsMove == PinsTowardsStud:
		return "move towards the stud: it loses"
	case d.PinsMove == PinsAwayFromStud:
		return "move away from the stud: it gains"
	}
	return "stay where they are"
}

// desc says in words all that the drawing shows.
func (d BalanceDrawing) desc() string {
	var b strings.Builder
	b.WriteString("A balance seen from the side of its cock, angles clockwise from the top.")
	if d.DiameterText != "" {
		b.WriteString(" Across the rim: " + d.DiameterText + ".")
	}
	if d.HeavySpotDeg != nil {
		fmt.Fprintf(&b, " Heavy spot at %s", wholeDegrees(*d.HeavySpotDeg))
		if d.HeavySpotText != "" {
			b.WriteString(", " + d.HeavySpotText)
		}
		b.WriteString(".")
	}
	for _, w := range d.Screws {
		b.WriteString(" " + text.Capital(w.words()))
		if w.Turn {
			b.WriteString(", the one to turn")
		}
		if w.Action != "" {
			b.WriteString(": " + w.Action)
		}
		b.WriteString(".")
	}
	if d.Coils > 0 {
		fmt.Fprintf(&b, " A hairspring of %s, its outer end held by the stud at %s.", d.coils(), wholeDegrees(d.StudDeg))
		if d.PinsDeg != nil {
			fmt.Fprintf(&b, " Regulator pins at %s: %s.", wholeDegrees(*d.PinsDeg), d.pins())
		}
	}
	if d.JewelDeg != nil {
		fmt.Fprintf(&b, " Impulse jewel at rest at %s.", wholeDegrees(*d.JewelDeg))
	}
	factSentences(&b, d.Facts)
	return b.String()
}
