package acoustic

import "math"

// manner is how an escapement sounds. Amplitude and beat error follow from a lever's three sounds, the same in both
// swings; where others are heard they are not given.
type manner uint8

const (
	asLever manner = iota
	inOneSwing
	inTwoSounds
	unevenly
	unclearly
	manners
)

// mannerText says of each but the lever's what is heard, in a sentence.
var mannerText = [manners]string{
	inOneSwing: "One swing in two is hardly heard, as with a detent or a lost swing: the beats per hour count both. If the " +
		"calibre has another figure, state it, as the rate follows from it. No amplitude and no beat error.",
	inTwoSounds: "Two sounds a swing are heard and not a lever’s three, as with a cylinder: no amplitude and no beat error.",
	unclearly: "The two swings sound unlike each other, and no unlocking stands out before both: which sounds are the drops " +
		"can’t be told, as where this is no lever. No amplitude and no beat error.",
	unevenly: "The two swings sound at different places, as where each is driven in its own way: no amplitude and no beat " +
		"error.",
}

const (
	// ringsOnShare of the lift after its first sound nothing is taken for the impulse: the first rings on. A lever's comes
	// after a quarter to three fifths of it (common practice, from memory).
	ringsOnShare = 0.15
	// oddShare is by how much of the lift the impulses of a lever's two swings hardly ever differ, unevenShare by how much
	// where the beat error is great too. Counted: of drawn levers two in a hundred does.
	oddShare, unevenShare = 0.3, 0.22
	// greatSplitS is the beat error that is believed only where all sounds of both swings are found: more is hardly seen in
	// a watch in order (common practice: it is set below a millisecond), and two drops that are different sounds make as much.
	greatSplitS = 0.9e-3
	// standsFar is the drop over the noise, 18 dB, from which a sound that is not found is no lever's or a faint one.
	standsFar = 8
	// twinsLike is the likeness of the two swings' averaged sounds from which they may be one and the same swing. Two
	// pallets hardly sound so alike. Counted: one swing taken for two is alike by 0.90 to 1.00, the two of drawn levers by
	// 0.63 at most.
	twinsLike = 0.8
	// twinsApartS is how far apart the same sound may have been taken to begin.
	twinsApartS = 0.5e-3
)

// judgeManner looks whether the sounds found are a lever's. Where the first of them stands out as clearly as it does,
// an impulse, mostly louder, could not have been missed; a codec or echoes may hide it all the same.
func (h *heardBlock) judgeManner(in *block) {
	a, b := &h.swings[0], &h.swings[1]
	h.twins = h.manner == asLever && !h.murky && in.wallHz == 0 && h.likeness(int(twinsApartS*in.rateHz)) > twinsLike
	if h.manner != asLever || h.murky || in.wallHz > 0 || (a.peak+b.peak)/2 < standsFar*h.noise {
		return
	}
	split := h.split() > greatSplitS*in.rateHz
	if split && !h.liftFound {
		h.manner = unclearly
	}
	if !h.liftFound || a.unlocking.ratio+b.unlocking.ratio < beyondDoubt {
		return
	}
	var share [2]float64
	for i := range h.swings {
		s := &h.swings[i]
		if share[i] = 1 - s.impulse/s.meanLift(); share[i] < ringsOnShare {
			share[i] = math.NaN()
		}
	}
	switch none := [2]bool{math.IsNaN(share[0]), math.IsNaN(share[1])}; {
	case none[0] && none[1]:
		h.manner = inTwoSounds
	case none[0] || none[1]:
		if split {
			h.manner = unevenly
		}
	default:
		if apart := math.Abs(share[0] - share[1]); apart > oddShare || split && apart > unevenShare {
			h.manner = unevenly
		}
	}
}

// twinsText is said of a cadence found unaided whose two swings sound the same.
const twinsText = "Both swings sound the same: should the escapement speak in one swing of two, as a detent does, the beats " +
	"per hour are not %.0f but %.0f: state them."

// likeness returns the greatest correlation of the two swings' averaged sounds, of 1, within reach samples of each
// other, what noise is left in them taken off.
func (h *heardBlock) likeness(reach int) float64 {
	a, b := &h.swings[0], &h.swings[1]
	n := min(len(a.average), len(b.average)) - reach
	if n <= 0 {
		return 0
	}
	energy := func(x []float32, count int) float64 {
		return math.Max(dot(x, x)-float64(len(x))*h.noise*h.noise/float64(max(1, count)), 1e-30)
	}
	best := 0.0
	for lag := range reach {
		for _, p := range [2][2][]float32{{a.average[lag : lag+n], b.average[:n]}, {a.average[:n], b.average[lag : lag+n]}} {
			best = math.Max(best, dot(p[0], p[1])/math.Sqrt(energy(p[0], a.count)*energy(p[1], b.count)))
		}
	}
	return best
}

// split returns by how many samples the intervals between the drops differ from the period.
func (h *heardBlock) split() float64 {
	var off []float64
	a, b := &h.swings[0], &h.swings[1]
	for k := range min(len(a.drop), len(b.drop)) {
		if a.heard[k] && b.heard[k] {
			off = append(off, b.drop[k]-a.drop[k]-h.periodSamples)
		}
	}
	return math.Abs(median(off))
}

// manner returns how the escapement sounded for most of the time.
func (g *gathered) manner() manner {
	total := 0
	for _, n := range g.manners {
		total += n
	}
	for m := inOneSwing; m < manners; m++ {
		if 2*g.manners[m] > total {
			return m
		}
	}
	return asLever
}
