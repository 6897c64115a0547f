package acoustic

import (
	"math"
	"slices"
)

// A loop repeats to the sample: its sound, a whole number of beats later, is the same but for noise. The beats of a watch
// are not: they scatter by 5 µs and more (common practice), which at 4 kHz alone takes 1.5 % from the correlation of
// one with another, and no two are of one loudness. Of simulated watches, half of them as even as they come and
// heard through a contact microphone of 1.5 to 4 kHz, none of a hundred came above 0.991 and none of six hundred was
// taken for a loop.
const (
	loopBeats   = 12    // the longest loop sought
	loopShare   = 0.995 // of the sound that comes again
	unlikeShare = 0.93  // the same where beats a lesser even number apart are unlike
	// The least energy of the beats over noise's by which the one and the other can be told: that of noise is known to 3 %.
	loopOverNoise   = 2
	unlikeOverNoise = 0.5
	loopPairs       = 32 // of beats compared: more tell no more
	loopReach       = 2  // samples about the length of so many beats
	loopAheadMs     = 8  // of a beat's sound, before its drop
	loopAfterMs     = 6
	loopLeast       = 20 // pairs below which nothing is said
	evenUs          = 2  // a scatter about the line that no watch keeps within
	evenBeats       = 30 // from which on the scatter is known to a seventh
)

// looped reports whether the sound of the block's beats comes again to the sample after some whole number of beats:
// whether what two places so far apart share is all the energy there but that of noise. It need not be quite all where
// the sound is another one after a lesser even number of beats: in a watch ticks are like ticks, the next one most.
func (b *block) looped(h *heardBlock) bool {
	leastEven := 1.0
	for beats := 1; beats <= loopBeats; beats++ {
		share, overNoise := b.share(h, int(math.Round(float64(beats)*h.periodSamples)))
		if overNoise < unlikeOverNoise {
			continue
		}
		if share > loopShare && overNoise > loopOverNoise || share > unlikeShare && leastEven < share/2 {
			return true
		}
		if beats%2 == 0 {
			leastEven = math.Min(leastEven, share)
		}
	}
	return false
}

// share returns how much of its energy, that of noise taken away, the sound of the beats shares with what sounds apart
// samples later, at the best of the places about there, and how much of it there is over noise's.
func (b *block) share(h *heardBlock, apart int) (best, overNoise float64) {
	places, energy := b.loopPlaces(h, apart)
	if len(places) < loopLeast || energy <= 0 {
		return 0, 0
	}
	n := b.samples(loopAheadMs + loopAfterMs)
	var shares [2*loopReach + 1]float64
	for k := range shares {
		for _, at := range places {
			later := at + apart + k - loopReach
			shares[k] += dot(b.y[at:at+n], b.y[later:later+n]) / energy
		}
		best = math.Max(best, shares[k])
		if k >= 2 {
			best = math.Max(best, vertex(shares[k-2], shares[k-1], shares[k]))
		}
	}
	return best, energy / (float64(n*len(places)) * h.noise * h.noise)
}

// loopPlaces returns where beats begin that are compared with what sounds apart samples later, and the mean energy of
// both less that of noise.
func (b *block) loopPlaces(h *heardBlock, apart int) (places []int, energy float64) {
	n := b.samples(loopAheadMs + loopAfterMs)
	for i := range h.swings {
		s := &h.swings[i]
		from, to := slices.Index(s.heard, true), len(s.heard)
		for ; to > 0 && !s.heard[to-1]; to-- {
		}
		// Those not heard between them are in the loop as well.
		for k := max(0, from); k < to; k++ {
			at := s.drop[k]
			first := int(math.Round(at)) - b.samples(loopAheadMs)
			if first < 0 || first+apart+loopReach+n > len(b.y) || len(places) >= (i+1)*loopPairs/2 {
				continue
			}
			x, later := b.y[first:first+n], b.y[first+apart:first+apart+n]
			energy += (dot(x, x) + dot(later, later)) / 2
			places = append(places, first)
		}
	}
	return places, energy - float64(n*len(places))*h.noise*h.noise
}

// vertex returns the height of the parabola through three points next to each other, if the middle one is the highest.
func vertex(before, at, after float64) float64 {
	bend := before - 2*at + after
	if at < before || at < after || bend >= 0 {
		return math.Inf(-1)
	}
	return at - (after-before)*(after-before)/(8*bend)
}
