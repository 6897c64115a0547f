package store_test

import (
	"context"
	"errors"
	"slices"
	"strings"
	"testing"

	"ledgerwheel/domain"
	"ledgerwheel/domain/diagnosis"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/stock"
	"ledgerwheel/domain/watch"
	"ledgerwheel/store"
	"ledgerwheel/store/storetest"
)

var workedOut = store.BenchResult{Tool: "Mainspring", Slug: "mainspring", Typed: "barrel=10.4&arbor=2.6",
	Inputs: []string{"Barrel inside: 10.4 mm", "Arbor: 2.6 mm"}, Figures: []string{"Thickness: 0.105 mm", "Turns: 6.2"}}

func (b *bench) benchSheet(t *testing.T) store.BenchSheet {
	t.Helper()
	sheet, err := b.BenchSheet(t.Context(), b.n)
	if err != nil {
		t.Fatal(err)
	}
	return sheet
}

func TestBenchResultsAreKept(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	begun := len(b.kinds(t, b.n))
	if _, err := b.KeepBenchFinding(t.Context(), b.by(b.watchmaker), workedOut, brokenSpring); err != nil {
		t.Fatal(err)
	}
	b.wantKinds(t, begun, docket.BenchKept, docket.FindingAdded)
	part := stock.PartLine{Description: "Mainspring, 0.105 mm", Quantity: 1, State: stock.Needed}
	if _, err := b.KeepBenchPart(t.Context(), b.by(b.watchmaker), workedOut, part); err != nil {
		t.Fatal(err)
	}
	b.wantKinds(t, begun, docket.BenchKept, docket.FindingAdded, docket.BenchKept, docket.PartNeeded)

	kept := b.benchSheet(t).Kept
	if len(kept) != 2 || kept[0].KeptAs != store.BenchPart || kept[1].KeptAs != store.BenchFinding {
		t.Fatalf("kept %+v, want the part and then the finding", kept)
	}
	got := kept[1]
	if got.Tool != workedOut.Tool || got.Slug != workedOut.Slug || got.Typed != workedOut.Typed ||
		!slices.Equal(got.Inputs, workedOut.Inputs) ||
		!slices.Equal(got.Figures, workedOut.Figures) || got.By != "Emrys Vale" || !got.At.Equal(b.at) {
		t.Errorf("kept as %+v", got)
	}
	if findings := b.diagnosis(t).Standing(); len(findings) != 1 || findings[0].Fault != "broken" {
		t.Errorf("findings %+v", findings)
	}
	storetest.Whole(t, b.Store)
	oneRoundTrip(t, func(ctx context.Context) error { return second(b.BenchSheet(ctx, b.n)) })
}

// What is refused leaves nothing, neither in the journal nor beside it.
func TestBenchResultsThatAreRefused(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	begun := len(b.kinds(t, b.n))
	_, err := b.KeepBenchFinding(t.Context(), b.by(b.watchmaker), workedOut, diagnosis.Finding{Fault: "set",
		Severity: diagnosis.Require})
	if problemsOf(t, err)["component"] == "" {
		t.Errorf("a finding on nothing: %v", err)
	}
	_, err = b.KeepBenchPart(t.Context(), b.by(b.watchmaker), workedOut, stock.PartLine{Quantity: 1, State: stock.Needed})
	if problemsOf(t, err)["description"] == "" {
		t.Errorf("a part that is none: %v", err)
	}
	strange := brokenSpring
	strange.PhotoID = 4711
	if _, err = b.KeepBenchFinding(t.Context(), b.by(b.watchmaker), workedOut, strange); problemsOf(t,
		err)["photo"] == "" {
		t.Errorf("a photograph of another docket: %v", err)
	}
	b.wantKinds(t, begun)
	if n := len(b.diagnosis(t).Findings); n != 0 {
		t.Errorf("%d findings are left", n)
	}

	b.close(t, b.n, docket.StageWithdrawn, b.at)
	if _, err := b.KeepBenchFinding(t.Context(), b.by(b.watchmaker), workedOut, brokenSpring); !errors.Is(err,
		domain.ErrClosed) {
		t.Errorf("on a closed docket: %v", err)
	}
	if _, err := b.KeepBenchPart(t.Context(), b.by(b.watchmaker), workedOut, stock.PartLine{Description: "Mainspring",
		Quantity: 1, State: stock.Needed}); !errors.Is(err, domain.ErrClosed) {
		t.Errorf("a part on a closed docket: %v", err)
	}
	if _, err := b.BenchSheet(t.Context(), docket.Number{Year: 26, Seq: 4711}); !errors.Is(err, domain.ErrNotFound) {
		t.Errorf("of no docket: %v", err)
	}
}

func TestBenchCorrections(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	if sheet := b.benchSheet(t); sheet.CalibreVersion != 0 {
		t.Fatalf("a calibre that is not in the list has version %d", sheet.CalibreVersion)
	}
	k := watch.Calibre{Name: "Tarnside 7", BeatsPerHour: 18000, GradeKey: "modern", PowerReserveHours: 40}
	id, err := b.AddCalibre(t.Context(), store.CalibreChange{By: b.watchmaker, At: b.at}, k)
	if err != nil {
		t.Fatal(err)
	}
	b.record(t, `UPDATE watch SET calibre_id = $1, calibre_name = 'Tarnside 7' WHERE id = (SELECT watch_id FROM docket WHERE id = {d})`, id)
	begun := len(b.kinds(t, b.n))
	version := b.benchSheet(t).CalibreVersion
	correct := func(version int64, fields map[string]string) error {
		return b.KeepBenchCorrection(t.Context(), b.by(b.watchmaker), workedOut, id, version, fields)
	}
	if err := correct(version+1, map[string]string{"power_reserve_hours": "42"}); !errors.Is(err, domain.ErrChanged) {
		t.Errorf("on another version: %v", err)
	}
	if err := correct(version, map[string]string{"power_reserve_hours": "40"}); problemsOf(t, err)[""] == "" {
		t.Errorf("what the calibre says already: %v", err)
	}
	if err := correct(version, map[string]string{"power_reserve_hours": "-3"}); problemsOf(t,
		err)["power_reserve_hours"] == "" {
		t.Errorf("a negative reserve: %v", err)
	}
	b.wantKinds(t, begun)
	if err := correct(version, map[string]string{"power_reserve_hours": "42",
		"barrel_inside_diameter": "10.4"}); err != nil {
		t.Fatal(err)
	}
	b.wantKinds(t, begun, docket.BenchKept)
	sheet := b.benchSheet(t)
	if got := sheet.Head.Calibre; got.PowerReserveHours != 42 || got.BarrelInsideDiameterMm != 10.4 ||
		got.BeatsPerHour != 18000 {
		t.Errorf("the calibre is now %+v", got)
	}
	if sheet.CalibreVersion == version || sheet.Kept[0].KeptAs != store.BenchCorrection {
		t.Errorf("version %d, kept %+v", sheet.CalibreVersion, sheet.Kept)
	}
	entries, err := b.Journal(t.Context(), b.head(t).Docket.ID, 0)
	if err != nil {
		t.Fatal(err)
	}
	facts := string(entries[0].Facts)
	for _, want := range []string{"Barrel inside: 10.4 mm", "Turns: 6.2", `"was":"40"`, `"now":"42"`} {
		if !strings.Contains(facts, want) {
			t.Errorf("the journal lacks %s: %s", want, facts)
		}
	}

	other, err := b.AddCalibre(t.Context(), store.CalibreChange{By: b.watchmaker, At: b.at},
		watch.Calibre{Name: "Tarnside 9", BeatsPerHour: 21600, GradeKey: "modern"})
	if err != nil {
		t.Fatal(err)
	}
	err = b.KeepBenchCorrection(t.Context(), b.by(b.watchmaker), workedOut, other, 1,
		map[string]string{"power_reserve_hours": "42"})
	if !errors.Is(err, domain.ErrChanged) {
		t.Errorf("of a calibre that is not the watch's: %v", err)
	}
}
