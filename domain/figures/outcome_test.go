package figures_test

import (
	"math"
	"reflect"
	"testing"
	"time"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/figures"
	"ledgerwheel/domain/timing"
)

func day(d int) time.Time { return time.Date(2026, 11, d, 0, 0, 0, 0, time.UTC) }

func at(d, hour int) time.Time { return time.Date(2026, 11, d, hour, 0, 0, 0, time.UTC) }

func reading(p timing.Position, hours, rate, amplitude float64) timing.Reading {
	return timing.Reading{Position: p, HoursAfterWinding: hours, RateSPerDay: &timing.Figure{Value: rate}, AmplitudeDeg: &timing.Figure{Value: amplitude}}
}

// story is a watch that failed its first test, passed the second, and came back; days by hand.
func story() figures.Facts {
	billed, cost := int64(18000), int64(1250)
	return figures.Facts{DocketID: 7, Version: 31, ReceivedOn: day(2), PromisedOn: day(20), LeftAt: at(24, 23), Stage: docket.StageHandedOver,
		Work: docket.WantedService, Currency: "EUR", CalibreID: 3, CameBackOn: day(29),
		Stays: []figures.Stay{
			{Stage: docket.StageIntake, Since: at(2, 9), Until: at(3, 9), BenchID: 5},
			{Stage: docket.StageService, Since: at(3, 9), Until: at(10, 9), BenchID: 6},
			{Stage: docket.StageFinalTest, Since: at(10, 9), Until: at(12, 9)},
			{Stage: docket.StageService, Since: at(12, 9), Until: at(17, 10), BenchID: 6},
			{Stage: docket.StageFinalTest, Since: at(17, 10), Until: at(19, 12)},
			{Stage: docket.StageReady, Since: at(19, 12), Until: at(24, 23), BenchID: 8},
		},
		Promises: []docket.PromiseMoved{{From: day(15), To: day(20), At: at(11, 8)}},
		Tests:    []figures.Test{{At: at(11, 8), Passed: true}, {At: at(11, 9)}, {At: at(18, 9), Passed: true}},
		Runs: []timing.Run{
			{Kind: timing.AsReceived, Readings: []timing.Reading{reading("CH", 0, -20, 240), reading("FH", 0, -10, 230), reading("6H", 0, 6, 200), reading("CH", 24, -30, 210)}},
			{Kind: timing.Final, Readings: []timing.Reading{reading("CH", 0, 4, 290), reading("FH", 0, 6, 286), reading("6H", 0, 2, 262)}},
		},
		Answers: []figures.Answer{{At: at(4, 9), Refused: map[estimate.Kind]int{estimate.Labour: 2}},
			{At: at(5, 9), Approved: true, Refused: map[estimate.Kind]int{estimate.Labour: 1, estimate.Part: 1}}},
		Payments:    []figures.Payment{{Day: day(4), Minor: 5000}, {Day: time.Date(2026, 12, 1, 0, 0, 0, 0, time.UTC), Minor: 16000}},
		BilledMinor: &billed, Parts: []figures.Part{{Pieces: 2, CostMinor: &cost}},
	}
}

// What the story comes to, worked out by hand. The shop lies an hour east, so the watch left after its midnight.
func TestOutcomeByHand(t *testing.T) {
	o := figures.Of(story(), time.FixedZone("", 3600))
	for _, c := range []struct {
		what      string
		got, want any
	}{
		{"first promised", o.FirstPromisedOn, day(15)}, {"ready", o.ReadyOn, day(19)}, {"left", o.LeftOn, day(25)},
		{"ended", o.Ended, figures.HandedOver}, {"bench", o.BenchID, int64(6)}, {"tests", o.Tests, 2},
		{"first passed, as corrected", o.FirstPassed, false}, {"tested", o.TestedOn, day(11)},
		{"answered", o.AnsweredOn, day(5)}, {"approved", o.Approved, true},
		{"refused", o.Refused, map[estimate.Kind]int{estimate.Labour: 3, estimate.Part: 1}},
		{"parts", o.PartsMinor, int64(2500)}, {"seconds of service", o.Seconds[docket.StageService], int64((12*24 + 1) * 3600)},
		{"taken", o.Taken, map[figures.Month]int64{figures.MonthOf(day(1)): 5000, figures.MonthOf(day(1)) + 1: 16000}},
		{"rate before", *o.Before.RateSPerDay, -8.0}, {"delta before", *o.Before.DeltaSPerDay, 26.0},
		{"lying before", *o.Before.LyingDeg, 235.0}, {"loss before", *o.Before.LossDeg, 30.0}, {"rate after", math.Round(*o.After.RateSPerDay*1e9) / 1e9, 4.0},
	} {
		if !reflect.DeepEqual(c.got, c.want) {
			t.Errorf("%s: %v, want %v", c.what, c.got, c.want)
		}
	}
	if o.After.LossDeg != nil {
		t.Error("a loss without a reading after 24 h")
	}
}

// The cells of the story, by hand.
func TestCellsByHand(t *testing.T) {
	november := figures.MonthOf(day(1))
	got := figures.Cells(figures.Of(story(), time.UTC))
	for _, c := range []struct {
		m        figures.Measure
		month    figures.Month
		currency string
		value    int
		n        int64
	}{
		{figures.Turnaround, november, "", 17, 1}, {figures.Promise, november, "", 4, 1}, {figures.PromiseLast, november, "", -1, 1},
		{figures.FirstPass, november, "", 0, 1}, {figures.CameBack, november, "", 1, 1}, {figures.Estimate, november, "", 1, 1},
		{figures.Refused(estimate.Labour), november, "", 0, 3}, {figures.StageTime(docket.StageService), november, "", 288, 1},
		{figures.StageTime(docket.StageIntake), november, "", 24, 1}, {figures.StageTime(docket.StageFinalTest), november, "", 96, 1},
		{figures.Rate.Before(), november, "", -80, 1}, {figures.Rate.After(), november, "", 40, 1}, {figures.Lying.After(), november, "", 288, 1},
		{figures.Taken, november, "EUR", 0, 5000}, {figures.Taken, november + 1, "EUR", 0, 16000},
		{figures.Billed, november, "EUR", 0, 18000}, {figures.PartsCost, november, "EUR", 0, 2500}, {figures.Margins, november, "EUR", 1, 1},
	} {
		for d, key := range map[figures.Dimension]string{figures.ByAll: "", figures.ByBench: "6", figures.ByCalibre: "3", figures.ByWork: "full-service"} {
			k := figures.Key{Measure: c.m, Dimension: d, Key: key, Month: c.month, Currency: c.currency, Value: c.value}
			if got[k] != c.n {
				t.Errorf("%+v: %d, want %d", k, got[k], c.n)
			}
		}
	}
	for k := range got {
		if k.Measure == figures.Loss.Before() || k.Measure == figures.PromiseOpen {
			t.Errorf("%+v counts what was not measured, or is not open", k)
		}
	}
}

func TestWhatIsNotReadyIsNoTurnaround(t *testing.T) {
	f := story()
	f.LeftAt, f.Stage, f.CameBackOn = time.Time{}, docket.StageService, time.Time{}
	f.Stays = append(f.Stays, figures.Stay{Stage: docket.StageService, Since: at(24, 23), BenchID: 6}) // went back from ready
	got := figures.Cells(figures.Of(f, time.UTC))
	open := 0
	for k := range got {
		switch k.Measure {
		case figures.Turnaround, figures.Promise, figures.CameBack, figures.Margins:
			t.Errorf("%+v", k)
		case figures.PromiseOpen:
			open++
		}
	}
	if open != len(figures.Dimensions()) {
		t.Errorf("%d cells say that a promise is open", open)
	}
}

func TestMonths(t *testing.T) {
	for text, first := range map[string]time.Time{"2026-11": day(1), "1999-12": time.Date(1999, 12, 1, 0, 0, 0, 0, time.UTC)} {
		m, err := figures.ParseMonth(text)
		if err != nil || m.String() != text || !m.First().Equal(first) || figures.MonthOf(first.AddDate(0, 0, 27)) != m {
			t.Errorf("%s: %v, %v, %v", text, m, m.First(), err)
		}
	}
	for _, text := range []string{"", "2026", "2026-13", "0000-01", "2026-11-01"} {
		if _, err := figures.ParseMonth(text); err == nil {
			t.Errorf("%q was read", text)
		}
	}
}

func TestCoarse(t *testing.T) {
	for seconds, want := range map[int64]int{0: 0, 3599: 0, 3600: 1, 72 * 3600: 72, 73 * 3600: 72, 95 * 3600: 72, 96 * 3600: 96, 1 << 40: figures.MostHours} {
		if got := figures.Coarse(seconds); got != want {
			t.Errorf("%d s: %d h, want %d", seconds, got, want)
		}
	}
}
