package madeup

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
)

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s: %.3f, want %.3f ± %g", what, got, want, within)
	}
}

// TestHeavySpotByPosition: a spot at 6 o'clock stands lowest with 12 up (common practice: then it gains below 220°).
func TestHeavySpotByPosition(t *testing.T) {
	t.Parallel()
	for hour, p := range map[float64]timing.Position{180: timing.TwelveUp, 0: timing.SixUp, 270: timing.ThreeUp,
		90: timing.NineUp} {
		for _, hanging := range []float64{170, 265} {
			w := plain(hanging+20, hanging)
			w.Poise = Poise{SizePPM: 1000, HeavyAtDeg: hour}
			for _, q := range timing.Positions() {
				rate, lowest := w.RateSPerDay(q, State{}), w.RateSPerDay(p, State{})
				switch {
				case q.Horizontal():
					near(t, "lying", rate, 0, 1e-6)
				case q != p && hanging < 220 && rate >= lowest, q != p && hanging > 220 && rate <= lowest:
					t.Errorf("spot at %g° at %g°: %s %.2f against %s %.2f", hour, hanging, p, lowest, q, rate)
				}
			}
			near(t, "mean of all", w.MeanSPerDay(), 0, 0.02)
		}
	}
}

// TestSpringIsScaledAt220: its peak to peak and direction are those stated, by the integrated period.
func TestSpringIsScaledAt220(t *testing.T) {
	t.Parallel()
	for _, kind := range []SpringKind{EvenSpring, ElasticCoils} {
		for i := range spirals {
			w := plain(240, 220)
			w.Spring = Spring{Kind: kind, PeakToPeakSPerDay: 12, GainsWithUpDeg: 90, Spiral: i}
			near(t, "3 up", w.RateSPerDay(timing.ThreeUp, State{}), 6, 0.02)
			near(t, "9 up", w.RateSPerDay(timing.NineUp, State{}), -6, 0.02)
			near(t, "12 up", w.RateSPerDay(timing.TwelveUp, State{}), 0, 0.02)
			near(t, "first order", w.Spring.SpringSPerDay(3, 220), 6, 1e-9)
			near(t, "dial up", w.RateSPerDay(timing.DialUp, State{}), 0, 1e-6)
		}
	}
}

func TestIsochronismIsAsStated(t *testing.T) {
	t.Parallel()
	for _, share := range []float64{0, 0.4, 1} {
		w := plain(270, 270)
		w.IsochronismSPerDay, w.QuarticShare, w.BaseSPerDay = -14, share, 3
		near(t, "at 270°", w.RateSPerDay(timing.DialUp, State{}), 3, 1e-6)
		w.LyingDeg = 210
		near(t, "at 210°", w.RateSPerDay(timing.DialUp, State{}), 3-14, 0.01)
	}
}

func TestStatesOfWind(t *testing.T) {
	t.Parallel()
	w := plain(290, 260)
	w.OffsetDeg = map[timing.Position]float64{timing.SixUp: -5}
	near(t, "full", w.AmplitudeDeg(timing.SixUp, State{}), 255, 0)
	near(t, "a day", w.AmplitudeDeg(timing.SixUp, State{HoursAfterWinding: 24}), 230, 0)
	near(t, "let down", w.AmplitudeDeg(timing.SixUp, LetDown(150)[1]), 145, 0)
	near(t, "let down, lying", w.AmplitudeDeg(timing.DialUp, LetDown(150)[1]), 180, 0)
}

// TestBench counts that what is read scatters about the truth as stated.
func TestBench(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(3, 4))
	w := plain(300, 270)
	w.BeatErrorMs = 0.8
	b := Bench{LiftAngleRel: -0.03, RepeatabilitySPerDay: 1.5, RateStepSPerDay: 1, AmplitudeNoiseDeg: 2,
		AmplitudeStepDeg: 1, BeatNoiseMs: 0.05, BeatStepMs: 0.1, Repeats: 1}
	var rate, rate2, amplitude, n float64
	for range 500 {
		for _, r := range b.Read(w, AsReceived, twoWinds, rng) {
			if r.RateSPerDay != math.Round(r.RateSPerDay) || r.AmplitudeDeg != math.Round(r.AmplitudeDeg) {
				t.Fatalf("%+v is not in the display's steps", r)
			}
			rate, rate2, n = rate+r.RateSPerDay, rate2+r.RateSPerDay*r.RateSPerDay, n+1
			s := State{HoursAfterWinding: r.Hours}
			amplitude += r.AmplitudeDeg - 0.97*w.AmplitudeDeg(r.Position, s)
		}
	}
	near(t, "readings", n, 500*2*2*6, 0)
	near(t, "mean rate", rate/n, 0, 0.06)
	near(t, "scatter", math.Sqrt(rate2/n), math.Hypot(1.5, 1/math.Sqrt(12)), 0.06)
	near(t, "amplitude", amplitude/n, 0, 0.1)
}

// TestRunsAreReadable: what is made is what the program can keep, and a file has a line for each reading.
func TestRunsAreReadable(t *testing.T) {
	t.Parallel()
	for _, c := range Cases() {
		if len(c.Runs) != 1 || c.Runs[0].Title() != AsReceived {
			t.Fatalf("%s: %d runs", c.Name, len(c.Runs))
		}
		for field, problem := range c.Runs[0].Problems() {
			t.Errorf("%s: %s: %s", c.Name, field, problem)
		}
		if lines := strings.Count(CSV(c.Rows), "\n"); lines != 1+len(c.Rows) {
			t.Errorf("%s: %d lines", c.Name, lines)
		}
	}
	for i, name := range Classes() {
		for k := range 20 {
			c, ok := Draw(name, k, Options{Seed: 7})
			if !ok || c.Name != name {
				t.Fatalf("class %d is not drawn", i)
			}
			for field, problem := range c.Runs[0].Problems() {
				t.Errorf("%s: %s: %s", c.Name, field, problem)
			}
		}
	}
	rows := append(exact.Read(plain(280, 260), AfterService, oneWind, rand.New(rand.NewPCG(1, 1))),
		exact.Read(plain(280, 260), AfterAdjustment(2), oneWind, rand.New(rand.NewPCG(1, 1)))...)
	runs := exact.Runs(rows, 3)
	if len(runs) != 2 || runs[0].Title() != AfterService || runs[1].Title() != AfterAdjustment(2) {
		t.Errorf("runs are titled %q", runs[0].Title())
	}
}

func TestCorrected(t *testing.T) {
	t.Parallel()
	w := plain(290, 270)
	w.Poise = Poise{SizePPM: 1000, HeavyAtDeg: 40}
	near(t, "all of it", w.Corrected(Correction{TakenPPM: 1000, TakenAtDeg: 40}).Poise.SizePPM, 0, 1e-9)
	half := w.Corrected(Correction{TakenPPM: 400, TakenAtDeg: 40, RegulatorSPerDay: 5})
	near(t, "what is left", half.Poise.SizePPM, 600, 1e-9)
	near(t, "where", half.Poise.HeavyAtDeg, 40, 1e-9)
	near(t, "lying", half.RateSPerDay(timing.DialUp, State{}), 5, 1e-9)
	wrong := w.Corrected(Correction{TakenPPM: 1000, TakenAtDeg: 220})
	near(t, "taken off the wrong side", wrong.Poise.SizePPM, 2000, 1e-9)
	near(t, "added on the other side", w.Corrected(Correction{TakenPPM: -1000, TakenAtDeg: 220}).Poise.SizePPM, 0, 1e-9)

	k := KnocksLying().Watch.Corrected(Correction{MainspringRight: true})
	near(t, "knocking cured", k.RateSPerDay(timing.DialUp, State{}), 0, 0.01)
	m := MagnetisedPlainly().Watch.Corrected(Correction{Demagnetised: true})
	near(t, "demagnetised", m.DeltaSPerDay(), 0, 1e-6)
	s := SpringAlone(ElasticCoils, oneWind...).Watch.Corrected(Correction{SpringCentred: true})
	near(t, "spring centred", s.DeltaSPerDay(), 0, 1e-6)
	p := WeakWithPoise().Watch.Corrected(Correction{HangingDeg: 265})
	near(t, "cleaned", p.AmplitudeDeg(timing.SixUp, State{}), 265, 0)

	var off float64
	rng := rand.New(rand.NewPCG(5, 6))
	for range 2000 {
		x := w.CorrectedBy(Hand{TakenRel: 0.1}, Correction{TakenPPM: 1000, TakenAtDeg: 40}, rng).Poise.SizePPM
		off += x * x / 2000
	}
	near(t, "by a hand", math.Sqrt(off), 100, 6)
}

// TestCasesReadAsStated holds the constructed watches to the figures they are named for.
func TestCasesReadAsStated(t *testing.T) {
	t.Parallel()
	rates := func(c Case, hours float64) map[timing.Position]float64 {
		out := map[timing.Position]float64{}
		for _, r := range c.Rows {
			if r.Hours == hours {
				out[r.Position] = r.RateSPerDay
			}
		}
		return out
	}
	c := LiftAngleWrong()
	near(t, "shown", c.Rows[2].AmplitudeDeg, 223, 0)
	for p, want := range map[timing.Position]float64{timing.DialUp: 43, timing.DialDown: 3, timing.ThreeUp: 60,
		timing.SixUp: 25, timing.NineUp: -5, timing.TwelveUp: 37} {
		near(t, "magnetised "+string(p), rates(MagnetisedPlainly(), 0)[p], want, 0.05)
	}
	s := rates(SpringAlone(EvenSpring, twoWinds...), 24)
	near(t, "12 up less 6 up", s[timing.TwelveUp]-s[timing.SixUp], 13, 0.15)
	near(t, "delta", PassesEveryLimit().Watch.DeltaSPerDay(), 5, 0.05)
	near(t, "mean", PassesEveryLimit().Watch.MeanSPerDay(), 4.5, 0.01)
	k := rates(KnocksLying(), 0)
	near(t, "knocking", k[timing.DialUp], 44, 0.1)
	near(t, "mean with knocking", (k[timing.DialUp]+k[timing.DialDown])/6, 14.67, 0.05)
	near(t, "mean without", KnocksLying().Watch.MeanSPerDay(), 0, 0.01)
	near(t, "losing", rates(LosesTenMinutes(), 0)[timing.NineUp], -600, 0.05)
	near(t, "weak", WeakWithPoise().Rows[3].AmplitudeDeg, 175, 0)
	a, b := rates(Misfit(0), 0), rates(Misfit(2.5), 0)
	near(t, "misfit", b[timing.ThreeUp]-a[timing.ThreeUp], 2.5, 1e-9)
	near(t, "misfit", b[timing.SixUp]-a[timing.SixUp], -2.5, 1e-9)
}

// TestGoodWatchesAreGood: each keeps every limit of its grade by its true figures, with a delta of 5 at most.
func TestGoodWatchesAreGood(t *testing.T) {
	t.Parallel()
	for i := range 300 {
		c, _ := Draw("good", i, Options{Seed: 11})
		true0 := exact
		true0.RateStepSPerDay, true0.AmplitudeStepDeg, true0.BeatStepMs = 0, 0, 0
		run := readAs("", c.Grade, c.Watch, twoWinds, true0, rand.New(rand.NewPCG(1, 1))).Runs[0]
		verdict := timing.Judge(run, Limits(c.Grade), metrology.Simple, timing.Instruments{})
		if verdict.Verdict != metrology.Pass {
			t.Errorf("watch %d, %s: %v", i, c.Grade, verdict.Verdict)
		}
		if d := c.Watch.DeltaSPerDay(); d > 5 {
			t.Errorf("watch %d: delta %.1f", i, d)
		}
	}
}
