package store_test

import (
	"context"
	"errors"
	"testing"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/books"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/invoice"
	"ledgerwheel/domain/till"
	"ledgerwheel/store"
	"ledgerwheel/store/storetest"
)

// A deposit is invoiced and paid, the bill takes it off, a part of it is credited and given back, the till is counted a coin
// short: the books say what the rows say, added up one by one, and a document of after the closing is booked to the next day.
func TestBooksOfADocket(t *testing.T) {
	t.Parallel()
	b := ready(t)
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	_, err := b.IssueDeposit(t.Context(), store.Billing{Issue: b.issue(t, b.clerk)}, 3000)
	must(err)
	must(b.TakePayment(t.Context(), b.change(t, b.clerk), docket.Payment{Minor: 3000, Method: docket.Card}))
	bill := b.mustBill(t, invoice.Choices{})
	must(b.TakePayment(t.Context(), b.change(t, b.clerk), docket.Payment{Minor: 6000, Method: docket.Cash}))
	on := civil(b.at, b.shop.Location())
	v := b.till(t, on)
	must(b.CloseTill(t.Context(), store.TillClosing{Currency: "EUR", On: v.Day.On, SeenMinor: v.Day.HoldsMinor(), Closing: till.Closing{CountedMinor: v.Day.HoldsMinor() - 10, Why: "a coin"}},
		b.clerk, b.at))
	_, err = b.IssueCredit(t.Context(), b.issue(t, b.owner), bill, invoice.Crediting{Why: "goodwill", GrossMinor: 1000})
	must(err)
	must(b.TakePayment(t.Context(), b.change(t, b.owner), docket.Payment{Minor: -1000, Method: docket.Cash, Note: "goodwill"}))

	today, err := b.Books(t.Context(), "EUR", on, on)
	must(err)
	if sum := books.Total(today.Facts); sum.BilledMinor != 9000 || sum.CreditedMinor != 0 || sum.DifferenceMinor != -10 || sum.OwedMinor != 0 || len(today.Payments) != 2 {
		t.Errorf("the day came to %+v", sum)
	}
	next, err := b.Books(t.Context(), "EUR", on.AddDate(0, 0, 1), on.AddDate(0, 0, 1))
	must(err)
	if sum := books.Total(next.Facts); sum.CreditedMinor != 1000 || sum.BilledMinor != 0 || next.OwedMinor != 0 || len(next.Payments) != 1 {
		t.Errorf("after closing: %+v, owed before %d", sum, next.OwedMinor)
	}
	b.booksAddUp(t, on.AddDate(0, -1, 0), on.AddDate(0, 1, 0))
	// What was paid before days were kept comes with the first document, on an account of its own.
	b.record(t, `UPDATE payment SET day = NULL WHERE minor = 3000`)
	today, err = b.Books(t.Context(), "EUR", on, on)
	must(err)
	earlier := int64(0)
	for _, p := range today.Payments {
		if p.Earlier {
			earlier += p.Minor
		}
	}
	if earlier != 3000 || books.Total(today.Facts).OwedMinor != 0 {
		t.Errorf("%d was paid before, and %d is owed", earlier, books.Total(today.Facts).OwedMinor)
	}
	oneRoundTrip(t, func(ctx context.Context) error { return second(b.Books(ctx, "EUR", on, on)) })
}

// booksAddUp works the books of a span out again from the rows, one by one.
func (b *bench) booksAddUp(t *testing.T, from, to time.Time) {
	t.Helper()
	all, err := b.Books(t.Context(), "EUR", from, to)
	if err != nil {
		t.Fatal(err)
	}
	want := map[books.Account]int64{}
	add := func(sql string, put func(name string, a, b int64)) {
		t.Helper()
		rows, err := b.Pool().Query(t.Context(), sql)
		if err != nil {
			t.Fatal(err)
		}
		defer rows.Close()
		for rows.Next() {
			var name string
			var x, y int64
			if err := rows.Scan(&name, &x, &y); err != nil {
				t.Fatal(err)
			}
			put(name, x, y)
		}
	}
	add(`SELECT kind, gross_minor, net_minor FROM invoice`, func(kind string, gross, net int64) {
		if kind == string(invoice.Credit) {
			gross, net = -gross, -net
		}
		want[books.Debtors] += gross
		want["net"] -= net
	})
	add(`SELECT i.kind, r.tax_minor, 0 FROM invoice i JOIN invoice_rate r ON r.invoice_id = i.id`, func(kind string, tax, _ int64) {
		if kind == string(invoice.Credit) {
			tax = -tax
		}
		want["tax"] -= tax
	})
	add(`SELECT method, minor, coalesce(rounded_minor, 0) FROM payment`, func(way string, minor, rounded int64) {
		want[books.Way(till.Way(way))] += minor
		want[books.Debtors] -= minor - rounded
		want[books.Rounding] -= rounded
	})
	add(`SELECT kind, minor, 0 FROM till_move`, func(_ string, minor, _ int64) { want[books.Way(till.Cash)] += minor })
	add(`SELECT 'x', difference_minor, 0 FROM till_close`, func(_ string, minor, _ int64) {
		want[books.Way(till.Cash)] += minor
		want[books.Difference] -= minor
	})
	got := map[books.Account]int64{}
	balance := int64(0)
	for _, l := range books.Lines(all.Facts) {
		a := l.Account
		switch {
		case len(a) > 6 && a[:6] == "sales:", a == books.Prepaid: // a deposit's net is sold by its bill
			a = "net"
		case len(a) > 4 && a[:4] == "tax:":
			a = "tax"
		}
		got[a] += l.DebitMinor - l.CreditMinor
		balance += l.DebitMinor - l.CreditMinor
	}
	for a, minor := range want {
		if got[a] != minor {
			t.Errorf("%s has %d, by hand %d", a, got[a], minor)
		}
	}
	if balance != 0 {
		t.Errorf("the books are out of balance by %d", balance)
	}
}

func TestAccountsAreNamed(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	name := []books.Named{{Account: books.Debtors, Number: "1400", Name: "Customers"}, {Account: books.Sales(810), Number: "3000"}}
	if err := c.NameAccounts(t.Context(), name, 0, c.clerk, c.at); err != nil {
		t.Fatal(err)
	}
	if err := c.NameAccounts(t.Context(), name, 0, c.clerk, c.at); !errors.Is(err, domain.ErrChanged) {
		t.Errorf("saved over another's: %v", err)
	}
	name[0].Number = "14 00"
	if err := c.NameAccounts(t.Context(), name, 1, c.clerk, c.at); problemsOf(t, err)["number-debtors"] == "" {
		t.Errorf("a number with a space: %v", err)
	}
	got, err := c.BookAccounts(t.Context())
	if err != nil || got.Version != 1 || len(got.Names) != 2 || got.Names[0].Number != "1400" {
		t.Errorf("%+v, %v", got, err)
	}
	storetest.Whole(t, c.Store)
}
