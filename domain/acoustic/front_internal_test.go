package acoustic

import (
	"math"
	"math/rand/v2"
	"testing"
)

// TestFrontIsTwoSections holds the filter as it is written out against its two sections one after the other, whatever
// the pieces and the sampling rate, and its energies against what it gives. Both work in float64; what comes out is a
// float32, of 24 bits.
func TestFrontIsTwoSections(t *testing.T) {
	for _, rateHz := range []float64{8000, 22050, 44100, 48000, 96000} {
		rng := rand.New(rand.NewPCG(1, uint64(rateHz)))
		x := make([]float32, 5000)
		for i := range x {
			x[i] = float32(0.1*rng.NormFloat64() + 0.5*math.Sin(float64(i)*2*math.Pi*50/rateHz))
		}
		p, q := highPass(highPassHz, butterworth4[0], rateHz), highPass(highPassHz, butterworth4[1], rateHz)
		gain := p.b0 * q.b0
		f := newFront(rateHz)
		var y, bins, raws []float32
		for from := 0; from < len(x); {
			n := min(len(x)-from, rng.IntN(700))
			y, bins, raws = f.run(x[from:from+n], y, bins, raws)
			from += n
		}
		if len(y) != len(x) || len(bins) != len(x)/f.perBin || len(raws) != len(bins) {
			t.Fatalf("%v Hz: %d samples, %d and %d bins of %d samples", rateHz, len(y), len(bins), len(raws), len(x))
		}
		for i, v := range x {
			want := q.step(p.step(float64(v)))
			if got := float64(y[i]) * gain; math.Abs(got-want) > 1e-6 {
				t.Fatalf("%v Hz, sample %d: %v, where the sections give %v", rateHz, i, got, want)
			}
		}
		for i := range bins {
			var energy, raw float64
			for k := i * f.perBin; k < (i+1)*f.perBin; k++ {
				energy += float64(y[k]) * float64(y[k])
				raw += float64(x[k]) * float64(x[k]) / (gain * gain)
			}
			if math.Abs(float64(bins[i])/energy-1) > 1e-5 || math.Abs(float64(raws[i])/raw-1) > 1e-5 {
				t.Fatalf("%v Hz, bin %d: %v and %v, where %v and %v sound", rateHz, i, bins[i], raws[i], energy, raw)
			}
		}
	}
}

// TestFrontForgetsWhatIsNoSound: samples that are no numbers, or beyond all sound, count as silence, and those after
// them are filtered as though nothing had been before.
func TestFrontForgetsWhatIsNoSound(t *testing.T) {
	sound := func(from, to int) []float32 {
		x := make([]float32, to-from)
		for i := range x {
			x[i] = float32(0.3 * math.Sin(float64(i+from)))
		}
		return x
	}
	for _, bad := range []float32{float32(math.NaN()), float32(math.Inf(1)), 2 * beyond} {
		for _, at := range []int{0, 23, 24, 500, 999} {
			x := sound(0, 1000)
			x[at] = bad
			f := newFront(48000)
			y, bins, _ := f.run(x, nil, nil, nil)
			for i, v := range y {
				if !(math.Abs(float64(v)) < 1) {
					t.Fatalf("%v at %d: sample %d is %v", bad, at, i, v)
				}
			}
			// From its bin on: silence there, and silence before.
			first := at / f.perBin * f.perBin
			x[at] = 0
			fresh, freshBins, _ := newFront(48000).run(x[first:], nil, nil, nil)
			for i, v := range fresh {
				if y[first+i] != v {
					t.Fatalf("%v at %d: sample %d is %v, not %v", bad, at, first+i, y[first+i], v)
				}
			}
			for i, e := range freshBins {
				if bins[first/f.perBin+i] != e {
					t.Fatalf("%v at %d: bin %d differs", bad, at, i)
				}
			}
		}
	}
}
