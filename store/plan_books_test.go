package store_test

import (
	"context"
	"testing"
	"time"
)

// booksGrowth makes ten years of a shop with a million payments and a quarter of a million bills, whose till was counted each evening but
// in the last days.
var booksGrowth = []string{
	`INSERT INTO payment (docket_id, minor, currency, method, by_id, at, day)
		SELECT 1 + i % 20000, 100 + i % 9000, 'EUR', CASE WHEN i % 3 = 0 THEN 'cash' ELSE 'card' END, 1, d, d FROM generate_series(1, 1000000) i,
		LATERAL (SELECT '2016-01-01'::date + (i / 274) AS d) x`,
	`INSERT INTO invoice (series_id, year, n, number, kind, docket_id, issued_on, booked_on, currency, net_minor, tax_minor, gross_minor, body, by_id, at)
		SELECT (SELECT min(id) FROM invoice_series), 0, i, 'B' || i, 'invoice', 1 + i % 20000, d, d, 'EUR', 8000, 1600, 9600, '{}', 1, d FROM generate_series(1, 250000) i,
		LATERAL (SELECT '2016-01-01'::date + (i / 69) AS d) x`,
	`INSERT INTO invoice_rate (invoice_id, tax_basis_points, net_minor, tax_minor, gross_minor) SELECT id, CASE WHEN id % 9 = 0 THEN 500 ELSE 2000 END, 8000, 1600, 9600 FROM invoice`,
	`INSERT INTO till_close (day, currency, opened_minor, book_minor, since_minor, counted_minor, difference_minor, pieces, takings, owed_minor, by_id, at)
		SELECT d, 'EUR', 0, 1, 0, 1, 0, '[]', '[]', 4711, 1, d FROM generate_series(1, 3636) i, LATERAL (SELECT '2016-01-01'::date + i AS d) x`,
}

// TestPlansOfTheBooksAtAMillionPayments: what a month or a day begins with, and the books of a day, don't grow with the age of the shop.
func TestPlansOfTheBooksAtAMillionPayments(t *testing.T) {
	t.Parallel()
	o := newOldShop(t)
	o.growTo(t, 20_000)
	start := time.Now()
	if _, err := o.conn.Exec(t.Context(), `SET session_replication_role = replica`); err != nil {
		t.Fatal(err)
	}
	for _, sql := range booksGrowth {
		if _, err := o.conn.Exec(t.Context(), sql); err != nil {
			t.Fatalf("%v\n%s", err, sql)
		}
	}
	for _, sql := range []string{`RESET session_replication_role`, `VACUUM ANALYZE`} {
		if _, err := o.conn.Exec(t.Context(), sql); err != nil {
			t.Fatal(err)
		}
	}
	t.Logf("a million payments in %s", time.Since(start).Round(time.Millisecond))
	// The last closed day is 15 December 2025, and the last payment fell to the 25th.
	for _, q := range []struct {
		what     string
		from, to time.Time
		rows     float64 // at most
	}{
		// A day has 274 payments, each with its docket, and 69 bills, each with a rate and looked up as the first of its docket. Where the
		// day before is not closed, what was booked since the last closed day is met too.
		{"a day long ago", civilOn(2019, 5, 14), civilOn(2019, 5, 14), 2_500},
		{"the newest day", civilOn(2025, 12, 20), civilOn(2025, 12, 20), 7_000},
		{"a month", civilOn(2024, 2, 1), civilOn(2024, 2, 29), 45_000},
	} {
		o.watch.take()
		if _, err := o.Books(t.Context(), "EUR", q.from, q.to); err != nil {
			t.Fatal(err)
		}
		var sum cost
		for _, asked := range o.watch.take() {
			c := explain(t, o.conn, asked, q.what, false)
			sum.rows, sum.pages = sum.rows+c.rows, sum.pages+c.pages
		}
		t.Logf("%-20s rows %6.0f   pages %6d", q.what, sum.rows, sum.pages)
		if sum.rows > q.rows {
			t.Errorf("%s meets %.0f rows, at most %.0f are right", q.what, sum.rows, q.rows)
		}
	}
	_, _ = o.BookAccounts(context.WithoutCancel(t.Context()))
	var sum cost
	for _, asked := range o.watch.take() {
		sum.rows += explain(t, o.conn, asked, "rates ever billed", false).rows
	}
	if sum.rows > 20 {
		t.Errorf("the rates that were ever billed are found by meeting %.0f rows", sum.rows)
	}
}

func civilOn(year, month, day int) time.Time {
	return time.Date(year, time.Month(month), day, 0, 0, 0, 0, time.UTC)
}
