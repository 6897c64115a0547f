package store_test

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"time"

	"ledgerwheel/store"
)

// stockGrowth makes a busy shop's twenty years of stock: $1 parts, a million moves, and what they come to.
var stockGrowth = []string{
	`INSERT INTO supplier (name, kept_by, kept_at) SELECT 'Gannet Materials', 1, '2006-01-01' WHERE $1::int > 0`,
	`INSERT INTO part (number, name, unit, drawer, fits, currency, includes_tax, tax_basis_points, reorder_at, reorder_to, kept_by, kept_at)
		SELECT 'P-' || lpad(i::text, 6, '0'), (ARRAY['Mainspring','Crown','Glass','Stem','Seal'])[1 + i % 5] || ' ' || (i % 300) || '.' || (i % 7) || ' mm', 'piece',
			(ARRAY['A','B','C','D'])[1 + i % 4] || ' ' || i % 90, 'Ebb ' || i % 400, 'EUR', true, 2000, CASE WHEN i % 2 = 0 THEN 2 END, CASE WHEN i % 2 = 0 THEN 6 END, 1, '2006-01-01'
		FROM generate_series(1, $1::int) i`,
	`INSERT INTO part_source (part_id, ordinal, supplier_id, number) SELECT id, 1, 1, 'G' || id * 7 FROM part WHERE id <= $1::int`,
	`INSERT INTO stock (part_id, seq, on_hand, reserved, reorder_at) SELECT id, 1, CASE WHEN id % 100 = 0 THEN 1 ELSE 10 END, 0, reorder_at FROM part WHERE id <= $1::int`,
	`SELECT part_words_again(id) FROM part`,
	`INSERT INTO stock_move (part_id, seq, kind, pieces, by_id, at)
		SELECT CASE WHEN i % 20 = 0 THEN 1 ELSE 1 + i % $1::int END, i, 'received', 1, 1, timestamptz '2006-01-01' + i * interval '10 minutes' FROM generate_series(1, 1000000) i`,
}

// At a million moves the list of stock, its search, the list of what is to be ordered again, a part's ledger, also one of fifty
// thousand moves, and the stocktake meet few rows, which no reading of a whole table of moves, parts or words does.
func TestPlansAtAMillionMoves(t *testing.T) {
	t.Parallel()
	o := newOldShop(t)
	const parts = 20_000
	start := time.Now()
	// Rows that refer to each other as they should need no triggers to make sure of it; words are made by what the triggers call.
	if _, err := o.conn.Exec(t.Context(), `SET session_replication_role = replica`); err != nil {
		t.Fatal(err)
	}
	for _, sql := range stockGrowth {
		args := []any{parts}
		if !strings.Contains(sql, "$1") {
			args = nil
		}
		if _, err := o.conn.Exec(t.Context(), sql, args...); err != nil {
			t.Fatalf("%v\n%s", err, sql)
		}
	}
	if _, err := o.conn.Exec(t.Context(), `RESET session_replication_role`); err != nil {
		t.Fatal(err)
	}
	if _, err := o.conn.Exec(t.Context(), `VACUUM ANALYZE`); err != nil {
		t.Fatal(err)
	}
	t.Logf("a million moves of %d parts in %s", parts, time.Since(start).Round(time.Millisecond))
	list := func(typed, after string, short bool, want func(store.Catalogue) bool) func(context.Context) error {
		return func(ctx context.Context) error {
			c, err := o.Catalogue(ctx, typed, after, short)
			if err == nil && !want(c) {
				err = fmt.Errorf("%d parts found", len(c.Parts))
			}
			return err
		}
	}
	some := func(c store.Catalogue) bool { return len(c.Parts) > 0 }
	for _, q := range []struct {
		what string
		rows float64 // at most
		ask  func(context.Context) error
	}{
		{"list", 500, list("", "", false, some)},
		{"a later page", 500, list("", "P-010000", false, some)},
		{"to be ordered again", 1500, list("", "", true, func(c store.Catalogue) bool { return len(c.Parts) == 100 && c.More })},
		{"by number", 500, list("P-004711", "", false, func(c store.Catalogue) bool { return len(c.Parts) == 1 })},
		{"by a supplier's number", 500, list("g32977", "", false, some)},
		{"by two words", 6_000, list("spring 25.3", "", false, some)},
		{"by nothing that is", 500, list("zzz", "", false, func(c store.Catalogue) bool { return len(c.Parts) == 0 })},
		{"a part's ledger", 500, func(ctx context.Context) error { _, err := o.PartStock(ctx, 4711, 0); return err }},
		{"a ledger of fifty thousand moves", 500, func(ctx context.Context) error {
			p, err := o.PartStock(ctx, 1, 0)
			if err == nil && (len(p.Moves) != 100 || p.Older == 0) {
				err = fmt.Errorf("%d moves, older %d", len(p.Moves), p.Older)
			}
			return err
		}},
		{"its middle", 500, func(ctx context.Context) error { _, err := o.PartStock(ctx, 1, 500_000); return err }},
	} {
		o.watch.take()
		if err := q.ask(t.Context()); err != nil {
			t.Errorf("%s: %v", q.what, err)
			continue
		}
		var sum cost
		for _, asked := range o.watch.take() {
			c := explain(t, o.conn, asked, q.what, false)
			sum.rows, sum.pages = sum.rows+c.rows, sum.pages+c.pages
		}
		t.Logf("%-34s rows %6.0f   pages %6d", q.what, sum.rows, sum.pages)
		if sum.rows > q.rows {
			t.Errorf("%s meets %.0f rows, at most %.0f are right", q.what, sum.rows, q.rows)
		}
	}
}
