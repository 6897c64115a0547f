package trial_test

import (
	"slices"
	"strings"
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

// The clocks of central Europe skip 02:00 to 03:00 on 29 March 2026, and show it twice on 25 October.
func TestOnClock(t *testing.T) {
	t.Parallel()
	zone, err := time.LoadLocation("Europe/Zurich")
	if err != nil {
		t.Fatal(err)
	}
	spring, autumn := time.Date(2026, 3, 29, 0, 0, 0, 0, time.UTC), time.Date(2026, 10, 25, 0, 0, 0, 0, time.UTC)
	const half = 2*time.Hour + 30*time.Minute
	for _, tc := range []struct {
		day  time.Time
		at   time.Duration
		want []string
	}{
		{spring, half, nil},
		{spring, 2*time.Hour - 1, []string{"00:59"}},
		{spring, 3 * time.Hour, []string{"01:00"}},
		{autumn, half, []string{"00:30", "01:30"}},
		{autumn, 3 * time.Hour, []string{"02:00"}},
		{autumn.AddDate(0, 0, 1), half, []string{"01:30"}},
	} {
		var got []string
		for _, m := range trial.OnClock(tc.day, tc.at, zone) {
			got = append(got, m.UTC().Format("15:04"))
		}
		if !slices.Equal(got, tc.want) {
			t.Errorf("%s of %s: %v, want %v", tc.at, tc.day.Format(time.DateOnly), got, tc.want)
		}
	}
	if at, why := trial.ReadingAt(autumn, half, zone, trial.Later); why != "" || at.UTC().Hour() != 1 {
		t.Errorf("the later one: %s, %q", at, why)
	}
	if _, why := trial.ReadingAt(autumn, half, zone, ""); !strings.Contains(why, "twice") {
		t.Errorf("which was not said: %q", why)
	}
	p := plan()
	p.ReadingMinute = 150
	for first, want := range map[time.Time]string{spring.AddDate(0, 0, -15): "29 March 2026 this time is skipped",
		autumn: "25 October 2026 this time stands twice", autumn.AddDate(0, 0, 1): ""} {
		p.FirstDay = first
		if got := p.ClockProblems(zone)["reading_time"]; !strings.Contains(got, want) || want == "" && got != "" {
			t.Errorf("first day %s: %q", first.Format(time.DateOnly), got)
		}
	}
}

// A spoilt trial is best begun again; one that has failed for certain is not advised about.
func TestAdvice(t *testing.T) {
	t.Parallel()
	warm, cold := 30.0, 15.0
	record := func(rate float64, spoil ...int) chronometer.Judgement {
		c := chronometer.Trial{Category: chronometer.Category1}
		for day := 1; day <= 15; day++ {
			want, _ := chronometer.DayOf(day)
			c.Days = append(c.Days, chronometer.DayRecord{Day: day, Rate: &timing.Figure{Value: rate, Step: 0.1},
				Position: want.Position})
		}
		for _, day := range spoil {
			if c.Days[day-1].TemperatureC = &warm; day > 10 {
				c.Days[day-1].TemperatureC = &cold
			}
		}
		j, err := c.Judge()
		if err != nil {
			t.Fatal(err)
		}
		return j
	}
	for _, tc := range []struct {
		name  string
		judge chronometer.Judgement
		want  string
	}{
		{"by the programme", record(2), ""},
		{"one criterion spoilt", record(2, 13), "C is spoilt. If a day was noted wrongly, correct it. Otherwise begin again"},
		{"what is left", record(2, 13), "only show M, V, Vmax, D, P, R."},
		{"all spoilt", record(2, 1, 13), "Nothing of this trial can be saved"},
		{"failed whatever comes", record(7, 13), ""},
	} {
		if got := trial.Advice(tc.judge, metrology.Guarded); !strings.Contains(got, tc.want) || tc.want == "" && got != "" {
			t.Errorf("%s: %q", tc.name, got)
		}
	}
	// Mean 6.01 s/d with a limit of 6: outside, but within its uncertainty, and C is spoilt: no verdict by guard band.
	doubtful := record(6.01, 13)
	if a, b := trial.VerdictBy(doubtful, metrology.Simple), trial.VerdictBy(doubtful, metrology.Guarded); a !=
		metrology.Fail || b != metrology.NotMeasured {
		t.Errorf("outside by less than its uncertainty: %s, %s", a, b)
	}
}

func TestWas(t *testing.T) {
	t.Parallel()
	warm := 29.0
	before := trial.Entry{Day: 3, Rate: &timing.Figure{Value: -3, Step: 0.1}, Position: timing.ThreeUp, TemperatureC: &warm}
	after := before
	after.Rate, after.TemperatureC = &timing.Figure{Value: 3, Step: 0.1}, nil
	if got := after.Was(before, "none"); !slices.Equal(got, []string{before.Text(), "29 °C"}) {
		t.Errorf("it says %q", got)
	}
	if got := before.Was(after, "none"); !slices.Equal(got, []string{after.Text(), "none"}) {
		t.Errorf("without a temperature before: %q", got)
	}
	if got := after.Was(after, "none"); len(got) > 0 {
		t.Errorf("nothing changed: %q", got)
	}
}
