package simulate

import "math"

// biquad is a filter of second order in transposed direct form II. Coefficients after the bilinear transform, as in
// any textbook of digital filters.
type biquad struct {
	b0, b1, b2, a1, a2 float64
	z1, z2             float64
}

func (q *biquad) step(x float64) float64 {
	y := q.b0*x + q.z1
	q.z1 = q.b1*x - q.a1*y + q.z2
	q.z2 = q.b2*x - q.a2*y
	return y
}

// settle takes what is left of a sound far below hearing as silence: numbers near the smallest a float can hold are
// slow to reckon with.
func (q *biquad) settle() {
	if math.Abs(q.z1) < 1e-30 && math.Abs(q.z2) < 1e-30 {
		q.z1, q.z2 = 0, 0
	}
}

// lowPass returns a Butterworth low-pass of second order.
func lowPass(hz, rateHz float64) *biquad {
	omega := 2 * math.Pi * hz / rateHz
	alpha, cos := math.Sin(omega)/math.Sqrt2, math.Cos(omega)
	a0 := 1 + alpha
	return &biquad{
		b0: (1 - cos) / 2 / a0, b1: (1 - cos) / a0, b2: (1 - cos) / 2 / a0,
		a1: -2 * cos / a0, a2: (1 - alpha) / a0,
	}
}

// bandPass returns a resonance whose gain at its frequency is gain, and whose ringing dies as exp(-t/decay).
func bandPass(m Mode, rateHz float64) *biquad {
	omega := 2 * math.Pi * m.Hz / rateHz
	quality := math.Pi * m.Hz * m.DecayMs / 1e3
	alpha, cos := math.Sin(omega)/(2*quality), math.Cos(omega)
	a0 := 1 + alpha
	return &biquad{b0: m.Gain * alpha / a0, b2: -m.Gain * alpha / a0, a1: -2 * cos / a0, a2: (1 - alpha) / a0}
}

// body is a case: the direct sound and what its resonances add.
type body []*biquad

func newBody(modes []Mode, rateHz float64) body {
	var made body
	for _, m := range modes {
		if m.Hz < bandShare*rateHz && m.DecayMs > 0 && m.Gain != 0 {
			made = append(made, bandPass(m, rateHz))
		}
	}
	return made
}

func (b body) colour(block []float64) {
	if len(b) == 0 {
		return
	}
	for i, x := range block {
		sum := x
		for _, q := range b {
			sum += q.step(x)
		}
		block[i] = sum
	}
	for _, q := range b {
		q.settle()
	}
}

// newMicrophone returns the low-pass of a contact microphone; nil, which hears everything, without one.
func newMicrophone(hz, rateHz float64) *biquad {
	if hz <= 0 || hz >= bandShare*rateHz {
		return nil
	}
	return lowPass(hz, rateHz)
}

func (q *biquad) filter(block []float64) {
	if q == nil {
		return
	}
	for i, x := range block {
		block[i] = q.step(x)
	}
	q.settle()
}
