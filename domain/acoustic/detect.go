package acoustic

import (
	"math"
)

// enough is the log-likelihood ratio from which no other band is tried.
const enough = 60

// anyBand calls search for each band until one finds enough, and keeps the best.
func (s *liftSearch) anyBand(search func() (lead, ratio float64, ok bool)) (lead float64, ok bool) {
	best := 0.0
	var at band
	for _, b := range liftBands {
		s.band = b
		l, ratio, found := search()
		if found && ratio > best {
			lead, best, ok, at = l, ratio, true, b
		}
		if best > enough {
			break
		}
	}
	s.band = at
	return lead, ok
}

// detect looks for the first burst of sound that both swings share, in averages over each beats: coherent among
// those, in power among the averages, so that a lift that drifts over the recording does not wipe it out.
func (s *liftSearch) detect(each int) (lead, ratio float64, ok bool) {
	var z [2][]float64
	averages := math.Inf(1)
	for i := range z {
		var n float64
		z[i], n = s.windows(i, 0).power(each, s.h.noise, s.band, s.b.rateHz)
		averages = min(averages, n)
	}
	k, ratio, ok := jointBurst(s.shapes, z, s.from, s.to, averages, s.doubt)
	return float64(s.ahead - k), ratio, ok
}

// detectDrifting looks for it in averages over all beats, for each of some steady drifts of the lift.
func (s *liftSearch) detectDrifting() (lead, best float64, ok bool) {
	step := 0.06e-3 * s.b.rateHz
	for m := -6; m <= 6; m++ {
		var z [2][]float64
		averages := 1.0
		for i := range z {
			var n float64
			z[i], n = s.windows(i, float64(m)*step).power(math.MaxInt, s.h.noise, s.band, s.b.rateHz)
			averages = min(averages, n)
		}
		if k, ratio, found := jointBurst(s.shapes, z, s.from, s.to, averages, s.doubt); found && ratio > best {
			best, lead, ok = ratio, float64(s.ahead-k), true
		}
	}
	return lead, best, ok
}

// power returns the mean over groups of each beats in use of the squared average of a group, over the variance that
// noise gives it, and how many averages of white noise that is worth.
func (s *sounds) power(each int, noise float64, in band, rateHz float64) (z []float64, count float64) {
	filter, gain, _ := in.filter(rateHz)
	groups := 0
	z = make([]float64, s.length)
	unrest := make([]float64, s.length)
	bound := s.loudBound()
	var halves [2][]float32
	halves[0], halves[1] = make([]float32, s.length), make([]float32, s.length)
	n := 0
	flush := func() {
		sum, difference := halves[0], halves[1]
		for k, v := range sum {
			sum[k], difference[k] = v+difference[k], v-difference[k]
		}
		filter(sum)
		filter(difference)
		scale := 1 / (float64(n) * noise * noise * gain)
		for k, v := range sum {
			z[k] += float64(v) * float64(v) * scale
			unrest[k] += float64(difference[k]) * float64(difference[k]) * scale
			sum[k], difference[k] = 0, 0
		}
		groups++
		n = 0
	}
	for i, c := range s.centres {
		if !s.use[i] || !s.room(c+s.lags[i], 0) || s.plainEnergy(i) > bound {
			continue
		}
		s.cut(s.work, c+s.lags[i])
		half := halves[n&1]
		for k, v := range s.work {
			half[k] += v
		}
		if n++; n >= each {
			flush()
		}
	}
	if n > 1 && (groups == 0 || n > each/2) {
		flush()
	}
	for k := range z {
		z[k] /= float64(max(1, groups))
		unrest[k] /= float64(max(1, groups))
	}
	for k, v := range lagged(unrest, rateHz) {
		if v > restless {
			z[k] /= v
		}
	}
	settleNoise(z, float64(groups))
	return z, float64(groups) / overdispersion(z, float64(groups))
}

// restless is how far over the quiet noise that of a place must be to count.
const restless = 1.3

// overdispersion returns how much more the noise in z varies from place to place than the mean squares of groups of
// white noise would, at least 1. Evidence from such noise is divided by it (quasi-likelihood: McCullagh and Nelder,
// Generalized Linear Models, 2nd ed. 1989, 9.2).
func overdispersion(z []float64, groups float64) float64 {
	const piece = 24
	var means []float64
	for a := 0; a+piece <= len(z); a += piece {
		sum := 0.0
		for _, v := range z[a : a+piece] {
			sum += v
		}
		means = append(means, sum/piece)
	}
	if len(means) < 8 {
		return 1
	}
	ratio := spread(means) / math.Sqrt(2/(piece*math.Max(1, groups)))
	return math.Max(1, ratio*ratio)
}

// settleNoise makes up for noise that is more than was thought, as when the room rings: where the sound before
// anything begins is louder than noise alone, that is the noise.
func settleNoise(z []float64, groups float64) {
	early := append([]float64(nil), z[:len(z)/8+1]...)
	// The median of a mean of squares of standard normals: Wilson and Hilferty's approximation of chi-squared.
	usual := math.Pow(1-2/(9*math.Max(1, groups)), 3)
	if level := median(early) / usual; level > 1.15 {
		for i := range z {
			z[i] /= level
		}
	}
}

// abrupt reports whether what begins at k in both swings begins at once. What swells out of sound that is there already is
// the ringing before what follows.
func abrupt(z [2][]float64, k int, rateHz float64) bool {
	var before, step float64
	for _, v := range z {
		l := newLevels(v, rateHz)
		at := l.steepest(max(0, k-l.after), min(len(v), k+l.after))
		before = math.Max(before, l.ahead(at))
		step += math.Log(l.step(at)) / 2
	}
	return before < swollen || step > math.Log(leastStep)
}

const (
	// swollen is the level over the noise from which what sounds before a sound may be its ringing.
	swollen = 2
	// leastStep is by what a sound must then exceed it.
	leastStep = 3
)

// jointBurst finds the first burst that both swings share at the same time before the drop. z are mean squares over
// count averages.
func jointBurst(shapes *bursts, z [2][]float64, from, to int, count float64, doubt func(int) float64) (at int,
	ratio float64, ok bool) {
	const slack = 4
	end := to
	var l, near [2][]float64
	for i := range z {
		near[i] = limited(z[i][:to], shapes.width)
	}
	joint := make([]float64, to)
	for end > from {
		for i := range l {
			l[i] = shapes.likelihood(l[i], near[i], end)
		}
		for k := from; k < end; k++ {
			a, e := max(from, k-slack), min(end, k+slack+1)
			joint[k] = count*(l[0][k]+l[1][argmax(l[1][a:e])+a]) - doubt(k)
		}
		k := argmax(joint[from:end]) + from
		if !(joint[k] >= unlockingLeast) { // not a number neither
			break
		}
		if ok && !abrupt(z, k, shapes.rateHz) {
			break
		}
		at, ratio, ok = k, joint[k], true
		first := k
		for i := range z {
			p := sharpen(z[i], k, shapes.width, shapes.width, from, end)
			first = min(first, int(p.at))
		}
		end = first - 6
	}
	return at, ratio, ok
}
