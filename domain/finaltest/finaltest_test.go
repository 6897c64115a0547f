package finaltest_test

import (
	"maps"
	"slices"
	"strings"
	"testing"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/finaltest"
	"ledgerwheel/domain/watch"
)

func fields(problems map[string]string) []string { return slices.Sorted(maps.Keys(problems)) }

var stated = finaltest.Stated{PowerReserveHours: 42, OverpressureBar: 5}

func TestFormCheck(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		name string
		form finaltest.Form
		want []string
	}{
		{"not yet tested", finaltest.Form{Test: "power-reserve"}, nil},
		{"ran as stated", finaltest.Form{Test: "power-reserve", Outcome: "pass", Figure: "42"}, nil},
		{"ran longer", finaltest.Form{Test: "power-reserve", Outcome: "pass", Figure: "44,5 h"}, nil},
		{"passed without a figure", finaltest.Form{Test: "power-reserve", Outcome: "pass"}, []string{"figure"}},
		{"ran short", finaltest.Form{Test: "power-reserve", Outcome: "pass", Figure: "41.9"}, []string{"figure"}},
		{"ran short, and accepted", finaltest.Form{Test: "power-reserve", Outcome: "pass", Figure: "41.9",
			Note: "old spring kept at the owner's wish"}, nil},
		{"failed without a figure", finaltest.Form{Test: "power-reserve", Outcome: "fail"}, nil},
		{"hours in words", finaltest.Form{Test: "power-reserve", Outcome: "fail", Figure: "two days"}, []string{"figure"}},
		{"beyond reason", finaltest.Form{Test: "power-reserve", Outcome: "pass", Figure: "2001"}, []string{"figure"}},
		{"no reason why not", finaltest.Form{Test: "date-change", Outcome: "not-applicable", Note: " "}, []string{"note"}},
		{"reason why not", finaltest.Form{Test: "date-change", Outcome: "not-applicable", Note: "no date"}, nil},
		{"figure where none belongs", finaltest.Form{Test: "hands-clearance", Outcome: "pass", Figure: "3"},
			[]string{"figure"}},
		{"not listed", finaltest.Form{Test: "taste", Outcome: "maybe"}, []string{"outcome"}},
		{"tight in air", finaltest.Form{Test: "water-resistance", Outcome: "pass", Figure: "5 bar", Medium: "air"}, nil},
		{"tight in water after air", finaltest.Form{Test: "water-resistance", Outcome: "pass", Figure: "5", Medium: "water",
			DryFirst: true}, nil},
		{"water before air", finaltest.Form{Test: "water-resistance", Outcome: "pass", Figure: "5", Medium: "water"},
			[]string{"dry_first"}},
		{"medium unsaid", finaltest.Form{Test: "water-resistance", Outcome: "pass", Figure: "5"}, []string{"medium"}},
		{"medium not listed", finaltest.Form{Test: "water-resistance", Outcome: "fail", Medium: "soup"}, []string{"medium"}},
		{"below the mark", finaltest.Form{Test: "water-resistance", Outcome: "pass", Figure: "3", Medium: "air"},
			[]string{"figure"}},
		{"below the mark, owner told", finaltest.Form{Test: "water-resistance", Outcome: "pass", Figure: "3", Medium: "air",
			Note: "owner told: splashes only"}, nil},
		{"leaked", finaltest.Form{Test: "water-resistance", Outcome: "fail", Figure: "2", Medium: "air"}, nil},
		{"no overpressure", finaltest.Form{Test: "water-resistance", Outcome: "fail", Figure: "0", Medium: "air"},
			[]string{"figure"}},
		{"long", finaltest.Form{Test: "case-and-strap", Outcome: "pass", Note: strings.Repeat("x", finaltest.MaxNote+1)},
			[]string{"note"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			r, bad := tt.form.Check(stated)
			if !slices.Equal(fields(bad), tt.want) {
				t.Errorf("problems %v, want with %v", bad, tt.want)
			}
			if again, _ := r.Form().Check(stated); again != r {
				t.Errorf("typed again %+v reads %+v", r, again)
			}
		})
	}
}

// A mark in feet is no whole number of bar: 165 ft are 5.0292 bar by the
// convention of marks, and a test at the same figure passes.
func TestMarkInFeet(t *testing.T) {
	t.Parallel()
	bar, err := watch.ParseWaterMark("165 ft")
	if err != nil {
		t.Fatal(err)
	}
	f := finaltest.Form{Test: "water-resistance", Outcome: "pass", Figure: "5.0292", Medium: "air"}
	if _, bad := f.Check(finaltest.Stated{OverpressureBar: bar}); len(bad) != 0 {
		t.Errorf("tested at %s of %g bar: %v", f.Figure, bar, bad)
	}
}

// ISO 2281:1990, copies of its list of tests: 50 µg of air a minute at 2 bar;
// 10 minutes at the rated overpressure or 2 bar, reached and released within
// a minute. ISO 22810:2010 keeps these figures (from memory).
func TestWaterFigures(t *testing.T) {
	t.Parallel()
	for name, tt := range map[string]struct{ got, want int }{
		"dry overpressure, bar": {finaltest.DryOverpressureBar, 2}, "leak, µg/min": {finaltest.DryLeakMicrogramsPerMin, 50},
		"wet time, min": {finaltest.WetMinutes, 10}, "ramp, min": {finaltest.WetRampMinutes, 1},
		"unrated, bar": {watch.UnratedOverpressureBar, 2},
	} {
		if tt.got != tt.want {
			t.Errorf("%s: %d, want %d", name, tt.got, tt.want)
		}
	}
	for _, word := range []string{"ISO 22810", "2 bar", "50 µg", "10 minutes", "remembered"} {
		if !strings.Contains(finaltest.WaterFigures, word) {
			t.Errorf("the figures do not say %q", word)
		}
	}
	for _, word := range []string{"dry", "before", "water", "eye protection", "local rules"} {
		if !strings.Contains(strings.ToLower(finaltest.Caution), word) {
			t.Errorf("the caution does not say %q", word)
		}
	}
}

func all(o finaltest.Outcome) finaltest.Sheet {
	var s finaltest.Sheet
	for _, test := range finaltest.Tests {
		s = s.With(finaltest.Result{Test: test, Outcome: o})
	}
	return s
}

func TestVerdict(t *testing.T) {
	t.Parallel()
	failed := finaltest.Result{Test: finaltest.DateChange, Outcome: finaltest.OutcomeFail}
	for name, tt := range map[string]struct {
		sheet finaltest.Sheet
		want  finaltest.Outcome
	}{
		"nothing tested":  {finaltest.Sheet{}, finaltest.OutcomeOpen},
		"all passed":      {all(finaltest.OutcomePass), finaltest.OutcomePass},
		"nothing applies": {all(finaltest.OutcomeNotApplicable), finaltest.OutcomeOpen},
		"one does not apply": {all(finaltest.OutcomePass).With(finaltest.Result{Test: finaltest.DateChange,
			Outcome: finaltest.OutcomeNotApplicable}), finaltest.OutcomePass},
		"one still open": {all(finaltest.OutcomePass).With(finaltest.Result{Test: finaltest.DateChange}),
			finaltest.OutcomeOpen},
		"one failed":          {all(finaltest.OutcomePass).With(failed), finaltest.OutcomeFail},
		"failed, others open": {finaltest.Sheet{}.With(failed), finaltest.OutcomeFail},
		"failed, then mended": {finaltest.Sheet{}.With(failed).With(finaltest.Result{Test: finaltest.DateChange,
			Outcome: finaltest.OutcomePass}), finaltest.OutcomeOpen},
	} {
		if got := tt.sheet.Verdict(); got != tt.want {
			t.Errorf("%s: %q, want %q", name, got, tt.want)
		}
	}
	s := finaltest.Sheet{}.With(failed)
	if got := s.Failed(); !slices.Equal(got, []finaltest.Test{finaltest.DateChange}) {
		t.Errorf("failed: %v", got)
	}
	if got := s.Open(); len(got) != len(finaltest.Tests)-1 || slices.Contains(got, finaltest.DateChange) {
		t.Errorf("open: %v", got)
	}
}

func TestSuggestedStage(t *testing.T) {
	t.Parallel()
	fail := func(test finaltest.Test, hours float64) finaltest.Result {
		return finaltest.Result{Test: test, Outcome: finaltest.OutcomeFail, Figure: hours, HasFigure: hours > 0}
	}
	for _, tt := range []struct {
		name    string
		results []finaltest.Result
		want    docket.Stage
	}{
		{"reserve just short", []finaltest.Result{fail(finaltest.PowerReserve, 31.5)}, docket.StageService},
		{"reserve far short", []finaltest.Result{fail(finaltest.PowerReserve, 31.4)}, docket.StageDiagnosis},
		{"reserve not measured", []finaltest.Result{fail(finaltest.PowerReserve, 0)}, docket.StageDiagnosis},
		{"leaks", []finaltest.Result{fail(finaltest.WaterResistance, 2)}, docket.StageParts},
		{"hands foul", []finaltest.Result{fail(finaltest.HandsClearance, 0)}, docket.StageService},
		{"the earliest of several", []finaltest.Result{fail(finaltest.DateChange, 0), fail(finaltest.CaseAndStrap, 0)},
			docket.StageParts},
		{"none failed", all(finaltest.OutcomePass).Results, ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			if got := (finaltest.Sheet{Results: tt.results}).SuggestedStage(stated); got != string(tt.want) {
				t.Errorf("got %q, want %q", got, tt.want)
			}
		})
	}
	for _, test := range finaltest.Tests {
		if fail(test, 0).SuggestedStage(stated) == "" {
			t.Errorf("no stage mends a failed %s", test.Words())
		}
	}
}

func TestFigureWords(t *testing.T) {
	t.Parallel()
	for want, r := range map[string]finaltest.Result{
		"":                  {Test: finaltest.PowerReserve},
		"42.5\u00a0h":       {Test: finaltest.PowerReserve, Figure: 42.5, HasFigure: true},
		"5\u00a0bar in air": {Test: finaltest.WaterResistance, Figure: 5, HasFigure: true, Medium: finaltest.MediumAir},
		"0.5\u00a0bar":      {Test: finaltest.WaterResistance, Figure: 0.5, HasFigure: true},
	} {
		if got := r.FigureWords(); got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
}

func TestStatedOf(t *testing.T) {
	t.Parallel()
	if got := finaltest.StatedOf(watch.Watch{OverpressureBar: 5}, watch.Calibre{PowerReserveHours: 42}); got != stated {
		t.Errorf("got %+v, want %+v", got, stated)
	}
}
