package acoustic_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/acoustic/simulate"
)

func plain(t *testing.T, rateHz, seconds, snrDB float64, change func(*simulate.Watch, *simulate.Room)) ([]float32,
	simulate.Truth) {
	t.Helper()
	w, room := simulate.Lever(), simulate.QuietRoom()
	room.SNRdB = snrDB
	if change != nil {
		change(&w, &room)
	}
	return simulate.Sound(w, room, rateHz, seconds, 11)
}

func mustHear(t *testing.T, x []float32, rateHz float64, s acoustic.Settings) acoustic.Result {
	t.Helper()
	r, err := analyse(x, rateHz, s)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// near fails when the figures are not those of the truth within some of their own standard uncertainties, and at least
// a little.
func near(t *testing.T, r acoustic.Result, truth simulate.Truth) {
	t.Helper()
	if d := math.Abs(r.Rate.Value - truth.ApparentRateSPerDay); d > 4*r.RateFitStdSPerDay+0.02 {
		t.Errorf("rate %.3f, want %.3f", r.Rate.Value, truth.ApparentRateSPerDay)
	}
	if r.Amplitude == nil {
		t.Error("no amplitude")
	} else if d := math.Abs(r.Amplitude.Value - truth.AmplitudeDeg); d > 4*r.Amplitude.StdUncertainty+0.5 {
		t.Errorf("amplitude %.1f, want %.1f", r.Amplitude.Value, truth.AmplitudeDeg)
	}
	// Of a recording that begins in the midst of a beat the first beat heard may not be the first that is there.
	if d := math.Abs(math.Abs(r.BeatError.Value) - math.Abs(truth.BeatErrorMs)); d > 4*r.BeatError.StdUncertainty {
		t.Errorf("beat error %.3f, want %.3f", r.BeatError.Value, truth.BeatErrorMs)
	}
}

func TestSamplingRates(t *testing.T) {
	t.Parallel()
	for _, rateHz := range []float64{22050, 44100, 48000, 88200, 96000, 192000} {
		x, truth := plain(t, rateHz, 12, 30, nil)
		r := mustHear(t, x, rateHz, acoustic.Settings{LiftAngleDeg: truth.LiftAngleDeg})
		near(t, r, truth)
		if r.BeatsUsed < 90 || r.BeatsMissed > 2 {
			t.Errorf("%v Hz: %d beats, %d missed", rateHz, r.BeatsUsed, r.BeatsMissed)
		}
	}
}

// TestLevels hears a watch from a whisper of a few steps of sixteen bits to one clipped by 20 dB.
func TestLevels(t *testing.T) {
	t.Parallel()
	for _, peak := range []float64{-70, -50, -20, -6, 12, 20} {
		x, truth := plain(t, 48000, 12, 25, func(_ *simulate.Watch, room *simulate.Room) {
			room.PeakDBFS, room.ClipAt, room.Bits = peak, 1, 16
		})
		r := mustHear(t, x, 48000, acoustic.Settings{LiftAngleDeg: truth.LiftAngleDeg})
		near(t, r, truth)
		clipped := slices.ContainsFunc(r.Notes, func(n acoustic.Note) bool { return n.Code == acoustic.NoteClipped })
		if clipped != (peak > 0) {
			t.Errorf("%v dB: clipped noted: %v", peak, clipped)
		}
	}
}

// TestShort hears five seconds.
func TestShort(t *testing.T) {
	t.Parallel()
	x, truth := plain(t, 48000, 5, 25, nil)
	r := mustHear(t, x, 48000, acoustic.Settings{LiftAngleDeg: truth.LiftAngleDeg})
	near(t, r, truth)
	if !slices.ContainsFunc(r.Notes, func(n acoustic.Note) bool { return n.Code == acoustic.NoteShort }) {
		t.Error("not noted as short")
	}
}

// TestPieces: however the sound comes in, the result is the same.
func TestPieces(t *testing.T) {
	t.Parallel()
	x, _ := plain(t, 48000, 70, 20, nil)
	whole := mustHear(t, x, 48000, acoustic.Settings{})
	l, err := acoustic.NewListener(48000, acoustic.Settings{})
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(1, 2))
	for rest := x; len(rest) > 0; {
		n := min(len(rest), 1+rng.IntN(5000))
		l.Write(rest[:n])
		if rest = rest[n:]; rng.IntN(200) == 0 {
			_, _ = l.Result() // to ask changes nothing
		}
	}
	got, err := l.Result()
	if err != nil {
		t.Fatal(err)
	}
	equal := cmp.Comparer(func(a, b float64) bool { return a == b || math.IsNaN(a) && math.IsNaN(b) })
	if d := cmp.Diff(whole, got, equal); d != "" {
		t.Errorf("whole and in pieces (-,+):\n%.2000s", d)
	}
}

// TestProcessors: what is heard does not depend on how many processors hear it, to the bit. The watch begins late, so
// that later blocks wait for what it is, in a block that is mostly dead silence, against which all would stand out.
func TestProcessors(t *testing.T) {
	x, _ := plain(t, 16000, 230, 15, func(w *simulate.Watch, room *simulate.Room) {
		room.Knocks = &simulate.Knocks{DB: 20, PerMinute: 10}
	})
	clear(x[:70*16000])
	var heard []acoustic.Result
	for _, n := range []int{1, 2, 5} {
		before := runtime.GOMAXPROCS(n)
		heard = append(heard, mustHear(t, x, 16000, acoustic.Settings{}))
		runtime.GOMAXPROCS(before)
	}
	if len(heard[0].Stretches) < 4 {
		t.Errorf("%d stretches only", len(heard[0].Stretches))
	}
	equal := cmp.Comparer(func(a, b float64) bool { return a == b || math.IsNaN(a) && math.IsNaN(b) })
	for _, other := range heard[1:] {
		if d := cmp.Diff(heard[0], other, equal); d != "" {
			t.Errorf("by one processor and by many (-,+):\n%.2000s", d)
		}
	}
}

// TestSign: the interval from the first beat to the second is the longer when the beat error is positive.
func TestSign(t *testing.T) {
	t.Parallel()
	for _, ms := range []float64{1.5, -1.5} {
		x, truth := plain(t, 48000, 12, 30, func(w *simulate.Watch, room *simulate.Room) {
			w.BeatErrorMs, room.StartS = ms,
				0.7
		})
		r := mustHear(t, x, 48000, acoustic.Settings{})
		want := truth.BeatErrorMs
		// The very first beat may have been missed: then the other swing is the tick.
		if late := math.Round((r.StartS - truth.FirstS) * 8); int(late)%2 == 1 {
			want = -want
		}
		if math.Abs(r.BeatError.Value-want) > 0.1 {
			t.Errorf("beat error %v, want %.3f", r.BeatError, want)
		}
	}
}

func TestClock(t *testing.T) {
	t.Parallel()
	x, truth := plain(t, 48000, 15, 30, func(_ *simulate.Watch, room *simulate.Room) { room.ClockPPM = 40 })
	r := mustHear(t, x, 48000, acoustic.Settings{Clock: acoustic.Clock{PPM: 40, StdPPM: 1}})
	// A tenth of a second a day: three times what fifteen seconds of this watch leave uncertain.
	if math.Abs(r.Rate.Value-truth.RateSPerDay) > 0.1 {
		t.Errorf("rate %v, want %v", r.Rate, truth.RateSPerDay)
	}
	if want := math.Hypot(r.RateFitStdSPerDay, 0.0864); math.Abs(r.Rate.StdUncertainty-want) > 1e-9 {
		t.Errorf("uncertainty %v, want %v", r.Rate.StdUncertainty, want)
	}
}

// TestWhatIsNoWatch feeds what can be computed without a microphone.
func TestWhatIsNoWatch(t *testing.T) {
	t.Parallel()
	const n = 10 * 48000
	make := func(f func(i int) float64) []float32 {
		x := make([]float32, n)
		for i := range x {
			x[i] = float32(f(i))
		}
		return x
	}
	tone := func(hz, level float64) func(int) float64 {
		return func(i int) float64 { return level * math.Sin(2*math.Pi*hz*float64(i)/48000) }
	}
	for name, f := range map[string]func(int) float64{
		"silence": func(int) float64 { return 0 }, "one level": func(int) float64 { return 0.7 },
		"nothing that is a number": func(int) float64 { return math.NaN() }, "infinite": func(int) float64 {
			return math.Inf(-1)
		},
		"enormous": func(i int) float64 { return 3e38 * float64(i%2) }, "440 Hz": tone(440, 0.5),
		"440 Hz whispered": tone(440, 0.001),
		"100 Hz clipped":   func(i int) float64 { return max(-1, min(1, tone(100, 1.5)(i))) }, "2000 Hz": tone(2000, 0.5),
		"a beat of two tones": func(i int) float64 { return tone(3000, 0.3)(i) + tone(3008, 0.3)(i) },
		"one knock":           func(i int) float64 { return map[bool]float64{true: 1}[i == n/2] },
		"tiny":                func(i int) float64 { return 1e-40 * float64(i%3) },
	} {
		if r, err := analyse(make(f), 48000, acoustic.Settings{}); !errors.Is(err, acoustic.ErrNoWatch) {
			t.Errorf("%s: %v beats, rate %v, error %v", name, r.BeatsPerHour, r.Rate, err)
		}
	}
	for _, short := range []int{0, 1, 100, 5000, 48000} {
		if _, err := analyse(make(tone(440, 0.5))[:short], 48000, acoustic.Settings{}); !errors.Is(err, acoustic.ErrNoWatch) {
			t.Errorf("%d samples: %v", short, err)
		}
	}
}

func TestSettingsRefused(t *testing.T) {
	t.Parallel()
	for _, s := range []acoustic.Settings{
		{BeatsPerHour: 100}, {BeatsPerHour: math.NaN()}, {LiftAngleDeg: 5}, {LiftAngleDeg: 180}, {LiftAngleDeg: math.NaN()},
		{Clock: acoustic.Clock{PPM: math.NaN()}}, {Clock: acoustic.Clock{StdPPM: -1}}, {Clock: acoustic.Clock{PPM: 1e6}},
	} {
		if _, err := acoustic.NewListener(48000, s); err == nil {
			t.Errorf("%+v was taken", s)
		}
	}
	for _, rateHz := range []float64{0, -1, 100, 1e9, math.NaN(), math.Inf(1)} {
		if _, err := acoustic.NewListener(rateHz, acoustic.Settings{}); err == nil {
			t.Errorf("%v Hz was taken", rateHz)
		}
	}
}

// TestStated: a calibre of an odd beat is heard against what it was made for.
func TestStated(t *testing.T) {
	t.Parallel()
	x, truth := plain(t, 48000, 15, 25, func(w *simulate.Watch, _ *simulate.Room) { w.BeatsPerHour = 18514.2857 })
	r := mustHear(t, x, 48000, acoustic.Settings{BeatsPerHour: 18514.2857, LiftAngleDeg: truth.LiftAngleDeg})
	near(t, r, truth)
	if !r.BeatsPerHourStated {
		t.Error("not marked as stated")
	}
}

func TestDisturbed(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		change func(*simulate.Watch, *simulate.Room)
		code   acoustic.NoteCode
	}{
		"missing beats": {func(w *simulate.Watch, _ *simulate.Room) { w.MissedShare = 0.15 }, acoustic.NoteMissed},
		"stops":         {func(w *simulate.Watch, _ *simulate.Room) { w.StopS, w.DyingS = 9, 1 }, acoustic.NoteStops},
		"hum": {func(_ *simulate.Watch, room *simulate.Room) {
			room.Hum = &simulate.Hum{Hz: 50, DB: 6, Harmonics: 3, Fall: 1}
		}, acoustic.NoteHum},
		"second watch": {func(_ *simulate.Watch, room *simulate.Room) {
			other := simulate.Lever()
			other.BeatsPerHour, other.RateSPerDay = 21600, 40
			room.Second = &simulate.SecondWatch{Watch: other, DB: -8}
		}, acoustic.NoteSecondWatch},
		"quartz clock": {func(_ *simulate.Watch, room *simulate.Room) {
			q := simulate.RandomQuartz(rand.New(rand.NewPCG(3, 4)))
			q.DB = 0
			room.Quartz = &q
		}, acoustic.NoteQuartz},
		"drift": {func(w *simulate.Watch, _ *simulate.Room) { w.AmplitudeDriftDeg = 15 }, acoustic.NoteDrift},
		"odd":   {func(w *simulate.Watch, _ *simulate.Room) { w.BeatsPerHour = 23000 }, acoustic.NoteOddBeat},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			x, truth := plain(t, 48000, 20, 28, c.change)
			r := mustHear(t, x, 48000, acoustic.Settings{LiftAngleDeg: truth.LiftAngleDeg})
			if !slices.ContainsFunc(r.Notes, func(n acoustic.Note) bool { return n.Code == c.code }) {
				t.Errorf("not noted: %v", r.Notes)
			}
			if name != "odd" && name != "stops" {
				near(t, r, truth)
			}
		})
	}
}

func TestWheelFound(t *testing.T) {
	t.Parallel()
	for _, teeth := range []int{12, 15, 20, 21} {
		pattern := simulate.RandomWheelPattern(rand.New(rand.NewPCG(uint64(teeth), 1)), teeth, 40)
		x, _ := plain(t, 48000, 40, 30, func(w *simulate.Watch, _ *simulate.Room) {
			w.WheelPatternUs, w.ScatterUs = pattern,
				8
		})
		r := mustHear(t, x, 48000, acoustic.Settings{})
		if r.Wheel == nil || r.Wheel.Teeth != teeth {
			t.Fatalf("%d teeth: %+v", teeth, r.Wheel)
		}
		if len(r.Wheel.Ms) != 2*teeth || !(r.Wheel.StdMs > 0 && r.Wheel.StdMs < 0.02) {
			t.Errorf("%d teeth: %d means of %v ms", teeth, len(r.Wheel.Ms), r.Wheel.StdMs)
		}
	}
	x, _ := plain(t, 48000, 40, 30, nil)
	if r := mustHear(t, x, 48000, acoustic.Settings{}); r.Wheel != nil {
		t.Errorf("a pattern of %d teeth where there is none", r.Wheel.Teeth)
	}
}

func TestInstants(t *testing.T) {
	t.Parallel()
	x, _ := plain(t, 48000, 15, 30, nil)
	r := mustHear(t, x, 48000, acoustic.Settings{})
	same := r.WithInstants(acoustic.Instants{UnlockingMs: math.NaN(), DropMs: math.NaN()},
		acoustic.Instants{UnlockingMs: math.NaN(), DropMs: math.NaN()})
	// The marks lie where the unlockings are in the mean, so that nothing moves but by the weights of the two swings.
	if math.Abs(same.Amplitude.Value-r.Amplitude.Value) > 0.3 || *same.BeatError != *r.BeatError {
		t.Errorf("nothing corrected: %v, %v", same.Amplitude, same.BeatError)
	}
	// The drop of the tock a tenth of a millisecond later: the beat error grows as much.
	moved := r.WithInstants(acoustic.Instants{UnlockingMs: math.NaN(), DropMs: math.NaN()},
		acoustic.Instants{UnlockingMs: math.NaN(), DropMs: 0.1})
	if d := moved.BeatError.Value - r.BeatError.Value; math.Abs(d-0.1) > 1e-12 {
		t.Errorf("beat error moved by %v", d)
	}
	// A = (lift/2)/sin(π·f·t) by hand: 52 degrees, 28800 beats an hour (4 Hz), 7 ms: 26/sin(0.0879646) = 295.95.
	hand := r.WithInstants(acoustic.Instants{UnlockingMs: -7}, acoustic.Instants{UnlockingMs: -7})
	if math.Abs(hand.Amplitude.Value-295.95) > 0.01 {
		t.Errorf("amplitude %v, want 295.95", hand.Amplitude)
	}
}

// TestLongRun hears a watch run down over half an hour, piece by piece against the truth.
func TestLongRun(t *testing.T) {
	t.Parallel()
	const rateHz, seconds = 16000, 1800
	w, room := simulate.Lever(), simulate.QuietRoom()
	room.SNRdB = 25
	w.AmplitudeDriftDeg, w.IsochronismSPerDayPerDeg = -80, 0.05
	w.BeatErrorMs = 0.8
	l, err := acoustic.NewListener(rateHz, acoustic.Settings{LiftAngleDeg: w.LiftAngleDeg})
	if err != nil {
		t.Fatal(err)
	}
	truth := simulate.Stream(w, room, rateHz, seconds, 5, l.Write)
	r, err := l.Result()
	if err != nil {
		t.Fatal(err)
	}
	if missing := truth.BeatCount - int64(r.BeatsUsed); missing < 0 || missing > truth.BeatCount/100 {
		t.Errorf("%d of %d beats used", r.BeatsUsed, truth.BeatCount)
	}
	if d := r.Beats[len(r.Beats)-1].Number - (truth.BeatCount - 1); d < -2 || d > 2 {
		t.Errorf("the last beat has number %d of %d", r.Beats[len(r.Beats)-1].Number, truth.BeatCount)
	}
	if math.Abs(r.Rate.Value-truth.ApparentRateSPerDay) > 3*r.RateFitStdSPerDay {
		t.Errorf("rate %v, want %v", r.Rate, truth.ApparentRateSPerDay)
	}
	held, n := 0, 0
	for _, s := range r.Stretches {
		for _, c := range truth.Course {
			if c.StartS > s.StartS || c.EndS < s.EndS-20 || s.Amplitude == nil {
				continue
			}
			// The minute and the stretch overlap but in part: the amplitude falls by 2.7 degrees a minute.
			if math.Abs(s.Amplitude.Value-c.AmplitudeDeg) > 2*s.Amplitude.StdUncertainty+2.7 ||
				math.Abs(math.Abs(s.BeatError.Value)-math.Abs(c.BeatErrorMs)) > 3.5*s.BeatError.StdUncertainty+0.02 {
				t.Errorf("from %.0f s: amplitude %v, beat error %v; truth %.1f, %.3f", s.StartS, s.Amplitude, s.BeatError,
					c.AmplitudeDeg, c.BeatErrorMs)
			}
			n++
			if math.Abs(s.Rate.Value-c.RateSPerDay) < 2*s.Rate.StdUncertainty+0.05*2.7 {
				held++
			}
		}
	}
	if n < 10 || float64(held) < 0.9*float64(n) {
		t.Errorf("the rate held in %d of %d stretches", held, n)
	}
	run := acoustic.LongRun(r.Stretches, r)
	if run.RateOnAmplitude == nil || math.Abs(run.RateOnAmplitude.Slope.Value-0.05) > 3*run.RateOnAmplitude.Slope.StdUncertainty {
		t.Errorf("rate on amplitude %+v, want 0.05", run.RateOnAmplitude)
	}
}

// TestMemory: what is kept does not grow with the sound. Two hours come in the place of a day; the second hour must
// take no more than the first, but for the beats, which are thinned.
func TestMemory(t *testing.T) {
	x, _ := plain(t, 8000, 60, 25, nil)
	l, err := acoustic.NewListener(8000, acoustic.Settings{})
	if err != nil {
		t.Fatal(err)
	}
	heap := func() float64 {
		var m runtime.MemStats
		_, _ = l.Result() // all blocks are heard
		runtime.GC()
		runtime.GC() // what pools keep goes the second time
		runtime.ReadMemStats(&m)
		return float64(m.HeapAlloc) / (1 << 20)
	}
	hour := func() {
		for range 60 {
			l.Write(x)
		}
	}
	hour()
	first := heap()
	hour()
	second := heap()
	t.Logf("%.1f MiB after one hour, %.1f after two", first, second)
	if second > first+4 {
		t.Errorf("%.1f MiB after one hour, %.1f after two", first, second)
	}
	runtime.KeepAlive(l)
}

// analyse listens to one whole recording.
func analyse(samples []float32, rateHz float64, s acoustic.Settings) (acoustic.Result, error) {
	l, err := acoustic.NewListener(rateHz, s)
	if err != nil {
		return acoustic.Result{}, err
	}
	l.Write(samples)
	return l.Result()
}
