package timing_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
)

func judged(t *testing.T, j timing.Judgement, key timing.Key) timing.JudgedLimit {
	t.Helper()
	for _, l := range j.Limits {
		if l.Limit.Key == key {
			return l
		}
	}
	t.Fatalf("no limit on %s was judged", key)
	return timing.JudgedLimit{}
}

// goodRun passes the modern grade with room to spare.
func goodRun() timing.Run {
	run := fullRun(0, 24)
	for i := range run.Readings {
		r := &run.Readings[i]
		r.RateSPerDay.Value = 4 + float64(i%3)
		r.AmplitudeDeg.Value = 290 - r.HoursAfterWinding
		r.BeatErrorMs.Value = 0.1
	}
	return run
}

func grade(t *testing.T, key string) timing.RateLimits {
	t.Helper()
	for _, g := range timing.ShippedGrades() {
		if g.Grade == key {
			return g
		}
	}
	t.Fatalf("no grade %s", key)
	return timing.RateLimits{}
}

func TestJudgePasses(t *testing.T) {
	t.Parallel()
	j := timing.Judge(goodRun(), grade(t, timing.GradeModern), metrology.Guarded, benchClock)
	if j.Verdict != metrology.Pass || len(j.Limits) != 8 {
		t.Fatalf("got %v over %d limits: %s", j.Verdict, len(j.Limits), j.Text)
	}
	if got, want := j.Text, "Pass: every limit of Modern, version 1 is met."; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	for _, l := range j.Limits {
		if l.Verdict != metrology.Pass || l.ProbabilityOfConformity < 0.977 || !strings.HasPrefix(l.Text, "Pass: ") {
			t.Errorf("%s: %v, %v, %q", l.Limit.Label(), l.Verdict, l.ProbabilityOfConformity, l.Text)
		}
	}
	got, want := judged(t, j, timing.MeanRate).Text,
		"Pass: +5.0 ± 1.1 s/d meets −3 to +12 s/d; probability of conformity over 99.9 %."
	if got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	if j.Grade != timing.GradeModern || j.Version != 1 || j.Rule != metrology.Guarded || len(j.Statistics.States) != 2 {
		t.Errorf("the judgement does not keep what it was judged by: %+v", j)
	}
}

func TestJudgeVerdicts(t *testing.T) {
	t.Parallel()
	for _, tc := range []struct {
		name  string
		spoil func(*timing.Run)
		rule  metrology.Rule
		want  metrology.Verdict
		key   timing.Key // the limit that decides
		says  string     // in the run's text
	}{
		{"beat error far out", func(r *timing.Run) { r.Readings[3].BeatErrorMs.Value = 1.4 }, metrology.Guarded,
			metrology.Fail, timing.GreatestBeatError, "Not met: greatest beat error at full wind."},
		{"beat error at the limit", func(r *timing.Run) { r.Readings[3].BeatErrorMs.Value = 0.6 }, metrology.Guarded,
			metrology.Undecided, timing.GreatestBeatError, "Within the uncertainty: greatest beat error at full wind."},
		{"the same by simple acceptance", func(r *timing.Run) { r.Readings[3].BeatErrorMs.Value = 0.6 }, metrology.Simple,
			metrology.Pass, timing.GreatestBeatError, "every limit"},
		{"one rate wild", func(r *timing.Run) { r.Readings[5].RateSPerDay.Value = -60 }, metrology.Guarded,
			metrology.Fail, timing.DeltaRate, "Not met: mean rate at full wind; delta at full wind; "},
		{"knocking", func(r *timing.Run) { r.Readings[0].AmplitudeDeg.Value = 335 }, metrology.Guarded,
			metrology.Fail, timing.GreatestAmplitude, "greatest amplitude at full wind"},
		{"tired after a day", func(r *timing.Run) { r.Readings[10].AmplitudeDeg.Value = 165 }, metrology.Guarded,
			metrology.Fail, timing.LeastVerticalAmplitude, "least vertical amplitude after 24 h"},
		{"amplitude not read", func(r *timing.Run) { r.Readings[1].AmplitudeDeg = nil }, metrology.Guarded,
			metrology.NotMeasured, timing.LeastHorizontalAmplitude, "Not measured: least horizontal amplitude at full wind"},
		{"nothing after a day", func(r *timing.Run) { r.Readings = r.Readings[:6] }, metrology.Guarded,
			metrology.NotMeasured, timing.Isochronism, "isochronism, 24 h less full wind"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			t.Parallel()
			run := goodRun()
			tc.spoil(&run)
			j := timing.Judge(run, grade(t, timing.GradeModern), tc.rule, timing.Instruments{})
			if got := judged(t, j, tc.key).Verdict; got != tc.want {
				t.Errorf("limit: got %v, want %v", got, tc.want)
			}
			if j.Verdict != tc.want || !j.Judged() || !strings.Contains(j.Text, tc.says) {
				t.Errorf("run: got %v, %q; want %v with %q", j.Verdict, j.Text, tc.want, tc.says)
			}
		})
	}
}

func TestJudgeNothingMeasured(t *testing.T) {
	t.Parallel()
	run := rateRun(map[timing.Position]float64{timing.DialUp: 3})
	j := timing.Judge(run, grade(t, timing.GradeVintage), metrology.Guarded, benchClock)
	if j.Verdict != metrology.NotMeasured || j.Judged() {
		t.Errorf("got %v: %s", j.Verdict, j.Text)
	}
	for _, l := range j.Limits {
		if l.Verdict != metrology.NotMeasured || !strings.HasPrefix(l.Text, "Not measured: the ") ||
			l.ProbabilityOfConformity != 0 {
			t.Errorf("%s: %v, %q", l.Limit.Label(), l.Verdict, l.Text)
		}
	}
	run.Readings[0].HoursAfterWinding = 24
	j = timing.Judge(run, grade(t, timing.GradeVintage), metrology.Guarded, benchClock)
	if got, want := judged(t, j, timing.MeanRate).Text,
		"Not measured: the mean rate at full wind needs readings at full wind."; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

// A failed limit outweighs an open one; the verdict follows from the limits' verdicts alone.
func TestRunVerdictFollowsFromLimits(t *testing.T) {
	t.Parallel()
	grades := timing.ShippedGrades()
	rapid.Check(t, func(t *rapid.T) {
		run := drawRun(t)
		run.Readings = run.Readings[:rapid.IntRange(0, len(run.Readings)).Draw(t, "readings")]
		g := rapid.SampledFrom(grades).Draw(t, "grade")
		j := timing.Judge(run, g, metrology.Guarded, benchClock)
		count := map[metrology.Verdict]int{}
		for _, l := range j.Limits {
			count[l.Verdict]++
		}
		want := metrology.Pass
		switch {
		case count[metrology.Fail] > 0:
			want = metrology.Fail
		case count[metrology.NotMeasured] > 0:
			want = metrology.NotMeasured
		case count[metrology.Pass] < len(j.Limits):
			want = metrology.Undecided
		}
		if j.Verdict != want || j.Text == "" {
			t.Fatalf("got %v, want %v from %v: %q", j.Verdict, want, count, j.Text)
		}
	})
}

func TestShippedGradesAreSound(t *testing.T) {
	t.Parallel()
	grades := timing.ShippedGrades()
	if len(grades) != 4 {
		t.Fatalf("%d grades are shipped, want 4", len(grades))
	}
	seen := map[string]bool{}
	for _, g := range grades {
		if bad := g.Problems(); len(bad) != 0 {
			t.Errorf("%s: %v", g.Grade, bad)
		}
		if seen[g.Grade] || g.Version != 1 || g.Reasons == "" {
			t.Errorf("%s: twice, or not version 1, or without reasons", g.Grade)
		}
		seen[g.Grade] = true
		for _, c := range timing.Criteria() {
			limit, set := g.Limit(c.Key)
			if !set {
				t.Errorf("%s has no limit on the %s", g.Grade, c.Label)
			}
			if limit.Label() != c.Label || !strings.Contains(limit.Text(), c.Unit) {
				t.Errorf("%s: %q, %q", g.Grade, limit.Label(), limit.Text())
			}
		}
	}
	// The grades stand in order: what passes chronometer style passes modern, and modern passes vintage.
	for i := range 2 {
		for _, c := range timing.Criteria() {
			tight, _ := grades[i].Limit(c.Key)
			wide, _ := grades[i+1].Limit(c.Key)
			if c.Key == timing.MeanRate {
				continue // the modern grade leans to the gaining side on purpose
			}
			if end(tight.Limits.Lower, -1) < end(wide.Limits.Lower, -1) || end(tight.Limits.Upper, 1) > end(wide.Limits.Upper,
				1) {
				t.Errorf("%s: %s allows %s, %s %s", c.Label, grades[i].Grade, tight.Text(), grades[i+1].Grade, wide.Text())
			}
		}
	}
}

func end(x *float64, sign int) float64 {
	if x == nil {
		return math.Inf(sign)
	}
	return *x
}

func TestRateLimitsProblems(t *testing.T) {
	t.Parallel()
	for name, tc := range map[string]struct {
		spoil func(*timing.RateLimits)
		field string
	}{
		"no key":          {func(l *timing.RateLimits) { l.Grade = "" }, "grade"},
		"key with blanks": {func(l *timing.RateLimits) { l.Grade = "My grade" }, "grade"},
		"no name":         {func(l *timing.RateLimits) { l.Name = "  " }, "name"},
		"version 0":       {func(l *timing.RateLimits) { l.Version = 0 }, "version"},
		"long reasons":    {func(l *timing.RateLimits) { l.Reasons = strings.Repeat("x", 2001) }, "reasons"},
		"position twice":  {func(l *timing.RateLimits) { l.Positions = []timing.Position{"CH", "CH"} }, "positions"},
		"no position":     {func(l *timing.RateLimits) { l.Positions = []timing.Position{"4H"} }, "positions"},
		"no limits":       {func(l *timing.RateLimits) { l.Limits = nil }, "limits"},
		"limit twice":     {func(l *timing.RateLimits) { l.Limits = append(l.Limits, l.Limits[0]) }, "limits"},
		"unknown":         {func(l *timing.RateLimits) { l.Limits[0].Key = "colour" }, "limit-colour"},
		"crossed":         {func(l *timing.RateLimits) { l.Limits[0].Limits = metrology.Between(6, -4) }, "limit-mean_rate"},
		"open":            {func(l *timing.RateLimits) { l.Limits[0].Limits = metrology.Limits{} }, "limit-mean_rate"},
		"NaN": {func(l *timing.RateLimits) { l.Limits[0].Limits = metrology.AtMost(math.NaN()) },
			"limit-mean_rate"},
		"no reason":   {func(l *timing.RateLimits) { l.Limits[0].Reason = " " }, "reason-mean_rate"},
		"long reason": {func(l *timing.RateLimits) { l.Limits[0].Reason = strings.Repeat("x", 2001) }, "reason-mean_rate"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			l := timing.ShippedGrades()[0]
			tc.spoil(&l)
			if bad := l.Problems(); len(bad) != 1 || bad[tc.field] == "" {
				t.Errorf("got %v, want one problem at %s", bad, tc.field)
			}
		})
	}
}

func TestLimitText(t *testing.T) {
	t.Parallel()
	for want, l := range map[string]timing.Limit{
		"−4 to +6 s/d":   {Key: timing.MeanRate, Limits: metrology.Between(-4, 6)},
		"at most 20 s/d": {Key: timing.DeltaRate, Limits: metrology.AtMost(20)},
		"at least 270°":  {Key: timing.LeastHorizontalAmplitude, Limits: metrology.AtLeast(270)},
		"250° to 315°":   {Key: timing.GreatestAmplitude, Limits: metrology.Between(250, 315)},
		"at most 0.6 ms": {Key: timing.GreatestBeatError, Limits: metrology.AtMost(0.6)},
		"no limit":       {Key: timing.GreatestBeatError},
	} {
		if got := l.Text(); got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
}

func TestCompare(t *testing.T) {
	t.Parallel()
	before, after := fullRun(0), goodRun()
	after.Readings[2].RateSPerDay = nil // 3H
	c := timing.Compare(before, after, timing.Options{Instruments: benchClock})
	if len(c.Figures) != 2*6*3 {
		t.Fatalf("%d figures, want both states of six positions, three quantities each", len(c.Figures))
	}
	first := c.Figures[0]
	if first.Position != timing.DialUp || first.Quantity != timing.Rate || first.Before.Value != 8 ||
		first.After.Value != 4 {
		t.Errorf("first figure: %+v", first)
	}
	near(t, "change", first.Change.Value.Value, -4, rounding)
	// Both figures carry the clock, and nothing is taken as shared between runs.
	near(t, "u of change", first.Change.Value.StdUncertainty,
		math.Sqrt(2*(0.3*0.3+1./12+clockStd*clockStd)), rounding)
	whys := map[string]string{}
	for _, f := range c.Figures {
		if !f.Change.Computable() {
			whys[fmt.Sprint(f.Position, f.HoursAfterWinding, f.Quantity)] = f.Change.Why
		}
	}
	if whys[fmt.Sprint(timing.ThreeUp, 0.0, timing.Rate)] != "needs the figure after" ||
		whys[fmt.Sprint(timing.DialUp, 24.0, timing.Rate)] != "needs the figure before" {
		t.Errorf("reasons: %v", whys)
	}
	changes := map[timing.Key]timing.StatisticChange{}
	for _, s := range c.Statistics {
		changes[s.Before.Key] = s
	}
	loss := changes[timing.AmplitudeLoss]
	near(t, "change of loss", loss.Change.Value.Value, loss.After.Value.Value-loss.Before.Value.Value, rounding)
	near(t, "u of change of loss", loss.Change.Value.StdUncertainty,
		math.Hypot(loss.After.Value.StdUncertainty, loss.Before.Value.StdUncertainty), rounding)
	if got, want := changes[timing.MeanRate].Change.Why,
		"after: needs the rate in all six positions; 3H is missing"; got != want {
		t.Errorf("mean: got %q, want %q", got, want)
	}
	if iso := changes[timing.Isochronism]; !iso.OfRun || !strings.HasPrefix(iso.Change.Why, "before: needs the rate") {
		t.Errorf("isochronism: %+v", iso)
	}
	if got := len(c.Statistics); got != 14+2 {
		t.Errorf("%d statistics, want those of the one common state and two of the run", got)
	}
}
