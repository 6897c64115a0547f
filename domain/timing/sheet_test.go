package timing

import (
	"maps"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"ledgerwheel/domain/metrology"
)

// typedRun is a run as a form sends it; pairs of names and texts change it.
func typedRun(changes ...string) map[string]string {
	typed := map[string]string{"kind": "final", "instrument": "Bench 2", "clock_ppm": "0,5", "temperature": "23.5 ",
		"states": "0, 24", "columns": "0, 24",
		"rate-CH-0": "+3", "amplitude-CH-0": "285", "beat_error-CH-0": "0.2", "rate-3H-24": "−1,5"}
	for i := 0; i < len(changes); i += 2 {
		typed[changes[i]] = changes[i+1]
	}
	return typed
}

func parse(typed map[string]string) (Sheet, map[string]string) {
	return ParseSheet(func(name string) string { return typed[name] }, CrownAtThree)
}

func TestParseSheet(t *testing.T) {
	t.Parallel()
	s, bad := parse(typedRun())
	if len(bad) > 0 {
		t.Fatalf("problems: %v", bad)
	}
	temperature := 23.5
	figure := func(v, step float64) *Figure { return &Figure{Value: v, Step: step} }
	want := Sheet{Instrument: "Bench 2", ClockPPM: 0.5, TemperatureC: &temperature, States: []float64{0, 24},
		Run: Run{Kind: Final, CrownHour: 3, Readings: []Reading{
			{Position: DialUp, RateSPerDay: figure(3, 1), AmplitudeDeg: figure(285, 1), BeatErrorMs: figure(0.2, 0.1),
				Instrument: "Bench 2", TemperatureC: &temperature},
			{Position: ThreeUp, HoursAfterWinding: 24, RateSPerDay: figure(-1.5, 0.1), Instrument: "Bench 2",
				TemperatureC: &temperature},
		}}}
	if diff := cmp.Diff(want, s); diff != "" {
		t.Error(diff)
	}
	again, bad := parse(s.Typed())
	if diff := cmp.Diff(s, again); diff != "" || len(bad) > 0 {
		t.Errorf("typed again: %s %v", diff, bad)
	}
}

func TestParseSheetRefuses(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name    string
		changes []string
		want    []string // fields with problems
	}{
		{"nothing measured", []string{"rate-CH-0", "", "amplitude-CH-0", "", "beat_error-CH-0", "", "rate-3H-24", ""},
			[]string{"readings"}},
		{"no kind", []string{"kind", ""}, []string{"kind"}},
		{"figure that is none", []string{"rate-CH-0", "fast"}, []string{"rate-CH-0"}},
		{"amplitude beyond a turn", []string{"amplitude-CH-0", "400"}, []string{"amplitude-CH-0"}},
		{"beat error with a sign", []string{"beat_error-CH-0", "-0.2"}, []string{"beat_error-CH-0"}},
		{"clock blank", []string{"clock_ppm", ""}, []string{"clock_ppm"}},
		{"clock negative", []string{"clock_ppm", "-1"}, []string{"clock_ppm"}},
		{"clock beyond reason", []string{"clock_ppm", strings.Repeat("9", 39)}, []string{"clock_ppm"}},
		{"temperature said once, not at each cell", []string{"temperature", "200"}, []string{"temperature"}},
		{"temperature in words", []string{"temperature", "warm"}, []string{"temperature"}},
		{"name too long", []string{"instrument", strings.Repeat("x", 121)}, []string{"instrument"}},
		{"states in words", []string{"states", "full"}, []string{"states"}},
		{"state twice", []string{"states", "0 24 24.001"}, []string{"states"}},
		{"no states", []string{"states", " , "}, []string{"states"}},
		{"too many states", []string{"states", "0 1 2 3 4 5 6 7"}, []string{"states"}},
		{"state with figures left out", []string{"states", "0"}, []string{"states"}},
		{"several at once", []string{"rate-CH-0", "x", "clock_ppm", "y", "states", "z"}, []string{"clock_ppm", "rate-CH-0",
			"states"}},
	} {
		_, bad := parse(typedRun(c.changes...))
		if got := slices.Sorted(maps.Keys(bad)); !slices.Equal(got, c.want) {
			t.Errorf("%s: problems of %q, want %q: %v", c.name, got, c.want, bad)
		}
	}
}

// A state whose figures stand in the grid stays there until they are cleared, so that none is lost unseen.
func TestParseSheetKeepsColumnsWithFigures(t *testing.T) {
	t.Parallel()
	s, _ := parse(typedRun("states", "0, 36"))
	if !slices.Equal(s.States, []float64{0, 24}) {
		t.Errorf("columns %v, want those typed into", s.States)
	}
	s, bad := parse(typedRun("states", "36; 0 24", "rate-3H-24", "+1"))
	if !slices.Equal(s.States, []float64{0, 24, 36}) || len(bad) > 0 {
		t.Errorf("states %v, problems %v", s.States, bad)
	}
	s, bad = parse(typedRun("states", "0, 36 h", "rate-3H-24", " "))
	if !slices.Equal(s.States, []float64{0, 36}) || len(bad) > 0 {
		t.Errorf("states %v, problems %v", s.States, bad)
	}
}

func TestEdits(t *testing.T) {
	t.Parallel()
	before, _ := parse(typedRun())
	after, _ := parse(typedRun("rate-CH-0", "+3.0", "rate-3H-24", "", "beat_error-FH-0", "0.4", "temperature", "", "label",
		"index moved"))
	want := []Edit{
		{"label", "note", "", "index moved"},
		{"temperature", "temperature, °C", "23.5", ""},
		{"rate-CH-0", "rate, CH, full wind", "+3 s/d", "+3.0 s/d"}, // a finer figure is another figure
		{"beat_error-FH-0", "beat error, FH, full wind", "", "0.4 ms"},
		{"rate-3H-24", "rate, 3H, after 24 h", "−1.5 s/d", ""},
	}
	if diff := cmp.Diff(want, Edits(before, after)); diff != "" {
		t.Error(diff)
	}
	if edits := Edits(before, before); len(edits) > 0 {
		t.Errorf("a sheet differs from itself: %v", edits)
	}
}

// What an instrument stated of a figure outlives a form that shows the figure only.
func TestKeepStatedUncertainty(t *testing.T) {
	t.Parallel()
	before, _ := parse(typedRun())
	before.Run.Readings[0].RateSPerDay.StdUncertainty = 0.06
	after, _ := parse(typedRun("amplitude-CH-0", "280"))
	after.Keep(before)
	r, _ := after.Run.Reading(DialUp, 0)
	if r.RateSPerDay.StdUncertainty != 0.06 || r.AmplitudeDeg.Value != 280 {
		t.Errorf("rate %+v, amplitude %+v", r.RateSPerDay, r.AmplitudeDeg)
	}
	if r.Text() != "+3 s/d (u = 0.06), 280°, 0.2 ms" {
		t.Errorf("text %q", r.Text())
	}
	changed, _ := parse(typedRun("rate-CH-0", "+4"))
	changed.Keep(before)
	if r, _ := changed.Run.Reading(DialUp, 0); r.RateSPerDay.StdUncertainty != 0 {
		t.Error("a figure typed anew keeps the uncertainty of the old one")
	}
}

// The two clocks are independent: u² = step²/12 + (0.0864·ppm)²/3 of each sheet, added (JCGM 100, 5.1.2).
func TestCompareSheetsKeepsClocksApart(t *testing.T) {
	t.Parallel()
	before, _ := parse(typedRun("clock_ppm", "50"))
	after, _ := parse(typedRun("clock_ppm", "0.5", "rate-CH-0", "+5"))
	var got metrology.Value
	for _, f := range CompareSheets(before, after).Figures {
		if f.Position == DialUp && f.Quantity == Rate {
			got = f.Change.Value
		}
	}
	u2 := 2.0/12 + math.Pow(0.0864*50, 2)/3 + math.Pow(0.0864*0.5, 2)/3
	if got.Value != 2 || math.Abs(got.StdUncertainty-math.Sqrt(u2)) > 1e-12 { // rounding only
		t.Errorf("change %+v, want 2 with u = %g", got, math.Sqrt(u2))
	}
	if before.Run.Readings[0].Instrument != "Bench 2" {
		t.Error("the comparison renamed the sheet's own instrument")
	}
}

func TestUncertainties(t *testing.T) {
	t.Parallel()
	s, _ := parse(typedRun("clock_ppm", "0"))
	least, greatest, ok := s.Uncertainties(Rate)
	if !ok || math.Abs(least.StdUncertainty-0.1/math.Sqrt(12)) > 1e-12 ||
		math.Abs(greatest.StdUncertainty-1/math.Sqrt(12)) > 1e-12 {
		t.Errorf("least %v, greatest %v: want the resolutions 0.1 and 1 over √12 (JCGM 100, F.2.2.1)", least, greatest)
	}
	if _, _, ok := (Sheet{States: []float64{0}}).Uncertainties(Rate); ok {
		t.Error("an empty sheet has uncertainties")
	}
}

func TestStatesText(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]string{"0": "0", " 24 h, 0 h": "0, 24", "0;36.5": "0, 36.5"} {
		states, problem := parseStates(text)
		if got := StatesText(states); got != want || problem != "" {
			t.Errorf("%q: %q, want %q (%s)", text, got, want, problem)
		}
	}
}
