package acoustic

import (
	"math"
	"slices"
)

// The amplitudes between which the unlocking is sought: below the lower a watch stops, above the upper the impulse pin knocks
// at the back of the lever.
const (
	leastAmplitudeDeg    = 90
	greatestAmplitudeDeg = 350
)

// liftTimeS returns the time from unlocking to drop at an amplitude: the balance passes through the lift angle about
// its point of rest, A·sin(π·f·t) = lift/2, f being half the beats a second.
func liftTimeS(amplitudeDeg, liftAngleDeg, beatsPerHour float64) float64 {
	return math.Asin(liftAngleDeg/2/amplitudeDeg) / (math.Pi * beatsPerHour / 7200)
}

// amplitudeDeg is the inverse of liftTimeS.
func amplitudeDeg(liftS, liftAngleDeg, beatsPerHour float64) float64 {
	return liftAngleDeg / 2 / math.Sin(math.Pi*beatsPerHour/7200*liftS)
}

// What amplitudes are usual, as a normal distribution: weak evidence for an onset where a watch would hardly swing so
// far or so little has to be stronger. Common practice: 200 to 310 degrees between full wind and a day after.
const (
	usualAmplitudeDeg    = 255
	usualAmplitudeStdDeg = 45
)

// unlockingLeast is the log-likelihood ratio from which a burst in the averaged sound counts: some thousand places
// are tried, and noise passes this once in several thousand averages.
const unlockingLeast = 14

// unlockings finds the unlocking of the beats of both swings.
func (b *block) unlockings(h *heardBlock, shapes *bursts, liftAngleDeg float64) {
	bph := 3600 / h.cadence.periodS
	longest := int(liftTimeS(leastAmplitudeDeg, liftAngleDeg, bph) * b.rateHz)
	shortest := int(liftTimeS(greatestAmplitudeDeg, liftAngleDeg, bph) * b.rateHz)
	margin := b.samples(1.5)
	search := liftSearch{b: b, h: h, shapes: shapes, liftAngleDeg: liftAngleDeg, ahead: longest + margin, from: margin / 2, to: longest + margin - shortest}
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
		if s.alike(&found) && s.unlocking(lead, found) {
			s.keep(u, found)
		}
		return
	}
}

// unlocking reports whether the burst found is the unlocking and not the impulse. The impulse, taken for it, makes the
// amplitude a third to one and a half too great; so a moderate amplitude is believed, a great one if an unlocking could
// not have been missed before it or an impulse is heard after it.
func (s *liftSearch) unlocking(lead float64, found [2]place) bool {
	bph := 3600 / s.h.cadence.periodS
	return amplitudeDeg(lead/s.b.rateHz, s.liftAngleDeg, bph) < moderateDeg ||
		found[0].ratio+found[1].ratio > beyondDoubt || s.impulseFollows(lead)
}

// moderateDeg is the amplitude up to which a burst is taken for the unlocking as it is: were it the impulse, the watch
// would swing less than 160 degrees.
const moderateDeg = 215

// beyondDoubt is the log-likelihood ratio of a burst from which on an unlocking ten decibels weaker could not have
// been missed before it.
const beyondDoubt = 150

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

// A band of the sound, between two frequencies; 0 leaves it open.
type band struct{ lowHz, highHz float64 }

// liftBands are tried for the unlocking, the whole sound first: where it is weak, most of the noise is kept out by the
// band its resonance lies in.
var liftBands = []band{{}, {0, 4000}, {3000, 7500}, {6500, 0}}

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

// filter passes averages through the band and returns by how much the variance of white noise changes, and by how
// many samples an onset comes later.
func (b band) filter(rateHz float64) (run func([]float32), gain, delay float64) {
	if b == (band{}) {
		return func([]float32) {}, 1, 0
	}
	make := func() func(float64) float64 {
		high, low := highPass(b.lowHz, math.Sqrt2/2, rateHz), lowPass(b.highHz, math.Sqrt2/2, rateHz)
		return func(v float64) float64 {
			if b.lowHz > 0 {
				v = high.step(v)
			}
			if b.highHz > 0 {
				v = low.step(v)
			}
			return v
		}
	}
	// The filter's response tells both.
	f := make()
	var energy, first float64
	for k := range int(2e-3 * rateHz) {
		v := 0.0
		if k == 0 {
			v = 1
		}
		h := f(v)
		energy += h * h
		first += float64(k) * h * h
	}
	return func(x []float32) {
		f := make()
		for i, v := range x {
			x[i] = float32(f(float64(v)))
		}
	}, energy, first / energy
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
	bound := s.loudBound()
	sum := make([]float32, s.length)
	n := 0
	flush := func() {
		filter(sum)
		scale := 1 / (float64(n) * noise * noise * gain)
		for k, v := range sum {
			z[k] += float64(v) * float64(v) * scale
			sum[k] = 0
		}
		groups++
		n = 0
	}
	for i, c := range s.centres {
		if !s.use[i] || !s.room(c+s.lags[i], 0) || s.plainEnergy(i) > bound {
			continue
		}
		s.cut(s.work, c+s.lags[i])
		for k, v := range s.work {
			sum[k] += v
		}
		if n++; n >= each {
			flush()
		}
	}
	if n > 0 && (groups == 0 || n > each/2) {
		flush()
	}
	for k := range z {
		z[k] /= float64(max(1, groups))
	}
	settleNoise(z, float64(groups))
	return z, float64(groups) / overdispersion(z, float64(groups))
}

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

// jointBurst finds the first burst that both swings share at the same time before the drop. z are mean squares over
// count averages.
func jointBurst(shapes *bursts, z [2][]float64, from, to int, count float64, doubt func(int) float64) (at int, ratio float64, ok bool) {
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
		if joint[k] < unlockingLeast {
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
	k, _, ok := jointBurst(s.shapes, z, skip+s.from, at+b.samples(0.5), averages, func(k int) float64 { return s.doubt(max(0, k-skip)) })
	if ok && k < at-b.samples(0.7) {
		return found, lead + float64(at-k)
	}
	for i := range z {
		p := sharpen(z[i], at, b.samples(0.4), s.shapes.width, 0, len(z[i]))
		p.at = lead + float64(at) - p.at + delay
		found[i] = p
	}
	return found, 0
}

// keep puts the lifts into the swings.
func (s *liftSearch) keep(u [2]*sounds, found [2]place) {
	s.h.liftFound = true
	for i, v := range u {
		sw := &s.h.swings[i]
		sw.lift = make([]float64, len(sw.drop))
		sw.unlocking = found[i]
		sw.unlockNoise = v.placeNoise(s.h.noise)
		for k := range sw.drop {
			if v.use[k] {
				sw.lift[k] = found[i].at - v.lags[k]
			}
		}
	}
}
