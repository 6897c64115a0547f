package demoshop

import "math"

// movement is a movement from its bridge side.
type movement struct {
	plateHex, bridgeHex uint32
	stripes             bool // across the bridges
	rotor               bool
	cock                float64 // hour at which the balance lies
	worn                bool    // dried oil and marks of a hand before ours
}

func (m movement) draw(e *easel) {
	at, r := middle, 318.0
	e.shadow(at, r)
	e.turned(0xB9BEC4, at, r, r*0.93, 0.28) // the movement holder
	e.turned(m.plateHex, at, r*0.93, 0, 0.10)
	e.wheel(0xC9A24C, at.polar(r*0.40, m.cock+3.4), r*0.25, 60, 5, 0.3)
	e.wheel(0xC9A24C, at.polar(r*0.14, m.cock+5.2), r*0.27, 64, 5, 1.1)
	m.bridges(e, at, r)
	m.windingWheels(e, at, r)
	m.balance(e, at.polar(r*0.52, m.cock), r*0.34)
	if m.worn {
		for _, s := range []struct{ hour, out float64 }{{m.cock + 5, 0.2}, {m.cock + 3.2, 0.44}, {m.cock + 8, 0.3}} {
			e.ring(paint(0x5A3D12, 0.35), at.polar(r*s.out, s.hour), r*0.075, r*0.03)
		}
		e.stroke(paint(0xFFFFFF, 0.6), 2, at.polar(r*0.5, m.cock+6.9), at.polar(r*0.62, m.cock+7.6))
		e.stroke(paint(0xFFFFFF, 0.5), 1.5, at.polar(r*0.52, m.cock+7.1), at.polar(r*0.60, m.cock+7.9))
	}
	if m.rotor {
		m.swingingWeight(e, at, r)
	}
}

// sector is the outline of a piece of a disc between two hours, with its centre rounded away.
func sector(at pt, outer, inner, from, to float64) []pt {
	n := int(math.Ceil((to - from) * 8))
	var line, back []pt
	for i := range n + 1 {
		h := from + (to-from)*float64(i)/float64(n)
		line = append(line, at.polar(outer, h))
		back = append(back, at.polar(inner, h))
	}
	return append(line, backwards(back)...)
}

func (m movement) bridges(e *easel, at pt, r float64) {
	for _, b := range []struct{ from, to, inner float64 }{{m.cock + 4.1, m.cock + 7.0, 0.08},
		{m.cock + 7.12, m.cock + 10.6, 0.05}} {
		shape := sector(at, r*0.90, r*b.inner, b.from, b.to)
		under := make([]pt, len(shape))
		for i, p := range shape {
			under[i] = pt{p.x + 3, p.y + 4}
		}
		e.fill(paint(0x211C16, 0.35), under)
		e.fill(solid(m.bridgeHex), shape)
		if m.stripes {
			m.stripe(e, at, r, b.from, b.to, b.inner)
		}
		e.stroke(paint(0xFFFFFF, 0.55), 2.5, append(shape, shape[0])...)
		e.screw(at.polar(r*0.80, b.from+0.5), 15, b.from)
		e.screw(at.polar(r*0.80, b.to-0.5), 15, b.to+1)
	}
	e.jewel(at.polar(r*0.20, m.cock+5.2), 15)
	e.jewel(at.polar(r*0.44, m.cock+4.7), 13)
	e.jewel(at.polar(r*0.46, m.cock+6.2), 13)
}

// stripe lays arcs of changing light across a bridge, as a rose engine leaves them.
func (m movement) stripe(e *easel, at pt, r, from, to, inner float64) {
	for out := inner + 0.06; out < 0.88; out += 0.07 {
		e.fill(paint(0xFFFFFF, 0.13), sector(at, r*(out+0.03), r*out, from+0.03, to-0.03))
	}
}

func (m movement) windingWheels(e *easel, at pt, r float64) {
	barrel := at.polar(r*0.50, m.cock+8.6)
	e.wheel(0xC3C8CD, barrel, r*0.27, 54, 0, 0.2)
	e.turned(0xC3C8CD, barrel, r*0.235, 0, 0.22)
	e.screw(barrel, 20, 2.2)
	crown := at.polar(r*0.60, m.cock+10)
	e.wheel(0xC3C8CD, crown, r*0.15, 30, 0, 0.5)
	e.turned(0xC3C8CD, crown, r*0.12, 0, 0.22)
	e.screw(crown, 11, 4)
}

// balance draws the balance with its spring under the cock.
func (m movement) balance(e *easel, at pt, r float64) {
	e.fill(paint(0x211C16, 0.30), disc(pt{at.x + 3, at.y + 5}, r))
	e.ring(solid(0xCBAE62), at, r, r*0.85)
	e.ring(paint(0xFFFFFF, 0.4), at, r, r*0.97)
	for i := range 2 {
		e.stroke(solid(0xCBAE62), r*0.10, at.polar(r*0.86, 1+6*float64(i)), at)
	}
	for i := range 8 {
		e.fill(solid(0xD9C184), disc(at.polar(r*1.0, 0.7+1.5*float64(i)), r*0.055))
	}
	e.coil(solid(0x2F4D78), 1.8, at, r*0.10, r*0.52, 9, 2)
	cock := []pt{at.polar(r*0.13, 9), at.polar(r*0.13, 3), at.polar(r*1.32, m.cock+0.55), at.polar(r*1.32, m.cock-0.55)}
	e.fill(solid(m.bridgeHex), cock)
	e.fill(solid(m.bridgeHex), disc(at, r*0.16))
	e.stroke(paint(0xFFFFFF, 0.5), 2, cock[1], cock[2], cock[3], cock[0])
	e.screw(at.polar(r*1.12, m.cock), 12, 1)
	e.jewel(at, 13)
}

func (m movement) swingingWeight(e *easel, at pt, r float64) {
	weight := sector(at, r*0.96, r*0.16, 3.4, 8.9)
	e.fill(paint(0x211C16, 0.30), weight)
	for i := range weight {
		weight[i] = pt{weight[i].x - 4, weight[i].y - 5}
	}
	hub := pt{at.x - 4, at.y - 5}
	e.fill(solid(0xC7CBD0), weight)
	for out := 0.22; out < 0.78; out += 0.08 {
		e.fill(paint(0xFFFFFF, 0.16), sector(hub, r*(out+0.035), r*out, 3.5, 8.8))
	}
	e.fill(solid(0xB58F3E), sector(hub, r*0.95, r*0.82, 3.45, 8.85))
	e.turned(0xC7CBD0, hub, r*0.19, 0, 0.2)
	e.screw(hub, 20, 1.3)
}

// springOut is a mainspring that has set, beside its barrel.
func springOut(e *easel) {
	barrel := pt{690, 400}
	e.shadow(barrel, 170)
	e.wheel(0xC9A24C, barrel, 172, 84, 0, 0.2)
	e.turned(0xC9A24C, barrel, 150, 0, 0.12)
	e.fill(solid(0x6A5426), disc(barrel, 138))
	e.turned(0x9A7E3C, barrel, 132, 24, 0.15)
	e.screw(barrel, 24, 3)
	at := pt{300, 390}
	e.coil(paint(0x3A3022, 0.25), 9, pt{at.x + 6, at.y + 8}, 14, 190, 6.6, 4)
	e.coil(solid(0x4A5560), 7, at, 14, 190, 6.6, 4)
	e.coil(paint(0xE6ECF2, 0.6), 1.6, pt{at.x - 1, at.y - 1}, 14, 190, 6.6, 4)
}

// balanceOut is a balance off the movement, its spring uppermost, some of the coils touching.
func balanceOut(e *easel) {
	at, r := middle, 285.0
	e.shadow(at, r)
	e.ring(solid(0xC9AC60), at, r, r*0.86)
	e.ring(paint(0xFFFFFF, 0.4), at, r, r*0.98)
	for i := range 3 {
		e.stroke(solid(0xC9AC60), r*0.11, at, at.polar(r*0.87, 0.8+4*float64(i)))
	}
	for i := range 12 {
		screw := at.polar(r*1.03, 0.5+float64(i))
		e.fill(solid(0xD9C184), disc(screw, 17))
		e.stroke(solid(0x6A5426), 3, screw.polar(14, float64(i)), screw.polar(-14, float64(i)))
	}
	e.turned(0xC3C8CD, at, r*0.15, 0, 0.25)
	e.coil(solid(0x2F4D78), 3.2, at, r*0.16, r*0.47, 7, 2)
	e.coil(solid(0x2F4D78), 3.2, pt{at.x + 9, at.y - 6}, r*0.44, r*0.66, 3.2, 5)
	e.fill(solid(0xC3C8CD), box(at.x+r*0.60, at.y-r*0.30, 26, 40))
	e.fill(solid(0x3B3F44), disc(at, 7))
}

// sealsOut are an old gasket, cracked, a new one, and the crown with its stem.
func sealsOut(e *easel) {
	old, fresh := pt{320, 330}, pt{650, 430}
	e.ring(paint(0x3A3022, 0.25), pt{old.x + 5, old.y + 7}, 190, 176)
	e.fill(solid(0x3A352C), sector(old, 190, 176, 0.4, 11.75))
	for _, hour := range []float64{2.2, 4.9, 7.7, 9.3} {
		e.stroke(solid(0xD9D0BD), 2.5, old.polar(174, hour), old.polar(192, hour+0.07))
	}
	e.ring(paint(0x3A3022, 0.25), pt{fresh.x + 5, fresh.y + 7}, 190, 177)
	e.ring(solid(0x1F2226), fresh, 190, 177)
	e.ring(paint(0xFFFFFF, 0.25), fresh, 187, 185)
	crown := pt{300, 640}
	e.fill(shade(0xB9BEC4, 0.95), box(crown.x-60, crown.y-46, 70, 92))
	for y := -40.0; y <= 40; y += 10 {
		e.stroke(paint(0x211C16, 0.4), 2, pt{crown.x - 58, crown.y + y}, pt{crown.x + 8, crown.y + y})
	}
	e.fill(shade(0x9DA3AA, 1), box(crown.x+10, crown.y-22, 46, 44))
	e.fill(solid(0x23262B), box(crown.x+30, crown.y-25, 10, 50))
	e.fill(shade(0xC3C8CD, 1), box(crown.x+56, crown.y-8, 240, 16))
	e.fill(shade(0xC3C8CD, 0.9), box(crown.x+250, crown.y-14, 30, 28))
}

// caseBack is the back of a steel case with its key notches, and the scratches of a slipped key.
func caseBack(e *easel) {
	at, r := middle, 300.0
	face{caseHex: 0xB9BEC4, radius: r, strapHex: 0x4A3524}.band(e, at, r)
	e.shadow(at, r)
	e.turned(0xB9BEC4, at, r, r*0.88, 0.3)
	e.turned(0xC3C8CD, at, r*0.88, 0, 0.16)
	e.ring(paint(0x3B3F44, 0.6), at, r*0.70, r*0.69)
	e.ring(paint(0x3B3F44, 0.6), at, r*0.46, r*0.45)
	for i := range 6 {
		e.fill(solid(0x4A4F55), sector(at, r*0.87, r*0.79, 2*float64(i)-0.16, 2*float64(i)+0.16))
	}
	for _, line := range [][2]pt{{at.polar(r*0.84, 4.1), at.polar(r*0.55, 4.9)},
		{at.polar(r*0.84, 4.2), at.polar(r*0.60, 5.2)}, {at.polar(r*0.80, 2.1), at.polar(r*0.66, 2.9)}} {
		e.stroke(paint(0xFFFFFF, 0.8), 2.4, line[0], line[1])
		e.stroke(paint(0x211C16, 0.35), 1.4, pt{line[0].x + 2, line[0].y + 2}, pt{line[1].x + 2, line[1].y + 2})
	}
}
