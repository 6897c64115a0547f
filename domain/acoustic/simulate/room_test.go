package simulate_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"ledgerwheel/domain/acoustic/simulate"
)

const testRateHz = 48000

// silentRoom is a room without watch or noise.
func silentRoom() (simulate.Watch, simulate.Room) { return simulate.Watch{}, simulate.QuietRoom() }

func TestRoomWithoutWatch(t *testing.T) {
	t.Parallel()
	w, room := silentRoom()
	samples, truth := simulate.Sound(w, room, testRateHz, 2, 1)
	for i, v := range samples {
		if v != 0 {
			t.Fatalf("sample %d is %v", i, v)
		}
	}
	if truth.BeatCount != 0 || truth.Stopped || len(truth.Beats) != 0 {
		t.Errorf("truth of no watch: %+v", truth)
	}
}

// The clock's rate is told by the spacing of a quartz clock's pulses in samples, as a calibration tells it.
func TestClockCountsMoreSamples(t *testing.T) {
	t.Parallel()
	for _, ppm := range []float64{0, 100, -250} {
		w, room := silentRoom()
		room.ClockPPM = ppm
		room.Quartz = &simulate.Quartz{Step: simulate.Click{
			Modes: []simulate.Mode{{Hz: 3000, DecayMs: 1, Gain: 1}},
		}}
		samples, _ := simulate.Sound(w, room, testRateHz, 61.5, 7)
		var onsets []int
		for i, v := range samples {
			if v != 0 && (len(onsets) == 0 || i-onsets[len(onsets)-1] > testRateHz/2) {
				onsets = append(onsets, i)
			}
		}
		if len(onsets) < 61 {
			t.Fatalf("%d pulses in 61.5 s", len(onsets))
		}
		got := float64(onsets[60]-onsets[0]) / 60 / testRateHz
		// An onset is found to within a sample at either end: 1 in 60·48000, 0.35 ppm.
		if math.Abs(got-1-1e-6*ppm) > 0.4e-6 {
			t.Errorf("%v ppm: a second is %.7f s of samples", ppm, got)
		}
	}
}

func TestHum(t *testing.T) {
	t.Parallel()
	w, room := silentRoom()
	room.PeakDBFS = -20
	room.Hum = &simulate.Hum{Hz: 50, DB: -6, Harmonics: 3, Fall: 1}
	samples, _ := simulate.Sound(w, room, testRateHz, 4, 1)
	for k, want := range map[float64]float64{50: 1, 100: 0.5, 150: 1.0 / 3, 200: 0, 60: 0} {
		var re, im float64
		for i, v := range samples {
			sin, cos := math.Sincos(2 * math.Pi * k * float64(i) / testRateHz)
			re, im = re+float64(v)*cos, im+float64(v)*sin
		}
		height := 2 * math.Hypot(re, im) / float64(len(samples))
		// Whole periods in the recording: exact but for float32 samples, 1e-7.
		if want *= 0.1 * math.Pow(10, -6.0/20); math.Abs(height-want) > 1e-6 {
			t.Errorf("%v Hz: height %v, want %v", k, height, want)
		}
	}
}

func TestKnocksAndSpeechAreAsLoudAsAsked(t *testing.T) {
	t.Parallel()
	for name, room := range map[string]simulate.Room{
		"knocks": {Knocks: &simulate.Knocks{DB: 26, PerMinute: 40}},
		"speech": {Speech: &simulate.Speech{DB: 26, PerMinute: 40, PitchHz: 120}},
	} {
		room.SNRdB, room.PeakDBFS = math.Inf(1), -60
		samples, _ := simulate.Sound(simulate.Watch{}, room, testRateHz, 60, 3)
		peak := float32(0)
		for _, v := range samples {
			peak = max(peak, v, -v)
		}
		// The loudest of dozens, drawn up to 6 or 10 dB below, two at once at times, a knock with noise of a tenth.
		if got := 20*math.Log10(float64(peak)) + 60; got < 24 || got > 33 {
			t.Errorf("%s: loudest %.1f dB over the drop, want about 26", name, got)
		}
	}
}

func TestSecondWatchIsFainter(t *testing.T) {
	t.Parallel()
	second := steady(simulate.Lever())
	second.LoudnessScatter, second.ModeScatter = 0, 0
	room := simulate.QuietRoom()
	room.Second = &simulate.SecondWatch{Watch: second, DB: -9}
	samples, truth := simulate.Sound(simulate.Watch{}, room, testRateHz, 5, 3)
	peak := float32(0)
	for _, v := range samples {
		peak = max(peak, v, -v)
	}
	// The loudest beat of two voices and all places between samples, against the mean: 2.5 dB.
	if got := 20 * math.Log10(float64(peak)); got < -21.5 || got > -18 || truth.BeatCount != 0 {
		t.Errorf("second watch peaks at %.1f dB of full scale, want about -21; %d beats in the truth", got, truth.BeatCount)
	}
}

func TestRecorderFaults(t *testing.T) {
	t.Parallel()
	room := simulate.QuietRoom()
	room.SNRdB, room.PeakDBFS, room.ClipAt, room.DCOffset, room.Bits = 10, -3, 0.25, 0.1, 8
	room.Silences = []simulate.Silence{{StartS: 1, Seconds: 0.5}}
	samples, _ := simulate.Sound(simulate.Lever(), room, testRateHz, 3, 1)
	clipped, sum := 0, 0.0
	for i, v := range samples {
		if i >= testRateHz && i < testRateHz*3/2 {
			if v != 0 {
				t.Fatalf("sample %d in the silence is %v", i, v)
			}
			continue
		}
		if steps := float64(v) * 128; steps != math.Round(steps) {
			t.Fatalf("sample %d, %v, is not one of 256 steps", i, v)
		}
		if v > 0.25 || v < -0.25 {
			t.Fatalf("sample %d is %v, clipped at 0.25", i, v)
		}
		if v == 0.25 || v == -0.25 {
			clipped++
		}
		sum += float64(v)
	}
	if clipped == 0 {
		t.Error("nothing was clipped")
	}
	// Clipping from above takes away some of the offset.
	if mean := sum / (2.5 * testRateHz); mean < 0.02 || mean > 0.11 {
		t.Errorf("mean %v, want near 0.1", mean)
	}
}

func TestWatchStops(t *testing.T) {
	t.Parallel()
	w := simulate.Lever()
	w.StopS, w.DyingS = 12, 5
	samples, truth := simulate.Sound(w, simulate.QuietRoom(), testRateHz, 20, 1)
	interval := 3600 / w.BeatsPerHour
	if !truth.Stopped || truth.StopS > 12+interval || truth.StopS < 12-2*interval || truth.StopS != truth.LastS {
		t.Errorf("stopped %v at %v s, want 12", truth.Stopped, truth.StopS)
	}
	last := truth.Beats[len(truth.Beats)-1]
	if first := truth.Beats[0]; first.AmplitudeDeg < 270 || last.AmplitudeDeg > 30 || last.AmplitudeDeg < 26 {
		t.Errorf("amplitude from %v° to %v°, want from 280° to a little over half the lift angle", first.AmplitudeDeg,
			last.AmplitudeDeg)
	}
	for i, v := range samples[int((truth.StopS+0.2)*testRateHz):] {
		if v != 0 {
			t.Fatalf("still sounds %d samples after", i)
		}
	}
}

// A night and a day in pieces: the course shows the run-down and the rate that follows it.
func TestRunDown(t *testing.T) {
	t.Parallel()
	w := steady(simulate.Lever())
	w.IsochronismSPerDayPerDeg = 0.1
	w.RunDown = &simulate.RunDown{ReserveS: 20 * 3600, SagDeg: 60}
	samples := 0
	truth := simulate.Stream(w, simulate.QuietRoom(), 400, 24*3600, 1, func(chunk []float32) { samples += len(chunk) })
	if samples != 400*24*3600 || len(truth.Course) != 24*60 || len(truth.Beats) != 1 {
		t.Fatalf("%d samples, %d minutes, %d beats kept", samples, len(truth.Course), len(truth.Beats))
	}
	if !truth.Stopped || math.Abs(truth.StopS-20*3600) > 1 {
		t.Errorf("stopped at %v h, want 20", truth.StopS/3600)
	}
	at := func(hour float64) simulate.Course { return truth.Course[int(hour*60)] }
	if a := at(10).AmplitudeDeg; math.Abs(a-250) > 0.2 {
		t.Errorf("half way %v°, want 250°", a)
	}
	if a := at(19.95).AmplitudeDeg; a > 50 {
		t.Errorf("three minutes before the stop %v°", a)
	}
	for _, hour := range []float64{0, 5, 10, 15, 18} {
		c := at(hour)
		if want := 5 + 0.1*(c.AmplitudeDeg-280); math.Abs(c.RateSPerDay-want) > 0.001 {
			t.Errorf("hour %v: %.4f s/d at %.2f°, want %.4f", hour, c.RateSPerDay, c.AmplitudeDeg, want)
		}
	}
	if c := at(22); c.Beats != 0 || !math.IsNaN(c.RateSPerDay) {
		t.Errorf("two hours after the stop: %+v", c)
	}
}

func TestMissedBeats(t *testing.T) {
	t.Parallel()
	for _, run := range []float64{0, 5} {
		w := simulate.Lever()
		w.MissedShare, w.MissedRunBeats = 0.2, run
		_, truth := simulate.Sound(w, simulate.QuietRoom(), 4000, 1800, 1)
		runs, before := 0, false
		for _, b := range truth.Beats {
			if b.Missing && !before {
				runs++
			}
			before = b.Missing
		}
		share := float64(truth.MissedCount) / float64(truth.BeatCount)
		mean := float64(truth.MissedCount) / float64(runs)
		// 14 400 beats, of runs of five some 580: share to 0.008, mean run to 4 %; of single beats better.
		if math.Abs(share-0.2) > 0.03 {
			t.Errorf("runs of %v: share missed %v", run, share)
		}
		// At a chance of 1 to leave, no run is longer than one.
		if want := max(1, run); math.Abs(mean/want-1) > 0.16 {
			t.Errorf("mean run %v, want %v", mean, want)
		}
	}
}

// The escape wheel's pattern comes back from the drops, by turns.
func TestWheelPatternFromTimes(t *testing.T) {
	t.Parallel()
	w := steady(simulate.Lever())
	w.BeatErrorMs, w.ScatterUs = 0, 10
	w.WheelPatternUs = simulate.RandomWheelPattern(rand.New(rand.NewPCG(1, 1)), 15, 40)
	_, truth := simulate.Sound(w, simulate.QuietRoom(), 4000, 300, 1)
	slope := slopeSPerBeat(truth.Beats)
	mean, sums, counts := 0.0, make([]float64, 30), make([]float64, 30)
	first := truth.Beats[0]
	for _, b := range truth.Beats {
		late := 1e6 * (b.DropS - first.DropS - slope*float64(b.Number-first.Number))
		mean += late / float64(len(truth.Beats))
		sums[b.Number%30] += late
		counts[b.Number%30]++
	}
	for i, want := range w.WheelPatternUs {
		// 80 turns: 10 µs/√80 = 1.1 µs, of the line as much again; four of it.
		if got := sums[i]/counts[i] - mean; math.Abs(got-want) > 6 {
			t.Errorf("beat %d of the turn: %.1f µs, want %.1f", i, got, want)
		}
	}
}

// Every draw stays within the range stated and makes a sound with a truth.
func TestRandomDraws(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(8, 8))
	seen := map[float64]bool{}
	for i := range 400 {
		w := simulate.RandomWatch(rng)
		seen[w.BeatsPerHour] = true
		if w.BeatsPerHour < 12000 || w.BeatsPerHour > 43200 || w.AmplitudeDeg < 130 || w.AmplitudeDeg > 330 ||
			w.LiftAngleDeg < 38 || w.LiftAngleDeg > 60 || math.Abs(w.BeatErrorMs) > 4 || math.Abs(w.RateSPerDay) > 120 {
			t.Errorf("out of range: %+v", w)
		}
		samples, truth := simulate.Sound(w, simulate.RandomRoom(rng, 15), 44100, 1, uint64(i))
		if want := w.BeatsPerHour / 3600; math.Abs(float64(truth.BeatCount)-want) > 1.1 {
			t.Errorf("%d beats in a second, want %.2f", truth.BeatCount, want)
		}
		for _, b := range truth.Beats {
			if !(b.UnlockingS < b.ImpulseS && b.ImpulseS < b.DropS) {
				t.Errorf("sounds out of order: %+v", b)
			}
		}
		if equal(samples, make([]float32, len(samples))) {
			t.Error("silent")
		}
	}
	for _, usual := range []float64{14400, 18000, 19800, 21600, 25200, 28800, 36000, 43200} {
		if !seen[usual] {
			t.Errorf("%v beats per hour never drawn", usual)
		}
	}
}
