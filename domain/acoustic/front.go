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

// front filters the sound as it comes. The filter is causal, so that nothing sounds before its beginning: onsets
// stay where they are.
type front struct {
	sections [2]biquad
	perBin   int

	// Of the bin being filled.
	filled int
	energy float64
	raw    float64

	// Tallies of all sound so far.
	samples, clipped, zeros int64
	clipRun                 int
	rawEnergy, bandEnergy   float64
}

func newFront(rateHz float64) *front {
	f := &front{perBin: max(1, int(math.Round(rateHz/binsPerS)))}
	for i, q := range butterworth4 {
		f.sections[i] = highPass(highPassHz, q, rateHz)
	}
	return f
}

// tail is what the filter's memory is set to when it falls below, so that silence costs no denormal numbers.
const tail = 1e-20

// run filters x, appends the result to y, its energy by bins to bins and the unfiltered energy to raws.
func (f *front) run(x []float32, y, bins, raws []float32) ([]float32, []float32, []float32) {
	start := len(y)
	if need := start + len(x); need > cap(y) {
		grown := make([]float32, start, need+need/4)
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
	p, q := f.sections[0], f.sections[1]
	y = y[:len(x)]
	var loudest float32
	for i, v := range x {
		s := float64(v)
		if s-s != 0 { // not a number, or infinite
			s = 0
		}
		raw += s * s
		a := p.b0*s + p.s1
		p.s1 = p.b1*s - p.a1*a + p.s2
		p.s2 = p.b2*s - p.a2*a
		b := q.b0*a + q.s1
		q.s1 = q.b1*a - q.a1*b + q.s2
		q.s2 = q.b2*a - q.a2*b
		energy += b * b
		y[i] = float32(b)
		if v < 0 {
			v = -v
		}
		if v > loudest {
			loudest = v
		}
	}
	if math.Abs(p.s1) < tail && math.Abs(q.s1) < tail {
		p.s1, p.s2, q.s1, q.s2 = 0, 0, 0, 0
	}
	f.sections[0], f.sections[1] = p, q
	f.samples += int64(len(x))
	switch {
	case loudest >= fullScale:
		f.countClipped(x)
	case loudest == 0:
		f.zeros += int64(len(x))
	}
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
