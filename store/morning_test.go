package store_test

import (
	"context"
	"math/rand/v2"
	"testing"
	"time"

	"ledgerwheel/store"
	"ledgerwheel/store/storetest"
)

// TestMorningsMoneyIsAsAddedUpSlowly makes documents and payments at random on many dockets, in two currencies, and works out again
// from all rows what was taken and who owes. Dates, credit notes, refunds and rounded cash are among them.
func TestMorningsMoneyIsAsAddedUpSlowly(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	today := time.Date(2026, 11, 1, 0, 0, 0, 0, time.UTC) // yesterday lies in another month
	rng := rand.New(rand.NewPCG(17, 1))
	exec := func(sql string, args ...any) {
		t.Helper()
		if _, err := c.Pool().Exec(t.Context(), sql, args...); err != nil {
			t.Fatal(err)
		}
	}
	for _, currency := range []string{"CHF", "EUR"} { // it once took another
		sh := c.shop
		sh.Currency = currency
		if err := c.SaveShop(t.Context(), sh, c.clerk, c.at); err != nil {
			t.Fatal(err)
		}
	}
	type key struct{ currency string }
	taken, month, owed := map[key]int64{}, map[key]int64{}, map[key]int64{}
	debts := map[key]int{}
	for i := range 60 {
		in := c.takingIn()
		in.NewCustomer, in.NewWatch = true, true
		n, sheet := c.mustTakeIn(t, in)
		k := key{"EUR"}
		if i%3 == 0 {
			k.currency = "CHF"
			exec(`UPDATE docket SET currency = 'CHF' WHERE number = $1`, n.String())
		}
		var billed, paid int64
		for range rng.IntN(4) {
			kind, minor := "invoice", 100+rng.Int64N(20000)
			if billed > 0 && rng.IntN(4) == 0 {
				kind, minor = "credit-note", 1+rng.Int64N(500)
			}
			exec(`INSERT INTO invoice (series_id, year, n, number, kind, docket_id, answers_id, issued_on, booked_on, currency, net_minor, tax_minor, gross_minor, body, by_id, at)
				SELECT (SELECT min(id) FROM invoice_series), 0, g.n, 'S-' || g.n, $2, $1, CASE WHEN $2 = 'credit-note' THEN (SELECT min(id) FROM invoice WHERE docket_id = $1) END,
					$5::date, $5::date, $3, $4, 0, $4, '{}', 1, now() FROM (SELECT count(*) + 1 AS n FROM invoice) g`, sheet.Head.Docket.ID, kind, k.currency, minor,
				today.AddDate(0, 0, -rng.IntN(400)))
			if kind == "invoice" {
				billed += minor
			} else {
				billed -= minor
			}
		}
		for range rng.IntN(4) {
			minor, rounded, day := rng.Int64N(9000)-1000, rng.Int64N(5)-2, today.AddDate(0, 0, -rng.IntN(3))
			if minor == 0 {
				minor = 1
			}
			exec(`INSERT INTO payment (docket_id, minor, rounded_minor, currency, method, by_id, at, day) VALUES ($1, $2, nullif($3::bigint, 0), $4, 'card', 1, $5::date, $5::date)`,
				sheet.Head.Docket.ID, minor, rounded, k.currency, day)
			paid += minor - rounded
			if day.Equal(today.AddDate(0, 0, -1)) {
				taken[k] += minor
			}
			if day.Equal(today) {
				month[k] += minor
			}
		}
		if documents(t, c, sheet.Head.Docket.ID) > 0 && billed > paid {
			owed[k] += billed - paid
			debts[k]++
		}
	}
	ctx, count := storetest.CountRoundTrips(t.Context())
	m, err := c.Morning(ctx, today)
	if err != nil || count.Trips() != 1 {
		t.Fatalf("%d round trips, %v", count.Trips(), err)
	}
	for _, got := range m.Taken {
		k := key{got.Currency}
		if got.YesterdayMinor != taken[k] || got.MonthMinor != month[k] {
			t.Errorf("%s: taken %d and %d, added up %d and %d", k.currency, got.YesterdayMinor, got.MonthMinor, taken[k], month[k])
		}
		delete(taken, k)
		delete(month, k)
	}
	if len(taken)+len(month) > 0 {
		t.Errorf("not told: %v, %v", taken, month)
	}
	n := 0
	for _, got := range m.Owed {
		k := key{got.Currency}
		if got.Minor != owed[k] || got.Dockets != debts[k] {
			t.Errorf("%s: owed %d on %d, added up %d on %d", k.currency, got.Minor, got.Dockets, owed[k], debts[k])
		}
		n += debts[k]
	}
	if len(m.Owed) != len(owed) || n < 5 {
		t.Errorf("owed in %d currencies, added up %d, on %d dockets", len(m.Owed), len(owed), n)
	}
	list, more, err := c.Debts(t.Context(), 0)
	if err != nil || more || len(list) != n {
		t.Errorf("%d debts listed, want %d: %v", len(list), n, err)
	}
	sum := map[key]int64{}
	for _, d := range list {
		sum[key{d.Currency}] += d.Minor
	}
	for k, want := range owed {
		if sum[k] != want {
			t.Errorf("%s: the list adds up to %d, want %d", k.currency, sum[k], want)
		}
	}
}

// documents counts the documents of a docket.
func documents(t *testing.T, c *counter, docketID int64) (n int) {
	t.Helper()
	if err := c.Pool().QueryRow(t.Context(), `SELECT count(*) FROM invoice WHERE docket_id = $1`, docketID).Scan(&n); err != nil {
		t.Fatal(err)
	}
	return n
}

// morningQuestions are what the owner's morning and its lists ask, on the last day of the last whole month: what it adds up is then much
// the same in a small shop and in a large one.
func morningQuestions() []question {
	return []question{
		{"morning", func(ctx context.Context, o *oldShop) error {
			newest := time.Date(2001, 1, 2, 0, 0, 0, 0, time.UTC).Add(time.Duration(o.size) * 2 * time.Hour)
			return second(o.Morning(ctx, time.Date(newest.Year(), newest.Month(), 0, 0, 0, 0, 0, time.UTC)))
		}},
		{"owed", func(ctx context.Context, o *oldShop) error { _, _, err := o.Debts(ctx, 0); return err }},
		{"comebacks", func(ctx context.Context, o *oldShop) error { return second(o.Comebacks(ctx, store.ComebackFilter{})) }},
		{"comebacks in the shop", func(ctx context.Context, o *oldShop) error {
			return second(o.Comebacks(ctx, store.ComebackFilter{Open: true}))
		}},
	}
}
