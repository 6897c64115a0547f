package demoshop

import (
	"context"
	"errors"
	"slices"

	"ledgerwheel/domain/loan"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
)

// lendable are the watches that Tern Quay lends.
var lendable = []loan.Watch{
	{Maker: "Pellwarne", Model: "Warden", Serial: "L 1", ValueMinor: 12000, Currency: "GBP", State: "No marks; strap new."},
	{Maker: "Thackwood Instrument Co.", Model: "Field, third pattern", Serial: "L 2", ValueMinor: 16000, Currency: "GBP", State: "Case back scratched."},
}

// loanWatches adds what the shop lends and the list lacks.
func (f *filler) loanWatches(ctx context.Context) error {
	kept, err := f.store.LoanWatches(ctx)
	if err != nil {
		return err
	}
	for _, w := range lendable {
		if slices.ContainsFunc(kept, func(k store.LoanWatch) bool { return k.Serial == w.Serial }) {
			continue
		}
		if err := f.store.KeepLoanWatch(ctx, w, f.staff[staff.Owner], f.calendar.at(firstBack, "09:10")); err != nil {
			return err
		}
	}
	return nil
}

// lent hands out the first loan watch that is in the shop, until the customer's own is handed over.
func (j *job) lent(state string) *job {
	return j.then(staff.Clerk, func(ctx context.Context, f *filler, c store.Change) error {
		list, err := f.store.LoanWatches(ctx)
		if err != nil {
			return err
		}
		deposit := int64(2000)
		for _, w := range list {
			if w.Out == nil {
				return f.store.HandOutLoan(ctx, c, loan.Out{WatchID: w.ID, State: state, DepositMinor: &deposit, DepositHow: "cash"}, f.calendar.civil(c.At))
			}
		}
		return errors.New("every loan watch is out")
	})
}
