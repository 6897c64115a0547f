package demoshop

import (
	"context"
	"errors"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
	"ledgerwheel/store/storetest"
)

// seeding is a shop of two years, as the test tells the time.
func seeding(dockets int) Seeding {
	return Seeding{Dockets: dockets, Years: 2, Number: 7, Until: time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)}
}

// TestSeed: a seeded shop that was broken off goes on to whole dockets, its record is whole, every sheet of its dockets opens,
// the next intake takes the next number, and its figures are those of a shop.
func TestSeed(t *testing.T) {
	t.Parallel()
	s := storetest.New(t)
	const dockets = 900
	ctx, cancel := context.WithCancel(t.Context())
	in := seeding(dockets)
	in.Progress = func(int) { cancel() }
	if _, err := Seed(ctx, s, in); !errors.Is(err, context.Canceled) {
		t.Fatalf("broken off: %v", err)
	}
	storetest.Whole(t, s)
	given, err := s.DocketsGiven(t.Context())
	if err != nil || given == 0 || given >= dockets {
		t.Fatalf("%d dockets when broken off, %v", given, err)
	}
	if people, err := Seed(t.Context(), s, seeding(dockets)); err != nil || len(people) != 0 {
		t.Fatalf("going on: %v, %v", people, err)
	}
	if _, err := s.Integrate(t.Context()); err != nil {
		t.Fatal(err)
	}
	if _, err := s.RefreshOutcomes(t.Context()); err != nil {
		t.Fatal(err)
	}
	if c := storetest.Whole(t, s); c.Dockets != dockets || c.Waiting != 0 || c.LogSize < 15*dockets {
		t.Errorf("looked at %+v", c)
	}
	share := func(name, sql string, least, most float64) {
		t.Helper()
		var got float64
		if err := s.Pool().QueryRow(t.Context(), `SELECT (`+sql+`)::float8`).Scan(&got); err != nil || got < least || got > most {
			t.Errorf("%s: %.3f, want %g to %g, %v", name, got, least, most, err)
		}
		t.Logf("%s: %.3f", name, got)
	}
	// Made up, with room for chance. These hold what the seed is meant to make, not what any shop does.
	share("open", `SELECT count(*) FROM docket WHERE open`, 60, 400)
	share("stages in which some are open", `SELECT count(DISTINCT stage) FROM docket WHERE open`, 8, 10)
	share("promise kept", `SELECT avg((ready_on <= first_promised_on)::int) FROM outcome WHERE ended = 'handed-over' AND comeback_of IS NULL`, 0.7, 0.92)
	share("first test passed", `SELECT avg(first_passed::int) FROM outcome WHERE tests > 0`, 0.8, 0.97)
	share("came back", `SELECT count(comeback_of)::float8 / count(*) FROM outcome`, 0.01, 0.05)
	share("declined", `SELECT avg((NOT approved)::int) FROM outcome WHERE answered_on IS NOT NULL`, 0.05, 0.16)
	share("benches", `SELECT count(DISTINCT bench_staff_id) FROM outcome`, 3, 3)
	share("stays that no docket has", `SELECT count(*) FROM stay WHERE until IS NULL AND docket_id NOT IN (SELECT id FROM docket WHERE open)`, 0, 0)
	share("invoices without a gap", `SELECT count(*) FROM invoice_number n WHERE last <> (SELECT count(*) FROM invoice i WHERE (i.series_id, i.year) = (n.series_id, n.year))`, 0, 0)
	const after = `SELECT avg(lying_after - hanging_after) FROM outcome WHERE lying_after IS NOT NULL AND calibre_id `
	const worst = `(SELECT id FROM calibre WHERE name = 'PW 24 A')`
	share("the calibre that misbehaves, degrees hanging", `(`+after+`= `+worst+`) - (`+after+`<> `+worst+`)`, 2, 20)
	opens(t, s)
}

// opens reads every sheet of some dockets of each stage.
func opens(t *testing.T, s *store.Store) {
	t.Helper()
	ctx := t.Context()
	rows, _ := s.Pool().Query(ctx, `SELECT year, seq FROM (SELECT year, seq, row_number() OVER (PARTITION BY stage, open ORDER BY id DESC) n FROM docket) d WHERE n <= 3`)
	numbers, err := pgx.CollectRows(rows, pgx.RowToStructByPos[docket.Number])
	if err != nil || len(numbers) < 20 {
		t.Fatalf("%d dockets, %v", len(numbers), err)
	}
	for _, n := range numbers {
		_, a := s.IntakeSheet(ctx, n)
		_, b := s.DiagnosisSheet(ctx, n)
		_, c := s.EstimateSheet(ctx, n)
		_, d := s.ServiceSheet(ctx, n)
		_, e := s.RegulationSheet(ctx, n)
		_, f := s.FinalTestSheet(ctx, n)
		_, g := s.HandOverSheet(ctx, n)
		_, h := s.InvoiceSheet(ctx, n)
		if err := errors.Join(a, b, c, d, e, f, g, h); err != nil {
			t.Errorf("docket %s: %v", n, err)
		}
	}
}

// TestSeedLeavesOthersAlone: no shop is filled that somebody else began.
func TestSeedLeavesOthersAlone(t *testing.T) {
	t.Parallel()
	s := storetest.New(t)
	sh := shop.Defaults()
	sh.Name, sh.LinkSecret = "Gull & Sons", make([]byte, 32)
	if _, err := s.Found(t.Context(), sh, staff.Member{Name: "Ada Gull", Email: "ada@gull.example", Role: staff.Owner}, "", time.Now()); err != nil {
		t.Fatal(err)
	}
	if _, err := Seed(t.Context(), s, seeding(10)); !errors.Is(err, ErrOtherShop) {
		t.Errorf("got %v", err)
	}
	if n, err := s.DocketsGiven(t.Context()); n != 0 || err != nil {
		t.Errorf("%d dockets, %v", n, err)
	}
}
