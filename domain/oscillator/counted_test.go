package oscillator_test

import (
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
