package acoustic

import "math"

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
	g := h.cadence.loudness // for the last time
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
	coarse := make([]float64, len(g)/2)
	for i := range coarse {
		coarse[i] = g[2*i] + g[2*i+1]
	}
	l := spectrum(coarse, stepHz/2)
	own := 1 / h.cadence.periodS
	c := company{quartz: pulses(fold(g, 0.5, stepHz)) && l.foreign(1, own) > companyScore}
	for _, p := range l.combs(leastBeatsPerHour*(1-offRate)/3600, greatestBeatsPerHour*(1+offRate)/3600, 4) {
		if p.score < companyScore {
			break
		}
		if l.foreign(p.at, own) < companyScore {
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

// ownWithinHz is how near to a line of the watch's own a line may be its own: a watch rings on where it was blanked
// out.
const ownWithinHz = 0.25

// foreign is the score of the comb at f without the lines that lie on those of the watch itself at own hertz.
func (l lines) foreign(f, own float64) float64 {
	var sum float64
	count := 0
	for k := 1; ; k++ {
		x := float64(k) * f
		i := int(x*l.perHz + 0.5)
		if i >= len(l.power) {
			break
		}
		// Its lines are those of a swing and back: half its beats.
		if half := own / 2; math.Abs(x-math.Round(x/half)*half) < ownWithinHz {
			continue
		}
		sum += l.power[i]
		count++
	}
	if count == 0 {
		return 0
	}
	return sum / math.Sqrt(float64(count))
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
