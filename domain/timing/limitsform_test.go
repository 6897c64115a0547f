package timing

import (
	"maps"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func TestRateLimitsTypedAndReadAgain(t *testing.T) {
	t.Parallel()
	for _, g := range ShippedGrades() {
		typed := g.Typed()
		got, bad := ParseRateLimits(g.Grade, 1, func(name string) string { return typed[name] }, nil)
		if diff := cmp.Diff(g, got); diff != "" || len(bad) > 0 {
			t.Errorf("%s: %s %v", g.Grade, diff, bad)
		}
		if changes := LimitChanges(g, got); len(changes) > 0 {
			t.Errorf("%s: changes %q of itself", g.Grade, changes)
		}
	}
}

func TestParseRateLimitsRefuses(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name   string
		change map[string]string
		want   []string
	}{
		{"no figure", map[string]string{"upper-delta": "ten"}, []string{"upper-delta"}},
		{"ends crossed", map[string]string{"lower-mean_rate": "+9"}, []string{"lower-mean_rate"}},
		{"beat error below nought", map[string]string{"lower-greatest_beat_error": "-1"},
			[]string{"lower-greatest_beat_error"}},
		{"amplitude of a whole turn", map[string]string{"upper-greatest_amplitude": "360"},
			[]string{"upper-greatest_amplitude"}},
		{"no reason", map[string]string{"reason-delta": " "}, []string{"reason-delta"}},
		{"no name", map[string]string{"name": ""}, []string{"name"}},
		{"reasons too long", map[string]string{"reasons": strings.Repeat("x", 2001)}, []string{"reasons"}},
	} {
		typed := chronometerGrade().Typed()
		maps.Copy(typed, c.change)
		_, bad := ParseRateLimits("chronometer-style", 2, func(name string) string { return typed[name] }, nil)
		if got := slices.Sorted(maps.Keys(bad)); !slices.Equal(got, c.want) {
			t.Errorf("%s: problems of %q, want %q", c.name, got, c.want)
		}
	}
	_, bad := ParseRateLimits("modern", 2, func(string) string { return "" }, nil)
	if bad["limits"] == "" || bad["name"] == "" {
		t.Errorf("an empty form: %v", bad)
	}
}

func TestLimitChanges(t *testing.T) {
	t.Parallel()
	before := modernGrade()
	typed := before.Typed()
	typed["upper-delta"], typed["lower-isochronism"], typed["upper-isochronism"], typed["reason-mean_rate"] = "15", "", "",
		"Tightened after a year."
	after, _ := ParseRateLimits("modern", 2, func(name string) string { return typed[name] }, []Position{DialUp, DialDown,
		SixUp})
	want := []string{"mean rate at full wind: reason reworded", "delta at full wind: at most 20 s/d → at most 15 s/d",
		"isochronism, 24 h less full wind: −10 to +10 s/d → not judged", "positions needed"}
	if diff := cmp.Diff(want, LimitChanges(before, after)); diff != "" {
		t.Error(diff)
	}
}

func TestLimitedState(t *testing.T) {
	t.Parallel()
	for key, want := range map[Key]float64{MeanRate: 0, LeastVerticalAmplitude: 24, Isochronism: 0,
		HorizontalMeanRate: 0} {
		if got := LimitedState(key); got != want {
			t.Errorf("%s: judged at %g h, want %g", key, got, want)
		}
	}
	for _, c := range Criteria() { // a limit is typed in the unit of its statistic
		if c.Quantity().Unit() != c.Unit {
			t.Errorf("%s: typed in %s, limited in %s", c.Key, c.Quantity().Unit(), c.Unit)
		}
	}
}

// Published again as it was typed, a grade is the same; any change of what it says makes another.
func TestRateLimitsSameAs(t *testing.T) {
	t.Parallel()
	g := ShippedGrades()[0]
	typed := g.Typed()
	again, _ := ParseRateLimits(g.Grade, 2, func(name string) string { return typed[name] }, Positions())
	if !again.SameAs(g) || !g.SameAs(again) {
		t.Error("the same limits, typed again, are others")
	}
	for name, change := range map[string]func(*RateLimits){
		"name": func(l *RateLimits) { l.Name += "!" }, "reasons": func(l *RateLimits) { l.Reasons += "!" },
		"positions": func(l *RateLimits) { l.Positions = []Position{DialUp} },
		"a reason":  func(l *RateLimits) { l.Limits[0].Reason += "!" },
		"fewer":     func(l *RateLimits) { l.Limits = l.Limits[1:] },
		"a hair":    func(l *RateLimits) { x := *l.Limits[0].Limits.Upper + 1e-6; l.Limits[0].Limits.Upper = &x },
	} {
		l := again
		l.Limits = slices.Clone(again.Limits)
		change(&l)
		if l.SameAs(g) || g.SameAs(l) {
			t.Errorf("%s: taken for the same", name)
		}
	}
}
