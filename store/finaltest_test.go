package store_test

import (
	"context"
	"errors"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/finaltest"
	"ledgerwheel/domain/service"
	"ledgerwheel/domain/stock"
	"ledgerwheel/domain/timing"
	"ledgerwheel/store"
	"ledgerwheel/store/storetest"
)

// passed is a sheet on which every test passed.
func passed() finaltest.Sheet {
	return finaltest.Sheet{Results: []finaltest.Result{
		{Test: finaltest.PowerReserve, Outcome: finaltest.OutcomePass, Figure: 44.5, HasFigure: true},
		{Test: finaltest.WaterResistance, Outcome: finaltest.OutcomePass, Figure: 3, HasFigure: true,
			Medium: finaltest.MediumAir},
		{Test: finaltest.WindingAndSetting, Outcome: finaltest.OutcomePass},
		{Test: finaltest.DateChange, Outcome: finaltest.OutcomeNotApplicable, Note: "no date"},
		{Test: finaltest.HandsClearance, Outcome: finaltest.OutcomePass},
		{Test: finaltest.CaseAndStrap, Outcome: finaltest.OutcomePass},
	}}
}

// change is what somebody does a minute later on the docket as it stands.
func (b *bench) change(t *testing.T, by store.Actor) store.Change {
	t.Helper()
	b.at = b.at.Add(time.Minute)
	return store.Change{Number: b.n, Version: b.head(t).Docket.Version, By: by, At: b.at}
}

func (b *bench) finalTests(t *testing.T) store.FinalTestSheet {
	t.Helper()
	sheet, err := b.FinalTestSheet(t.Context(), b.n)
	if err != nil {
		t.Fatal(err)
	}
	return sheet
}

func (b *bench) mustTest(t *testing.T, sheet finaltest.Sheet, want finaltest.Outcome) {
	t.Helper()
	if got, err := b.RecordFinalTest(t.Context(), b.change(t, b.watchmaker), sheet, ""); err != nil || got != want {
		t.Fatalf("final test: %q, %v; want %q", got, err, want)
	}
}

func TestFinalTestKeepsFigures(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	b.toFinalTest(t)
	b.mustTest(t, passed(), finaltest.OutcomePass)
	now := b.finalTests(t).Now()
	if r := now.Sheet.Result(finaltest.PowerReserve); r.Figure != 44.5 || r.By != "Emrys Vale" || !r.At.Equal(b.at) {
		t.Errorf("power reserve kept as %+v", r)
	}
	if r := now.Sheet.Result(finaltest.DateChange); r.Note != "no date" || r.Outcome != finaltest.OutcomeNotApplicable {
		t.Errorf("date change kept as %+v", r)
	}
	entries, err := b.Journal(t.Context(), b.head(t).Docket.ID, 0)
	if err != nil {
		t.Fatal(err)
	}
	if e := entries[0]; e.Kind != docket.FinalTested || !strings.Contains(string(e.Facts), "44.5") ||
		!strings.Contains(string(e.Facts), "3\u00a0bar in air") {
		t.Errorf("journal says %s %s", e.Summary, e.Facts)
	}
	if f := b.head(t).Facts; f.FinalTest != docket.Passed {
		t.Errorf("facts say %q", f.FinalTest)
	}
}

// A power reserve takes two days: what is known is kept, and who found it stays with it.
func TestFinalTestInParts(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	b.toFinalTest(t)
	part := passed()
	part.Results = part.Results[1:]
	b.mustTest(t, part, finaltest.OutcomeOpen)
	if f := b.head(t).Facts; f.FinalTest != docket.NotYet {
		t.Errorf("half a test counts as %q", f.FinalTest)
	}
	first := b.at
	b.at = b.at.Add(48 * time.Hour)
	c := b.change(t, b.owner)
	if _, err := b.RecordFinalTest(t.Context(), c, passed(), "ran down on Thursday"); err != nil {
		t.Fatal(err)
	}
	sheet := b.finalTests(t)
	if len(sheet.Tests) != 2 || sheet.Now().Note != "ran down on Thursday" {
		t.Fatalf("recorded %+v", sheet.Tests)
	}
	water, power := sheet.Now().Sheet.Result(finaltest.WaterResistance), sheet.Now().Sheet.Result(finaltest.PowerReserve)
	if water.By != "Emrys Vale" || !water.At.Equal(first) || power.ByID != b.owner.StaffID || !power.At.Equal(c.At) {
		t.Errorf("water by %s at %s, power by %d at %s", water.By, water.At, power.ByID, power.At)
	}
}

func TestFinalTestRefusals(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	c := b.change(t, b.watchmaker)
	if _, err := b.RecordFinalTest(t.Context(), c, passed(), ""); problemsOf(t, err)[""] == "" {
		t.Errorf("tested before its stage: %v", err)
	}
	b.toFinalTest(t)
	wet := passed()
	wet.Results[1].Medium = finaltest.MediumWater
	wet.Results[0].HasFigure = false
	bad := problemsOf(t, second(b.RecordFinalTest(t.Context(), b.change(t, b.watchmaker), wet, "")))
	if bad["water-resistance-dry_first"] == "" || bad["power-reserve-figure"] == "" {
		t.Errorf("problems %v", bad)
	}
	if bad := problemsOf(t, second(b.RecordFinalTest(t.Context(), b.change(t, b.watchmaker), finaltest.Sheet{},
		""))); bad[""] == "" {
		t.Errorf("nothing tested: %v", bad)
	}
	if n := len(b.finalTests(t).Tests); n != 0 {
		t.Errorf("%d recorded by refusals", n)
	}
	stale := b.change(t, b.watchmaker)
	b.mustTest(t, passed(), finaltest.OutcomePass)
	if err := second(b.RecordFinalTest(t.Context(), stale, passed(), "")); !errors.Is(err, domain.ErrChanged) {
		t.Errorf("on a docket that changed: %v", err)
	}
	missing := store.Change{Number: docket.Number{Year: 2026, Seq: 999}, By: b.watchmaker, At: b.at}
	if err := second(b.RecordFinalTest(t.Context(), missing, passed(), "")); !errors.Is(err, domain.ErrNotFound) {
		t.Errorf("on no docket: %v", err)
	}
}

func second[A any](_ A, err error) error { return err }

// What failed before the watch was mended no longer counts, and is still shown.
func TestFinalTestBeginsAnew(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	b.toFinalTest(t)
	failed := passed()
	failed.Results[1].Outcome, failed.Results[1].Note = finaltest.OutcomeFail, "bubbles at the crown"
	b.mustTest(t, failed, finaltest.OutcomeFail)
	b.mustMove(t, b.watchmaker, docket.StageService, docket.PlaceBench, "2", "")
	b.mustMove(t, b.watchmaker, docket.StageRegulation, docket.PlaceBench, "2", "")
	b.record(t, `INSERT INTO run (docket_id, kind, instrument_ppm, taken_at, by_id, outcome) VALUES ({d}, 'final', 1, $2, $1, 'pass')`, b.watchmaker.StaffID, b.at.Add(time.Second))
	b.mustMove(t, b.watchmaker, docket.StageFinalTest, docket.PlaceBench, "2", "")
	sheet := b.finalTests(t)
	if len(sheet.Tests) != 1 || sheet.Tests[0].Counts || sheet.Now().ID != 0 {
		t.Errorf("the failed test counts: %+v", sheet.Tests)
	}
	if f := b.head(t).Facts; f.FinalTest != docket.NotYet {
		t.Errorf("facts say %q", f.FinalTest)
	}
}

// failedReserve is a sheet on which only the power reserve failed.
func failedReserve() finaltest.Sheet {
	return passed().With(finaltest.Result{Test: finaltest.PowerReserve, Outcome: finaltest.OutcomeFail, Figure: 20,
		HasFigure: true, Note: "stops at 20 h"})
}

// A fail can't become a pass within the minute: not straight, not by way of an open line, not by going to the counter on
// the owner's reason and back. A slip of typing can be corrected with its reason, which stays.
func TestFailIsNotTurned(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	b.toFinalTest(t)
	b.mustTest(t, failedReserve(), finaltest.OutcomeFail)
	opened := passed()
	opened.Results = opened.Results[1:]
	for name, sheet := range map[string]finaltest.Sheet{"passed": passed(), "opened": opened} {
		bad := problemsOf(t, second(b.RecordFinalTest(t.Context(), b.change(t, b.watchmaker), sheet, "")))
		if bad["power-reserve-corrects"] == "" {
			t.Errorf("%s: %v", name, bad)
		}
	}
	b.mustMove(t, b.owner, docket.StageReady, docket.PlaceSafe, "", "sails tonight")
	b.mustMove(t, b.owner, docket.StageFinalTest, docket.PlaceBench, "2", "sails next week")
	bad := problemsOf(t, second(b.RecordFinalTest(t.Context(), b.change(t, b.watchmaker), passed(), "")))
	if bad["power-reserve-corrects"] == "" {
		t.Errorf("by way of the counter: %v", bad)
	}
	slip := passed()
	slip.Results[0].Corrects = "20 is the clock's hour, it ran 44.5 h"
	b.mustTest(t, slip, finaltest.OutcomePass)
	b.mustTest(t, passed().With(finaltest.Result{Test: finaltest.HandsClearance, Outcome: finaltest.OutcomePass,
		Note: "looked twice"}), finaltest.OutcomePass)
	if r := b.finalTests(t).Now().Sheet.Result(finaltest.PowerReserve); r.Corrects == "" {
		t.Errorf("the mark is gone: %+v", r)
	}
	entries, err := b.Journal(t.Context(), b.head(t).Docket.ID, 0)
	if err != nil {
		t.Fatal(err)
	}
	if e := entries[1]; !strings.Contains(e.Summary, "Corrected without work in between: power reserve") ||
		!strings.Contains(string(e.Facts), "it ran 44.5 h") || !strings.Contains(string(e.Facts), "fail, 20\u00a0h") {
		t.Errorf("journal says %s %s", e.Summary, e.Facts)
	}
}

// Whatever bench work is recorded opens the final run and every line of the test again, at every stage.
func TestWorkOpensRunAndTest(t *testing.T) {
	t.Parallel()
	gift := stock.Money{Payer: stock.PayerShop, Why: "slipped at our bench"}
	part := stock.PartLine{Description: "Mainspring", Quantity: 1, State: stock.Arrived}
	for name, work := range map[string]func(*testing.T, *bench) error{
		"a step": func(t *testing.T, b *bench) error {
			return second(b.AddWork(t.Context(), b.change(t, b.watchmaker), service.Work{Minutes: 5}))
		},
		"a part fitted": func(t *testing.T, b *bench) error {
			id, err := b.AddPart(t.Context(), b.change(t, b.watchmaker), part)
			if err != nil || !b.head(t).Facts.RunAfterWork {
				t.Fatalf("a part that lies there: %v", err)
			}
			return b.MovePart(t.Context(), b.change(t, b.watchmaker), id, store.PartMove{To: stock.Fitted, Money: gift})
		},
		"a part added as fitted": func(t *testing.T, b *bench) error {
			fitted := part
			fitted.State, fitted.Money = stock.Fitted, gift
			return second(b.AddPart(t.Context(), b.change(t, b.watchmaker), fitted))
		},
	} {
		for _, stage := range []docket.Stage{docket.StageFinalTest, docket.StageReady} {
			b := newBench(t)
			b.toFinalTest(t)
			b.mustTest(t, passed(), finaltest.OutcomePass)
			if stage == docket.StageReady {
				b.mustMove(t, b.watchmaker, docket.StageReady, docket.PlaceSafe, "", "")
			}
			if f := b.head(t).Facts; !f.RunAfterWork || f.FinalTest != docket.Passed {
				t.Fatalf("before the work: %+v", f)
			}
			if err := work(t, b); err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			if f := b.head(t).Facts; f.RunAfterWork || f.FinalTest != docket.NotYet {
				t.Errorf("%s at %s: run %v, test %q", name, stage, f.RunAfterWork, f.FinalTest)
			}
			if sheet := b.finalTests(t); sheet.Now().ID != 0 || len(sheet.Tests) != 1 {
				t.Errorf("%s at %s: %+v", name, stage, sheet.Tests)
			}
		}
	}
}

// An adjustment after the final run makes that no final run any more.
func TestAdjustmentOpensTheRun(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	b.toFinalTest(t)
	b.mustMove(t, b.watchmaker, docket.StageRegulation, docket.PlaceBench, "2", "beat error")
	b.record(t, `INSERT INTO run (docket_id, kind, instrument_ppm, taken_at, by_id, outcome) VALUES ({d}, 'final', 1, $2, $1, 'pass')`, b.watchmaker.StaffID, b.at.Add(time.Second))
	if !b.head(t).Facts.RunAfterWork {
		t.Fatal("no final run")
	}
	reading := timing.Reading{Position: timing.DialUp}
	reading.SetFigure(timing.Rate, &timing.Figure{Value: 3, Step: 1})
	if _, err := b.RecordRun(t.Context(), b.change(t, b.watchmaker), store.RunEntry{Sheet: timing.Sheet{
		Run:    timing.Run{Kind: timing.Adjustment, Readings: []timing.Reading{reading}},
		States: []float64{0}, ClockPPM: 1}}); err != nil {
		t.Fatal(err)
	}
	if b.head(t).Facts.RunAfterWork {
		t.Error("the run before the adjustment still counts")
	}
}

// The table itself refuses what the program never does.
func TestFinalTestsAreNeverChanged(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	b.toFinalTest(t)
	b.mustTest(t, passed(), finaltest.OutcomePass)
	for _, sql := range []string{`UPDATE final_test SET verdict = 'fail'`, `DELETE FROM final_test`} {
		if _, err := b.Pool().Exec(t.Context(), sql); err == nil {
			t.Errorf("%s went through", sql)
		}
	}
}

func TestFinalTestSheetIsOneRoundTrip(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	oneRoundTrip(t, func(ctx context.Context) error { return second(b.FinalTestSheet(ctx, b.n)) })
	if err := second(b.FinalTestSheet(t.Context(), docket.Number{Year: 2026, Seq: 77})); !errors.Is(err,
		domain.ErrNotFound) {
		t.Errorf("no docket: %v", err)
	}
}

// oneRoundTrip counts how often do asks the database.
func oneRoundTrip(t *testing.T, do func(context.Context) error) {
	t.Helper()
	ctx, count := storetest.CountRoundTrips(t.Context())
	if err := do(ctx); err != nil {
		t.Fatal(err)
	}
	if n := count.Trips(); n != 1 {
		t.Errorf("%d round trips, want one", n)
	}
}
