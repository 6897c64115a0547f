package poising_test

import (
	"math"
	"strings"
	"testing"

	"ledgerwheel/domain/oscillator"
	"ledgerwheel/domain/poising"
	"ledgerwheel/domain/timing"
)

// typedRound is a round at 165° of a watch with a heavy spot: its share in s/d, fastest with fastestUp uppermost.
func typedRound(share, fastestUp float64, eight bool) map[string]string {
	typed := map[string]string{}
	for _, up := range oscillator.PoisingUps(eight) {
		rate := math.Round(5 + share*math.Cos((up-fastestUp)*math.Pi/180))
		f := timing.Figure{Value: rate, Step: 1}
		typed[poising.Field(timing.Rate, up)] = f.InputText(timing.Rate)
		typed[poising.Field(timing.Amplitude, up)] = "165"
	}
	return typed
}

func parsed(t *testing.T, typed map[string]string) poising.Round {
	t.Helper()
	r, bad := poising.Parse(func(field string) string { return typed[field] })
	if len(bad) > 0 {
		t.Fatalf("refused: %v", bad)
	}
	return r
}

// TestRoundsToTheEnd: rounds as typed lead from a cut over the last cut to stop, and over to the other side when too
// much was taken off. Below the neutral amplitude the fastest position has the heavy spot lowest (Kleinlein 1920,
// section 28).
func TestRoundsToTheEnd(t *testing.T) {
	t.Parallel()
	first, second, over, last := parsed(t, typedRound(36, 270, true)), parsed(t, typedRound(10, 270, false)),
		parsed(t, typedRound(12, 90, true)), parsed(t, typedRound(3, 270, true))
	said := poising.Judge([]poising.Round{first, second, last}, oscillator.Balance{})
	for i, want := range []oscillator.PoisingState{oscillator.PoisingLighten, oscillator.PoisingLast, oscillator.PoisingStop} {
		if said[i].State != want {
			t.Errorf("round %d: %s, want %s: %s", i+1, said[i].State, want, said[i].Text)
		}
	}
	if at := said[0].HeavyAtDeg.Value; math.Abs(at-90) > 2 { // rates in whole seconds move it by less than that
		t.Errorf("heavy at %.1f°, want 90°", at)
	}
	said = poising.Judge([]poising.Round{first, over}, oscillator.Balance{})
	if said[1].State != oscillator.PoisingTurned {
		t.Errorf("overshot: %s", said[1].State)
	}
	// A round that could not be judged does not hide the cut before it.
	said = poising.Judge([]poising.Round{first, {}, over}, oscillator.Balance{})
	if said[2].State != oscillator.PoisingTurned {
		t.Errorf("overshot after an empty round: %s", said[2].State)
	}
	for _, s := range said {
		if poising.StateWords(s.State) == "" {
			t.Errorf("no words for %q", s.State)
		}
	}
}

func TestRoundAsTyped(t *testing.T) {
	t.Parallel()
	typed := typedRound(36, 45, true)
	typed["done"] = "about 20 µg off at the rim"
	again := parsed(t, typed).Typed()
	for field, want := range typed {
		if again[field] != want {
			t.Errorf("%s: %q typed, %q shown again", field, want, again[field])
		}
	}
	for _, c := range []struct{ field, text, problem, words string }{
		{"rate-45", "fast", "rate-45", "fast"},
		{"rate-45", "", "rate-45", "Give the rate too"},
		{"amplitude-90", "", "amplitude-90", "Give the amplitude too"},
		{"amplitude-90", "400", "amplitude-90", "below 360"},
		{"done", strings.Repeat("x", 501), "done", "500"},
	} {
		wrong := typedRound(36, 45, true)
		wrong[c.field] = c.text
		if _, bad := poising.Parse(func(f string) string { return wrong[f] }); !strings.Contains(bad[c.problem], c.words) {
			t.Errorf("%s %q: %v", c.field, c.text, bad)
		}
	}
	if _, bad := poising.Parse(func(string) string { return "" }); bad["readings"] == "" {
		t.Error("an empty round was taken")
	}
}

func TestWordsOfThePoints(t *testing.T) {
	t.Parallel()
	want := []string{"12 up", "half past 1 up", "3 up", "half past 4 up", "6 up", "half past 7 up", "9 up", "half past 10 up"}
	positions := []timing.Position{"12H", "", "3H", "", "6H", "", "9H", ""}
	for i, up := range oscillator.PoisingUps(true) {
		if got := poising.UpWords(up); got != want[i] {
			t.Errorf("%g°: %q, want %q", up, got, want[i])
		}
		if p, found := poising.Position(up); p != positions[i] || found != (positions[i] != "") {
			t.Errorf("%g°: position %q", up, p)
		}
	}
}

// TestCopyOfARun: the hanging readings of a run are taken over as read; one at full wind is none to poise at.
func TestCopyOfARun(t *testing.T) {
	t.Parallel()
	run := timing.Run{}
	for i, p := range timing.Positions() {
		for _, hours := range []float64{0, 36} {
			amplitude := 270.0
			if hours > 0 {
				amplitude = 165
			}
			run.Readings = append(run.Readings, timing.Reading{Position: p, HoursAfterWinding: hours,
				RateSPerDay: &timing.Figure{Value: float64(i), Step: 1}, AmplitudeDeg: &timing.Figure{Value: amplitude, Step: 1}})
		}
	}
	if poising.AtPoising(run, 0) || !poising.AtPoising(run, 36) || poising.AtPoising(run, 24) {
		t.Error("the state of wind to poise at was not told")
	}
	copied := poising.Copied(run, 36)
	at := timing.Positions()
	for i, p := range at {
		hour, hanging := p.UppermostHour()
		if !hanging {
			continue
		}
		field := poising.Field(timing.Rate, float64(hour%12)*30)
		want := (timing.Figure{Value: float64(i), Step: 1}).InputText(timing.Rate)
		if copied[field] != want {
			t.Errorf("%s: %q, want %q", p, copied[field], want)
		}
	}
	if len(copied) != 8 {
		t.Errorf("%d figures copied", len(copied))
	}
}
