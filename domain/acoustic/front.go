package acoustic

import (
	"math"
	"slices"
)

// The front of the listener takes hum and room noise below the watch's voice away and keeps the loudness in bins.
const (
	// highPassHz lies below the lowest resonances of a movement (about 1.5 kHz) and above most of speech and all
	// of the mains. Common practice.
	highPassHz = 900
	// binsPerS is the fineness of the loudness: half a millisecond.
	binsPerS = 2000
	// fullScale is the level from which a sample counts as clipped.
	fullScale = 0.999
)

// biquad is a second-order section in transposed direct form II (Oppenheim and Schafer, Discrete-Time Signal
// Processing, 3rd ed., 6.4.3).
type biquad struct{ b0, b1, b2, a1, a2, s1, s2 float64 }

// highPass returns a second-order high-pass by the bilinear transform, quality q (the same, 7.2 and 7.3).
func highPass(cutHz, q, rateHz float64) biquad {
	w := 2 * math.Pi * cutHz / rateHz
	alpha, c := math.Sin(w)/(2*q), math.Cos(w)
	a0 := 1 + alpha
	return biquad{b0: (1 + c) / 2 / a0, b1: -(1 + c) / a0, b2: (1 + c) / 2 / a0, a1: -2 * c / a0, a2: (1 - alpha) / a0}
}

// lowPass is highPass's counterpart.
func lowPass(cutHz, q, rateHz float64) biquad {
	w := 2 * math.Pi * cutHz / rateHz
	alpha, c := math.Sin(w)/(2*q), math.Cos(w)
	a0 := 1 + alpha
	return biquad{b0: (1 - c) / 2 / a0, b1: (1 - c) / a0, b2: (1 - c) / 2 / a0, a1: -2 * c / a0, a2: (1 - alpha) / a0}
}

func (f *biquad) step(x float64) float64 {
	y := f.b0*x + f.s1
	f.s1 = f.b1*x - f.a1*y + f.s2
	f.s2 = f.b2*x - f.a2*y
	return y
}

// The qualities of the two sections of a fourth-order Butterworth filter.
var butterworth4 = [2]float64{0.54119610, 1.30656296}

// front filters the sound as it comes, by a fourth-order Butterworth high-pass. The filter is causal, so that nothing
// sounds before its beginning: onsets stay where they are. Its gain, which is near 1, is left away: what comes out, and
// the energy of what goes in as it is kept, are in units of it.
type front struct {
	poles
	unit   float64 // energy of what goes in by that of what comes out in the pass band: 1 over the gain squared
	perBin int

	// Of the bin being filled.
	filled int
	energy float64
	raw    float64

	// Tallies of all sound so far.
	samples, clipped, zeros int64
	rawEnergy, bandEnergy   float64
}

// poles are the filter's recursive parts and its memory. All its zeros lie at frequency 0, so that its other part is
// four differences in turn, of which the last ones are kept.
type poles struct {
	p1, p2, q1, q2 float64
	x, d1, d2, d3  float64
	u1, u2, v1, v2 float64
}

func newFront(rateHz float64) *front {
	p, q := highPass(highPassHz, butterworth4[0], rateHz), highPass(highPassHz, butterworth4[1], rateHz)
	gain := p.b0 * q.b0
	return &front{
		perBin: max(1, int(math.Round(rateHz/binsPerS))), unit: 1 / (gain * gain),
		poles: poles{p1: p.a1, p2: p.a2, q1: q.a1, q2: q.a2},
	}
}

// tail is what the filter's memory is set to when it falls below, so that silence costs no denormal numbers.
const tail = 1e-20

// chunkBins are the bins filtered in one go.
const chunkBins = 64

// run filters x, appends the result to y, its energy by bins to bins and the unfiltered energy to raws.
func (f *front) run(x []float32, y, bins, raws []float32) ([]float32, []float32, []float32) {
	start := len(y)
	y = slices.Grow(y, len(x))[:start+len(x)]
	out := y[start:]
	var energies, rawEnergies [chunkBins]float64
	for len(x) > 0 {
		if whole := min(len(x)/f.perBin, chunkBins); f.filled == 0 && whole > 0 {
			n := whole * f.perBin
			f.chunk(x[:n], out[:n], energies[:whole], rawEnergies[:whole])
			for i, raw := range rawEnergies[:whole] {
				bins, raws = f.closeBin(bins, raws, energies[i], raw)
			}
			x, out = x[n:], out[n:]
			continue
		}
		n := min(len(x), f.perBin-f.filled)
		energy, raw := f.part(x[:n], out[:n])
		f.energy += energy
		f.raw += raw
		f.filled += n
		if f.filled == f.perBin {
			bins, raws = f.closeBin(bins, raws, f.energy, f.raw)
			f.filled, f.energy, f.raw = 0, 0, 0
		}
		x, out = x[n:], out[n:]
	}
	return y, bins, raws
}

// closeBin appends the energies of a full bin.
func (f *front) closeBin(bins, raws []float32, energy, raw float64) ([]float32, []float32) {
	raw *= f.unit
	f.rawEnergy += raw
	f.bandEnergy += energy
	return append(bins, float32(energy)), append(raws, float32(raw))
}

// beyond is the level from which on a sample is no sound.
const beyond = 1e6

// chunk filters whole bins.
func (f *front) chunk(x, y []float32, energies, raws []float64) {
	before := f.poles
	f.pass(x, y, energies, raws)
	for i, raw := range raws {
		if raw < beyond*beyond {
			f.tally(x[i*f.perBin:(i+1)*f.perBin], raw)
			continue
		}
		// Not a number, or infinite: what follows is spoilt.
		if i == 0 {
			f.poles = before
			energies[0], raws[0] = f.part(x[:f.perBin], y[:f.perBin])
			i = 1
		} else {
			f.poles = before
			f.pass(x[:i*f.perBin], y[:i*f.perBin], energies[:i], raws[:i])
		}
		if n := i * f.perBin; n < len(x) {
			f.chunk(x[n:], y[n:], energies[i:], raws[i:])
		}
		return
	}
	f.forget(raws[len(raws)-1])
}

// part filters a part of a bin. What is no sound counts as silence.
func (f *front) part(x, y []float32) (energy, raw float64) {
	var energies, raws [1]float64
	before := f.poles
	f.pass(x, y, energies[:], raws[:])
	if !(raws[0] < beyond*beyond) {
		f.poles = poles{p1: before.p1, p2: before.p2, q1: before.q1, q2: before.q2} // silence before it
		clean := make([]float32, len(x))
		for i, v := range x {
			if v-v == 0 && v > -beyond && v < beyond {
				clean[i] = v
			}
		}
		f.pass(clean, y, energies[:], raws[:])
	}
	f.tally(x, raws[0])
	f.forget(raws[0])
	return energies[0], raws[0]
}

// forget ends a decay into silence.
func (f *front) forget(raw float64) {
	if raw == 0 && math.Abs(f.u1) < tail && math.Abs(f.v1) < tail {
		f.u1, f.u2, f.v1, f.v2 = 0, 0, 0, 0
	}
}

// tally counts samples of a bin, or of a part of one.
func (f *front) tally(x []float32, raw float64) {
	f.samples += int64(len(x))
	switch {
	case raw >= 2*fullScale*fullScale:
		f.countClipped(x)
	case raw == 0:
		f.zeros += int64(len(x))
	}
}

// pass filters x into y, which fall into as many equal bins as there are energies. It is written out, two samples at a
// time, for speed: this loop sees every sample.
func (f *front) pass(x, y []float32, energies, raws []float64) {
	p1, p2, q1, q2 := f.p1, f.p2, f.q1, f.q2
	a, a1, a2, a3 := f.x, f.d1, f.d2, f.d3
	ua, ub, va, vb := f.u2, f.u1, f.v2, f.v1
	n := len(x) / len(energies)
	for bin := range energies {
		x := x[bin*n : (bin+1)*n]
		y := y[bin*n:][:len(x)]
		var energy, raw float64
		for i := 1; i < len(x); i += 2 {
			b := float64(x[i-1])
			raw += b * b
			b1 := b - a
			b2 := b1 - a1
			b3 := b2 - a2
			ua = b3 - a3 - p2*ua - p1*ub
			va = ua - q2*va - q1*vb
			energy += va * va
			y[i-1] = float32(va)

			a = float64(x[i])
			raw += a * a
			a1 = a - b
			a2 = a1 - b1
			a3 = a2 - b2
			ub = a3 - b3 - p2*ub - p1*ua
			vb = ub - q2*vb - q1*va
			energy += vb * vb
			y[i] = float32(vb)
		}
		if i := len(x) - 1; i&1 == 0 { // an odd one is left
			b := float64(x[i])
			raw += b * b
			b1 := b - a
			b2 := b1 - a1
			b3 := b2 - a2
			ua, ub = ub, b3-a3-p2*ua-p1*ub
			va, vb = vb, ub-q2*va-q1*vb
			energy += vb * vb
			y[i] = float32(vb)
			a, a1, a2, a3 = b, b1, b2, b3
		}
		energies[bin], raws[bin] = energy, raw
	}
	f.x, f.d1, f.d2, f.d3 = a, a1, a2, a3
	f.u2, f.u1, f.v2, f.v1 = ua, ub, va, vb
}

// countClipped counts samples at the end of the scale, where two or more stand in a row: a single one may be the
// true peak.
func (f *front) countClipped(x []float32) {
	run := 0
	for _, v := range x {
		if v >= fullScale || v <= -fullScale {
			run++
			continue
		}
		if run > 1 {
			f.clipped += int64(run)
		}
		run = 0
	}
	if run > 1 {
		f.clipped += int64(run)
	}
}
