package acoustic

import "math"

// Sound that was resampled once, as browsers do it, has nothing in the top of its band. The likelihoods take the noise
// for white; where a part of the band is missing its samples hang together and say more than they know, and onsets of
// the same sound were counted 0.1 ms off. So much noise is put there as costs a decibel: a dither, the same in every
// hearing of the same sound.

const (
	// fillOrder is how finely the noise's spectrum is looked at: in steps of a sixteenth of the band.
	fillOrder = 32
	// emptyDB below the noise's mean a part of the band counts as empty; fillDB below the noise is what is put there.
	emptyDB, fillDB = 20, 6
	// emptyFrom is where looking begins, as a share of the band: below it the front itself leaves nothing.
	emptyFrom = 0.5
)

// fill puts noise into a band that is empty at its top.
func (b *block) fill() {
	power, empty := b.emptyTop()
	if !empty {
		return
	}
	// Uniform noise of power p lies within ±√(3p).
	reach := math.Sqrt(3 * power * math.Pow(10, -fillDB/10.0))
	out := make([]float32, len(b.y))
	scale, state := float32(reach/(1<<31)), uint64(0x9e3779b97f4a7c15)
	for i, v := range b.y {
		state ^= state << 13 // xorshift64 (Marsaglia, Xorshift RNGs, J. Stat. Software 8, 2003)
		state ^= state >> 7
		state ^= state << 17
		out[i] = v + scale*float32(int32(state>>32))
	}
	b.y = out
	b.bins = binEnergies(out, int(math.Round(b.rateHz/b.binHz)), len(b.bins))
}

// emptyTop reports whether a part of the upper half of the band has nothing of the room's noise, and the noise's power
// a sample. The spectrum is that of the windowed autocorrelation of quiet stretches (Blackman and Tukey, The Measurement
// of Power Spectra, 1958).
func (b *block) emptyTop() (power float64, empty bool) {
	var r [fillOrder + 1]float64
	n := 0.0
	b.quietStretches(func(y []float32) {
		for k := range r {
			r[k] += dot(y[:len(y)-k], y[k:])
		}
		n += float64(len(y))
	}, 1<<16)
	if n == 0 || r[0] <= 0 {
		return 0, false
	}
	power = r[0] / n
	bound := r[0] * math.Pow(10, -emptyDB/10.0)
	for step := int(emptyFrom * fillOrder); step <= fillOrder; step++ {
		at := math.Pi * float64(step) / fillOrder
		density := r[0]
		for k := 1; k <= fillOrder; k++ {
			window := 0.5 + 0.5*math.Cos(math.Pi*float64(k)/(fillOrder+1))
			density += 2 * window * r[k] * math.Cos(at*float64(k))
		}
		if density < bound {
			return power, true
		}
	}
	return power, false
}
