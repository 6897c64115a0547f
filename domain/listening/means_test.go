package listening_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/acoustic/simulate"
	"ledgerwheel/domain/listening"
	"ledgerwheel/domain/metrology"
)

// held counts how often a stated uncertainty held.
type held struct{ within, of int }

func (h *held) add(v metrology.Value, truth float64) {
	h.of++
	if math.Abs(v.Value-truth) <= v.Expanded() {
		h.within++
	}
}

// share holds the count against a share: no further below than chance takes it once in a thousand (3.1 standard
// deviations of the binomial).
func (h *held) share(t *testing.T, what string, least float64) {
	t.Helper()
	n := float64(h.of)
	t.Logf("%s: %d of %d within the stated uncertainty", what, h.within, h.of)
	if h.of == 0 || float64(h.within)/n < least-3.1*math.Sqrt(least*(1-least)/n) {
		t.Errorf("%s: what is stated to hold in 95 of 100 holds in %d of %d", what, h.within, h.of)
	}
}

// off is how far a mean lies from the whole, which is what it is stated for.
func off(v metrology.Value, whole float64) metrology.Value {
	v.Value -= whole
	return v
}

// truthOf are the true figures of a piece of a simulated watch: the rate by least squares through its passages.
func truthOf(beats []simulate.Beat, fromS, toS, bph float64) (rate, amplitude float64) {
	var n, x, y, xx, xy float64
	for _, b := range beats {
		if b.DropS < fromS || b.DropS >= toS {
			continue
		}
		k := float64(b.Number)
		n, x, y, xx, xy = n+1, x+k, y+b.RestS, xx+k*k, xy+k*b.RestS
		amplitude += b.AmplitudeDeg
	}
	period := (n*xy - x*y) / (n*xx - x*x)
	return 86400 * (3600/bph/period - 1), amplitude / n
}

// TestMeansHoldAsStated counts how often the stated uncertainty of a ten-second mean holds, of watches whose amplitude
// and rate wander, with and without a pattern of the escape wheel, in sound from poor to good.
func TestMeansHoldAsStated(t *testing.T) {
	t.Parallel()
	var rate, amplitude, beatError held
	r := rand.New(rand.NewPCG(10, 30))
	const rateHz, seconds = 44100, 60
	for i := range 48 {
		w := simulate.Lever()
		w.RateSPerDay, w.AmplitudeDeg, w.BeatErrorMs = 20*r.NormFloat64(), 210+90*r.Float64(), 1.2*r.Float64()
		w.WanderDeg, w.WanderS = r.Float64(), 20
		w.RateWanderSPerDay, w.RateWanderS = 2*r.Float64(), 15
		if i%2 == 0 {
			for range 30 {
				w.WheelPatternUs = append(w.WheelPatternUs, 25*r.NormFloat64())
			}
		}
		sound, truth := simulate.Sound(w, simulate.Room{SNRdB: 12 + 25*r.Float64(), PeakDBFS: -10}, rateHz, seconds, uint64(i))
		l, err := acoustic.NewListener(rateHz, acoustic.Settings{})
		if err != nil {
			t.Fatal(err)
		}
		l.Write(sound)
		result, err := l.Result()
		if err != nil || result.Amplitude == nil || result.BeatError == nil {
			t.Fatalf("watch %d is not heard: %v", i, err)
		}
		means := listening.Means(result, 6)
		if len(means) != 6 {
			t.Fatalf("%d means of a minute", len(means))
		}
		for k, m := range means {
			if m.FromS != float64(10*k) || m.ToS != m.FromS+10 {
				t.Fatalf("mean %d is from %v to %v s", k, m.FromS, m.ToS)
			}
			trueRate, trueAmplitude := truthOf(truth.Beats, m.FromS, m.ToS, truth.BeatsPerHour)
			rate.add(m.Rate, trueRate)
			if m.Amplitude == nil || m.BeatError == nil {
				t.Fatalf("watch %d has no amplitude or beat error in mean %d", i, k)
			}
			amplitude.add(off(*m.Amplitude, result.Amplitude.Value), trueAmplitude-truth.AmplitudeDeg)
			beatError.add(off(*m.BeatError, result.BeatError.Value), 0)
		}
	}
	rate.share(t, "rate", 0.95)
	amplitude.share(t, "amplitude", 0.95)
	beatError.share(t, "beat error", 0.95)
}

// even is a result of a watch of 18 000 beats without scatter, its rate 0 by its first half and 8.64 s/d, one part in
// ten thousand, by its second.
func even(seconds float64) acoustic.Result {
	amplitude := metrology.Value{Value: 270, StdUncertainty: 0.5, Unit: "°"}
	r := acoustic.Result{BeatsPerHour: 18000, LiftAngleDeg: 52, Seconds: seconds, Amplitude: &amplitude,
		Rate: metrology.Value{Unit: "s/d"}, BeatError: &metrology.Value{Value: 0.4, Unit: "ms"}}
	for n := range int64(seconds * 5) {
		b := acoustic.Beat{Number: n, TimeS: float64(n) / 5, LiftMs: 12, Used: n != 7}
		if b.TimeS >= seconds/2 {
			b.ResidualMs = -0.02 * float64(n-int64(seconds*5/2))
			b.LiftMs = 12.12
			b.TimeS += (b.ResidualMs + 0.06) / 1e3 // and half of what the lift is longer by
		}
		r.Beats = append(r.Beats, b)
	}
	return r
}

func TestMeansFollowTheWatch(t *testing.T) {
	t.Parallel()
	means := listening.MeansOf(even(40), 10)
	if len(means) != 4 {
		t.Fatalf("%d means", len(means))
	}
	for k, want := range []float64{0, 0, 8.64, 8.64} {
		m := means[k]
		// One part in ten thousand is 8.64 s/d to a thousandth of that; the lift is 1 % longer, the amplitude 1 % less but
		// for the sine's curvature.
		if math.Abs(m.Rate.Value-want) > 0.01 {
			t.Errorf("piece %d goes %.3f s/d, want %.2f", k, m.Rate.Value, want)
		}
		if less := m.Amplitude.Value < 270; less != (k >= 2) || math.Abs(m.Amplitude.Value-270) > 1.5 {
			t.Errorf("piece %d swings %.2f°", k, m.Amplitude.Value)
		}
		if math.Abs(m.BeatError.Value-0.4) > 1e-9 {
			t.Errorf("piece %d has a beat error of %v ms", k, m.BeatError.Value)
		}
	}
	if means[0].Beats != 49 {
		t.Errorf("%d beats, one is not used", means[0].Beats)
	}
	if n := len(listening.MeansOf(even(39.9), 10)); n != 3 {
		t.Errorf("%d means of less than four pieces", n)
	}
	if n := len(listening.Means(even(3600), 12)); n == 0 || n > 12 {
		t.Errorf("%d means of an hour, at most 12 are asked for", n)
	}
	if got := listening.Means(acoustic.Result{}, 6); len(got) != 0 {
		t.Errorf("means of nothing: %v", got)
	}
}
