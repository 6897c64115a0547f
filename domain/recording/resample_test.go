package recording_test

import (
	"fmt"
	"math"
	"math/cmplx"
	"testing"

	"ledgerwheel/domain/recording"
)

// tone is an analytic sine, at twice full scale over 2 so that its level is 1.
func tone(frames int, rateHz, hz, phase float64) []float32 {
	s := make([]float32, frames)
	for i := range s {
		s[i] = float32(math.Sin(2*math.Pi*hz*float64(i)/rateHz + phase))
	}
	return s
}

// phasor is the amplitude and phase of the sine of hz in the middle of a sound, clear of its ends, by least squares:
// whole periods of sine and cosine are orthogonal to within the window's leak, which a Hann window keeps below 1e-6.
func phasor(samples []float32, rateHz, hz float64, edge int) complex128 {
	var sum complex128
	var weight float64
	n := len(samples) - 2*edge
	for k := range n {
		i := k + edge
		w := 1 - math.Cos(2*math.Pi*(float64(k)+0.5)/float64(n))
		sum += complex(w*float64(samples[i]), 0) * cmplx.Rect(1, -2*math.Pi*hz*float64(i)/rateHz)
		weight += w
	}
	return sum / complex(weight, 0) * complex(0, 2) // of sin(ωt + φ) it is e^{iφ}
}

var rates = [][2]float64{{44100, 48000}, {48000, 44100}, {96000, 48000}, {48000, 96000}, {192000, 44100}, {48000, 8000},
	{8000, 48000}, {48000, 44101}, {48000, 47998.08}, {44100.5, 48000}}

// TestResampleTones: in the pass band a sine keeps its level to 0.01 dB and its time to a thousandth of a sample.
func TestResampleTones(t *testing.T) {
	t.Parallel()
	for _, r := range rates {
		t.Run(fmt.Sprintf("%g to %g", r[0], r[1]), func(t *testing.T) {
			t.Parallel()
			from, to := r[0], r[1]
			low := min(from, to)
			frames := int(8192 * from / low)
			for _, share := range []float64{0.02, 0.3, 0.6, 0.85, 0.9} { // of the lower Nyquist frequency
				hz := share * low / 2
				out := recording.Resample(tone(frames, from, hz, 0.3), from, to)
				if want := int(math.Floor(float64(frames-1)*to/from+1e-9)) + 1; len(out) != want {
					t.Fatalf("%d samples, want %d", len(out), want)
				}
				p := phasor(out, to, hz, int(80*to/low)+1)
				if dB := 20 * math.Log10(cmplx.Abs(p)); math.Abs(dB) > 0.01 {
					t.Errorf("%.0f Hz: level %.4f dB", hz, dB)
				}
				if samples := (cmplx.Phase(p) - 0.3) / (2 * math.Pi * hz / to); math.Abs(samples) > 1e-3 {
					t.Errorf("%.0f Hz: early by %.5f samples", hz, samples)
				}
			}
		})
	}
}

// TestResampleAliases: what lies above the lower Nyquist frequency is held down by 90 dB, wherever it would fold to.
func TestResampleAliases(t *testing.T) {
	t.Parallel()
	for _, r := range rates {
		from, to := r[0], r[1]
		if to > from*0.99 {
			continue
		}
		for _, hz := range []float64{to/2*1.001 + 1, 0.7 * to, to + 1000, from/2 - 100} {
			if hz >= from/2 || hz <= to/2 {
				continue
			}
			frames := int(8192 * from / to)
			out := recording.Resample(tone(frames, from, hz, 0.3), from, to)
			peak := 0.0
			for _, x := range out[100 : len(out)-100] { // clear of the ends, where the tone begins and stops
				peak = max(peak, math.Abs(float64(x)))
			}
			if dB := 20 * math.Log10(peak); dB > -90 {
				t.Errorf("%g to %g: %.0f Hz is left at %.1f dB", from, to, hz, dB)
			}
		}
	}
}

// TestResampleImages: going up, nothing appears that wasn't there: the sine is all of the sound, to 90 dB.
func TestResampleImages(t *testing.T) {
	t.Parallel()
	for _, r := range rates {
		from, to := r[0], r[1]
		if to < from {
			continue
		}
		hz := 0.41 * from
		out := recording.Resample(tone(8192, from, hz, 0.3), from, to)
		worst := 0.0
		for i := 1000; i < len(out)-1000; i++ {
			worst = max(worst, math.Abs(float64(out[i])-math.Sin(2*math.Pi*hz*float64(i)/to+0.3)))
		}
		if dB := 20 * math.Log10(worst); dB > -90 {
			t.Errorf("%g to %g: %.1f dB of something else", from, to, dB)
		}
	}
}

// TestResampleStaysInStep: after a long time a click still lies where it belongs. Rates that are a ratio of whole
// numbers can't drift; the others have float64's 53 bits.
func TestResampleStaysInStep(t *testing.T) {
	t.Parallel()
	const at = 3_000_000 - 3_000_000%147 // 68 s, a whole number of steps of 147 to 160
	in := make([]float32, at+1000)
	in[at] = 1
	out := recording.Resample(in, 44100, 48000)
	peak := at / 147 * 160
	for k := 1; k < 60; k++ {
		if a, b := out[peak-k], out[peak+k]; math.Abs(float64(a-b)) > 1e-6 {
			t.Fatalf("%d samples before and after the click: %g and %g, must be the same", k, a, b)
		}
		if out[peak+k] >= out[peak] {
			t.Fatalf("the click's peak isn't at %d", peak)
		}
	}
}

func TestResampleSmall(t *testing.T) {
	t.Parallel()
	if got := recording.Resample(nil, 44100, 48000); len(got) != 0 {
		t.Errorf("nothing became %v", got)
	}
	in := []float32{0.5, 0.25, -0.5}
	same := recording.Resample(in, 48000, 48000)
	in[0] = 9
	if len(same) != 3 || same[0] != 0.5 || same[2] != -0.5 {
		t.Errorf("the same rate gives %v", same)
	}
	if got := recording.Resample(in[:1], 48000, 8000); len(got) != 1 {
		t.Errorf("one sample became %d", len(got))
	}
	for _, bad := range []float64{0, -1, math.NaN(), math.Inf(1)} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("rate %g: no panic", bad)
				}
			}()
			recording.Resample(in, 48000, bad)
		}()
	}
}
