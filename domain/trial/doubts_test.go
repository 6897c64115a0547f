package trial_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/chronometer"
	"ledgerwheel/domain/timing"
	"ledgerwheel/domain/trial"
)

// trialsTyped is how many trials are made up.
const trialsTyped = 4000

var typedPlan = trial.Plan{Category: chronometer.Category1, Method: trial.ByInstrument,
	FirstDay: time.Date(2026, 11, 2, 0, 0, 0, 0, time.UTC), ReadingMinute: 510}

// typedTrial is a plausible trial, day by day: rates as chronometer.DefaultAssumptions make them with every spread half as
// great again, read a quarter of an hour from the time due as a rule, in a chamber that keeps its tolerance nearly always.
func typedTrial(r *rand.Rand) []trial.Entry {
	const worse = 1.5
	a := chronometer.DefaultAssumptions()
	mean := a.MeanSPerDay + worse*a.MeanStdSPerDay*r.NormFloat64()
	thermal, drift := worse*a.ThermalStdSPerDayC*r.NormFloat64(), worse*a.DriftStdSPerDay2*r.NormFloat64()
	scatter := worse * a.ScatterSPerDay * math.Exp(a.ScatterLogStd*r.NormFloat64())
	of := map[timing.Position]float64{}
	for _, p := range timing.Positions() {
		of[p] = worse * a.PositionStdSPerDay * r.NormFloat64()
	}
	var entries []trial.Entry
	for _, day := range chronometer.Programme() {
		rate := mean + of[day.Position] + thermal*(day.TemperatureC-23) + drift*float64(day.Number) + scatter*r.NormFloat64()
		celsius := math.Round(10*(day.TemperatureC+0.7*r.NormFloat64())) / 10
		entries = append(entries, trial.Entry{Day: day.Number, Position: day.Position, TemperatureC: &celsius,
			Rate:   &timing.Figure{Value: math.Round(10*rate) / 10, Step: 0.1},
			ReadAt: typedPlan.DueAt(day.Number, time.UTC).Add(time.Duration(15*r.NormFloat64()) * time.Minute)})
	}
	return entries
}

// Nothing plausible is slowed: fewer than one day in two hundred is asked about anything.
func TestPlausibleTrialsAreSeldomAsked(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(5, 6))
	asked := 0
	for range trialsTyped {
		entries := typedTrial(r)
		for i, e := range entries {
			if len(e.Doubts(typedPlan, entries[:i], time.UTC)) > 0 {
				asked++
			}
		}
	}
	days := trialsTyped * chronometer.Days
	t.Logf("%d of %d days are asked about", asked, days)
	if 200*asked > days {
		t.Errorf("%d of %d days are asked about, more than one in two hundred", asked, days)
	}
}

// Slips of the hand are asked about, each at least as often as stated, once three days are noted. What stays within what
// watches do, such as the sign of a small rate, is not told from it.
func TestSlipsOfATrialAreAsked(t *testing.T) {
	t.Parallel()
	for n, slip := range []struct {
		name, field string
		least       float64
		spoil       func(*trial.Entry)
	}{
		{"40 s off", "rate", 0.97, func(e *trial.Entry) { e.Rate.Value += 40 }},
		{"the decimal mark left out", "rate", 0.6, func(e *trial.Entry) { e.Rate.Value *= 10 }},
		{"a digit too many", "rate", 0.6, func(e *trial.Entry) { e.Rate.Value = 10*e.Rate.Value + 5 }},
		{"the temperature in the field of the rate", "rate", 0.6, func(e *trial.Entry) { e.Rate.Value = *e.TemperatureC + 5 }},
		{"13:56 for 08:30", "read_time", 1, func(e *trial.Entry) {
			e.ReadAt = typedPlan.DueAt(e.Day, time.UTC).Add(326 * time.Minute)
		}},
		{"the day before", "read_time", 1, func(e *trial.Entry) { e.ReadAt = e.ReadAt.AddDate(0, 0, -1) }},
		{"swapped digits of the temperature", "temperature", 0.6, func(e *trial.Entry) {
			whole := math.Floor(*e.TemperatureC)
			swapped := 10*math.Mod(whole, 10) + math.Floor(whole/10)
			e.TemperatureC = &swapped
		}},
	} {
		r := rand.New(rand.NewPCG(9, uint64(n)))
		asked, tried := 0, 0
		for range trialsTyped / 10 {
			entries := typedTrial(r)
			day := 4 + r.IntN(12)
			e := entries[day-1]
			rate := *e.Rate
			e.Rate = &rate
			slip.spoil(&e)
			tried++
			if e.Doubts(typedPlan, entries[:day-1], time.UTC)[slip.field] != "" {
				asked++
			}
		}
		share := float64(asked) / float64(tried)
		t.Logf("%s: asked about in %.1f %%", slip.name, 100*share)
		if share < slip.least {
			t.Errorf("%s: asked about in %.1f %%, want %.0f %% at least", slip.name, 100*share, 100*slip.least)
		}
	}
}

// A comparison is asked about by the rate it makes, at the time the watch showed; what stands already is not asked about.
func TestComparisonsAreAskedAbout(t *testing.T) {
	t.Parallel()
	p := typedPlan
	p.Method = trial.ByComparison
	var entries []trial.Entry
	state := 0.0
	for day := range 9 {
		at := p.DueAt(day, time.UTC)
		entries = append(entries, trial.Entry{Day: day, Position: timing.SixUp, ReadAt: at,
			Compared: &trial.Compared{Reference: at, Watch: at.Add(time.Duration(state * float64(time.Second))), WithinS: 0.5}})
		state += 3
	}
	last := entries[8]
	at := last.Compared.Watch.Add(40 * time.Second)
	slip := last
	slip.Compared = &trial.Compared{Reference: last.Compared.Reference, Watch: at, WithinS: 0.5}
	if asked := slip.Doubts(p, entries[:8], time.UTC); !strings.Contains(asked["watch_time"], "+43.0 s/d on day 8") ||
		!strings.Contains(asked["watch_time"], "+3.0 s/d") {
		t.Errorf("40 s off: %v", asked)
	}
	if asked := last.Doubts(p, entries[:8], time.UTC); len(asked) > 0 {
		t.Errorf("as it should be, yet %v", asked)
	}
	if asked := slip.Doubts(p, append(entries[:8:8], slip), time.UTC); len(asked) > 0 {
		t.Errorf("asked again: %v", asked)
	}
}
