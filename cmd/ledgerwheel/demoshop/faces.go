package demoshop

import "image/color"

// face is how a watch looks from the front.
type face struct {
	caseHex, dialHex, inkHex, handHex uint32
	radius                            float64 // of the case, pixels
	romans                            bool    // hour marks as strokes of Roman numerals
	dots                              bool    // round lumed hour marks
	seconds                           bool    // small seconds at 6
	date                              bool
	pocket                            bool   // crown and bow at 12
	bezel                             bool   // turning bezel with marks
	bracelet                          bool   // of steel; else a leather strap
	strapHex                          uint32 // of leather
	hour, minute                      float64
	wear                              func(e *easel, at pt, r float64) // marks of wear, last of all
}

var middle = pt{pictureWidthPx / 2, pictureHeightPx / 2}

func (f face) draw(e *easel) {
	at, r := middle, f.radius
	if f.pocket {
		at.y += 46
	}
	f.band(e, at, r)
	e.shadow(at, r)
	e.turned(f.caseHex, at, r, r*0.86, 0.30)
	dial := r * 0.86
	if f.bezel {
		f.turningBezel(e, at, r)
		dial = r * 0.74
	}
	e.fill(paint(0x211C16, 0.55), disc(at, dial))
	dial -= 4
	e.fill(solid(f.dialHex), disc(at, dial))
	e.fill(paint(0xFFFFFF, 0.05), disc(pt{at.x - dial*0.12, at.y - dial*0.15}, dial*0.72))
	f.marks(e, at, dial)
	f.hands(e, at, dial)
	// The lamp in the crystal.
	e.fill(paint(0xFFFFFF, 0.10), []pt{at.polar(dial*0.96, 9.4), at.polar(dial*0.99, 10), at.polar(dial*0.99, 10.6),
		at.polar(dial*0.96, 11.2),
		at.polar(dial*0.25, 11.5), at.polar(dial*0.42, 9.2)})
	if f.wear != nil {
		f.wear(e, at, dial)
	}
}

// band draws what holds the watch: strap or bracelet, or the bow of a pocket watch; and the crown.
func (f face) band(e *easel, at pt, r float64) {
	if f.pocket {
		e.turned(f.caseHex, pt{at.x, at.y - r - 62}, 46, 33, 0.3)
		e.fill(shade(f.caseHex, 0.9), []pt{{at.x - 26, at.y - r - 44}, {at.x + 26, at.y - r - 44}, {at.x + 20, at.y - r + 10},
			{at.x - 20, at.y - r + 10}})
		return
	}
	w := r * 0.52
	for _, up := range []float64{-1, 1} {
		from, to := at.y+up*r*0.80, at.y+up*(r+190)
		if f.bracelet {
			f.links(e, at, w, from, to)
			continue
		}
		e.fill(shade(f.strapHex, 1), []pt{{at.x - w, from}, {at.x + w, from}, {at.x + w*0.88, to}, {at.x - w*0.88, to}})
		for _, side := range []float64{-1, 1} {
			for y := from; (to-y)*up > 0; y += up * 15 {
				t := (y - from) / (to - from)
				x := at.x + side*w*(0.90-0.11*t)
				e.stroke(paint(0xE9DFC8, 0.8), 2, pt{x, y}, pt{x, y + up*9})
			}
		}
	}
	for _, up := range []float64{-1, 1} {
		for _, side := range []float64{-1, 1} {
			inner, outer := at.x+side*r*0.53, at.x+side*r*0.70
			e.fill(shade(f.caseHex, 0.92), []pt{{inner, at.y + up*r*0.6}, {outer, at.y + up*r*0.6},
				{outer - side*r*0.03, at.y + up*r*1.10}, {inner, at.y + up*r*1.14}})
		}
	}
	e.fill(shade(f.caseHex, 0.95), []pt{{at.x + r - 4, at.y - 17}, {at.x + r + 24, at.y - 20}, {at.x + r + 24, at.y + 20},
		{at.x + r - 4, at.y + 17}})
	for y := -15.0; y <= 15; y += 5 {
		e.stroke(paint(0x211C16, 0.35), 1.2, pt{at.x + r + 2, at.y + y}, pt{at.x + r + 23, at.y + y*1.1})
	}
}

func (f face) links(e *easel, at pt, w, from, to float64) {
	const height, gap = 34.0, 3.0
	for y := min(from, to); y < max(from, to); y += height {
		for _, l := range []struct{ left, right, light float64 }{{-1, -0.36, 0.94}, {-0.36, 0.36, 1.06}, {0.36, 1, 0.90}} {
			e.fill(shade(f.caseHex, l.light), box(at.x+w*l.left+1, y, w*(l.right-l.left)-2, height-gap))
		}
	}
}

func (f face) turningBezel(e *easel, at pt, r float64) {
	e.ring(solid(0x1F2A38), at, r*0.94, r*0.75)
	for i := range 60 {
		inner, width := r*0.88, 1.8
		if i%5 == 0 {
			inner, width = r*0.80, 5
		}
		e.stroke(solid(0xE9E4D6), width, at.polar(inner, float64(i)/5), at.polar(r*0.92, float64(i)/5))
	}
	e.fill(solid(0xE9E4D6), []pt{at.polar(r*0.92, -0.18), at.polar(r*0.92, 0.18), at.polar(r*0.78, 0)})
}

func (f face) marks(e *easel, at pt, r float64) {
	ink := solid(f.inkHex)
	for i := range 60 {
		e.stroke(ink, 1.6, at.polar(r*0.93, float64(i)/5), at.polar(r*0.97, float64(i)/5))
	}
	for hour := 1; hour <= 12; hour++ {
		if f.seconds && hour == 6 || f.date && hour == 3 {
			continue
		}
		switch {
		case f.romans:
			f.roman(e, at, r, hour)
		case f.dots:
			e.fill(ink, disc(at.polar(r*0.80, float64(hour)), r*0.062))
			e.fill(solid(0xDDE3C0), disc(at.polar(r*0.80, float64(hour)), r*0.045))
		default:
			width := r * 0.035
			if hour%3 == 0 {
				width *= 1.7
			}
			e.stroke(ink, width, at.polar(r*0.70, float64(hour)), at.polar(r*0.88, float64(hour)))
		}
	}
	if f.seconds {
		sub := pt{at.x, at.y + r*0.50}
		e.fill(paint(0x000000, 0.06), disc(sub, r*0.25))
		e.ring(ink, sub, r*0.25, r*0.242)
		for i := range 12 {
			e.stroke(ink, 1.5, sub.polar(r*0.20, float64(i)), sub.polar(r*0.24, float64(i)))
		}
		e.stroke(solid(f.handHex), 2.5, sub.polar(-r*0.06, 4.4), sub.polar(r*0.20, 4.4))
	}
	if f.date {
		e.fill(solid(f.inkHex), box(at.x+r*0.60, at.y-r*0.085, r*0.24, r*0.17))
		e.fill(solid(0xF6F2E6), box(at.x+r*0.615, at.y-r*0.07, r*0.21, r*0.14))
		for _, x := range []float64{0.67, 0.75} {
			e.stroke(solid(0x211C16), 3.5, pt{at.x + r*x, at.y - r*0.045}, pt{at.x + r*x, at.y + r*0.045})
		}
	}
}

func box(x, y, w, h float64) []pt { return []pt{{x, y}, {x + w, y}, {x + w, y + h}, {x, y + h}} }

// roman draws an hour in strokes, as the dials of old pocket watches have it: IIII for four.
func (f face) roman(e *easel, at pt, r float64, hour int) {
	numerals := []string{"I", "II", "III", "IIII", "V", "VI", "VII", "VIII", "IX", "X", "XI", "XII"}
	widths := map[rune]float64{'I': 0.062, 'V': 0.12, 'X': 0.12}
	total := 0.0
	for _, c := range numerals[hour-1] {
		total += widths[c]
	}
	corner := func(along, out float64) pt { return at.polar(r*out, float64(hour)+(along-total/2)*12/(2*3.14159*0.78)) }
	along := 0.0
	ink := solid(f.inkHex)
	for _, c := range numerals[hour-1] {
		w := widths[c]
		left, mid, right := along+w*0.1, along+w/2, along+w*0.9
		switch c {
		case 'I':
			e.stroke(ink, r*0.026, corner(mid, 0.68), corner(mid, 0.87))
		case 'V':
			e.stroke(ink, r*0.030, corner(left, 0.87), corner(mid, 0.68))
			e.stroke(ink, r*0.012, corner(mid, 0.68), corner(right, 0.87))
		case 'X':
			e.stroke(ink, r*0.030, corner(left, 0.87), corner(right, 0.68))
			e.stroke(ink, r*0.012, corner(left, 0.68), corner(right, 0.87))
		}
		along += w
	}
}

func (f face) hands(e *easel, at pt, r float64) {
	for _, h := range []struct{ hour, length, width float64 }{
		{f.hour + f.minute/60, 0.52, 0.055}, {f.minute / 5, 0.84, 0.042},
	} {
		leaf := func(d float64) []pt {
			c := pt{at.x + d, at.y + d*1.3}
			return []pt{c.polar(-r*0.12, h.hour), c.polar(r*h.width, h.hour+3), c.polar(r*h.length*0.5, h.hour+h.width*1.9),
				c.polar(r*h.length, h.hour), c.polar(r*h.length*0.5, h.hour-h.width*1.9), c.polar(r*h.width, h.hour-3)}
		}
		e.fill(paint(0x000000, 0.22), leaf(3))
		e.fill(solid(f.handHex), leaf(0))
		if f.dots {
			e.fill(solid(0xDDE3C0), disc(at.polar(r*h.length*0.55, h.hour), r*0.022))
		}
	}
	if !f.seconds {
		e.stroke(solid(f.handHex), 3, at.polar(-r*0.18, 7.3), at.polar(r*0.86, 7.3))
	}
	e.fill(shade(f.caseHex, 0.85), disc(at, r*0.045))
}

// scratched is a few fine scratches across a crystal.
func scratched(e *easel, at pt, r float64) {
	pale := paint(0xFFFFFF, 0.75)
	e.stroke(pale, 2, at.polar(r*0.2, 1.2), at.polar(r*0.75, 2.1))
	e.stroke(pale, 1.4, at.polar(r*0.3, 1.7), at.polar(r*0.70, 2.6))
	e.stroke(pale, 1.2, at.polar(r*0.62, 4.4), at.polar(r*0.88, 4.9))
	e.stroke(paint(0x211C16, 0.25), 1, at.polar(r*0.2, 1.24), at.polar(r*0.75, 2.14))
}

// cracked is a crystal cracked from its edge.
func cracked(e *easel, at pt, r float64) {
	for _, line := range [][]pt{
		{at.polar(r, 4.2), at.polar(r*0.66, 4.0), at.polar(r*0.44, 3.3), at.polar(r*0.30, 1.6), at.polar(r*0.58, 0.4)},
		{at.polar(r*0.44, 3.3), at.polar(r*0.72, 2.5), at.polar(r, 2.3)},
		{at.polar(r*0.66, 4.0), at.polar(r*0.62, 5.1)},
	} {
		e.stroke(paint(0x211C16, 0.35), 3.4, line...)
		e.stroke(paint(0xFFFFFF, 0.85), 1.8, line...)
	}
}

// stained is moisture that has dried on a dial.
func stained(e *easel, at pt, r float64) {
	for _, s := range []struct{ hour, out, size float64 }{{4.6, 0.62, 0.22}, {5.2, 0.78, 0.15}, {3.9, 0.80, 0.12},
		{7.4, 0.7, 0.09}} {
		var tint color.RGBA = paint(0x7A5A2A, 0.16)
		e.fill(tint, disc(at.polar(r*s.out, s.hour), r*s.size))
		e.fill(tint, disc(at.polar(r*(s.out+0.03), s.hour+0.2), r*s.size*0.6))
	}
}
