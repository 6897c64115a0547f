package acoustic

import (
	"cmp"
	"math"
	"sync/atomic"
)

// block is one piece of sound, filtered, from which beats are taken at once.
type block struct {
	rateHz float64
	binHz  float64
	y      []float32 // filtered
	bins   []float32 // energy of y by bins
	wallHz float64   // where the band ends; 0: beyond the watch's voice
	edgeHz float64   // where it ends as a spectrum shows it, for words
	coded  bool      // the band ends where a codec ends it
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
	energy                 float64   // of the same
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
	liftFixed     bool // its drift could not be followed
	liftDoubted   bool // it may be that of the impulse
	murky         bool // a codec or echoes may make or hide sounds
	channel       channel
	company       company
	between       bool // another sound midway between the beats
	looped        bool // the same over and over, to the sample
	manner        manner
	twins         bool // the two swings are hardly told apart
}

// unevenS is the beat error, as time between the swings' intervals, from which on a pairing is hardly believed.
const unevenS = 8e-3

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
		// A drop and an impulse make a pair too: of pairs alike the more even one is the watch's.
		off := float64(d-half) * 2 * c.periodS / float64(n) / unevenS
		sum /= 1 + off*off
		if sum > bestSum {
			best, bestSum = d, sum
		}
	}
	joint := make([]float64, n)
	for i := range n {
		// Power again, so that a loud sound isn't outdone by long echoes of it; by the mean of logarithms, so that no
		// knock is.
		joint[i] = math.Expm1(math.Max(0, at(i))) + math.Expm1(math.Max(0, at(i+best)))
	}
	drop, echoes := lastBurst(joint)
	c.echoes = echoes
	c.phaseS = [2]float64{float64(drop) / stepHz, float64(drop+best) / stepHz}
	if c.phaseS[0] > c.phaseS[1] {
		c.phaseS[1] += 2 * c.periodS
	}
}

// lastShare is the power, over the loudest sound's, from which a later one is the drop.
const lastShare = 0.4

// lastBurst returns where the last of the sounds of a beat is loudest, in the folded power of the two swings: the
// loudest burst, or one that follows it and is hardly weaker. Where echoes last, the one that rises most out of them.
func lastBurst(f []float64) (drop int, echoes bool) {
	n := len(f)
	at := func(i int) float64 { return f[((i%n)+n)%n] }
	best := argmax(f)
	top := f[best]
	if echoing(f, best) {
		rise := make([]float64, n)
		for i := range rise {
			before := 0.0
			for k := 2; k < 14; k++ {
				before = max(before, at(i-k))
			}
			rise[i] = at(i) - before
		}
		return argmax(rise), true
	}
	low := top
	for k := 1; k < n/4 && k < 24; k++ {
		v := at(best + k)
		low = min(low, v)
		if v > 2*low && v > lastShare*top && v > at(best+k+1) {
			return (best + k) % n, false
		}
	}
	return best, false
}

// echoing reports whether the sounds of a beat die away slowly: whether they are heard still when the watch's own are
// long over.
func echoing(f []float64, best int) bool {
	n := len(f)
	late, count := 0.0, 0.0
	for k := 16; k < 32 && k < n/2; k++ {
		late += f[(best+k)%n]
		count++
	}
	return count > 0 && late/count > echoShare*f[best]
}

// echoShare is the power some 25 ms after the loudest sound of a beat, over its own, that makes echoes: a room that
// hardly echoes leaves a hundredth.
const echoShare = 0.04

// quiet returns the rms of the filtered sound where nothing beats, at least that of no sound.
func (b *block) quiet() float64 {
	var sum float64
	n := 0
	b.quietStretches(func(y []float32) {
		sum += dot(y, y)
		n += len(y)
	}, 1<<17)
	if n == 0 {
		return max(silent, math.Sqrt(b.medianBin()/(b.rateHz/b.binHz)))
	}
	return max(silent, math.Sqrt(sum/float64(n)))
}

// listen finds the beats of the block.
func (b *block) listen(stated, liftAngleDeg float64) (heardBlock, bool) {
	b.wallHz, b.coded = b.wall()
	narrow := b.wallHz > 0 && b.wallHz < narrowHz
	if b.wallHz > 0 {
		b.soften(b.wallHz)
	} else {
		b.fill()
		b.whiten()
	}
	c, ok := b.cadence(stated)
	if !ok {
		return heardBlock{}, false
	}
	shapes := burstsAt(b.rateHz)
	if b.coded {
		coded := *shapes // which all listeners share
		coded.ring, shapes = ringShare, &coded
	}
	h, ok := b.bothSwings(c, shapes)
	if h.between && 2*3600/c.periodS <= greatestBeatsPerHour*(1+offRate) && stated == 0 {
		// Something beats midway: the other swing, too soft to have been counted.
		c.periodS /= 2
		c.pattern(c.loudness, b.binHz/binsJoined)
		if twice, found := b.bothSwings(c, shapes); found {
			h, ok = twice, true
		}
	}
	if !ok || h.lame() {
		if one, found := b.oneSwing(c.loudness, stated, shapes); found {
			h, ok, c = one, true, one.cadence
		}
	}
	if !ok {
		return heardBlock{}, false
	}
	if !h.steady() {
		return heardBlock{}, false
	}
	h.murky = b.coded || c.echoes
	h.channel = channel{edgeHz: cmp.Or(b.edgeHz, b.wallHz), coded: b.coded, echoes: c.echoes, narrow: narrow}
	if !narrow && h.manner != inOneSwing {
		b.unlockings(&h, shapes, liftAngleDeg)
	}
	b.voices(&h, shapes)
	h.judgeManner(b)
	h.channel.rides = b.riding(&h)
	h.company = b.company(&h)
	h.looped = b.looped(&h)
	return h, true
}

// lastBursts are the shapes made last: they are the same for all blocks of a sampling rate, and take a while to make.
var lastBursts atomic.Pointer[burstsOf]

type burstsOf struct {
	rateHz float64
	shapes *bursts
}

// burstsAt returns the shapes of onsets at a sampling rate, which nobody changes.
func burstsAt(rateHz float64) *bursts {
	if last := lastBursts.Load(); last != nil && last.rateHz == rateHz {
		return last.shapes
	}
	b := &burstsOf{rateHz, newBursts(rateHz)}
	lastBursts.Store(b)
	return b.shapes
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
	bins = binEnergies(y, int(math.Round(b.rateHz/b.binHz)), len(b.bins))
	return y, bins
}

func (b *block) samples(ms float64) int { return int(ms * 1e-3 * b.rateHz) }
