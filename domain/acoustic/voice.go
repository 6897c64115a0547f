package acoustic

import "math"

// voices averages the whole sound of each swing, aligned to the drop, and looks for the impulse in it.
func (b *block) voices(h *heardBlock, shapes *bursts) {
	bph := 3600 / h.cadence.periodS
	longest := liftTimeS(160, DefaultLiftAngleDeg, bph)
	if h.liftFound {
		longest = 1.25 * h.meanLiftS(b.rateHz)
	}
	for i := range h.swings {
		s := &h.swings[i]
		s.impulse = math.NaN()
		if len(s.beats) == 0 {
			continue
		}
		s.ahead = int(longest*b.rateHz) + b.samples(1)
		u := newSounds(b.y, s.drop, s.ahead, s.ahead+b.samples(6))
		copy(u.use, s.heard)
		s.count = u.learn()
		s.average = u.average
		for _, v := range s.average[s.ahead:] {
			s.peak = math.Max(s.peak, math.Abs(float64(v)))
		}
		if h.liftFound && s.count > 0 {
			s.findImpulse(b, h.noise/math.Sqrt(float64(s.count)), shapes)
		}
	}
}

// findImpulse looks between unlocking and drop for the place where the sound grows the most.
func (s *swingSound) findImpulse(b *block, noise float64, shapes *bursts) {
	lift := s.meanLift()
	from, to := s.ahead-int(lift)+b.samples(0.7), s.ahead-b.samples(0.5)
	if to-from < b.samples(0.5) || from < shapes.width {
		return
	}
	z := make([]float64, s.ahead)
	for k := range z {
		v := float64(s.average[k]) / noise
		z[k] = v * v
	}
	// Energy of a short while after over that before.
	width := shapes.width
	sums := make([]float64, len(z)+1)
	for k, v := range z {
		sums[k+1] = sums[k] + v
	}
	best, bestRatio := 0, 2.0
	for k := from; k+width <= to; k++ {
		after, before := (sums[k+width]-sums[k])/float64(width), (sums[k]-sums[k-width])/float64(width)
		if ratio := after / math.Max(before, 1); after > 4 && ratio > bestRatio {
			best, bestRatio = k, ratio
		}
	}
	if best > 0 {
		s.impulse = float64(s.ahead - best)
	}
}

// meanLift returns the mean lift of the beats heard, in samples; NaN of none.
func (s *swingSound) meanLift() float64 {
	var sum, n float64
	for k, l := range s.lift {
		if s.heard[k] && l > 0 {
			sum += l
			n++
		}
	}
	return sum / n
}

// meanLiftS returns the mean lift of both swings, in seconds, each weighing as much as its onset is certain; NaN when
// none was heard.
func (h *heardBlock) meanLiftS(rateHz float64) float64 {
	a, b := &h.swings[0], &h.swings[1]
	wa, wb := a.liftWeight(), b.liftWeight()
	return (wa*a.meanLift() + wb*b.meanLift()) / (wa + wb) / rateHz
}

// liftWeight is the weight of the swing's lift in the mean.
func (s *swingSound) liftWeight() float64 { return 1 / (1 + s.unlocking.std*s.unlocking.std) }

// voice returns the swing's averaged sound.
func (s *swingSound) voice(rateHz float64, lifted bool) Voice {
	v := Voice{RateHz: rateHz, StartMs: -float64(s.ahead) / rateHz * 1e3, Beats: s.count, UnlockingMs: math.NaN(),
		ImpulseMs: math.NaN()}
	v.Envelope = envelope(s.average, rateHz)
	if lifted {
		v.UnlockingMs = -s.meanLift() / rateHz * 1e3
	}
	if !math.IsNaN(s.impulse) {
		v.ImpulseMs = -s.impulse / rateHz * 1e3
	}
	return v
}

// envelope returns the loudness of x, its running rms over a fifth of a millisecond, its peak 1.
func envelope(x []float32, rateHz float64) []float64 {
	half := max(1, int(0.1e-3*rateHz))
	sums := make([]float64, len(x)+1)
	for i, v := range x {
		sums[i+1] = sums[i] + float64(v)*float64(v)
	}
	out := make([]float64, len(x))
	peak := 0.0
	for i := range x {
		a, b := max(0, i-half), min(len(x), i+half+1)
		out[i] = math.Sqrt((sums[b] - sums[a]) / float64(b-a))
		peak = max(peak, out[i])
	}
	for i := range out {
		out[i] /= math.Max(peak, 1e-30)
	}
	return out
}
