package drawing

import "math"

// Mark is the verdict on a figure; each has its own lozenge.
type Mark int

const (
	NotMeasured Mark = iota // dotted outline
	Pass                    // full
	Fail                    // hollow with a bar
	Undecided               // half full
)

// Lozenge draws the mark about (x, y), size mm from corner to corner.
func (d *Drawing) Lozenge(x, y, size float64, m Mark) {
	r := size / 2
	diamond := [][2]float64{{x, y - r}, {x + r, y}, {x, y + r}, {x - r, y}}
	pen, fill := &Stroke{Width: max(0.12, size*0.07), Ink: Accent}, Accent
	switch m {
	case Pass:
		d.Path(diamond, true, pen, &fill)
	case Fail:
		d.Path(diamond, true, pen, nil)
		d.Line(x-r*0.55, y, x+r*0.55, y, max(0.2, size*0.14), Accent)
	case Undecided:
		d.Path([][2]float64{{x, y - r}, {x, y + r}, {x - r, y}}, true, nil, &fill)
		d.Path(diamond, true, pen, nil)
	default:
		d.Path(diamond, true, &Stroke{Width: max(0.2, size*0.08), Ink: Accent, Dash: []float64{0.01, size * 0.14},
			Round: true}, nil)
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
	switch {
	case flat && p.CrownAtTwelve:
		crownDeg = -90
	case p.Lies == DialDown:
		crownDeg = 180 // seen from the back left and right change places
	}
	if p.CrownAtTwelve {
		return crownDeg, crownDeg
	}
	return crownDeg, crownDeg - 90
}

// Lying draws the house's small watch outline about (x, y), turned as it lies: seen from above with its hands dial up,
// from above with its back dial down, and from the front, standing on edge, in the vertical positions.
func (d *Drawing) Lying(x, y, size float64, p Position) {
	r, fill := size*0.36, Accent
	thin := &Stroke{Width: 0.18, Ink: Accent}
	d.Circle(x, y, r, thin, nil)
	crownDeg, twelveDeg := p.turned()
	angle := crownDeg * math.Pi / 180
	crown := func(scale float64) (float64, float64) {
		return x + r*scale*math.Cos(angle), y + r*scale*math.Sin(angle)
	}
	x1, y1 := crown(1)
	x2, y2 := crown(1.42)
	d.Line(x1, y1, x2, y2, size*0.13, Accent)
	switch p.Lies {
	case DialUp:
		d.Circle(x, y, r*0.16, nil, &fill)
		d.Line(x, y, x, y-r*0.68, 0.18, Accent)
		d.Line(x, y, x+r*0.5, y, 0.18, Accent)
	case DialDown:
		d.Circle(x, y, r*0.62, thin, nil)
	default:
		cos, sin := math.Cos(twelveDeg*math.Pi/180), math.Sin(twelveDeg*math.Pi/180)
		d.Line(x+r*0.45*cos, y+r*0.45*sin, x+r*0.85*cos, y+r*0.85*sin, 0.3, Accent)
	}
}
