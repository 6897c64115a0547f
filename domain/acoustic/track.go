package acoustic

import (
	"math"
	"slices"
)

// track follows the unlocking from beat to beat, starting from lead samples before the drop.
func (s *liftSearch) track(lead float64) ([2]*sounds, bool) {
	b := s.b
	ahead, length := b.samples(0.3), b.samples(1.5)
	reach := b.samples(0.45)
	var u [2]*sounds
	for i := range u {
		sw := &s.h.swings[i]
		centres := make([]float64, len(sw.drop))
		for k, d := range sw.drop {
			centres[k] = d - lead
		}
		u[i] = newSounds(b.y, centres, ahead, length)
		copy(u[i].use, sw.heard)
	}
	s.startTrack(&u, lead)
	var about [2][]float64
	for i, v := range u {
		about[i] = slices.Clone(v.lags)
	}
	order := inTime(u)
	for round := range 4 {
		curves := make([][]float64, 0, len(order))
		var owner [][2]int
		snr := 0.0
		var n [2]int
		for i := range u {
			n[i] = u[i].learn()
			signal := u[i].energy - float64(length)*s.h.noise*s.h.noise/float64(max(1, n[i]))
			snr += math.Max(0, signal) / (s.h.noise * s.h.noise) / 2
		}
		for _, o := range order {
			v, j := u[o[0]], o[1]
			at := v.centres[j] + about[o[0]][j]
			if !s.h.swings[o[0]].heard[j] || !v.room(at, reach+4) || !v.room(v.centres[j]+v.lags[j], 4) {
				continue
			}
			curves = append(curves, v.correlate(nil, v.others(j, n[o[0]]), at, reach))
			owner = append(owner, o)
		}
		if len(curves) < 6 {
			return u, false
		}
		last := round == 3
		group := min(max(int(math.Ceil(40/math.Max(snr, 0.01))), 1), max(1, len(curves)/3))
		lags := groupLags(curves, group, reach, s.h.noise, breathDeg*lead/usualAmplitudeDeg)
		for m, o := range owner {
			v, j := u[o[0]], o[1]
			v.lags[j] = math.Round(v.centres[j]+about[o[0]][j]) + lags[m] - v.centres[j]
			lags[m] = v.lags[j]
		}
		keepNear(u, owner, lags)
		if last && group > 1 {
			s.singly(u, owner)
		}
	}
	return u, true
}

// singly moves each beat from the lag of its group to its own, by one step of Newton's method with the curvature that
// the average has: where single beats are too weak to be sought, their places so found are noisy but true in the mean,
// and independent.
func (s *liftSearch) singly(u [2]*sounds, owner [][2]int) {
	var c []float64
	for i, v := range u {
		n := v.learn()
		curvature := v.slopeEnergy()
		for _, o := range owner {
			j := o[1]
			if o[0] != i || !v.use[j] || curvature <= 0 {
				continue
			}
			at := v.centres[j] + v.lags[j]
			if !v.room(at, 2) {
				continue
			}
			c = v.correlate(c, v.others(j, n), at, 1)
			v.lags[j] += math.Round(at) - at + (c[2]-c[0])/2/curvature
		}
	}
}

// keepNear leaves the beats out whose lag is far from those of the beats around: a cycle slipped, or noise.
func keepNear(u [2]*sounds, owner [][2]int, lags []float64) {
	all := make([]bool, len(lags))
	for i := range all {
		all[i] = true
	}
	smooth := smoothLags(lags, all)
	off := make([]float64, len(lags))
	for i := range lags {
		off[i] = math.Abs(lags[i] - smooth[i])
	}
	bound := math.Max(4*normalMAD*median(slices.Clone(off)), 2.5)
	for m, o := range owner {
		u[o[0]].use[o[1]] = off[m] <= bound
	}
}

// startTrack sets the lags to what the drops tell, and the steady drift that makes the averages loudest, unless noise
// may do as much.
func (s *liftSearch) startTrack(u *[2]*sounds, lead float64) {
	step := 0.02e-3 * s.b.rateHz
	best, bestScore := 0.0, math.Inf(-1)
	usual := unseenDriftDeg * lead / usualAmplitudeDeg
	set := func(drift float64) {
		for i, v := range u {
			n := float64(max(1, len(v.centres)-1))
			for k := range v.lags {
				v.lags[k] = -s.mirror[i][k] - drift*(float64(k)/n-0.5)
			}
		}
	}
	for m := -20; m <= 20; m++ {
		set(float64(m) * step)
		// The log-likelihood of the averages, and how likely the drift is beforehand.
		drift := float64(m) * step
		score := -0.5 * drift * drift / (usual * usual)
		for _, v := range u {
			score += float64(v.learn()) * v.energy / (2 * s.h.noise * s.h.noise)
		}
		if score > bestScore {
			best, bestScore = drift, score
		}
	}
	set(best)
}

// inTime returns the beats of both swings, as swing and index, in order of time.
func inTime(u [2]*sounds) [][2]int {
	var order [][2]int
	a, c := 0, 0
	for a < len(u[0].centres) || c < len(u[1].centres) {
		if c >= len(u[1].centres) || a < len(u[0].centres) && u[0].centres[a] < u[1].centres[c] {
			order = append(order, [2]int{0, a})
			a++
		} else {
			order = append(order, [2]int{1, c})
			c++
		}
	}
	return order
}

// breathDeg is how far the amplitude strays from its trend, as a standard deviation. Common practice.
const breathDeg = 2

// groupLags returns for each beat the likeliest lag of the beats around it, group of them: where their curves add up to
// most, lags beyond usual being the less likely beforehand.
func groupLags(curves [][]float64, group, reach int, noise, usual float64) []float64 {
	lags := make([]float64, len(curves))
	sum := make([]float64, len(curves[0]))
	half := group / 2
	for m := range curves {
		a, e := max(0, m-half), min(len(curves), m-half+group)
		clear(sum)
		for _, c := range curves[a:e] {
			for k, v := range c {
				sum[k] += v
			}
		}
		for k := range sum {
			lag := float64(k - reach)
			sum[k] -= 0.5 * noise * noise * lag * lag / (usual * usual)
		}
		at, _ := top(sum)
		lags[m] = at - float64(reach)
	}
	return lags
}

// place finds the onset of the unlocking in the averages aligned to it, for each swing in samples before the drop, and
// the lead of an earlier burst if there is one after all, else 0.
func (s *liftSearch) place(u [2]*sounds, lead float64) (found [2]place, earlier float64) {
	b := s.b
	var z [2][]float64
	at, averages := 0, 1.0
	_, _, delay := s.band.filter(b.rateHz)
	for i, v := range u {
		wide := *v
		wide.ahead = s.ahead - int(lead) + b.samples(1)
		wide.length = wide.ahead + b.samples(1.5)
		wide.average, wide.work = make([]float32, wide.length), make([]float32, wide.length)
		at = wide.ahead
		var n float64
		z[i], n = wide.power(math.MaxInt, s.h.noise, s.band, b.rateHz)
		averages = min(averages, n)
	}
	skip := at - int(float64(s.ahead)-lead) // the window begins so much before that of the search
	k, _, ok := jointBurst(s.shapes, z, skip+s.from, at+b.samples(0.5), averages,
		func(k int) float64 { return s.doubt(max(0, k-skip)) })
	if ok && k < at-b.samples(0.7) {
		return found, lead + float64(at-k)
	}
	for i := range z {
		p := sharpenRise(z[i], at-b.samples(0.4), at+b.samples(0.4), s.shapes)
		p.at = lead + float64(at) - p.at + delay
		found[i] = p
	}
	return found, 0
}

// slipped reports whether the drift that was followed is not that of the unlocking: whether the onset, in the averages
// aligned by it, lies elsewhere at the end than at the beginning. Where little of the band is left the sound is almost a
// tone, and the averages agree as well a cycle off.
func (s *liftSearch) slipped(u [2]*sounds, lead float64) bool {
	const parts = 3
	var at [2]float64
	var variance float64
	for e, part := range [2]int{0, parts - 1} {
		var some [2]*sounds
		for i, v := range u {
			c := *v
			c.use = make([]bool, len(v.use))
			from, to := part*len(c.use)/parts, (part+1)*len(c.use)/parts
			copy(c.use[from:to], v.use[from:to])
			some[i] = &c
		}
		found, _ := s.place(some, lead)
		var weights float64
		for _, p := range found {
			w := 1 / (p.std*p.std + 1)
			at[e] += w * p.at
			weights += w
		}
		at[e] /= weights
		variance += 1 / weights
	}
	return math.Abs(at[1]-at[0]) > math.Max(slipS*s.b.rateHz, 2.5*math.Sqrt(variance))
}

// slipS is how far the onset may move between the first and the last third of the beats.
const slipS = 0.1e-3

// keep puts the lifts into the swings.
func (s *liftSearch) keep(u [2]*sounds, found [2]place) {
	s.h.liftFound = true
	for i, v := range u {
		sw := &s.h.swings[i]
		sw.lift = make([]float64, len(sw.drop))
		sw.unlocking = found[i]
		sw.unlockNoise = v.placeNoise(s.h.noise)
		for k := range sw.drop {
			if v.use[k] && s.h.liftFixed {
				sw.lift[k] = found[i].at
			} else if v.use[k] {
				sw.lift[k] = found[i].at - v.lags[k]
			}
		}
	}
}
