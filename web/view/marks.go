package view

import (
	"math"
	"strings"
)

// MarkKind is the state a lozenge shows.
type MarkKind string

// The four lozenges.
const (
	Pass        MarkKind = "pass"        // full
	Fail        MarkKind = "fail"        // hollow with a bar
	Undecided   MarkKind = "undecided"   // half full
	NotMeasured MarkKind = "notmeasured" // dotted outline
)

// Word says the state when the page gives no better word.
func (k MarkKind) Word() string {
	if k == NotMeasured {
		return "not measured"
	}
	return string(k)
}

// FigureView is one number as shown: rounded and formatted by the caller, always with its unit. Uncertainty is
// the expanded one without its sign ("0.6"); Label says what the figure is.
type FigureView struct {
	Label, Value, Uncertainty, Unit string
	Note                            string // such as "k = 2" or "limit −4 to +6"
	Mark                            MarkKind
	TestID                          string
}

// PositionView is a position as drawn. Symbol is ISO 3158's (CH, FH, 3H, 6H, 9H, 12H); Words are the plain
// words ("crown up"); CrownHour is the hour mark beside which the crown sits, 3 when nought.
type PositionView struct {
	Symbol, Words string
	CrownHour     int
}

func (p PositionView) crown() int {
	if p.CrownHour < 1 || p.CrownHour > 12 {
		return 3
	}
	return p.CrownHour
}

func (p PositionView) vertical() bool { return strings.HasSuffix(p.Symbol, "H") && p.uppermost() != 0 }

// uppermost is the hour mark that stands highest, 0 when the watch lies flat.
func (p PositionView) uppermost() int {
	switch p.Symbol {
	case "3H":
		return 3
	case "6H":
		return 6
	case "9H":
		return 9
	case "12H":
		return 12
	}
	return 0
}

// turnDeg is how far the dial is turned clockwise from 12 uppermost, in degrees.
func (p PositionView) turnDeg() float64 {
	return math.Mod(360-30*float64(p.uppermost()), 360)
}

// crownDeg is where the crown points as drawn, clockwise from the top before the dial is turned. Seen from the
// back (FH) left and right change places.
func (p PositionView) crownDeg() float64 {
	deg := 30 * float64(p.crown())
	if p.Symbol == "FH" {
		deg = 360 - deg
	}
	return math.Mod(deg, 360)
}

func (p PositionView) text() string {
	if p.Words == "" {
		return p.Symbol
	}
	return p.Symbol + ", " + p.Words
}

// rotate is an SVG rotation by deg clockwise about (x, y).
func rotate(deg, x, y float64) string {
	return "rotate(" + number(deg) + " " + number(x) + " " + number(y) + ")"
}

// teeth is the outline of a wheel with n pointed teeth, as an SVG path centred on (c, c).
func teeth(n int, c, root, tip float64) string {
	var b strings.Builder
	for i := range n {
		at := func(step, r float64) string {
			a := 2 * math.Pi * (float64(i) + step) / float64(n)
			return number2(c+r*math.Sin(a)) + " " + number2(c-r*math.Cos(a))
		}
		b.WriteString([]string{"L", "M"}[b2i(i == 0)])
		b.WriteString(at(-0.28, root) + "L" + at(-0.1, tip) + "L" + at(0.1, tip) + "L" + at(0.28, root))
	}
	return b.String() + "Z"
}
