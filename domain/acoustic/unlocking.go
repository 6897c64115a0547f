package acoustic

import (
	"math"
)

// unlockings finds the unlocking of the beats of both swings.
func (b *block) unlockings(h *heardBlock, shapes *bursts, liftAngleDeg float64) {
	bph := 3600 / h.cadence.periodS
	longest := int(liftTimeS(leastAmplitudeDeg, liftAngleDeg, bph) * b.rateHz)
	shortest := int(liftTimeS(greatestAmplitudeDeg, liftAngleDeg, bph) * b.rateHz)
	margin := b.samples(1.5)
	search := liftSearch{b: b, h: h, shapes: shapes, liftAngleDeg: liftAngleDeg, ahead: longest + margin, from: margin / 2,
		to: longest + margin - shortest}
	search.doubt = func(k int) float64 {
		a := amplitudeDeg(float64(search.ahead-k)/b.rateHz, liftAngleDeg, bph)
		return 0.5 * (a - usualAmplitudeDeg) * (a - usualAmplitudeDeg) / (usualAmplitudeStdDeg * usualAmplitudeStdDeg)
	}
	search.run()
}

// liftSearch is the search for the unlocking in one block.
type liftSearch struct {
	b            *block
	h            *heardBlock
	shapes       *bursts
	ahead        int // samples before the drop at which the window begins
	from, to     int // between which of the window the unlocking may lie
	doubt        func(int) float64
	liftAngleDeg float64
	band         band
	mirror       [2][]float64 // what the lift of each beat is expected to differ from the mean by, samples
}

func (s *liftSearch) run() {
	s.mirrorDrops()
	lead, ok := s.anyBand(func() (float64, float64, bool) { return s.detect(8) })
	if !ok {
		if lead, ok = s.anyBand(s.detectDrifting); !ok {
			return
		}
	}
	for range 3 {
		u, ok := s.track(lead)
		if !ok {
			return
		}
		found, earlier := s.place(u, lead)
		if earlier > lead+8 {
			lead = earlier
			continue
		}
		if s.alike(&found) && s.stands(found) {
			// The impulse drifts as the unlocking does: it serves the rate as well.
			s.h.liftDoubted = !s.unlocking(lead, found)
			s.h.liftFixed = s.b.wallHz > 0 && s.slipped(u, lead)
			s.keep(u, found)
		}
		return
	}
}

// unlocking reports whether the burst found is the unlocking and not the impulse. The impulse, taken for it, makes the
// amplitude a third to one and a half too great; so a moderate amplitude is believed, a great one if an unlocking could
// not have been missed before it or an impulse is heard after it. A codec leaves out soft sounds near loud ones, and
// echoes cover them: there an unlocking can always have been missed.
func (s *liftSearch) unlocking(lead float64, found [2]place) bool {
	bph := 3600 / s.h.cadence.periodS
	doubt := float64(beyondDoubt)
	if s.h.murky {
		doubt *= murkyTimes
	}
	return amplitudeDeg(lead/s.b.rateHz, s.liftAngleDeg, bph) < moderateDeg ||
		found[0].ratio+found[1].ratio > doubt || s.impulseFollows(lead)
}

// stands reports whether what was found is a sound of the watch at all.
func (s *liftSearch) stands(found [2]place) bool {
	most, least := math.Max(found[0].step, found[1].step), math.Min(found[0].step, found[1].step)
	return most >= clearStep && (s.h.murky || least >= faintStep || most >= strongStep)
}

// clearStep is by what the sound must grow at an unlocking in one swing at least: what a codec or echoes make swells, and
// noise is seldom more. faintStep is the same of the fainter swing where noise is all that hides it, unless the other's is strong. Counted: they part
// those that were none from nearly all that were.
const clearStep, faintStep, strongStep = 6, 2.5, 12

// moderateDeg is the amplitude up to which a burst is taken for the unlocking as it is: were it the impulse, the watch
// would swing less than 160 degrees.
const moderateDeg = 215

// beyondDoubt is the log-likelihood ratio of a burst from which on an unlocking ten decibels weaker could not have
// been missed before it.
// Under a codec or echoes it is murkyTimes as much.
const beyondDoubt, murkyTimes = 300, 5

// impulseFollows reports whether something sounds between the burst found and the drop. If nothing does, the burst may
// be the impulse, with the unlocking drowned in noise: the impulse is mostly the louder of the two.
func (s *liftSearch) impulseFollows(lead float64) bool {
	gap := s.b.samples(0.7)
	width := s.b.samples(0.5)
	from, to := s.ahead-int(lead)+gap, s.ahead-s.b.samples(0.6)
	if from < width || to-from < 2*width {
		return false
	}
	for _, in := range liftBands {
		var growth []float64
		for i := range s.h.swings {
			w := s.windows(i, 0)
			w.length = to
			w.average, w.work = make([]float32, to), make([]float32, to)
			z, count := w.power(8, s.h.noise, in, s.b.rateHz)
			if growth == nil {
				growth = make([]float64, to)
			}
			for k := from; k+width <= to; k++ {
				var before, after float64
				for m := range width {
					before += z[k-1-m]
					after += z[k+m]
				}
				// The difference of two means of squares, over its standard deviation.
				std := math.Sqrt(2 * (before*before + after*after) / float64(width) / count)
				growth[k] += (after - before) / std / math.Sqrt2
			}
		}
		if growth[argmax(growth)] > impulseStands {
			return true
		}
	}
	return false
}

// impulseStands is how many standard deviations the sound has to grow for an impulse, somewhere in a hundred
// independent places.
const impulseStands = 4

// alike reports whether the unlockings of the two swings lie as long before their drops, as they must: the balance
// takes as long both ways. Noise taken for an unlocking seldom does. Where one of them stands out far less, it is
// put where the other is, with as much uncertainty as they differ by.
func (s *liftSearch) alike(found *[2]place) bool {
	std := math.Hypot(found[0].std, found[1].std)
	apart := math.Abs(found[0].at - found[1].at)
	if apart <= 0.25e-3*s.b.rateHz+3*math.Min(std, 5) && std < 9 {
		return true
	}
	strong, weak := 0, 1
	if found[1].ratio > found[0].ratio {
		strong, weak = 1, 0
	}
	if found[strong].ratio < 2*found[weak].ratio || found[strong].ratio < 3*unlockingLeast || found[strong].std > 6 {
		return false
	}
	found[weak].at, found[weak].std = found[strong].at, 0.15e-3*s.b.rateHz
	return true
}

// mirrorDrops guesses the wander of the lift from the drops: as the lever's sounds lie on both sides of the balance's
// passage, a drop that is late by r tells a lift longer by 2r. What is left of it after smoothing over a second or so
// is scatter of the beats. A steady drift cannot be told from the rate and is left out.
func (s *liftSearch) mirrorDrops() {
	beats := s.h.beatsOf(s.b.rateHz)
	var used []heardBeat
	for _, b := range beats {
		if !b.wild {
			used = append(used, b)
		}
	}
	for i := range s.mirror {
		s.mirror[i] = make([]float64, len(s.h.swings[i].drop))
	}
	if len(used) < 12 {
		return
	}
	l, _ := robustLine(used, func(b heardBeat) float64 { return b.drop })
	// Both swings together; positions by number.
	lags, use := []float64{}, []bool{}
	first := beats[0].number
	for n := first; n <= beats[len(beats)-1].number; n++ {
		lags, use = append(lags, 0), append(use, false)
	}
	for _, b := range used {
		lags[b.number-first] = (b.drop - l.at(b)) * s.b.rateHz
		use[b.number-first] = true
	}
	smooth := smoothLags(lags, use)
	for i := range s.mirror {
		sw := &s.h.swings[i]
		for k, n := range sw.beats {
			if at := int64(n) - first; at >= 0 && at < int64(len(smooth)) {
				s.mirror[i][k] = 2 * smooth[at]
			}
		}
	}
}

// windows returns the sounds of swing i from ahead samples before where the drop would be without the wander of the
// lift, with an extra drift of the lift of drift samples from the first beat to the last.
func (s *liftSearch) windows(i int, drift float64) *sounds {
	sw := &s.h.swings[i]
	centres := make([]float64, len(sw.drop))
	n := float64(max(1, len(centres)-1))
	for k, d := range sw.drop {
		centres[k] = d - s.mirror[i][k] - drift*(float64(k)/n-0.5)
	}
	u := newSounds(s.b.y, centres, s.ahead, s.to)
	copy(u.use, sw.heard)
	return u
}
