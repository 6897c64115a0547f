package oscillator_test

import (
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"testing"

	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/oscillator"
	"ledgerwheel/domain/oscillator/madeup"
	"ledgerwheel/domain/timing"
)

// benchClockStd is what the made-up benches' clocks are known to: they are right.
const benchClockStd = 0.02

func madeupOptions(grade string) oscillator.Options {
	return oscillator.Options{Rule: metrology.Guarded, Limits: madeup.Limits(grade),
		Instruments: timing.Instruments{OtherClockStdSPerDay: benchClockStd}, Balance: oscillator.Balance{BeatsPerHour: 28800}}
}

func occasionsOf(runs []timing.Run) []oscillator.Occasion {
	out := make([]oscillator.Occasion, len(runs))
	for i, r := range runs {
		out[i] = oscillator.Occasion{Run: r}
	}
	return out
}

// answer is the report in the words that the counts look at.
func answer(r oscillator.Report) madeup.Answer {
	var a madeup.Answer
	a.Verdict = strings.ReplaceAll(r.Judged.Verdict.String(), " ", "_")
	a.Next.Kind, a.Next.Text = string(r.Next.Kind), r.Next.Text
	for _, x := range r.Advice {
		certainty := "found"
		if x.Suspicion {
			certainty = "suspected"
		}
		a.Advice = append(a.Advice, madeup.Advice{Kind: string(x.Kind), Certainty: certainty, RemovesMetal: x.RemovesMetal,
			Text: x.Title + ". " + x.Correction})
	}
	h := r.Fit.Runs[r.Run].Poise
	a.Poise.Withheld = r.PoiseWithheld
	if r.PoiseGiven {
		a.Poise = madeup.PoiseSaid{Given: true, SizePPM: h.Size.Value, SizeU95PPM: h.Size.Expanded(),
			HeavyAtDeg: h.BearingDeg.Value, HeavyAtU95Deg: h.BearingDeg.Expanded(), Withheld: r.PoiseWithheld}
	}
	if m := r.Regulate; m != nil {
		a.Regulate = &madeup.Regulate{Value: m.Value, U95: m.Expanded()}
	}
	return a
}

// ask is the advice on a watch's runs.
func ask(t *testing.T) madeup.Adviser {
	return func(runs []timing.Run, grade string, _ *rand.Rand) madeup.Answer {
		r, err := oscillator.Advise(occasionsOf(runs), madeupOptions(grade))
		if err != nil {
			t.Error(err)
			return madeup.Answer{}
		}
		return answer(r)
	}
}

// watchesPerClass is how many watches of each kind are made up: a few hundred in every test, more where
// LEDGERWHEEL_WATCHES says so.
func watchesPerClass(t *testing.T, usual int) int {
	t.Helper()
	text := os.Getenv("LEDGERWHEEL_WATCHES")
	if text == "" {
		return usual
	}
	n, err := strconv.Atoi(text)
	if err != nil {
		t.Fatal(err)
	}
	return n
}

// TestAdviceCounted makes up watches by physics written apart from the model and counts what is said of them: whether
// stated uncertainties hold, and whether metal is left alone where it must be.
func TestAdviceCounted(t *testing.T) {
	t.Parallel()
	report := madeup.Count(ask(t), madeup.Options{PerClass: watchesPerClass(t, 150), Seed: 11})
	t.Log("\n" + report.String())
	for _, f := range report.Failures() {
		t.Error(f)
	}
}

// TestConstructedWatches: each watch of the list was once advised on with confidence, and wrongly.
func TestConstructedWatches(t *testing.T) {
	t.Parallel()
	say := ask(t)
	of := func(c madeup.Case) madeup.Answer { return say(c.Runs, c.Grade, nil) }
	kept := func(name string, a madeup.Answer, next ...string) {
		t.Helper()
		found := false
		for _, n := range next {
			found = found || a.Next.Kind == n
		}
		if !found || a.Metal() {
			t.Errorf("%s: next is %s (%s), metal %v; want one of %v", name, a.Next.Kind, a.Next.Text, a.Metal(), next)
		}
	}
	near220 := of(madeup.LiftAngleWrong())
	kept("a lift angle 5 % off near 220°", near220, "power_low", "measure_more")
	if near220.Poise.Given && math.Abs(near220.Poise.HeavyAtDeg-120) > near220.Poise.HeavyAtU95Deg {
		t.Errorf("the bearing is %.0f ± %.0f°", near220.Poise.HeavyAtDeg, near220.Poise.HeavyAtU95Deg)
	}
	odd := of(madeup.MagnetisedPlainly())
	kept("magnetised", odd, "magnetised")
	if odd.Poise.Given || odd.Regulate != nil {
		t.Error("magnetised: something is concluded")
	}
	for _, kind := range []madeup.SpringKind{madeup.EvenSpring, madeup.ElasticCoils} {
		kept("the spring alone, one wind", of(madeup.SpringAlone(kind, madeup.OneWind()...)), "measure_more", "within_limits",
			"spring_in_positions")
		kept("the spring alone, two winds", of(madeup.SpringAlone(kind, madeup.TwoWinds()...)), "measure_more",
			"within_limits", "spring_in_positions")
	}
	good := of(madeup.PassesEveryLimit())
	kept("passes every limit", good, "within_limits")
	if !strings.Contains(good.Next.Text, "24 h") || len(good.Advice) > 0 {
		t.Errorf("passes every limit: %s, %v", good.Next.Text, good.Advice)
	}
	knocks := of(madeup.KnocksLying())
	kept("knocking lying", knocks, "knocking")
	if m := knocks.Regulate; m == nil || m.Value < 0 || math.Abs(m.Value-madeup.Middle(madeup.Modern)) > m.U95 {
		t.Errorf("knocking: regulate by %+v", m)
	}
	slow := of(madeup.LosesTenMinutes())
	kept("ten minutes slow", slow, "check_spring")
	if slow.Regulate != nil {
		t.Error("ten minutes slow: the regulator is moved")
	}
	weak := of(madeup.WeakWithPoise())
	kept("weak with a heavy spot", weak, "power_low")
}

// TestNoCliff lets four hanging rates agree less and less with one heavy spot: what is said of its size widens with it
// and never jumps.
func TestNoCliff(t *testing.T) {
	t.Parallel()
	before := -1.0
	for e := 0.0; e <= 8; e += 0.1 {
		c := madeup.Misfit(e)
		r, err := oscillator.Advise(occasionsOf(c.Runs), madeupOptions(c.Grade))
		if err != nil {
			t.Fatal(err)
		}
		u := r.Fit.Runs[0].Poise.Size.Expanded()
		if before > 0 && math.Abs(u/before-1) > 0.15 {
			t.Errorf("at a misfit of %.1f s/d the size is ± %.0f ppm, before ± %.0f", e, u, before)
		}
		before = u
	}
}
