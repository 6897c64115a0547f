package store_test

import (
	"slices"
	"strings"
	"testing"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/timing"
	"ledgerwheel/store"
)

// again is a second or later reading of dial up at full wind.
func again(n int, rate float64) timing.Reading {
	return timing.Reading{Position: timing.DialUp, Repeat: n, RateSPerDay: &timing.Figure{Value: rate, Step: 1},
		AmplitudeDeg: &timing.Figure{Value: 280, Step: 1}}
}

// TestReadingsTakenAgain: they are kept beside the first, journalled, judged by their means, and corrected with a reason.
func TestReadingsTakenAgain(t *testing.T) {
	t.Parallel()
	b := regulating(t)
	sheet := runSheet(timing.Final, 3)
	sheet.Run.Readings = append(sheet.Run.Readings, again(1, 5), again(2, 4))
	id := b.mustRecord(t, store.RunEntry{Sheet: sheet})
	run, _ := b.regulation(t).Run(id)
	if edits := timing.Edits(sheet, run.Sheet); len(edits) > 0 || len(run.Sheet.Run.Readings) != 14 {
		t.Fatalf("%d readings, kept otherwise than written: %+v", len(run.Sheet.Run.Readings), edits)
	}
	for i, want := range []float64{3, 5, 4} { // the order they were taken in
		if r := run.Sheet.Run.Readings[i]; r.Repeat != i || r.RateSPerDay.Value != want || r.TakenBy != "Emrys Vale" {
			t.Errorf("reading %d: %+v", i+1, r)
		}
	}
	if e := b.newestEntry(t); !strings.Contains(string(e.Facts), `{"at":"CH, full wind, reading 3","figures":"+4 s/d, 280°"}`) {
		t.Errorf("facts %s", e.Facts)
	}

	changed := run.Sheet
	changed.Run.Readings = slices.Clone(run.Sheet.Run.Readings)
	changed.Run.Readings[1] = again(1, 4)
	if bad := problemsOf(t, b.ChangeRun(t.Context(), b.next(), id, run.Version, changed)); bad["why"] == "" {
		t.Errorf("a figure on record was changed without a reason: %v", bad)
	}
	if err := b.ChangeRun(t.Context(), b.because("misread"), id, run.Version, changed); err != nil {
		t.Fatal(err)
	}
	after, _ := b.regulation(t).Run(id)
	if r := after.Sheet.Run.Readings; r[1].RateSPerDay.Value != 4 || r[0].RateSPerDay.Value != 3 ||
		!r[1].TakenAt.Equal(b.at) || !r[0].TakenAt.Equal(run.TakenAt) {
		t.Errorf("corrected: %+v %+v", r[0], r[1])
	}
	if e := b.newestEntry(t); e.Why != "misread" ||
		!strings.Contains(string(e.Facts), `{"figure":"rate, CH, full wind, reading 2","from":"+5 s/d","to":"+4 s/d"}`) {
		t.Errorf("because %q: %s", e.Why, e.Facts)
	}

	alone := after.Sheet // the first is taken out, the others stay
	alone.Run.Readings = slices.Clone(after.Sheet.Run.Readings[1:])
	if bad := problemsOf(t, b.ChangeRun(t.Context(), b.because("?"), id, after.Version, alone)); bad["again1-rate-CH-0"] == "" {
		t.Errorf("later readings without a first: %v", bad)
	}
}

// TestVerdictOfReadingsTakenAgain: readings that differ by more than the limits leave room for decide nothing.
func TestVerdictOfReadingsTakenAgain(t *testing.T) {
	t.Parallel()
	b := regulating(t)
	sheet := runSheet(timing.Final, 3)
	sheet.Run.Readings = append(sheet.Run.Readings, again(1, 30), again(2, -24)) // the mean stays 3
	id := b.mustRecord(t, store.RunEntry{Sheet: sheet})
	run, _ := b.regulation(t).Run(id)
	if run.Outcome != docket.Undecided {
		t.Errorf("outcome %q", run.Outcome)
	}
}
