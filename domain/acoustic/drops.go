package acoustic

import "math"

// The window of a drop when its place is known to a millisecond, and how far from there it is sought.
const (
	dropAheadMs  = 1.5
	dropLengthMs = 4.5
	seekMs       = 1.2
	farMs        = 1
	nearMs       = 0.25 // once it is known where the others lie
)

// drops finds the drops of one swing.
func (b *block) drops(s *swingSound, swing int, h heardBlock, shapes *bursts) bool {
	period := 2 * h.periodSamples
	first := h.cadence.phaseS[swing] * b.rateHz
	var centres []float64
	for k := 0; ; k++ {
		at := first + float64(k)*period
		if at >= float64(len(b.y)) {
			break
		}
		centres = append(centres, at)
		s.beats = append(s.beats, 2*k+swing)
	}
	d := newSounds(b.y, centres, b.samples(dropAheadMs), b.samples(dropLengthMs))
	sure, ok := d.seed(b.samples(seekMs))
	if !ok {
		return false
	}
	// The average is looked at from further before, for the drop's onset. Where that is far from where it was sought, the
	// beats were aligned by how the drop rings on, in which one period is like the next, and are aligned once more.
	wide := *d
	wide.ahead = b.samples(6)
	wide.length = b.samples(10)
	wide.average, wide.work = make([]float32, wide.length), make([]float32, wide.length)
	for round := range 2 {
		if sure && round == 0 {
			d.settle(b.samples(nearMs), 2)
		} else {
			d.settle(b.samples(seekMs), 4)
		}
		count := wide.learn()
		if count < 3 {
			return false
		}
		quiet := h.noise * h.noise / float64(count)
		unrest := wide.unrest(b.rateHz)
		for k, v := range unrest {
			if v < restless*quiet {
				unrest[k] = quiet
			}
		}
		s.dropOnset = dropOnset(wide.average, wide.ahead, unrest, shapes, b.rateHz)
		shift := s.dropOnset.at - float64(wide.ahead)
		for i := range d.lags {
			d.lags[i] += shift
		}
		if math.Abs(shift) < float64(b.samples(farMs)) {
			break
		}
	}
	// Once more with the window where the drop is.
	d.ahead = b.samples(0.4)
	d.length = b.samples(3.2)
	d.average, d.work = make([]float32, d.length), make([]float32, d.length)
	d.choose()
	n := d.learn()
	d.seek(smoothLags(d.lags, d.use), b.samples(nearMs), n)
	d.choose()
	d.learn()
	if !s.stands(d, h.periodSamples/2, h.noise) {
		return false
	}
	s.knocked, s.energy = d.knocked(), d.energy
	s.verify(d, sure, b.samples(1), agreeMs*1e-3*b.rateHz)
	s.drop = make([]float64, len(centres))
	s.heard = d.use
	s.loud = d.loud
	for i, c := range d.centres {
		s.drop[i] = c + d.lags[i]
	}
	s.dropNoise = d.placeNoise(h.noise)
	return true
}

// leastContrast is how much more energy the averaged drop must have than the average, aligned with it, of what sounds
// between the beats: noise averages out there, a tone does not.
const leastContrast = 3

// The averaged sound midway between beats is another beat when it has this share of the drop's energy and is so many
// standard deviations above what noise leaves.
const (
	betweenShare  = 0.06
	betweenStands = 10
	beatRises     = 4
)

// stands reports whether the averaged drop stands out of what sounds apart samples later.
func (s *swingSound) stands(d *sounds, apart, noise float64) bool {
	around := int(greatestBeatErrorShare * apart)
	later := newSounds(d.y, make([]float64, len(d.centres)), d.ahead+around, d.length+2*around)
	for i, c := range d.centres {
		later.centres[i] = c + d.lags[i] + apart
	}
	copy(later.use, d.use)
	n := later.learn()
	if n < 2 {
		return false
	}
	loudest, onset := 0.0, 0.0
	quietest := math.Inf(1)
	for k := 0; k+d.length <= later.length; k += max(1, d.length/4) {
		w := later.average[k : k+d.length]
		e := dot(w, w)
		loudest = math.Max(loudest, e)
		quietest = math.Min(quietest, e)
		// What rings on from before only falls: a beat rises.
		if e > beatRises*quietest {
			onset = math.Max(onset, e)
		}
	}
	// Noise alone has a mean of length·σ²/n and √(2/length) of that as standard deviation.
	usual := float64(d.length) * noise * noise / float64(n)
	s.between = onset > betweenShare*d.energy && onset > usual*(1+betweenStands*math.Sqrt(2/float64(d.length)))
	return d.energy > leastContrast*loudest
}

// knocked returns how many beats' windows hold much more sound than the watch.
func (s *sounds) knocked() int {
	bound := s.loudBound()
	n := 0
	for i, c := range s.centres {
		if s.room(c+s.lags[i], 0) && s.plainEnergy(i) > 2*bound {
			n++
		}
	}
	return n
}

// verify notes which beats lie where their neighbours do: of sure sounds, which are heard but once, those that surely are
// such a sound there; every other one is sought anew within a wide reach.
func (s *swingSound) verify(d *sounds, sure bool, reach int, within float64) {
	about := smoothLags(d.lags, d.use)
	s.agrees = make([]bool, len(d.lags))
	n := 0
	for _, ok := range d.use {
		if ok {
			n++
		}
	}
	sure = sure && d.alone(int(within), reach)
	var c []float64
	for i, centre := range d.centres {
		at := centre + about[i]
		if d.loud[i] <= 0 || !d.room(at, reach) || !d.room(centre+d.lags[i], 1) {
			continue
		}
		if sure && d.sureOf(i) && math.Abs(d.lags[i]-about[i]) <= within {
			s.agrees[i] = true
			continue
		}
		c = d.correlate(c, d.others(i, n), at, reach)
		lag, _ := top(c)
		s.agrees[i] = math.Abs(math.Round(at)-float64(reach)+lag-at) <= within
	}
}

// placeNoise returns the standard deviation, in samples, that white noise of standard deviation noise gives the
// place of one sound of the average's shape: the Cramér-Rao bound noise/√Σ(s')² (Kay, Fundamentals of Statistical
// Signal Processing I, 1993, 3.11).
func (s *sounds) placeNoise(noise float64) float64 {
	return noise / math.Sqrt(math.Max(s.slopeEnergy(), 1e-30))
}

// slopeEnergy returns the energy of the average's slope, by sample.
func (s *sounds) slopeEnergy() float64 {
	var slope float64
	for k := 1; k+1 < len(s.average); k++ {
		v := float64(s.average[k+1]-s.average[k-1]) / 2
		slope += v * v
	}
	return slope
}

// dropOnset finds where the drop begins in the averaged sound: the likeliest change against what sounds shortly
// before, which may be the end of the impulse.
func dropOnset(average []float32, about int, noise []float64, shapes *bursts, rateHz float64) place {
	z := make([]float64, len(average))
	for i, v := range average {
		z[i] = float64(v) * float64(v) / math.Max(noise[i], 1e-30)
	}
	ms := func(t float64) int { return int(t * 1e-3 * rateHz) }
	// The loudest millisecond and a half of where the drop was sought.
	width := ms(1.5)
	sum, bestSum, loudest := 0.0, -1.0, 0
	for i := about - ms(2); i < about+ms(3); i++ {
		sum += z[i]
		if i < about-ms(2)+width {
			continue
		}
		sum -= z[i-width]
		if sum > bestSum {
			bestSum, loudest = sum, i-width
		}
	}
	from, to := max(ms(1.2), loudest-ms(1.2)), min(len(z), max(loudest, 0)+ms(1))
	return sharpenRise(z, from, to, shapes)
}
