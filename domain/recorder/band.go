package recorder

import "math"

// band passes 1 to 20 kHz, or to as near half the rate as can be: room rumble and hum lie below, while the click of a
// motor or of a reference lies within. Second-order Butterworth sections by the bilinear transform (Robert
// Bristow-Johnson's cookbook formulae, Q = 1/√2), two high-pass and, where there is room for it, one low-pass.
type band struct{ sections []biquad }

type biquad struct {
	b0, b1, b2, a1, a2 float64
	x1, x2, y1, y2     float64
}

const (
	bandLowHz  = 1000
	bandHighHz = 20000
)

func newBand(rateHz float64) band {
	b := band{sections: []biquad{highPass(bandLowHz, rateHz), highPass(bandLowHz, rateHz)}}
	if bandHighHz < 0.42*rateHz {
		b.sections = append(b.sections, lowPass(bandHighHz, rateHz))
	}
	return b
}

func highPass(hz, rateHz float64) biquad {
	w := 2 * math.Pi * hz / rateHz
	c, alpha := math.Cos(w), math.Sin(w)/math.Sqrt2
	return biquad{b0: (1 + c) / 2, b1: -(1 + c), b2: (1 + c) / 2, a1: -2 * c, a2: 1 - alpha}.over(1 + alpha)
}

func lowPass(hz, rateHz float64) biquad {
	w := 2 * math.Pi * hz / rateHz
	c, alpha := math.Cos(w), math.Sin(w)/math.Sqrt2
	return biquad{b0: (1 - c) / 2, b1: 1 - c, b2: (1 - c) / 2, a1: -2 * c, a2: 1 - alpha}.over(1 + alpha)
}

func (q biquad) over(a0 float64) biquad {
	q.b0, q.b1, q.b2, q.a1, q.a2 = q.b0/a0, q.b1/a0, q.b2/a0, q.a1/a0, q.a2/a0
	return q
}

// pass appends the filtered samples to out. What is not a finite number counts as silence.
func (b *band) pass(out, samples []float32) []float32 {
	for _, s := range samples {
		x := float64(s)
		if math.IsNaN(x) || math.IsInf(x, 0) {
			x = 0
		}
		for i := range b.sections {
			q := &b.sections[i]
			y := q.b0*x + q.b1*q.x1 + q.b2*q.x2 - q.a1*q.y1 - q.a2*q.y2
			q.x2, q.x1, q.y2, q.y1 = q.x1, x, q.y1, y
			x = y
		}
		out = append(out, float32(x))
	}
	return out
}
