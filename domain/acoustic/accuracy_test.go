package acoustic_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"sync"
	"testing"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/acoustic/simulate"
)

// bench draws a recording as it is made on a bench: a watch within what is repaired, its resonances between 1.5 and
// 8.5 kHz, its unlocking 3 to 20 dB below the drop, its amplitude drifting by up to 4 degrees and breathing, and the
// noise of the room white, so that its level says all of it. RandomRecording goes far beyond in every respect.
func bench(rng *rand.Rand, snrDB float64) simulate.Recording {
	r := simulate.RandomRecording(rng, snrDB)
	r.Room = simulate.Room{SNRdB: snrDB, PeakDBFS: max(r.Room.PeakDBFS, -20), ClockPPM: r.Room.ClockPPM, Bits: 16}
	w := &r.Watch
	w.Body = nil
	w.WanderDeg, w.SwayDeg = min(w.WanderDeg, 1.5), min(w.SwayDeg, 1)
	w.AmplitudeDriftDeg = max(-4, min(4, w.AmplitudeDriftDeg))
	w.AmplitudeDeg = max(w.AmplitudeDeg, 180)
	for i := range w.Voices {
		v := &w.Voices[i]
		v.Unlocking.DB = -3 - 17*rng.Float64()
		for _, c := range []*simulate.Click{&v.Unlocking, &v.Impulse, &v.Drop} {
			c.AttackUs = 20 + 0.3*c.AttackUs
			for k := range c.Modes {
				c.Modes[k].Hz = 1500 + 7000*rng.Float64()
				c.Modes[k].DecayMs = 0.5 + 1.5*rng.Float64()
			}
		}
		for k := range v.Drop.Modes {
			v.Drop.Modes[k].DecayMs += 0.5
		}
	}
	return r
}

// trialRun is one made recording beside what was heard of it.
type trialRun struct {
	truth  simulate.Truth
	result acoustic.Result
	err    error
}

// listenToMany makes and hears n recordings, as many at a time as there are processors.
func listenToMany(n int, seed uint64, draw func(rng *rand.Rand) simulate.Recording, settings func(simulate.Truth) acoustic.Settings) []trialRun {
	runs := make([]trialRun, n)
	var wait sync.WaitGroup
	slots := make(chan struct{}, runtime.GOMAXPROCS(0))
	for i := range runs {
		slots <- struct{}{}
		wait.Go(func() {
			defer func() { <-slots }()
			rng := rand.New(rand.NewPCG(seed, uint64(i)))
			rec := draw(rng)
			samples, truth := rec.Sound()
			runs[i].truth = truth
			runs[i].result, runs[i].err = analyse(samples, truth.RateHz, settings(truth))
		})
	}
	wait.Wait()
	return runs
}

func toldLift(t simulate.Truth) acoustic.Settings {
	return acoustic.Settings{LiftAngleDeg: t.LiftAngleDeg}
}

// tally counts errors of one figure against what is stated.
type tally struct {
	errors  []float64
	covered int
	absent  int
}

func (t *tally) add(err, std float64) {
	t.errors = append(t.errors, math.Abs(err))
	if math.Abs(err) <= 2*std {
		t.covered++
	}
}

func (t *tally) rms() float64 {
	sum := 0.0
	for _, e := range t.errors {
		sum += e * e
	}
	return math.Sqrt(sum / float64(len(t.errors)))
}

func (t *tally) median() float64 {
	c := slices.Sorted(slices.Values(t.errors))
	return c[len(c)/2]
}

// beyond is the share of all recordings off by more than bound, those without the figure included.
func (t *tally) beyond(bound float64) float64 {
	n := t.absent
	for _, e := range t.errors {
		if e > bound {
			n++
		}
	}
	return float64(n) / float64(len(t.errors)+t.absent)
}

func (t *tally) coverage() float64 { return float64(t.covered) / float64(len(t.errors)) }

// TestAccuracy counts, on simulated recordings in three ranges of signal to noise, how far the figures are from the
// truth and how often the stated uncertainty (k = 2) holds it. The bounds are what is promised to the watchmaker.
func TestAccuracy(t *testing.T) {
	t.Parallel()
	count := 60
	if testing.Short() {
		count = 30
	}
	for i, band := range []struct {
		name                      string
		lowDB, highDB             float64
		rate                      float64 // rms, s/d
		amplitude, amplitudeShare float64 // median, degrees; share beyond 5 degrees or not given
		beatError, beatErrorShare float64 // median, ms; share beyond 0.15 ms
		leastCoverage             float64
		wrongBeats                float64
	}{
		{"20 dB and more", 20, 40, 0.08, 0.7, 0.03, 0.02, 0.03, 0.9, 0},
		{"9 to 20 dB", 9, 20, 0.12, 1.5, 0.09, 0.05, 0.06, 0.9, 0},
		// Of an unlocking 20 dB below such a drop there is nothing to be had: where it does not stand out no amplitude is
		// given, in about one recording of six, which count among the share here.
		{"5 to 9 dB", 5, 9, 0.25, 3, 0.34, 0.1, 0.1, 0.75, 1},
	} {
		t.Run(band.name, func(t *testing.T) {
			t.Parallel()
			runs := listenToMany(count, 1000+uint64(i), func(rng *rand.Rand) simulate.Recording {
				return bench(rng, band.lowDB+(band.highDB-band.lowDB)*rng.Float64())
			}, toldLift)
			var rate, amplitude, beatError tally
			deaf, wrongBeat := 0, 0
			for _, r := range runs {
				if r.err != nil {
					deaf++
					continue
				}
				// Of an odd calibre the nominal beat cannot be told from the rate.
				if math.Abs(r.result.BeatsPerHour/r.truth.BeatsPerHour-1) > 0.004 {
					wrongBeat++
					t.Logf("%.0f beats heard as %.0f at %.1f dB", r.truth.BeatsPerHour, r.result.BeatsPerHour, r.truth.SNRdB)
					continue
				}
				if r.result.BeatsPerHour == r.truth.BeatsPerHour {
					rate.add(r.result.Rate.Value-r.truth.ApparentRateSPerDay, r.result.RateFitStdSPerDay)
				}
				if r.result.Amplitude == nil {
					amplitude.absent++
				} else {
					amplitude.add(r.result.Amplitude.Value-r.truth.AmplitudeDeg, r.result.Amplitude.StdUncertainty)
				}
				beatError.add(math.Abs(r.result.BeatError.Value)-r.truth.BeatErrorMagnitudeMs, r.result.BeatError.StdUncertainty)
			}
			t.Logf("rate rms %.3f s/d, held %.2f; amplitude median %.2f°, beyond 5° or absent %.2f, held %.2f; beat error median %.4f ms, beyond 0.15 ms %.3f, held %.2f; deaf %d, wrong beat %d of %d",
				rate.rms(), rate.coverage(), amplitude.median(), amplitude.beyond(5), amplitude.coverage(),
				beatError.median(), beatError.beyond(0.15), beatError.coverage(), deaf, wrongBeat, count)
			hold := func(what string, got, most float64) {
				t.Helper()
				if !(got <= most) {
					t.Errorf("%s %.3f, promised %.3f", what, got, most)
				}
			}
			// Counted on 300: none, none, and one, a watch whose second swing was lost in the noise.
			hold("wrong beats per hour", float64(wrongBeat), band.wrongBeats)
			hold("deaf", float64(deaf), 0.04*float64(count))
			hold("rate rms", rate.rms(), band.rate)
			hold("amplitude median", amplitude.median(), band.amplitude)
			hold("amplitude beyond 5°", amplitude.beyond(5), band.amplitudeShare)
			hold("beat error median", beatError.median(), band.beatError)
			hold("beat error beyond 0.15 ms", beatError.beyond(0.15), band.beatErrorShare)
			// Of 100 draws the count itself is uncertain by 2 to 4.
			for what, c := range map[string]float64{"rate": rate.coverage(), "amplitude": amplitude.coverage(), "beat error": beatError.coverage()} {
				if c < band.leastCoverage-0.04 {
					t.Errorf("the stated uncertainty of the %s held in %.2f, promised %.2f", what, c, band.leastCoverage)
				}
			}
		})
	}
}

// TestRateAgainstCramerRao holds the rate's error against the Cramér-Rao bound that the scatter of the beats sets: the
// variance of the slope of a line through n points of scatter σ is 12σ²/(n³−n) (Kay, Fundamentals of Statistical Signal
// Processing I, 1993, example 3.7). The drops' own scatter, common and single, is what a perfect listener would see.
func TestRateAgainstCramerRao(t *testing.T) {
	t.Parallel()
	count := 80
	runs := listenToMany(count, 77, func(rng *rand.Rand) simulate.Recording {
		r := bench(rng, 30)
		w := &r.Watch
		w.WheelPatternUs, w.Train, w.IsochronismSPerDayPerDeg = nil, nil, 0
		w.ScatterUs = 5 + 25*rng.Float64()
		w.JitterUs = 0.2 * w.ScatterUs
		r.RateHz = 48000
		return r
	}, toldLift)
	var sum float64
	n := 0
	for _, r := range runs {
		if r.err != nil || r.result.BeatsPerHour != r.truth.BeatsPerHour {
			continue
		}
		beats := float64(r.truth.BeatCount)
		bound := 86400 * r.truth.BeatScatterUs * 1e-6 * math.Sqrt(12/(beats*beats*beats-beats)) / (3600 / r.truth.BeatsPerHour)
		e := (r.result.Rate.Value - r.truth.ApparentRateSPerDay) / bound
		sum += e * e
		n++
	}
	ratio := math.Sqrt(sum / float64(n))
	t.Logf("rms error of the rate over the Cramér-Rao bound of the beats' scatter: %.2f, of %d recordings", ratio, n)
	// The ratio of so many squares is itself uncertain by 1/√(2n) = 6.5 %.
	if n < count*9/10 || ratio > 1.2*1.13 {
		t.Errorf("ratio %.2f of %d", ratio, n)
	}
}

// TestNoWatch makes rooms without a watch: noise of every colour, hum, speech, knocks, quartz clocks.
func TestNoWatch(t *testing.T) {
	t.Parallel()
	runs := listenToMany(48, 99, func(rng *rand.Rand) simulate.Recording {
		r := simulate.RandomRecording(rng, 25*rng.Float64())
		r.Watch = simulate.Watch{}
		switch rng.IntN(4) {
		case 0:
			q := simulate.RandomQuartz(rng)
			r.Room.Quartz = &q
		case 1:
			r.Room.Knocks = &simulate.Knocks{DB: 20, PerMinute: 40}
		case 2:
			r.Room.Speech = &simulate.Speech{DB: 6, PerMinute: 12, PitchHz: 130}
		}
		return r
	}, func(simulate.Truth) acoustic.Settings { return acoustic.Settings{} })
	for i, r := range runs {
		if r.err == nil {
			t.Errorf("room %d: a watch of %v beats was heard", i, r.result.BeatsPerHour)
		}
	}
}

// TestWideDraw hears recordings over the whole range of the simulator, far beyond a bench: whatever is in them, the
// beat is found and what is stated of the rate holds.
func TestWideDraw(t *testing.T) {
	t.Parallel()
	runs := listenToMany(40, 5, func(rng *rand.Rand) simulate.Recording {
		return simulate.RandomRecording(rng, 12+25*rng.Float64())
	}, toldLift)
	var rate tally
	wrong, deaf := 0, 0
	for _, r := range runs {
		switch {
		case r.err != nil:
			deaf++
		case math.Abs(r.result.BeatsPerHour/r.truth.BeatsPerHour-1) > 0.004:
			wrong++
		case r.result.BeatsPerHour == r.truth.BeatsPerHour:
			rate.add(r.result.Rate.Value-r.truth.ApparentRateSPerDay, r.result.RateFitStdSPerDay)
		}
	}
	t.Logf("rate median %.3f s/d, held %.2f; deaf %d, wrong beat %d", rate.median(), rate.coverage(), deaf, wrong)
	if wrong > 0 || deaf > 2 || rate.coverage() < 0.85 || rate.median() > 0.06 {
		t.Error("see the counts above")
	}
}

// TestUsualBeats finds every usual number of beats an hour unaided.
func TestUsualBeats(t *testing.T) {
	t.Parallel()
	beats := []float64{12000, 14400, 16200, 18000, 19800, 21600, 25200, 28800, 36000, 43200}
	for _, bph := range beats {
		t.Run(fmt.Sprint(bph), func(t *testing.T) {
			t.Parallel()
			w := simulate.Lever()
			w.BeatsPerHour, w.RateSPerDay = bph, -35
			room := simulate.QuietRoom()
			room.SNRdB = 12
			x, _ := simulate.Sound(w, room, 44100, 12, uint64(bph))
			r, err := analyse(x, 44100, acoustic.Settings{})
			if err != nil || r.BeatsPerHour != bph {
				t.Errorf("found %v, %v", r.BeatsPerHour, err)
			}
		})
	}
}
