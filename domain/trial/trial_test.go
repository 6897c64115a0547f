package trial_test

import (
	"slices"
	"testing"
	"time"

	"ledgerwheel/domain/chronometer"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
	"ledgerwheel/domain/trial"
)

var first = time.Date(2026, 11, 10, 0, 0, 0, 0, time.UTC)

func plan() trial.Plan {
	return trial.Plan{Category: chronometer.Category1, Method: trial.ByInstrument, FirstDay: first, ReadingMinute: 540}
}

func TestNeedsOn(t *testing.T) {
	t.Parallel()
	byClock := plan()
	byClock.Method = trial.ByComparison
	for _, tc := range []struct {
		name   string
		plan   trial.Plan
		noted  []int
		after  int // days after the first
		read   bool
		set    int // 0 for none
		behind []int
	}{
		{"before it begins", plan(), nil, -2, false, 0, nil},
		{"on the first day nothing is read by instrument", plan(), nil, 0, false, 1, nil},
		{"on the first day a comparison is made", byClock, nil, 0, true, 1, nil},
		{"a day noted this morning", plan(), []int{1, 2}, 2, false, 3, nil},
		{"days left out", plan(), []int{1, 3}, 5, true, 6, []int{2, 4}},
		{"the last reading", plan(), []int{1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14}, 15, true, 0, nil},
	} {
		var entries []trial.Entry
		for _, day := range tc.noted {
			entries = append(entries, trial.Entry{Day: day})
		}
		n := tc.plan.NeedsOn(entries, first.AddDate(0, 0, tc.after))
		set := 0
		if n.Set != nil {
			set = n.Set.Number
		}
		if n.Read != tc.read || set != tc.set || !slices.Equal(n.Behind, tc.behind) {
			t.Errorf("%s: read %v, set for %d, behind %v", tc.name, n.Read, set, n.Behind)
		}
	}
}

// The clocks of central Europe went back on 25 October 2026: that day of a trial has 25 hours, and the watch's hands
// are left as they are.
func TestSummerTime(t *testing.T) {
	t.Parallel()
	zone, err := time.LoadLocation("Europe/Zurich")
	if err != nil {
		t.Fatal(err)
	}
	p := plan()
	p.FirstDay = time.Date(2026, 10, 23, 0, 0, 0, 0, time.UTC)
	if got := p.DueAt(2, zone).Sub(p.DueAt(1, zone)); got != 25*time.Hour {
		t.Errorf("the day is %s long", got)
	}
	if got := p.DueAt(2, zone).In(p.WatchZone(zone)).Format("15:04"); got != "10:00" {
		t.Errorf("the watch shows %s", got)
	}
}

func TestVerdictBy(t *testing.T) {
	t.Parallel()
	for _, tc := range []struct {
		standing         chronometer.Standing
		guarded          metrology.Verdict
		simple, guarded2 metrology.Verdict
	}{
		{chronometer.Pass, metrology.Undecided, metrology.Pass, metrology.Undecided},
		{chronometer.Fail, metrology.Undecided, metrology.Fail, metrology.Undecided},
		{chronometer.Fail, metrology.NotMeasured, metrology.Fail, metrology.Fail},
		{chronometer.Spoilt, metrology.Pass, metrology.NotMeasured, metrology.NotMeasured},
		{chronometer.Open, metrology.NotMeasured, metrology.NotMeasured, metrology.NotMeasured},
	} {
		j := chronometer.Judgement{Standing: tc.standing, Guarded: tc.guarded}
		if a, b := trial.VerdictBy(j, metrology.Simple), trial.VerdictBy(j, metrology.Guarded); a != tc.simple ||
			b != tc.guarded2 {
			t.Errorf("%s, %s: %s by simple acceptance, %s guarded", tc.standing, tc.guarded, a, b)
		}
	}
}

func TestEdits(t *testing.T) {
	t.Parallel()
	warm := 24.5
	before := trial.Entry{Day: 3, Rate: &timing.Figure{Value: 3, Step: 0.1}, Position: timing.ThreeUp, ReadAt: first}
	after := before
	after.Rate, after.TemperatureC = &timing.Figure{Value: -3, Step: 0.1}, &warm
	want := []trial.Edit{{What: "rate, s/d", From: "+3.0", To: "−3.0"}, {What: "temperature, °C", To: "24.5"}}
	if got := trial.Edits(before, after); !slices.Equal(got, want) {
		t.Errorf("edits %v", got)
	}
	if got := trial.Edits(before, before); len(got) != 0 {
		t.Errorf("nothing was changed, and yet %v", got)
	}
}
