package acoustic

import (
	"math"
	"slices"
)

// block is one piece of sound, filtered, from which beats are taken at once.
type block struct {
	rateHz float64
	binHz  float64
	y      []float32 // filtered
	bins   []float32 // energy of y by bins
}

// swingSound is what is known of the sound of one swing within a block. Places are in samples from the block's start.
type swingSound struct {
	beats []int // numbers, one in two
	drop  []float64
	loud  []float64
	heard []bool
	// agrees tells the beats in which the drop, sought anew from a wide range, lies where its neighbours' do.
	agrees []bool
	// dropOnset and unlocking are the onsets within the averaged sound, the latter before the drop.
	dropOnset, unlocking place
	// dropNoise and unlockNoise are the standard deviations that noise gives the place of one beat.
	dropNoise, unlockNoise float64
	lift                   []float64 // unlocking to drop; 0 when not heard
	between                bool      // another sound midway between the beats
	knocked                int       // beats whose window holds more than the watch
	peak                   float64   // of the averaged drop
	average                []float32 // of the whole beat, from ahead samples before the drop on
	ahead, count           int
	impulse                float64 // samples before the drop; NaN when it does not stand out
}

// heardBlock is what was found in a block.
type heardBlock struct {
	cadence       cadence
	periodSamples float64
	swings        [2]swingSound
	noise         float64 // rms of y where the watch is silent
	liftFound     bool
	company       company
	between       bool // another sound midway between the beats
}

const (
	dropAheadMs  = 1.5
	dropLengthMs = 4.5
	seekMs       = 1.2
)

// pattern finds, from the folded loudness, when the drops of the two swings sound, in seconds after the start.
func (c *cadence) pattern(g []float64, stepHz float64) {
	f := smoothRing(fold(g, c.periodS, stepHz), 3)
	n := len(f)
	at := func(i int) float64 { return f[((i%n)+n)%n] }
	half := n / 2
	within := int(greatestBeatErrorShare * float64(half))
	best, bestSum := half, math.Inf(-1)
	for d := half - within; d <= half+within; d++ {
		var sum float64
		for i := range n {
			sum += max(0, f[i]) * max(0, at(i+d))
		}
		if sum > bestSum {
			best, bestSum = d, sum
		}
	}
	joint := make([]float64, n)
	for i := range n {
		joint[i] = at(i) + at(i+best)
	}
	drop := lastBurst(joint)
	scale := 2 * c.periodS / float64(n)
	c.phaseS = [2]float64{float64(drop) * scale, float64(drop+best) * scale}
	if c.phaseS[0] > c.phaseS[1] {
		c.phaseS[1] += 2 * c.periodS
	}
}

// lastBurst returns where the last of the sounds of a beat is loudest, in the folded loudness of the two swings: the
// loudest burst, or one that follows it and is hardly weaker.
func lastBurst(f []float64) int {
	n := len(f)
	at := func(i int) float64 { return f[((i%n)+n)%n] }
	best := argmax(f)
	top := f[best]
	low := top
	for k := 1; k < n/4 && k < 24; k++ {
		v := at(best + k)
		low = min(low, v)
		if v > low+0.12*top && v > 0.75*top && v > at(best+k+1) {
			return (best + k) % n
		}
	}
	return best
}

// quiet returns the rms of the filtered sound where nothing beats.
func (b *block) quiet() float64 {
	var sum float64
	n := 0
	b.quietStretches(func(y []float32) {
		sum += dot(y, y)
		n += len(y)
	}, 1<<17)
	if n == 0 {
		return math.Sqrt(b.medianBin() / (b.rateHz / b.binHz))
	}
	return math.Sqrt(sum / float64(n))
}

// listen finds the beats of the block.
func (b *block) listen(stated, liftAngleDeg float64) (heardBlock, bool) {
	b.whiten()
	c, ok := b.cadence(stated)
	if !ok {
		return heardBlock{}, false
	}
	shapes := newBursts(b.rateHz)
	h, ok := b.bothSwings(c, shapes)
	if h.between && 2*3600/c.periodS <= greatestBeatsPerHour*(1+offRate) && stated == 0 {
		// Something beats midway: the other swing, too soft to have been counted.
		c.periodS /= 2
		c.pattern(c.loudness, b.binHz/binsJoined)
		if twice, found := b.bothSwings(c, shapes); found {
			h, ok = twice, true
		}
	}
	if !ok {
		return heardBlock{}, false
	}
	if !h.steady() {
		return heardBlock{}, false
	}
	b.unlockings(&h, shapes, liftAngleDeg)
	b.voices(&h, shapes)
	h.company = b.company(&h)
	return h, true
}

// bothSwings finds the drops of both swings at a cadence.
func (b *block) bothSwings(c cadence, shapes *bursts) (heardBlock, bool) {
	h := heardBlock{cadence: c, periodSamples: c.periodS * b.rateHz, noise: b.quiet()}
	for i := range h.swings {
		s := &h.swings[i]
		ok := b.drops(s, i, h, shapes)
		h.between = h.between || s.between
		if !ok {
			return h, false
		}
	}
	return h, true
}

// weakScore is the score of a comb below which bands of the sound are searched one by one for a clearer one.
const weakScore = 150

// bandsHz are those bands. A watch's resonances mostly lie in one or two of them.
var bandsHz = [][2]float64{{900, 3500}, {2500, 7000}, {5000, 12000}}

// cadence finds the cadence. When it is weak in the whole sound, the block goes on with the band in which it is
// strongest.
func (b *block) cadence(stated float64) (cadence, bool) {
	stepHz := b.binHz / binsJoined
	g := loudness(b.bins)
	best, ok := findCadence(g, stepHz, stated)
	if !ok || best.score < weakScore {
		for _, band := range bandsHz {
			if band[1] > 0.45*b.rateHz {
				continue
			}
			y, bins := b.band(band)
			gb := loudness(bins)
			if c, found := findCadence(gb, stepHz, stated); found && (!ok || c.score > 1.3*best.score) {
				best, ok, g = c, true, gb
				b.y, b.bins = y, bins
			}
		}
	}
	if !ok {
		return best, false
	}
	best.loudness = g
	best.pattern(g, stepHz)
	return best, true
}

// band returns the sound between two frequencies, with its energy by bins.
func (b *block) band(hz [2]float64) (y, bins []float32) {
	high, low := highPass(hz[0], math.Sqrt2/2, b.rateHz), lowPass(hz[1], math.Sqrt2/2, b.rateHz)
	y = make([]float32, len(b.y))
	for i, v := range b.y {
		y[i] = float32(low.step(high.step(float64(v))))
	}
	perBin := int(math.Round(b.rateHz / b.binHz))
	bins = make([]float32, len(b.bins))
	for i := range bins {
		w := y[i*perBin : (i+1)*perBin]
		bins[i] = float32(dot(w, w))
	}
	return y, bins
}

// The beats of a watch agree with their neighbours to within this, in ms: scatter, the escape wheel and noise
// together stay well below.
const agreeMs = 0.2

// Of the beats of a watch nine in ten agree, of noise one in four by chance. The sum over a spell of the logarithms of
// how much likelier a watch makes what each beat did is the log-likelihood ratio of a watch in it (Wald, Sequential
// Analysis, 1947, 3.3); steadyRatio of it is believed.
const (
	agreeGain   = 1.28 // ln(0.9/0.25)
	differLoss  = 2.01 // −ln(0.1/0.75)
	steadyRatio = 20
)

// steady reports whether a watch beats in some spell of the block, and keeps that spell alone.
func (h *heardBlock) steady() bool {
	type at struct{ swing, k, number int }
	var all []at
	for i := range h.swings {
		for k, n := range h.swings[i].beats {
			all = append(all, at{i, k, n})
		}
	}
	slices.SortFunc(all, func(a, b at) int { return a.number - b.number })
	sum, best, from, bestFrom, bestTo := 0.0, 0.0, 0, 0, -1
	for m, a := range all {
		if sum <= 0 {
			sum, from = 0, m
		}
		if h.swings[a.swing].agrees[a.k] {
			sum += agreeGain
		} else {
			sum -= differLoss
		}
		if sum > best {
			best, bestFrom, bestTo = sum, from, m
		}
	}
	if best < steadyRatio {
		return false
	}
	for m, a := range all {
		s := &h.swings[a.swing]
		if m < bestFrom || m > bestTo {
			s.heard[a.k], s.loud[a.k] = false, 0
			continue
		}
		s.heard[a.k] = s.heard[a.k] && s.agrees[a.k]
	}
	return true
}

func (b *block) samples(ms float64) int { return int(ms * 1e-3 * b.rateHz) }

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
	reach := b.samples(seekMs)
	if !d.seed(reach) {
		return false
	}
	d.settle(reach, 4)
	// The average is looked at from further before, for the drop's onset.
	wide := *d
	wide.ahead = b.samples(6)
	wide.length = b.samples(10)
	wide.average, wide.work = make([]float32, wide.length), make([]float32, wide.length)
	count := wide.learn()
	if count < 3 {
		return false
	}
	onset := dropOnset(wide.average, wide.ahead, h.noise/math.Sqrt(float64(count)), shapes, b.rateHz)
	shift := onset.at - float64(wide.ahead)
	s.dropOnset = onset
	for i := range d.lags {
		d.lags[i] += shift
	}
	// Once more with the window where the drop is.
	d.ahead = b.samples(0.4)
	d.length = b.samples(3.2)
	d.average, d.work = make([]float32, d.length), make([]float32, d.length)
	d.choose()
	n := d.learn()
	d.seek(smoothLags(d.lags, d.use), b.samples(0.25), n)
	d.choose()
	d.learn()
	if !s.stands(d, h.periodSamples/2, h.noise) {
		return false
	}
	s.knocked = d.knocked()
	s.verify(d, b.samples(1), agreeMs*1e-3*b.rateHz)
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
	loudest := 0.0
	for k := 0; k+d.length <= later.length; k += max(1, d.length/4) {
		w := later.average[k : k+d.length]
		loudest = math.Max(loudest, dot(w, w))
	}
	// Noise alone has a mean of length·σ²/n and √(2/length) of that as standard deviation.
	usual := float64(d.length) * noise * noise / float64(n)
	s.between = loudest > betweenShare*d.energy && loudest > usual*(1+betweenStands*math.Sqrt(2/float64(d.length)))
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

// verify seeks each beat anew within a wide reach and notes whether it is found where its neighbours are.
func (s *swingSound) verify(d *sounds, reach int, within float64) {
	about := smoothLags(d.lags, d.use)
	s.agrees = make([]bool, len(d.lags))
	n := 0
	for _, ok := range d.use {
		if ok {
			n++
		}
	}
	var c []float64
	for i, centre := range d.centres {
		at := centre + about[i]
		if d.loud[i] <= 0 || !d.room(at, reach) || !d.room(centre+d.lags[i], 1) {
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
func dropOnset(average []float32, about int, noise float64, shapes *bursts, rateHz float64) place {
	z := make([]float64, len(average))
	scale := 1 / math.Max(noise*noise, 1e-30)
	for i, v := range average {
		z[i] = float64(v) * float64(v) * scale
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
	l := shapes.likelihood(nil, limited(z, ms(0.5)), len(z))
	at := argmax(l[from:to]) + from
	// What still sounds before, of the impulse, is the noise the drop stands out of.
	quietest := math.Inf(1)
	for a := max(0, at-ms(1.5)); a+ms(0.3) <= at-ms(0.05); a += max(1, ms(0.1)) {
		before := 0.0
		for _, v := range z[a : a+ms(0.3)] {
			before += v
		}
		quietest = min(quietest, before/float64(ms(0.3)))
	}
	if quietest > 1 && !math.IsInf(quietest, 1) {
		for i := range z {
			z[i] /= quietest
		}
		l = shapes.likelihood(l, limited(z, ms(0.5)), len(z))
		at = argmax(l[from:to]) + from
	}
	return sharpen(z, at, ms(0.4), ms(0.4), 0, len(z))
}
