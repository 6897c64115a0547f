package store_test

import (
	"encoding/json"
	"errors"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
	"ledgerwheel/domain/watch"
	"ledgerwheel/store"
	"ledgerwheel/store/storetest"
)

// regulating is a docket in regulation of a watch whose calibre is judged as modern.
func regulating(t *testing.T) *bench {
	t.Helper()
	b := newBench(t)
	if err := b.EnsureRateLimits(t.Context(), b.at); err != nil {
		t.Fatal(err)
	}
	id, err := b.AddCalibre(t.Context(), store.CalibreChange{At: b.at}, watch.Calibre{Name: "Gannet 40", BeatsPerHour: 21600,
		GradeKey: timing.GradeModern})
	if err != nil {
		t.Fatal(err)
	}
	b.record(t, `UPDATE watch SET calibre_id = $1, crown_at = 4`, id)
	b.stage(t, docket.StageRegulation)
	return b
}

// stage puts the docket where a test wants it.
func (b *bench) stage(t *testing.T, s docket.Stage) {
	t.Helper()
	b.record(t, `UPDATE docket SET stage = $1, work_since = CASE WHEN $1 IN ('service', 'regulation', 'final-test', 'ready') THEN $2::timestamptz END WHERE id = {d}`,
		string(s), b.at)
}

// runSheet is a run in six positions at full wind and after a day: rates about rate, amplitudes about 280°.
func runSheet(kind timing.Kind, rate float64) timing.Sheet {
	temperature := 23.0
	sh := timing.Sheet{Run: timing.Run{Kind: kind, Label: "index moved"}, States: []float64{0, 24}, Instrument: "Bench 2",
		ClockPPM: 0.5, TemperatureC: &temperature}
	for i, p := range timing.Positions() {
		for _, hours := range sh.States {
			sh.Run.Readings = append(sh.Run.Readings, timing.Reading{Position: p, HoursAfterWinding: hours,
				RateSPerDay:  &timing.Figure{Value: rate + float64(i%3) - hours/24, Step: 1},
				AmplitudeDeg: &timing.Figure{Value: 285 - 5*float64(i) - hours, Step: 1},
				BeatErrorMs:  &timing.Figure{Value: 0.2, Step: 0.1}})
		}
	}
	return sh
}

func (b *bench) next() store.Change {
	b.at = b.at.Add(time.Minute)
	return store.Change{Number: b.n, By: b.watchmaker, At: b.at}
}

func (b *bench) mustRecord(t *testing.T, in store.RunEntry) int64 {
	t.Helper()
	id, err := b.RecordRun(t.Context(), b.next(), in)
	if err != nil {
		t.Fatal(err)
	}
	return id
}

func (b *bench) regulation(t *testing.T) store.RegulationSheet {
	t.Helper()
	sheet, err := b.RegulationSheet(t.Context(), b.n)
	if err != nil {
		t.Fatal(err)
	}
	return sheet
}

// newestEntry is the docket's last journal entry.
func (b *bench) newestEntry(t *testing.T) docket.Entry {
	t.Helper()
	entries, err := b.Journal(t.Context(), b.head(t).Docket.ID, 0)
	if err != nil {
		t.Fatal(err)
	}
	return entries[0]
}

func TestRecordRun(t *testing.T) {
	t.Parallel()
	b := regulating(t)
	want := runSheet(timing.Final, 3)
	id := b.mustRecord(t, store.RunEntry{Sheet: want})
	ctx, trips := storetest.CountRoundTrips(t.Context())
	sheet, err := b.RegulationSheet(ctx, b.n)
	if err != nil {
		t.Fatal(err)
	}
	if trips.Trips() != 1 {
		t.Errorf("%d round trips for a sheet, want 1", trips.Trips())
	}
	run, found := sheet.Run(id)
	if !found || len(sheet.Runs) != 1 {
		t.Fatalf("runs %v", sheet.Runs)
	}
	if edits := timing.Edits(want, run.Sheet); len(edits) > 0 {
		t.Errorf("kept otherwise than written: %+v", edits)
	}
	if run.Sheet.Run.CrownHour != 4 || run.TakenBy != "Emrys Vale" || !run.TakenAt.Equal(b.at) || run.Version != 1 {
		t.Errorf("run %+v", run)
	}
	if r := run.Sheet.Run.Readings[0]; r.TakenBy != "Emrys Vale" || !r.TakenAt.Equal(b.at) ||
		r.Position != timing.DialUp || r.HoursAfterWinding != 0 {
		t.Errorf("first reading %+v", r)
	}
	limits, _ := sheet.LimitsByID(run.RateLimitsID)
	if limits.Limits.Grade != timing.GradeModern || sheet.Head.RateLimitsID != limits.ID {
		t.Errorf("judged by %+v, docket keeps %d", limits.Limits, sheet.Head.RateLimitsID)
	}
	j := run.Judge(limits.Limits, metrology.Guarded)
	if run.Outcome != docket.Passed || j.Verdict != metrology.Pass {
		t.Errorf("outcome %q, judged again %s: %s", run.Outcome, j.Verdict, j.Text)
	}
	if f := b.head(t).Facts; !f.RunAfterWork || f.RunOutcome != docket.Passed {
		t.Errorf("facts %+v", f)
	}
}

// The journal alone is enough to know what was measured.
func TestRunIsJournalledWithEveryFigure(t *testing.T) {
	t.Parallel()
	b := regulating(t)
	b.mustRecord(t, store.RunEntry{Sheet: runSheet(timing.Adjustment, 3)})
	e := b.newestEntry(t)
	if e.Kind != docket.RunRecorded || e.Summary != "Run after adjustment 1 recorded: pass by Modern, version 1." {
		t.Errorf("entry %q: %s", e.Kind, e.Summary)
	}
	var facts struct {
		Run      string  `json:"run"`
		PPM      float64 `json:"clock_within_ppm"`
		Crown    int     `json:"crown_at"`
		Readings []struct{ At, Figures string }
		Verdict  string
	}
	if err := json.Unmarshal(e.Facts, &facts); err != nil {
		t.Fatal(err)
	}
	if len(facts.Readings) != 12 || facts.Readings[0].At != "CH, full wind" ||
		facts.Readings[0].Figures != "+3 s/d, 285°, 0.2 ms" ||
		facts.PPM != 0.5 || facts.Crown != 4 || facts.Verdict != "pass" {
		t.Errorf("facts %s", e.Facts)
	}
}

func TestAdjustmentsAreNumberedByThemselves(t *testing.T) {
	t.Parallel()
	b := regulating(t)
	const n = 4
	var group sync.WaitGroup
	for range n {
		c := b.next()
		group.Add(1)
		go func() {
			defer group.Done()
			if _, err := b.RecordRun(t.Context(), c, store.RunEntry{Sheet: runSheet(timing.Adjustment, 3)}); err != nil {
				t.Error(err)
			}
		}()
	}
	group.Wait()
	sheet := b.regulation(t)
	var got []string
	for _, run := range sheet.Runs {
		got = append(got, run.Sheet.Run.Title())
	}
	slices.Sort(got)
	want := []string{"after adjustment 1", "after adjustment 2", "after adjustment 3", "after adjustment 4"}
	if !slices.Equal(got, want) || sheet.NextAdjustment != n+1 {
		t.Errorf("%q, next %d", got, sheet.NextAdjustment)
	}
	b.kinds(t, b.n) // the chain holds
}

func TestRecordRunRefuses(t *testing.T) {
	t.Parallel()
	b := regulating(t)
	before := b.head(t).Docket.Version
	bad := runSheet(timing.Final, 3)
	bad.Run.Readings[3].AmplitudeDeg.Value = 400
	empty := runSheet(timing.Final, 3)
	empty.Run.Readings = nil
	for _, c := range []struct {
		name  string
		entry store.RunEntry
		field string
	}{
		{"a figure out of range", store.RunEntry{Sheet: bad}, "amplitude-FH-24"},
		{"nothing measured", store.RunEntry{Sheet: empty}, "readings"},
		{"a kind not taken at this stage", store.RunEntry{Sheet: runSheet(timing.AsReceived, 3)}, "kind"},
		{"a grade that is none", store.RunEntry{Sheet: runSheet(timing.Final, 3), Grade: "perfect"}, "grade"},
	} {
		_, err := b.RecordRun(t.Context(), b.next(), c.entry)
		if problems := problemsOf(t, err); problems[c.field] == "" {
			t.Errorf("%s: problems %v, want one of %s", c.name, problems, c.field)
		}
	}
	if sheet := b.regulation(t); len(sheet.Runs) != 0 || sheet.Head.Docket.Version != before ||
		sheet.Head.RateLimitsID != 0 {
		t.Errorf("something was half saved: %d runs, version %d", len(sheet.Runs), sheet.Head.Docket.Version)
	}
	b.record(t, `UPDATE docket SET stage = 'withdrawn', open = false, handed_back_at = $1 WHERE id = {d}`, b.at)
	if _, err := b.RecordRun(t.Context(), b.next(), store.RunEntry{Sheet: runSheet(timing.Final, 3)}); !errors.Is(err,
		domain.ErrClosed) {
		t.Errorf("on a closed docket: %v", err)
	}
}

// A form sent twice is one run.
func TestRunSentTwice(t *testing.T) {
	t.Parallel()
	b := regulating(t)
	var none int64
	entry := store.RunEntry{Sheet: runSheet(timing.Final, 3), LastSeen: &none}
	b.mustRecord(t, entry)
	if _, err := b.RecordRun(t.Context(), b.next(), entry); !errors.Is(err, domain.ErrChanged) {
		t.Errorf("the second: %v, want ErrChanged", err)
	}
	if n := len(b.regulation(t).Runs); n != 1 {
		t.Errorf("%d runs", n)
	}
}

// A watch of no known calibre is measured all the same; it is judged once a grade is chosen.
func TestRunWithoutGrade(t *testing.T) {
	t.Parallel()
	b := regulating(t)
	b.record(t, `UPDATE watch SET calibre_id = NULL`)
	id := b.mustRecord(t, store.RunEntry{Sheet: runSheet(timing.Final, 3)})
	run, _ := b.regulation(t).Run(id)
	if run.Outcome != docket.NotYet || run.RateLimitsID != 0 || !strings.Contains(b.newestEntry(t).Summary, "not judged") {
		t.Errorf("run %+v, entry %q", run, b.newestEntry(t).Summary)
	}
	if err := b.JudgeRuns(t.Context(), b.next(), timing.GradeChronometer); err != nil {
		t.Fatal(err)
	}
	sheet := b.regulation(t)
	run, _ = sheet.Run(id)
	kept, _ := sheet.LimitsByID(sheet.Head.RateLimitsID)
	if kept.Limits.Grade != timing.GradeChronometer || run.RateLimitsID != kept.ID || run.Outcome == docket.NotYet {
		t.Errorf("docket keeps %+v, run %+v", kept.Limits, run)
	}
	if e := b.newestEntry(t); e.Kind != docket.RunJudged || !strings.Contains(string(e.Facts), `"before":"no verdict"`) {
		t.Errorf("entry %q %s", e.Kind, e.Facts)
	}
}

func TestChangeRun(t *testing.T) {
	t.Parallel()
	b := regulating(t)
	sheet := runSheet(timing.Final, 3)
	sheet.Run.Readings = slices.DeleteFunc(sheet.Run.Readings,
		func(r timing.Reading) bool { return r.HoursAfterWinding == 24 })
	sheet.Run.Readings[0].RateSPerDay.StdUncertainty = 0.05
	id := b.mustRecord(t, store.RunEntry{Sheet: sheet})
	taken := b.at
	run, _ := b.regulation(t).Run(id)
	if run.Outcome != docket.NotMeasured { // what needs a day
		t.Errorf("outcome %q", run.Outcome)
	}

	b.at = b.at.Add(24 * time.Hour)
	full := runSheet(timing.Final, 3) // as a form reads it: without the uncertainty that was stated
	full.Run.Readings[2].RateSPerDay.Value = 5
	if bad := problemsOf(t, b.ChangeRun(t.Context(), b.next(), id, run.Version, full)); bad["why"] == "" {
		t.Errorf("a figure on record was changed without a reason: %v", bad)
	}
	if err := b.ChangeRun(t.Context(), b.because("FH read off by one"), id, run.Version, full); err != nil {
		t.Fatal(err)
	}
	after, _ := b.regulation(t).Run(id)
	if after.Outcome != docket.Passed || after.Version != 2 || !after.TakenAt.Equal(taken) {
		t.Errorf("after: %+v", after)
	}
	first, _ := after.Sheet.Run.Reading(timing.DialUp, 0)
	if !first.TakenAt.Equal(taken) || first.RateSPerDay.StdUncertainty != 0.05 {
		t.Errorf("a reading that was not touched: %+v %+v", first, first.RateSPerDay)
	}
	if later, _ := after.Sheet.Run.Reading(timing.DialUp, 24); !later.TakenAt.Equal(b.at) {
		t.Errorf("a reading added later: %+v", later)
	}
	entries, err := b.Journal(t.Context(), b.head(t).Docket.ID, 0)
	if err != nil {
		t.Fatal(err)
	}
	judged, changed := entries[0], entries[1]
	if judged.Kind != docket.RunJudged || changed.Kind != docket.ReadingChanged {
		t.Fatalf("entries %q, %q", judged.Kind, changed.Kind)
	}
	if !strings.Contains(string(changed.Facts), `{"figure":"rate, FH, full wind","from":"+4 s/d","to":"+5 s/d"}`) ||
		!strings.Contains(string(changed.Facts), `{"figure":"rate, CH, after 24 h","from":"none","to":"+2 s/d"}`) {
		t.Errorf("facts %s", changed.Facts)
	}
	if changed.Summary != "19 entries of the run final changed." || changed.Why != "FH read off by one" {
		t.Errorf("summary %q, because %q", changed.Summary, changed.Why)
	}
	kept := b.regulation(t).Corrections[id]
	if len(kept) != 1 || kept[0].Why != "FH read off by one" || !kept[0].At.Equal(b.at) ||
		!slices.Equal(kept[0].Changes, []string{"rate, FH, full wind: +4 s/d → +5 s/d"}) {
		t.Errorf("beside the run: %+v", kept)
	}
	more := runSheet(timing.Final, 3) // a reading more corrects nothing
	more.Run.Readings[2].RateSPerDay.Value = 5
	more.States = append(more.States, 36)
	more.Run.Readings = append(more.Run.Readings, timing.Reading{Position: timing.DialUp, HoursAfterWinding: 36,
		RateSPerDay: &timing.Figure{Value: 1, Step: 1}})
	if err := b.ChangeRun(t.Context(), b.next(), id, after.Version, more); err != nil {
		t.Errorf("a reading added: %v", err)
	}
	if _, err := b.Pool().Exec(t.Context(), `DELETE FROM run_change`); err == nil {
		t.Error("a correction can be taken back without a trace")
	}
}

func TestChangeRunRefuses(t *testing.T) {
	t.Parallel()
	b := regulating(t)
	id := b.mustRecord(t, store.RunEntry{Sheet: runSheet(timing.Final, 3)})
	version := b.head(t).Docket.Version
	if err := b.ChangeRun(t.Context(), b.next(), id, 1, runSheet(timing.Final, 3)); err != nil ||
		b.head(t).Docket.Version != version {
		t.Errorf("the same again: %v, and it left a trace in the journal: %v", err, b.head(t).Docket.Version != version)
	}
	if err := b.ChangeRun(t.Context(), b.next(), id, 2, runSheet(timing.Final, 9)); !errors.Is(err, domain.ErrChanged) {
		t.Errorf("another version: %v", err)
	}
	if err := b.ChangeRun(t.Context(), b.next(), id+1, 1, runSheet(timing.Final, 9)); !errors.Is(err, domain.ErrNotFound) {
		t.Errorf("no such run: %v", err)
	}
	bad := runSheet(timing.Final, 9)
	bad.ClockPPM = -1
	if problems := problemsOf(t, b.ChangeRun(t.Context(), b.next(), id, 1, bad)); problems["clock_ppm"] == "" {
		t.Errorf("problems %v", problems)
	}
	b.stage(t, docket.StageReady)
	if problems := problemsOf(t, b.ChangeRun(t.Context(), b.next(), id, 1,
		runSheet(timing.Final, 9))); problems["kind"] == "" {
		t.Errorf("once the watch is ready: %v", problems)
	}
	if run, _ := b.regulation(t).Run(id); run.Version != 1 || len(timing.Edits(run.Sheet, runSheet(timing.Final, 3))) > 0 {
		t.Errorf("something was changed: %+v", run)
	}
}

// A docket keeps the version it was judged by until somebody judges it anew.
func TestDocketKeepsItsLimits(t *testing.T) {
	t.Parallel()
	b := regulating(t)
	first := b.mustRecord(t, store.RunEntry{Sheet: runSheet(timing.Adjustment, 3)})
	stricter := timing.ShippedGrades()[1]
	stricter.Version, stricter.Limits[0].Limits = 2, metrology.Between(-1, 1)
	if err := b.PublishLimits(t.Context(), stricter, b.clerk, b.at); err != nil {
		t.Fatal(err)
	}
	second := b.mustRecord(t, store.RunEntry{Sheet: runSheet(timing.Final, 3), Grade: timing.GradeVintage})
	sheet := b.regulation(t)
	for _, id := range []int64{first, second} {
		run, _ := sheet.Run(id)
		if v, _ := sheet.LimitsByID(run.RateLimitsID); v.Limits.Version != 1 || v.Limits.Grade != timing.GradeModern ||
			run.Outcome != docket.Passed {
			t.Errorf("run %d judged by %s %d: %s", id, v.Limits.Grade, v.Limits.Version, run.Outcome)
		}
	}
	if err := b.JudgeRuns(t.Context(), b.next(), timing.GradeModern); err != nil {
		t.Fatal(err)
	}
	sheet = b.regulation(t)
	for _, run := range sheet.Runs {
		if v, _ := sheet.LimitsByID(run.RateLimitsID); v.Limits.Version != 2 || run.Outcome != docket.Failed ||
			run.Version != 2 {
			t.Errorf("run %d judged by version %d: %s, run version %d", run.ID, v.Limits.Version, run.Outcome, run.Version)
		}
	}
	if sheet.Head.Facts.RunOutcome != docket.Failed {
		t.Errorf("the docket's moves still lean on %q", sheet.Head.Facts.RunOutcome)
	}
	version := sheet.Head.Docket.Version
	if err := b.JudgeRuns(t.Context(), b.next(), timing.GradeModern); err != nil || b.head(t).Docket.Version != version {
		t.Errorf("judged once more: %v, journal at %d, was %d", err, b.head(t).Docket.Version, version)
	}
	if bad := problemsOf(t, b.JudgeRuns(t.Context(), b.next(), timing.GradeVintage)); bad["why"] == "" ||
		b.head(t).Docket.Version != version {
		t.Errorf("by another grade without a reason: %v", bad)
	}
	if err := b.JudgeRuns(t.Context(), b.because("the parts are worn, as agreed"), timing.GradeVintage); err != nil {
		t.Fatal(err)
	}
	if e := b.newestEntry(t); e.Why != "the parts are worn, as agreed" || b.regulation(t).GradeWhy != e.Why {
		t.Errorf("the journal says %q, the sheet %q", e.Why, b.regulation(t).GradeWhy)
	}
	b.stage(t, docket.StageReady)
	if problems := problemsOf(t, b.JudgeRuns(t.Context(), b.next(), timing.GradeVintage)); problems[""] == "" {
		t.Errorf("once the watch is ready: %v", problems)
	}
}

// The shop's rule decides runs saved from then on; runs judged before keep theirs until judged anew.
func TestRuleOfTheShop(t *testing.T) {
	t.Parallel()
	b := regulating(t)
	edge := runSheet(timing.Final, 11.3) // mean 12.3: beyond the limit of 12, but by less than its uncertainty of 0.24
	id := b.mustRecord(t, store.RunEntry{Sheet: edge})
	b.shop.SimpleAcceptance = true
	if err := b.SaveShop(t.Context(), b.shop, b.clerk, b.at); err != nil {
		t.Fatal(err)
	}
	if run, _ := b.regulation(t).Run(id); run.Outcome != docket.Failed || run.SimpleAcceptance {
		t.Errorf("guarded: %s, simple %v", run.Outcome, run.SimpleAcceptance)
	}
	edge = runSheet(timing.Final, 10.9) // mean 11.9
	id = b.mustRecord(t, store.RunEntry{Sheet: edge})
	if run, _ := b.regulation(t).Run(id); run.Outcome != docket.Passed || !run.SimpleAcceptance {
		t.Errorf("simple: %s, simple %v", run.Outcome, run.SimpleAcceptance)
	}
	b.shop.SimpleAcceptance = false
	if err := b.SaveShop(t.Context(), b.shop, b.clerk, b.at); err != nil {
		t.Fatal(err)
	}
	if err := b.JudgeRuns(t.Context(), b.next(), timing.GradeModern); err != nil {
		t.Fatal(err)
	}
	if run, _ := b.regulation(t).Run(id); run.Outcome != docket.Undecided || run.SimpleAcceptance {
		t.Errorf("guarded again: %s, simple %v", run.Outcome, run.SimpleAcceptance)
	}
}

// Amplitude alone, as some instruments give it, is a reading too.
func TestReadingsMayLackAFigure(t *testing.T) {
	t.Parallel()
	b := regulating(t)
	sheet := runSheet(timing.Final, 3)
	sheet.Run.Readings[0].RateSPerDay = nil
	sheet.Run.Readings[1].AmplitudeDeg, sheet.Run.Readings[1].BeatErrorMs = nil, nil
	id := b.mustRecord(t, store.RunEntry{Sheet: sheet})
	run, _ := b.regulation(t).Run(id)
	if edits := timing.Edits(sheet, run.Sheet); len(edits) > 0 {
		t.Errorf("kept otherwise than written: %+v", edits)
	}
}

func TestRegulationSheetOfNoDocket(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	if _, err := b.RegulationSheet(t.Context(), docket.Number{Year: 2026, Seq: 999}); !errors.Is(err, domain.ErrNotFound) {
		t.Errorf("got %v", err)
	}
}

// A docket regulated for years still opens in one round trip, with the run as received among those shown.
func TestSheetOfManyRuns(t *testing.T) {
	t.Parallel()
	b := regulating(t)
	b.stage(t, docket.StageDiagnosis)
	received := b.mustRecord(t, store.RunEntry{Sheet: runSheet(timing.AsReceived, 30)})
	b.stage(t, docket.StageRegulation)
	b.record(t, `INSERT INTO run (docket_id, kind, ordinal, instrument_ppm, taken_at, by_id)
		SELECT {d}, 'adjustment', n, 1, $2, $1 FROM generate_series(1, 120) n`, b.watchmaker.StaffID, b.at)
	sheet := b.regulation(t)
	if _, found := sheet.Run(received); !found || len(sheet.Runs) != store.RunsShown+1 || sheet.NextAdjustment != 121 {
		t.Errorf("%d runs, the one as received among them: %v, next adjustment %d", len(sheet.Runs), found,
			sheet.NextAdjustment)
	}
}

// because is the next change of the bench with its reason.
func (b *bench) because(why string) store.Change {
	c := b.next()
	c.Why = why
	return c
}
