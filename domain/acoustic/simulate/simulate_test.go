package simulate_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"ledgerwheel/domain/acoustic/simulate"
)

// steady returns the watch with all that scatters or drifts taken away.
func steady(w simulate.Watch) simulate.Watch {
	w.ScatterUs, w.JitterUs, w.AmplitudeScatterDeg, w.AmplitudeDriftDeg = 0, 0, 0, 0
	w.WanderDeg, w.SwayDeg, w.WheelPatternUs, w.Train, w.RateWanderSPerDay = 0, 0, nil, nil, 0
	return w
}

// The amplitude follows from the true times by A = (λ/2)/sin(πf·t), the formula of the trade.
func TestAmplitudeFromTimes(t *testing.T) {
	t.Parallel()
	for _, beats := range []float64{14400, 18000, 21600, 28800, 36000, 43200} {
		for _, amplitude := range []float64{130, 220, 330} {
			for _, beatError := range []float64{0, 1.5, -4} {
				w := steady(simulate.Lever())
				w.BeatsPerHour, w.AmplitudeDeg, w.BeatErrorMs = beats, amplitude, beatError
				_, truth := simulate.Sound(w, simulate.QuietRoom(), 8000, 6, 1)
				sum := 0.0
				for _, b := range truth.Beats {
					sum += w.LiftAngleDeg / 2 / math.Sin(math.Pi*beats/7200*(b.DropS-b.UnlockingS))
				}
				got := sum / float64(len(truth.Beats))
				// The formula holds exactly for a balance in beat running true; at rest d off the line of centres the
				// lift takes longer by about (d/A)²/2, and the rate of 5 s/d is left out of f: 6e-5.
				off := amplitude * math.Sin(math.Pi*beats/3600*math.Abs(beatError)/2e3)
				tolerance := amplitude*1e-4 + amplitude*0.8*(off/amplitude)*(off/amplitude)
				if math.Abs(got-amplitude) > tolerance || math.Abs(truth.AmplitudeDeg-amplitude) > 1e-9 {
					t.Errorf("%v per hour, %v°, beat error %v ms: times say %.3f°, truth %.3f°, tolerance %.3f",
						beats, amplitude, beatError, got, truth.AmplitudeDeg, tolerance)
				}
			}
		}
	}
}

// slopeSPerBeat fits a line to the drops by least squares, one intercept a swing.
func slopeSPerBeat(beats []simulate.Beat) float64 {
	var n, x, y [2]float64
	for _, b := range beats {
		s := b.Number & 1
		n[s]++
		x[s] += float64(b.Number)
		y[s] += b.DropS
	}
	var xx, xy float64
	for _, b := range beats {
		s := b.Number & 1
		dx := float64(b.Number) - x[s]/n[s]
		xx += dx * dx
		xy += dx * (b.DropS - y[s]/n[s])
	}
	return xy / xx
}

func TestRateFromTimes(t *testing.T) {
	t.Parallel()
	for _, rate := range []float64{-120, -3, 0, 7.5, 120} {
		for _, ppm := range []float64{0, 50, -50} {
			w := steady(simulate.Lever())
			w.RateSPerDay, w.ScatterUs, w.JitterUs = rate, 20, 5
			room := simulate.QuietRoom()
			room.ClockPPM = ppm
			_, truth := simulate.Sound(w, room, 8000, 30, 2)
			got := 86400 * (3600/w.BeatsPerHour/slopeSPerBeat(truth.Beats) - 1)
			// Standard deviation of a slope: σ·sqrt(12/N)/T, here 20.6 µs·sqrt(12/240)/30 s = 0.0133 s/d; four of them.
			if math.Abs(got-truth.ApparentRateSPerDay) > 0.054 {
				t.Errorf("rate %v, clock %v ppm: drops say %.4f s/d, truth %.4f", rate, ppm, got, truth.ApparentRateSPerDay)
			}
			if math.Abs(truth.RateSPerDay-rate) > 1e-6 {
				t.Errorf("true rate %.7f s/d, want %v", truth.RateSPerDay, rate)
			}
			// 1 ppm of a day is 0.0864 s; the second order, ppm² and ppm·rate, stays below 0.01 s/d here.
			if shift := truth.ApparentRateSPerDay - rate; math.Abs(shift+0.0864*ppm) > 0.01 {
				t.Errorf("clock %v ppm shifts the rate by %.4f s/d, want %.4f", ppm, shift, -0.0864*ppm)
			}
		}
	}
}

func TestBeatErrorFromTimes(t *testing.T) {
	t.Parallel()
	for seed := range uint64(8) {
		for _, beatError := range []float64{-4, -0.3, 0, 0.05, 2} {
			w := steady(simulate.Lever())
			w.BeatErrorMs = beatError
			_, truth := simulate.Sound(w, simulate.QuietRoom(), 8000, 5, seed)
			b := truth.Beats
			got := 1e3 * ((b[1].DropS - b[0].DropS) - (b[2].DropS - b[1].DropS)) / 2
			want := beatError
			if b[0].Number&1 == 1 {
				want = -beatError
			}
			// The rate of 5 s/d, 6e-5, is left out of what was asked.
			if math.Abs(got-want) > 1e-4*math.Abs(want)+1e-6 || math.Abs(truth.BeatErrorMs-want) > 1e-6 ||
				math.Abs(truth.BeatErrorMagnitudeMs-math.Abs(beatError)) > 1e-6 {
				t.Errorf("seed %d, asked %v ms: drops say %v, truth %v (%v)", seed, want, got, truth.BeatErrorMs,
					truth.BeatErrorMagnitudeMs)
			}
		}
	}
}

// The samples hold what was asked for: rms of the noise, mean peak of the drops, and their ratio.
func TestSignalToNoise(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(3, 3))
	for _, snr := range []float64{5, 12, 20, 35} {
		for _, colour := range [][2]float64{{0, 0}, {1, 0}, {0.3, 0.5}} {
			w := simulate.RandomWatch(rng)
			w.BeatsPerHour = 21600
			quiet := simulate.QuietRoom()
			quiet.LowPassHz = 12000
			noisy := quiet
			noisy.SNRdB, noisy.PinkShare, noisy.RumbleShare = snr, colour[0], colour[1]
			const rateHz, seconds = 48000, 20
			clean, truth := simulate.Sound(w, quiet, rateHz, seconds, 4)
			both, _ := simulate.Sound(w, noisy, rateHz, seconds, 4)
			energy := 0.0
			for i := range clean {
				d := float64(both[i] - clean[i])
				energy += d * d
			}
			rms := math.Sqrt(energy / float64(len(clean)))
			peaks := 0.0
			for _, b := range truth.Beats {
				from := int(b.DropS * rateHz)
				peak := float32(0)
				for _, v := range clean[from:min(len(clean), from+300)] {
					peak = max(peak, v, -v)
				}
				peaks += float64(peak)
			}
			got := 20 * math.Log10(peaks/float64(len(truth.Beats))/rms)
			// The mean of some hundred peaks scattering by 30 % is known to 0.25 dB, the level is set from 64 (0.3 dB),
			// and pink noise's rms over 20 s to 0.2 dB: three times their sum in squares.
			if math.Abs(got-snr) > 1.3 {
				t.Errorf("%v dB asked, colour %v: samples say %.2f dB", snr, colour, got)
			}
		}
	}
}

func TestSameSeedSameSound(t *testing.T) {
	t.Parallel()
	for seed := range uint64(12) {
		rng := rand.New(rand.NewPCG(seed, 9))
		r := simulate.RandomRecording(rng, 15)
		r.Seconds = 3
		a, truth := r.Sound()
		b, _ := r.Sound()
		var streamed []float32
		same := simulate.Stream(r.Watch, r.Room, r.RateHz, r.Seconds, r.Seed, func(chunk []float32) {
			streamed = append(streamed, chunk...)
		})
		if len(a) != int(math.Round(r.RateHz*r.Seconds)) || len(b) != len(a) || len(streamed) != len(a) {
			t.Fatalf("seed %d: %d, %d and %d samples", seed, len(a), len(b), len(streamed))
		}
		for i := range a {
			if a[i] != b[i] || a[i] != streamed[i] {
				t.Fatalf("seed %d: sample %d is %v, then %v, streamed %v", seed, i, a[i], b[i], streamed[i])
			}
			if math.IsNaN(float64(a[i])) || math.IsInf(float64(a[i]), 0) {
				t.Fatalf("seed %d: sample %d is %v", seed, i, a[i])
			}
		}
		if same.RateSPerDay != truth.RateSPerDay || len(same.Beats) != len(truth.Beats) {
			t.Errorf("seed %d: truths differ", seed)
		}
		r.Seed++
		if other, _ := r.Sound(); equal(a, other) {
			t.Errorf("seed %d: another seed sounds the same", seed)
		}
	}
}

func equal(a, b []float32) bool {
	for i := range a {
		if a[i] != b[i] {
			return false
		}
	}
	return true
}

func BenchmarkSound(b *testing.B) {
	rng := rand.New(rand.NewPCG(1, 1))
	r := simulate.RandomRecording(rng, 15)
	r.RateHz, r.Seconds = 48000, 30
	for b.Loop() {
		r.Sound()
	}
}
