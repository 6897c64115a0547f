package paper

import (
	"math"

	"codeberg.org/go-pdf/fpdf"
)

// Mark is the verdict on a figure; each has its own lozenge.
type Mark int

const (
	NotMeasured Mark = iota // dotted outline
	Pass                    // full
	Fail                    // hollow with a bar
	Undecided               // half full
)

// word is the mark in words; the lozenge never stands without it.
func (m Mark) word() string {
	switch m {
	case Pass:
		return "pass"
	case Fail:
		return "fail"
	case Undecided:
		return "undecided"
	}
	return "not measured"
}

// lozenge draws the mark about (x, y), size mm from corner to corner.
func (s *sheet) lozenge(x, y, size float64, m Mark) {
	r := size / 2
	diamond := []fpdf.PointType{{X: x, Y: y - r}, {X: x + r, Y: y}, {X: x, Y: y + r}, {X: x - r, Y: y}}
	s.pdf.SetDrawColor(accentInk.r, accentInk.g, accentInk.b)
	s.pdf.SetFillColor(accentInk.r, accentInk.g, accentInk.b)
	s.pdf.SetLineWidth(max(0.12, size*0.07))
	switch m {
	case Pass:
		s.pdf.Polygon(diamond, "FD")
	case Fail:
		s.pdf.Polygon(diamond, "D")
		s.line(x-r*0.55, y, x+r*0.55, y, max(0.2, size*0.14), accentInk)
	case Undecided:
		s.pdf.Polygon([]fpdf.PointType{{X: x, Y: y - r}, {X: x, Y: y + r}, {X: x - r, Y: y}}, "F")
		s.pdf.Polygon(diamond, "D")
	default:
		s.dashed([]float64{0.01, size * 0.14}, func() {
			s.pdf.SetLineCapStyle("round")
			s.pdf.SetLineWidth(max(0.2, size*0.08))
			s.pdf.Polygon(diamond, "D")
			s.pdf.SetLineCapStyle("butt")
		})
	}
}

// Lie is how a watch lies in a position.
type Lie int

const (
	DialUp Lie = iota
	DialDown
	CrownUp
	CrownRight
	CrownDown
	CrownLeft
)

// Position is a test position: its ISO 3158 symbol, the plain words and how the
// watch lies.
type Position struct {
	Symbol string
	Words  string
	Lies   Lie
	// CrownAtTwelve is set for a pocket watch, whose crown is at twelve.
	CrownAtTwelve bool
}

// turned gives where crown and twelve-hour mark point, in degrees clockwise from
// the right; hours follow twelve by 30 degrees each.
func (p Position) turned() (crownDeg, twelveDeg float64) {
	crownDeg = map[Lie]float64{CrownUp: -90, CrownDown: 90, CrownLeft: 180}[p.Lies]
	flat := p.Lies == DialUp || p.Lies == DialDown
	if flat && p.CrownAtTwelve {
		crownDeg = -90
	}
	if p.CrownAtTwelve {
		return crownDeg, crownDeg
	}
	return crownDeg, crownDeg - 90
}

// lying draws the house's small watch outline about (x, y), turned as it lies:
// seen from above with its hands dial up, from above with its back dial down,
// and from the front, standing on edge, in the vertical positions.
func (s *sheet) lying(x, y, size float64, p Position) {
	r := size * 0.36
	s.pdf.SetDrawColor(accentInk.r, accentInk.g, accentInk.b)
	s.pdf.SetFillColor(accentInk.r, accentInk.g, accentInk.b)
	s.pdf.SetLineWidth(0.18)
	s.pdf.Circle(x, y, r, "D")
	crownDeg, twelveDeg := p.turned()
	angle := crownDeg * math.Pi / 180
	crown := func(scale float64) (float64, float64) {
		return x + r*scale*math.Cos(angle), y + r*scale*math.Sin(angle)
	}
	x1, y1 := crown(1)
	x2, y2 := crown(1.42)
	s.line(x1, y1, x2, y2, size*0.13, accentInk)
	s.pdf.SetLineWidth(0.18)
	switch p.Lies {
	case DialUp:
		s.pdf.Circle(x, y, r*0.16, "F")
		s.line(x, y, x, y-r*0.68, 0.18, accentInk)
		s.line(x, y, x+r*0.5, y, 0.18, accentInk)
	case DialDown:
		s.pdf.Circle(x, y, r*0.62, "D")
	default:
		cos, sin := math.Cos(twelveDeg*math.Pi/180), math.Sin(twelveDeg*math.Pi/180)
		s.line(x+r*0.45*cos, y+r*0.45*sin, x+r*0.85*cos, y+r*0.85*sin, 0.3, accentInk)
	}
}
