package store_test

import (
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/store"
)

// TestPapersBearTheSealFromBefore: the newest from a minute before the docket's newest entry, by the index however many
// there are, and none where none is old enough.
func TestPapersBearTheSealFromBefore(t *testing.T) {
	t.Parallel()
	k := newCounter(t)
	n, err := k.TakeIn(t.Context(), k.takingIn())
	if err != nil {
		t.Fatal(err)
	}
	line := func() string {
		t.Helper()
		sheet, err := k.HandOverSheet(t.Context(), n)
		if err != nil {
			t.Fatal(err)
		}
		other, err := k.RegulationSheet(t.Context(), n)
		if err != nil {
			t.Fatal(err)
		}
		if other.Seal.Line() != sheet.Seal.Line() {
			t.Errorf("the bulletin bears %q, the invoice %q", other.Seal.Line(), sheet.Seal.Line())
		}
		return sheet.Seal.Line()
	}
	sealed := func(at time.Time) string {
		t.Helper()
		made, err := k.Seal(t.Context(), make([]byte, 32), at, nil, true)
		if err != nil {
			t.Fatal(err)
		}
		return made.Line()
	}
	if got := line(); got != "" {
		t.Errorf("without seals: %q", got)
	}
	sealed(k.at.Add(-30 * time.Second))
	if got := line(); got != "" {
		t.Errorf("half a minute before: %q", got)
	}
	sealed(k.at.Add(-2 * time.Hour))
	want := sealed(k.at.Add(-time.Hour))
	sealed(k.at.Add(time.Hour))
	if got := line(); got != want {
		t.Errorf("it bears %q, want %q", got, want)
	}
	if _, err := k.Pool().Exec(t.Context(), `INSERT INTO seal (size, made_at, note) SELECT n, now() + n * interval '1 hour', '' FROM generate_series(1, 50000) n`); err != nil {
		t.Fatal(err)
	}
	if _, err := k.Pool().Exec(t.Context(), `ANALYZE seal`); err != nil {
		t.Fatal(err)
	}
	rows, _ := k.Pool().Query(t.Context(), "EXPLAIN "+store.DocketSealSQL, n.String())
	plan, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		t.Fatal(err)
	}
	if text := strings.Join(plan, "\n"); !strings.Contains(text, "Index Scan Backward using seal_pkey") || strings.Contains(text, "Sort") {
		t.Errorf("among 50 000 seals:\n%s", text)
	}
}
