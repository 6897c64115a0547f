package demoshop

import (
	"testing"
	"time"

	"ledgerwheel/domain/books"
	"ledgerwheel/store"
)

// checkTill works the closed days out again from the payments and moves alone: none with cash is left open, each says what
// fell to it, and the books of the whole demo balance and come to the invoices and payments.
func checkTill(t *testing.T, s *store.Store, r record) {
	ctx := t.Context()
	today := time.Date(testNow.Year(), testNow.Month(), testNow.Day(), 0, 0, 0, 0, time.UTC)
	v, err := s.Till(ctx, "GBP", today, time.Time{})
	if err != nil || !v.Day.On.Equal(today) || v.Day.Waits() {
		t.Fatalf("%s is still open: %v", v.Day.On, err)
	}
	one := func(sql string) (n int64) {
		t.Helper()
		if err := s.Pool().QueryRow(ctx, sql).Scan(&n); err != nil {
			t.Fatalf("%s: %v", sql, err)
		}
		return n
	}
	days, differ, banked := one(`SELECT count(*) FROM till_close`), one(`SELECT count(*) FROM till_close WHERE difference_minor <> 0 AND why <> ''`),
		one(`SELECT count(*) FROM till_move WHERE kind = 'banked'`)
	t.Logf("%d days closed, %d with a difference, %d sums banked", days, differ, banked)
	if days < 8 || differ < 2 || banked < 2 {
		t.Error("too few for a demo")
	}
	if n := one(`SELECT count(*) FROM payment WHERE method = 'cash' AND NOT EXISTS (SELECT FROM till_close WHERE till_close.day = payment.day)`); n != 0 {
		t.Errorf("%d cash payments fall to no closed day", n)
	}
	cash := one(`SELECT coalesce(sum(minor), 0) FROM payment WHERE method = 'cash'`) + one(`SELECT coalesce(sum(minor), 0) FROM till_move`) +
		one(`SELECT coalesce(sum(difference_minor), 0) FROM till_close`)
	if cash != v.Day.OpenedMinor {
		t.Errorf("the till has %d, and all that passed comes to %d", v.Day.OpenedMinor, cash)
	}
	b, err := s.Books(ctx, "GBP", today.AddDate(-5, 0, 0), today)
	if err != nil {
		t.Fatal(err)
	}
	debit, credit, debtors := int64(0), int64(0), int64(0)
	for _, l := range books.Lines(b.Facts) {
		debit, credit = debit+l.DebitMinor, credit+l.CreditMinor
		if l.Account == books.Debtors {
			debtors += l.DebitMinor - l.CreditMinor
		}
	}
	// What each docket's own page says is owed, or was paid ahead of its bill.
	said := int64(0)
	for _, h := range r.heads {
		if h.Money.Billed {
			said += h.Facts.DueMinor
		} else {
			said += h.Money.InvoicedMinor - h.Money.PaidMinor + h.Money.RoundedMinor
		}
	}
	owed := one(`SELECT coalesce(sum(CASE kind WHEN 'credit-note' THEN -gross_minor ELSE gross_minor END), 0) FROM invoice`) -
		one(`SELECT coalesce(sum(minor - coalesce(rounded_minor, 0)), 0) FROM payment`)
	if debit != credit || debtors != owed || said != owed {
		t.Errorf("%d debit, %d credit; customers owe %d, by hand %d, as the dockets say %d", debit, credit, debtors, owed, said)
	}
}
