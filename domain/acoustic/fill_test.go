package acoustic_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/acoustic/simulate"
)

// belowHz passes what lies below a frequency, by a windowed sinc of linear phase, as a resampler does.
func belowHz(x []float32, cutHz, rateHz float64) []float32 {
	const half = 96
	var taps [2*half + 1]float64
	for i := range taps {
		t := float64(i - half)
		window := 0.42 + 0.5*math.Cos(math.Pi*t/half) + 0.08*math.Cos(2*math.Pi*t/half) // Blackman
		taps[i] = window * 2 * cutHz / rateHz
		if t != 0 {
			taps[i] = window * math.Sin(2*math.Pi*cutHz/rateHz*t) / (math.Pi * t)
		}
	}
	y := make([]float32, len(x)-2*half)
	for i := range y {
		sum := 0.0
		for k, w := range taps {
			sum += w * float64(x[i+k])
		}
		y[i] = float32(sum)
	}
	return y
}

// TestEmptyTopOfTheBand counts beat errors and amplitudes of sound whose band is empty above 20 kHz, as a browser leaves
// it that turns 44 100 samples a second into 48 000: what is stated of them holds no less often than of the whole band.
func TestEmptyTopOfTheBand(t *testing.T) {
	t.Parallel()
	const rateHz, seconds, count = 48000, 15, 30
	var off [2][2]int // beat error and amplitude beyond what is stated: of the whole band, and of the cut one
	for i := range count {
		r := rand.New(rand.NewPCG(20, uint64(i)))
		w := simulate.Lever()
		w.AmplitudeDeg, w.BeatErrorMs, w.RateSPerDay = 230+70*r.Float64(), r.Float64(), 10*r.NormFloat64()
		sound, truth := simulate.Sound(w, simulate.Room{SNRdB: 25 + 10*r.Float64(), PeakDBFS: -10}, rateHz, seconds, uint64(i))
		for k, x := range [][]float32{sound, belowHz(sound, 20000, rateHz)} {
			l, err := acoustic.NewListener(rateHz, acoustic.Settings{})
			if err != nil {
				t.Fatal(err)
			}
			l.Write(x)
			got, err := l.Result()
			if err != nil || got.Amplitude == nil {
				t.Fatalf("watch %d: %v", i, err)
			}
			if math.Abs(math.Abs(got.BeatError.Value)-truth.BeatErrorMagnitudeMs) > got.BeatError.Expanded() {
				off[k][0]++
			}
			if math.Abs(got.Amplitude.Value-truth.AmplitudeDeg) > got.Amplitude.Expanded() {
				off[k][1]++
			}
		}
	}
	t.Logf("beyond what is stated, of %d: beat error %d, cut %d; amplitude %d, cut %d", count, off[0][0], off[1][0], off[0][1], off[1][1])
	// One in twenty is 1.5 of 30; more than six come by chance less than once in a thousand times (binomial).
	if off[1][0] > 6 {
		t.Errorf("%d of %d beat errors lie beyond what is stated of them", off[1][0], count)
	}
	if off[1][1] > off[0][1]+6 {
		t.Errorf("%d of %d amplitudes lie beyond what is stated of them, of the whole band %d", off[1][1], count, off[0][1])
	}
}
