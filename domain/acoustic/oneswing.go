package acoustic

import "math"

// Not every escapement speaks in both swings: a detent gives its impulse in one alone, and the passing of the other is a
// faint click or nothing. Where the two swings of a lever are not found, one sound in two beats is looked for.

const (
	// leastSpeaking and greatestSpeaking are the beats per hour at which one swing in two is believed unaided: a watch
	// of more is rather heard at half of them, in both swings.
	leastSpeaking, greatestSpeaking = 12000, 21600
	// speaksAgain is the share of the beats in which the sound has to be found: what beats at another cadence, such as a
	// clock's once a second, is found in less.
	speaksAgain = 0.8
	// evenShare of them have to lie on the line of the others besides.
	evenShare = 0.6
	// oneScore is the least score of its comb.
	oneScore = 40
	// fainter is the energy of a swing, over that of the other, below which it is hardly heard: 15 dB. Common practice:
	// the swings of a lever differ by a few decibels.
	fainter = 0.03
	// otherMs before and after the loudest sound nothing else may sound, otherShare of it in the logarithm of loudness.
	otherBeforeMs, otherAfterMs, otherShare = 30, 60, 0.4
)

// lame reports whether of two swings that were found one is hardly heard.
func (h *heardBlock) lame() bool {
	a, b := h.swings[0].energy, h.swings[1].energy
	return math.Min(a, b) < fainter*math.Max(a, b)
}

// oneSwing finds the drops of the one swing that speaks.
func (b *block) oneSwing(g []float64, stated float64, shapes *bursts) (heardBlock, bool) {
	stepHz := b.binHz / binsJoined
	if float64(len(g)) < stepHz {
		return heardBlock{}, false
	}
	low, high := leastSpeaking*(1-offRate)/7200, greatestSpeaking*(1+offRate)/7200
	if stated > 0 {
		low, high = stated*(1-offRate)/7200, stated*(1+offRate)/7200
	}
	l := spectrum(g, stepHz)
	for _, p := range l.combs(low, high, 3) {
		f, score := l.refine(p.at, p.at/(highestLineHz*l.perHz)*2)
		if score < oneScore {
			break
		}
		c := cadence{periodS: 0.5 / f, score: score, loudness: g}
		if !c.patternOfOne(g, stepHz) {
			continue
		}
		h := heardBlock{cadence: c, periodSamples: c.periodS * b.rateHz, noise: b.quiet(), manner: inOneSwing}
		s := &h.swings[Tick]
		if b.drops(s, int(Tick), h, shapes) && !s.between && s.speaks() {
			return h, true
		}
	}
	return heardBlock{}, false
}

// patternOfOne finds when the drop sounds. It reports whether nothing else like it does in two beats.
func (c *cadence) patternOfOne(g []float64, stepHz float64) bool {
	f := smoothRing(fold(g, c.periodS, stepHz), 3)
	n := len(f)
	loudest := argmax(f)
	for k := int(otherAfterMs * 1e-3 * stepHz); k < n-int(otherBeforeMs*1e-3*stepHz); k++ {
		if f[(loudest+k)%n] > otherShare*f[loudest] {
			return false
		}
	}
	power := make([]float64, n)
	for i, v := range f {
		power[i] = math.Expm1(math.Max(0, v)) // as in pattern
	}
	drop, echoes := lastBurst(power)
	c.echoes = echoes
	c.phaseS = [2]float64{float64(drop) / stepHz, float64(drop)/stepHz + c.periodS}
	return true
}

// speaks reports whether the sound is found in nearly every one of its beats.
func (s *swingSound) speaks() bool {
	agree := 0.0
	for _, ok := range s.agrees {
		if ok {
			agree++
		}
	}
	return agree >= speaksAgain*float64(len(s.agrees))
}

// even reports whether most of the beats of the one swing lie where the others do.
func (p *piece) even() bool {
	return float64(len(usedOf(p.beats))) >= evenShare*float64(len(p.heard.swings[Tick].beats))
}
