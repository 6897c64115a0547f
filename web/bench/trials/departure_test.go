package trials_test

import (
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/chronometer"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/timing"
	"ledgerwheel/domain/tongue"
	"ledgerwheel/web/bench/trials"
	"ledgerwheel/web/page"
)

// TestDeparturesAreSaidInFull: each way not to follow the programme is said in English as the judgement words it, and in the
// customer's language with the same figures, written as there.
func TestDeparturesAreSaidInFull(t *testing.T) {
	t.Parallel()
	number := func(x float64) *float64 { return &x }
	no := false
	noon := time.Date(2026, 11, 2, 12, 0, 0, 0, time.UTC)
	trial := chronometer.Trial{Category: 1, Start: noon, Settling: &chronometer.Settling{Hours: 8.5, TemperatureC: 18.4}}
	for _, day := range chronometer.Programme() {
		trial.Days = append(trial.Days, chronometer.DayRecord{Day: day.Number, Position: day.Position, TemperatureC: number(day.TemperatureC), Rate: &timing.Figure{Value: 2, Step: 0.1}})
	}
	trial.Days[0].ReadAt = noon.Add(20 * time.Hour)
	trial.Days[1].ReadAt = trial.Days[0].ReadAt.Add(26 * time.Hour)
	trial.Days[4].Rate, trial.Days[4].Missed = nil, true
	trial.Days[6].Rate = nil
	trial.Days[8].Position = timing.SixUp
	trial.Days[9].FunctionsEngaged = &no
	trial.Days[11].TemperatureC = number(30.5)
	sh := shop.Defaults()
	ways := map[chronometer.WayKind]bool{}
	for _, w := range trial.Warnings() {
		ways[w.Way.Kind] = true
		for _, in := range []tongue.Tongue{"", tongue.English} {
			if got := trials.DepartureSaid(page.VoiceOf(in, sh), w); got != w.Text {
				t.Errorf("in English %q, judged as %q", got, w.Text)
			}
		}
		for _, in := range []tongue.Tongue{tongue.German, tongue.French} {
			say := page.VoiceOf(in, sh)
			got := trials.DepartureSaid(say, w)
			for _, figure := range []string{w.Way.Is, w.Way.Want, w.Way.Within} {
				if !strings.Contains(got, say.Figures(figure)) {
					t.Errorf("%q lacks %q", got, figure)
				}
			}
			for _, c := range w.Spoils {
				if !strings.Contains(got, c.Symbol()) {
					t.Errorf("%q lacks %s", got, c.Symbol())
				}
			}
			if strings.Contains(got, "paper.") || strings.Contains(got, "Day ") || strings.Contains(got, "<no value>") {
				t.Errorf("%s: %q", in, got)
			}
			t.Logf("%s", got)
		}
	}
	for _, kind := range chronometer.WayKinds {
		if !ways[kind] {
			t.Errorf("nothing departed by %s", kind)
		}
	}
}
