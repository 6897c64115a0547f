package recording

import (
	"fmt"
	"math"
)

// The filter of Resample. Its pass band ends at passBand of the lower rate's Nyquist frequency and its stop band
// begins at that frequency, so that nothing folds back. By Kaiser's rules (J. F. Kaiser, "Nonrecursive digital filter
// design using the I0-sinh window function", IEEE ISCAS 1974; Oppenheim and Schafer, Discrete-Time Signal Processing,
// 3rd ed., section 7.5.3) a stop band of A dB takes beta = 0.1102·(A − 8.7) and (A − 7.95)/(14.36·Δf) + 1 taps for a
// transition of Δf cycles a sample. The ripple of the pass band is the same 10^(−A/20): 0.0001 dB.
const (
	passBand       = 0.9
	stopBandDB     = 100
	kaiserBeta     = 0.1102 * (stopBandDB - 8.7)
	transition     = (1 - passBand) / 2 // cycles a sample of the lower rate
	halfTaps       = 65                 // > (100 − 7.95)/(14.36·0.05)/2 = 64.1 samples of the lower rate
	cutoff         = (1 + passBand) / 4 // the middle of the transition, cycles a sample of the lower rate
	maxExactPhases = 1024
	// tablePhases are the points a sample of the table for rates without a small common measure. Between them it is
	// linear, which is off by at most max|h″|/8/tablePhases² = 3.4e-7 of the middle tap, −129 dB.
	tablePhases = 1024
)

// Resample returns the sound at another rate: what lies within 0.9 of the lower Nyquist frequency keeps its level to
// 0.001 dB and its time exactly (linear phase, no delay: output sample m is the input at m·fromHz/toHz), and what
// would fold back is held down by 90 dB or more. Where the rates are whole numbers their ratio is exact however long
// the sound. Beyond its ends the sound is taken as silent. The result has a sample for every instant from the first
// sample to the last. Resample panics when a rate is not a positive number.
func Resample(samples []float32, fromHz, toHz float64) []float32 {
	for _, hz := range []float64{fromHz, toHz} {
		if !(hz > 0) || math.IsInf(hz, 0) {
			panic(fmt.Sprintf("recording: resample from %g to %g samples a second", fromHz, toHz))
		}
	}
	if len(samples) == 0 {
		return nil
	}
	if fromHz == toHz {
		return append([]float32(nil), samples...)
	}
	if up, down, ok := wholeRatio(fromHz, toHz); ok {
		return newBank(up, down).run(samples)
	}
	return newKernel(fromHz, toHz).run(samples)
}

// wholeRatio returns toHz/fromHz as up/down in lowest terms, if that is a ratio of whole numbers that needs few
// enough phases.
func wholeRatio(fromHz, toHz float64) (up, down int, ok bool) {
	if fromHz != math.Trunc(fromHz) || toHz != math.Trunc(toHz) || fromHz > 1<<31 || toHz > 1<<31 {
		return 0, 0, false
	}
	a, b := int(toHz), int(fromHz)
	for b != 0 {
		a, b = b, a%b
	}
	up, down = int(toHz)/a, int(fromHz)/a
	return up, down, up <= maxExactPhases
}

// lowPass is the windowed sinc at t samples of the lower rate from its middle, without its scale.
func lowPass(t float64) float64 {
	u := t / halfTaps
	if u <= -1 || u >= 1 {
		return 0
	}
	sinc := 2 * cutoff
	if t != 0 {
		sinc = math.Sin(2*math.Pi*cutoff*t) / (math.Pi * t)
	}
	return sinc * besselI0(kaiserBeta*math.Sqrt(1-u*u)) / besselI0(kaiserBeta)
}

// besselI0 is the modified Bessel function of the first kind and order 0, by its power series (Abramowitz and Stegun,
// Handbook of Mathematical Functions, 9.6.12), which for arguments up to 20 ends within 50 terms.
func besselI0(x float64) float64 {
	sum, term := 1.0, 1.0
	for k := 1.0; term > sum*1e-17; k++ {
		term *= x * x / (4 * k * k)
		sum += term
	}
	return sum
}

// bank is the filter cut into phases: output sample m lies phase/up of an input sample after input sample n, where
// n·up + phase = m·down.
type bank struct {
	up, down int
	reach    int         // input samples on either side
	phases   [][]float64 // taps from input sample n−reach+1 to n+reach
}

func newBank(up, down int) *bank {
	stretch := max(1, float64(down)/float64(up)) // input samples to one of the lower rate
	b := &bank{up: up, down: down, reach: int(math.Ceil(halfTaps * stretch)), phases: make([][]float64, up)}
	for p := range b.phases {
		taps := make([]float64, 2*b.reach)
		sum := 0.0
		for k := range taps {
			taps[k] = lowPass((float64(k-b.reach+1) - float64(p)/float64(up)) / stretch)
			sum += taps[k]
		}
		for k := range taps {
			taps[k] /= sum // steady sound passes exactly, in every phase
		}
		b.phases[p] = taps
	}
	return b
}

func (b *bank) run(samples []float32) []float32 {
	out := make([]float32, (len(samples)-1)*b.up/b.down+1)
	n, phase := 0, 0
	for m := range out {
		out[m] = convolve(samples, n-b.reach+1, b.phases[phase])
		phase += b.down
		n += phase / b.up
		phase %= b.up
	}
	return out
}

// convolve sums the taps over the samples from first on, which may lie outside the sound.
func convolve(samples []float32, first int, taps []float64) float32 {
	if first < 0 {
		if -first >= len(taps) {
			return 0
		}
		taps, first = taps[-first:], 0
	}
	if first >= len(samples) {
		return 0
	}
	in := samples[first:]
	taps = taps[:min(len(taps), len(in))]
	in = in[:len(taps)]
	var even, odd float64
	k := 0
	for ; k+1 < len(taps); k += 2 {
		even += taps[k] * float64(in[k])
		odd += taps[k+1] * float64(in[k+1])
	}
	if k < len(taps) {
		even += taps[k] * float64(in[k])
	}
	return float32(even + odd)
}

// kernel is the filter as a table, for rates without a small common measure.
type kernel struct {
	step    float64 // input samples to an output sample
	stretch float64 // input samples to one of the lower rate
	table   []float64
}

func newKernel(fromHz, toHz float64) *kernel {
	k := &kernel{step: fromHz / toHz, stretch: max(1, fromHz/toHz), table: make([]float64, halfTaps*tablePhases+2)}
	for i := range k.table {
		k.table[i] = lowPass(float64(i) / tablePhases)
	}
	return k
}

func (k *kernel) run(samples []float32) []float32 {
	out := make([]float32, int(float64(len(samples)-1)/k.step)+1)
	reach := int(math.Ceil(halfTaps * k.stretch))
	taps := make([]float64, 2*reach)
	for m := range out {
		at := float64(m) * k.step
		n := int(at)
		for i := range taps {
			taps[i] = k.tap(float64(n+i-reach+1) - at)
		}
		out[m] = convolve(samples, n-reach+1, taps)
	}
	return out
}

// tap is the filter t input samples from its middle.
func (k *kernel) tap(t float64) float64 {
	x := math.Abs(t) / k.stretch * tablePhases
	i := int(x)
	if i >= len(k.table)-1 {
		return 0
	}
	return (k.table[i] + (x-float64(i))*(k.table[i+1]-k.table[i])) / k.stretch
}
