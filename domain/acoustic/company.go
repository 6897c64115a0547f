package acoustic

import (
	"math"
	"slices"
)

// What else is in the room.
type company struct {
	beatsPerHour float64 // of a second watch; 0: none
	quartz       bool    // one pulse a second
}

const (
	// companyScore is the score from which a comb left after the watch was taken out is another.
	companyScore = 80
	// quartzWithin is how far from a second a quartz clock's may be.
	quartzWithin = 3e-4
)

// company listens for what beats besides the watch found: its own beats are blanked out of the loudness.
func (b *block) company(h *heardBlock) company {
	g := slices.Clone(h.cadence.loudness)
	stepHz := b.binHz / binsJoined
	before, after := 3e-3, math.Min(25e-3, 0.4*h.cadence.periodS)
	if h.liftFound {
		before += h.meanLiftS(b.rateHz)
	} else {
		before += 12e-3
	}
	for i := range h.swings {
		period := 2 * h.periodSamples / b.rateHz
		for k, at := range h.swings[i].drop {
			s := at / b.rateHz
			if !h.swings[i].heard[k] { // where it would be
				s = h.cadence.phaseS[i] + float64(k)*period
			}
			from, to := max(0, int((s-before)*stepHz)), min(len(g), int((s+after)*stepHz))
			for m := from; m < to; m++ {
				g[m] = 0
			}
		}
	}
	l := spectrum(g, stepHz)
	c := company{quartz: pulses(fold(g, 0.5, stepHz))}
	for _, p := range l.combs(leastBeatsPerHour*(1-offRate)/3600, greatestBeatsPerHour*(1+offRate)/3600, 4) {
		if p.score < companyScore {
			break
		}
		if ownLines(p.at*h.cadence.periodS) {
			continue
		}
		if c.quartz && math.Abs(p.at-math.Round(p.at)) < 4*quartzWithin*p.at {
			continue // a multiple of the clock's
		}
		if got := pair(fold(g, 1/p.at, stepHz)); !got.lopsided() {
			c.beatsPerHour = nominal(p.at * 3600)
			break
		}
	}
	return c
}

// ownWithin is how near in frequency a comb is the watch's own, whose sound rings on where it was blanked out.
const ownWithin = 1e-3

// ownLines reports whether a comb at ratio times the watch's beat shares its lines: the ratio is one of small whole
// numbers.
func ownLines(ratio float64) bool {
	for q := 1; q <= 6; q++ {
		if p := math.Round(ratio * float64(q)); p >= 1 && math.Abs(ratio*float64(q)/p-1) < ownWithin {
			return true
		}
	}
	return false
}

// pulses reports whether a loudness folded at one second holds one pulse and nothing else like it.
func pulses(f []float64) bool {
	s := smoothRing(f, 3)
	at := argmax(s)
	if s[at] < 2*telling*spread(s) {
		return false
	}
	const near = 40 // ms
	for k := near; k < len(s)-near; k++ {
		if s[(at+k)%len(s)] > 0.4*s[at] {
			return false
		}
	}
	return true
}
