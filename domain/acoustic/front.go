package acoustic

import "math"

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
// sounds before its beginning: onsets stay where they are.
type front struct {
	poles
	gain   float64
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
// the fourth difference.
type poles struct {
	p1, p2, q1, q2 float64
	x1, x2, x3, x4 float64
	u1, u2, v1, v2 float64
}

func newFront(rateHz float64) *front {
	p, q := highPass(highPassHz, butterworth4[0], rateHz), highPass(highPassHz, butterworth4[1], rateHz)
	return &front{
		perBin: max(1, int(math.Round(rateHz/binsPerS))), gain: p.b0 * q.b0,
		poles: poles{p1: p.a1, p2: p.a2, q1: q.a1, q2: q.a2},
	}
}

// tail is what the filter's memory is set to when it falls below, so that silence costs no denormal numbers.
const tail = 1e-20

// run filters x, appends the result to y, its energy by bins to bins and the unfiltered energy to raws.
func (f *front) run(x []float32, y, bins, raws []float32) ([]float32, []float32, []float32) {
	start := len(y)
	if need := start + len(x); need > cap(y) {
		grown := make([]float32, start, need+need)
		copy(grown, y)
		y = grown
	}
	y = y[:start+len(x)]
	out := y[start:]
	for len(x) > 0 {
		n := min(len(x), f.perBin-f.filled)
		energy, raw := f.bin(x[:n], out[:n])
		f.energy += energy
		f.raw += raw
		f.filled += n
		if f.filled == f.perBin {
			bins = append(bins, float32(f.energy))
			raws = append(raws, float32(f.raw))
			f.rawEnergy += f.raw
			f.bandEnergy += f.energy
			f.filled, f.energy, f.raw = 0, 0, 0
		}
		x, out = x[n:], out[n:]
	}
	return y, bins, raws
}

// bin filters part of one bin.
func (f *front) bin(x, y []float32) (energy, raw float64) {
	energy, raw = f.pass(x, y)
	if !(raw < beyond*beyond) { // not a number, or infinite
		f.poles = poles{p1: f.p1, p2: f.p2, q1: f.q1, q2: f.q2} // silence before it
		clean := make([]float32, len(x))
		for i, v := range x {
			if v-v == 0 && v > -beyond && v < beyond {
				clean[i] = v
			}
		}
		energy, raw = f.pass(clean, y)
	}
	if math.Abs(f.u1) < tail && math.Abs(f.v1) < tail && raw == 0 {
		f.u1, f.u2, f.v1, f.v2 = 0, 0, 0, 0
	}
	f.samples += int64(len(x))
	switch {
	case raw >= 2*fullScale*fullScale:
		f.countClipped(x)
	case raw == 0:
		f.zeros += int64(len(x))
	}
	return energy, raw
}

// beyond is the level from which on a sample is no sound.
const beyond = 1e6

// pass filters x into y. It is written out for speed: this loop sees every sample.
func (f *front) pass(x, y []float32) (energy, raw float64) {
	p1, p2, q1, q2, gain := f.p1, f.p2, f.q1, f.q2, f.gain
	x1, x2, x3, x4 := f.x1, f.x2, f.x3, f.x4
	u1, u2, v1, v2 := f.u1, f.u2, f.v1, f.v2
	y = y[:len(x)]
	for i, sample := range x {
		x0 := float64(sample)
		raw += x0 * x0
		d := x0 + x4 - 4*(x1+x3) + 6*x2
		u := d - p2*u2 - p1*u1
		v := u - q2*v2 - q1*v1
		x4, x3, x2, x1 = x3, x2, x1, x0
		u2, u1 = u1, u
		v2, v1 = v1, v
		out := gain * v
		energy += out * out
		y[i] = float32(out)
	}
	f.x1, f.x2, f.x3, f.x4 = x1, x2, x3, x4
	f.u1, f.u2, f.v1, f.v2 = u1, u2, v1, v2
	return energy, raw
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
