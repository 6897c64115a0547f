package demoshop

import (
	"context"
	"time"

	"ledgerwheel/domain/books"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/till"
	"ledgerwheel/store"
)

const (
	float     = 12000 // change that lies in the till, in pence
	bankAbove = 30000 // what is over it goes to the bank
	shuts     = 18*hour + 5*minute
)

// openTill puts change into the till and names the accounts of the books, once.
func (f *filler) openTill(ctx context.Context) error {
	at := f.calendar.at(firstBack, "09:40")
	v, err := f.store.Till(ctx, f.shop.Currency, f.calendar.civil(at), time.Time{})
	if err != nil {
		return err
	}
	if len(v.Moves)+len(v.Closed) == 0 {
		if _, err := f.store.MoveTill(ctx, f.shop.Currency, till.Move{Kind: till.Float, Minor: float, Note: "from the bank, slip 1"}, f.staff[staff.Clerk], at); err != nil {
			return err
		}
	}
	b, err := f.store.BookAccounts(ctx)
	if err != nil || len(b.Names) > 0 {
		return err
	}
	return f.store.NameAccounts(ctx, []books.Named{{Account: books.Debtors, Number: "1100", Name: "Customers"}, {Account: books.Sales(2000), Number: "4020", Name: "Repairs, 20 %"},
		{Account: books.Tax(2000), Number: "2220", Name: "VAT 20 %"}, {Account: books.Way(till.Cash), Number: "1000", Name: "Till"}, {Account: books.Way("card"), Number: "1040", Name: "Card terminal"},
		{Account: books.Way("transfer"), Number: "1020", Name: "Bank"}, {Account: books.Bank, Number: "1020", Name: "Bank"}, {Account: books.Prepaid, Number: "2030", Name: "Deposits of customers"},
		{Account: books.Difference, Number: "6950", Name: "Differences of the till"}}, 0, f.staff[staff.Owner], at.Add(minute))
}

// evening counts the till and closes the day where cash moved on it. last is when the last thing was done.
func (f *filler) evening(ctx context.Context, last time.Time) error {
	day := f.calendar.civil(last)
	at := f.calendar.midnight(day).Add(shuts)
	if !at.After(last) {
		at = last.Add(5 * minute)
	}
	v, err := f.store.Till(ctx, f.shop.Currency, day, time.Time{})
	if err != nil || !v.Day.Waits() {
		return err
	}
	clerk, holds := f.staff[staff.Clerk], v.Day.HoldsMinor()
	if holds > bankAbove {
		banked := (holds - float) / 1000 * 1000
		if _, err := f.store.MoveTill(ctx, f.shop.Currency, till.Move{Kind: till.Banked, Minor: -banked, Note: "paying-in slip"}, clerk, at); err != nil {
			return err
		}
		holds -= banked
	}
	off, why := miscounted(len(v.Closed))
	c := till.Closing{CountedMinor: holds + off, Why: why}
	rest := c.CountedMinor
	for _, worth := range till.Denominations(f.shop.Currency) {
		if n := rest / worth; n > 0 {
			c.Pieces, rest = append(c.Pieces, till.Counted{WorthMinor: worth, Pieces: int(n)}), rest%worth
		}
	}
	return f.store.CloseTill(ctx, store.TillClosing{Closing: c, Currency: f.shop.Currency, On: v.Day.On, SeenMinor: holds}, clerk, at.Add(10*minute))
}

// miscounted is by how much, and why, a count differs now and then; closed are the days closed so far.
func miscounted(closed int) (offMinor int64, why string) {
	switch closed {
	case 2:
		return -50, "Fifty pence short; change was given in a hurry at noon. Nobody knows more."
	case 5:
		return 200, "Two pounds over: a customer's tip was put into the till."
	}
	return 0, ""
}
