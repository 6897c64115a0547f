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
	"ledgerwheel/domain/published"
)

// trialRun is one made recording beside what was heard of it.
type trialRun struct {
	truth  simulate.Truth
	result acoustic.Result
	err    error
}

// listenToMany makes and hears n recordings, as many at a time as there are processors.
func listenToMany(n int, seed uint64, draw func(rng *rand.Rand) simulate.Recording,
	settings func(simulate.Truth) acoustic.Settings) []trialRun {
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

// nominal are the shares of a normal quantity within one and two standard uncertainties.
var nominal = [2]float64{0.6827, 0.9545}

// tally counts errors of one figure against what is stated.
type tally struct {
	errors    []float64
	withinOne int // within one standard uncertainty
	within    int // within two
	absent    int
}

func (t *tally) add(err, std float64) {
	t.errors = append(t.errors, math.Abs(err))
	if math.Abs(err) <= std {
		t.withinOne++
	}
	if math.Abs(err) <= 2*std {
		t.within++
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

// beyond is how many of all recordings are off by more than bound, those without the figure included.
func (t *tally) beyond(bound float64) int {
	n := t.absent
	for _, e := range t.errors {
		if e > bound {
			n++
		}
	}
	return n
}

func (t *tally) String() string {
	return fmt.Sprintf("rms %.4f, median %.4f, within u %d, within U %d of %d, absent %d", t.rms(), t.median(),
		t.withinOne, t.within, len(t.errors), t.absent)
}

// closeTo holds an average of errors to what was measured, both sides: what is better than it ever was is more likely
// measured on nothing. The spread of the rms of n errors of kurtosis κ is √((κ−1)/4n); these, of watches and noises
// that differ much, have a κ near 8, so that two spreads are 2.7/√n. The median of so many is known a little better.
func closeTo(t *testing.T, what string, got, measured float64, n int) {
	t.Helper()
	if room := 1 + 2.7/math.Sqrt(float64(n)); !(got <= measured*room && got >= measured/room) {
		t.Errorf("%s is %.4f, where %.4f was measured, times or over %.2f", what, got, measured, room)
	}
}

// band is a range of signal to noise and what was measured in it.
type band struct {
	name                       string
	lowDB, highDB              float64
	rate, amplitude, beatError float64 // rms, s/d; median, degrees; median, ms
	amplitudeOff, beatErrorOff int     // most of 60 beyond 5 degrees or not given, and beyond 0.15 ms
	// shares within one and two standard uncertainties
	rateHeld, amplitudeHeld, beatHeld [2]float64
	wrongBeats                        int
}

// TestAccuracy counts, on simulated recordings in three ranges of signal to noise, how far the figures are from the
// truth and how often the stated uncertainty holds it: two thirds within one standard uncertainty, which bites on both
// sides, and 95 % within two, or what was measured where it is known to be otherwise.
func TestAccuracy(t *testing.T) {
	t.Parallel()
	count := 60
	if testing.Short() {
		count = 30
	}
	for i, b := range []band{
		// In good sound amplitude and beat error are better than is stated of them, by about two thirds.
		{"20 dB and more", 20, 40, 0.024, 0.27, 0.007, 1, 2, nominal, [2]float64{0.88, 0.98}, [2]float64{0.90, 0.97}, 0},
		// The uncertainty must hold where the amplitude drifts unheard too, so it is wide where it does not.
		{"9 to 20 dB", 9, 20, 0.081, 0.55, 0.0118, 5, 2, [2]float64{0.80, 0.9545}, [2]float64{0.87, 0.98},
			[2]float64{0.83, 0.9545}, 0},
		// Of an unlocking 20 dB below such a drop there is nothing to be had: where it does not stand out no amplitude is
		// given, in three recordings of ten, which count among those off here. Where one is given, what is stated of it
		// holds in nine of ten (155 of 172): the rest is mostly the impulse, taken for the unlocking.
		// The rate's rms is one or two recordings' and went from 0.12 to 0.21 by how the arithmetic was rounded.
		{"5 to 9 dB", 5, 9, 0.16, 1.40, 0.0270, 24, 5, [2]float64{0.75, 0.92}, [2]float64{0.62, 0.90},
			[2]float64{0.80, 0.94}, 1},
	} {
		t.Run(b.name, func(t *testing.T) {
			t.Parallel()
			runs := listenToMany(count, 1000+uint64(i), func(rng *rand.Rand) simulate.Recording {
				return simulate.BenchRecording(rng, b.lowDB+(b.highDB-b.lowDB)*rng.Float64())
			}, toldLift)
			b.holds(t, runs)
		})
	}
}

func (b band) holds(t *testing.T, runs []trialRun) {
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
		if r.result.BeatError == nil {
			beatError.absent++
			continue
		}
		beatError.add(math.Abs(r.result.BeatError.Value)-r.truth.BeatErrorMagnitudeMs, r.result.BeatError.StdUncertainty)
	}
	n := len(runs)
	t.Logf("rate %v; amplitude %v, beyond 5° or absent %d; beat error %v, beyond 0.15 ms %d; deaf %d, wrong beat %d of %d",
		&rate, &amplitude, amplitude.beyond(5), &beatError, beatError.beyond(0.15), deaf, wrongBeat, n)
	for _, c := range []struct {
		what      string
		got, most int
	}{
		{"wrong beats per hour", wrongBeat, b.wrongBeats}, // counted on 300: none, none, and one, whose second swing was lost
		{"deaf", deaf, 0},
		{"amplitudes beyond 5°", amplitude.beyond(5), b.amplitudeOff},
		{"beat errors beyond 0.15 ms", beatError.beyond(0.15), b.beatErrorOff},
	} {
		if c.got > c.most {
			t.Errorf("%s: %d, at most %d", c.what, c.got, c.most)
		}
	}
	closeTo(t, "rate, rms", rate.rms(), b.rate, n)
	closeTo(t, "amplitude, median", amplitude.median(), b.amplitude, n)
	closeTo(t, "beat error, median", beatError.median(), b.beatError, n)
	for what, c := range map[string]struct {
		tally tally
		held  [2]float64
	}{"rate": {rate, b.rateHeld}, "amplitude": {amplitude, b.amplitudeHeld}, "beat error": {beatError, b.beatHeld}} {
		published.Share(t, what+" within u", c.tally.withinOne, len(c.tally.errors), c.held[0], 2.5) // eighteen shares in all
		published.Share(t, what+" within U", c.tally.within, len(c.tally.errors), c.held[1], 2.5)
	}
}

// TestRateAgainstCramerRao holds the rate's error against the Cramér-Rao bound that the scatter of the beats sets: the
// variance of the slope of a line through n points of scatter σ is 12σ²/(n³−n) (Kay, Fundamentals of Statistical Signal
// Processing I, 1993, example 3.7). The drops' own scatter, common and single, is what a perfect listener would see. Where
// the unlocking is not heard, a drift of the amplitude may hide in the rate, which is stated: of those, there are few.
func TestRateAgainstCramerRao(t *testing.T) {
	t.Parallel()
	count := 80
	runs := listenToMany(count, 77, func(rng *rand.Rand) simulate.Recording {
		r := simulate.BenchRecording(rng, 30)
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
		if r.err != nil || r.result.BeatsPerHour != r.truth.BeatsPerHour || r.result.Amplitude == nil {
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
	// The root of so many squares is itself uncertain by 1/√(2n), 8 %; two of that about the 1.04 measured. A listener
	// that stays far below the bound was told the truth.
	if n < count*95/100 || ratio > 1.04*1.16 || ratio < 1.04/1.16 {
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
	t.Logf("rate %v; deaf %d, wrong beat %d", &rate, deaf, wrong)
	if wrong > 0 || deaf > 0 {
		t.Errorf("%d deaf, %d beats wrong", deaf, wrong)
	}
	closeTo(t, "rate, median", rate.median(), 0.020, len(runs))
	published.Share(t, "rate within u", rate.withinOne, len(rate.errors), nominal[0], 2)
	published.Share(t, "rate within U", rate.within, len(rate.errors), nominal[1], 2)
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
