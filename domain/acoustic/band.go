package acoustic

import "math"

// A band of the sound, between two frequencies; 0 leaves it open.
type band struct{ lowHz, highHz float64 }

// liftBands are tried for the unlocking, the whole sound first: where it is weak, most of the noise is kept out by the
// band its resonance lies in.
var liftBands = []band{{}, {0, 4000}, {3000, 7500}, {6500, 0}}

// filter passes averages through the band and returns by how much the variance of white noise changes, and by how
// many samples an onset comes later.
func (b band) filter(rateHz float64) (run func([]float32), gain, delay float64) {
	if b == (band{}) {
		return func([]float32) {}, 1, 0
	}
	make := func() func(float64) float64 {
		high, low := highPass(b.lowHz, math.Sqrt2/2, rateHz), lowPass(b.highHz, math.Sqrt2/2, rateHz)
		return func(v float64) float64 {
			if b.lowHz > 0 {
				v = high.step(v)
			}
			if b.highHz > 0 {
				v = low.step(v)
			}
			return v
		}
	}
	// The filter's response tells both.
	f := make()
	var energy, first float64
	for k := range int(2e-3 * rateHz) {
		v := 0.0
		if k == 0 {
			v = 1
		}
		h := f(v)
		energy += h * h
		first += float64(k) * h * h
	}
	return func(x []float32) {
		f := make()
		for i, v := range x {
			x[i] = float32(f(float64(v)))
		}
	}, energy, first / energy
}
