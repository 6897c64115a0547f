package demoshop

import (
	"context"
	"fmt"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/invoice"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
)

// asksDeposit issues a deposit invoice over a sum of what was agreed.
func (j *job) asksDeposit(minor int64) *job {
	return j.then(staff.Clerk, func(ctx context.Context, f *filler, c store.Change) error {
		_, err := f.store.IssueDeposit(ctx, store.Billing{Issue: store.Issue{Change: c}}, minor)
		return err
	})
}

// billed issues the bill before the watch leaves.
func (j *job) billed(how invoice.Choices) *job {
	return j.then(staff.Clerk, func(ctx context.Context, f *filler, c store.Change) error {
		_, err := f.store.IssueBill(ctx, store.Billing{Issue: store.Issue{Change: c}, Choices: how})
		return err
	})
}

// credited issues the credit note that takes lines of the bill off, by their places.
func (j *job) credited(why string, lines ...int) *job {
	return j.then(staff.Owner, func(ctx context.Context, f *filler, c store.Change) error {
		v, err := f.store.InvoiceSheet(ctx, c.Number)
		if err != nil {
			return err
		}
		bill, stands := v.Book().Standing()
		if !stands {
			return fmt.Errorf("no bill of %s stands", c.Number)
		}
		_, err = f.store.IssueCredit(ctx, store.Issue{Change: c}, bill.Number, invoice.Crediting{Lines: lines, Why: why})
		return err
	})
}

// givenBack is money that goes back.
func (j *job) givenBack(minor int64, how docket.Method, why string) *job {
	return j.then(staff.Owner, func(ctx context.Context, f *filler, c store.Change) error {
		return f.store.TakePayment(ctx, c, docket.Payment{Minor: -minor, Method: how, Note: why})
	})
}

// collectedPaying is the watch's leaving with its customer, who shows the ticket and pays at the same moment.
func (j *job) collectedPaying(how docket.Tender, old docket.OldParts) *job {
	return j.then(staff.Clerk, func(ctx context.Context, f *filler, c store.Change) error {
		return f.store.HandOver(ctx, c, docket.Leaving{CollectedBy: customers[j.intake.customer].Name, Proof: docket.ProofTicket,
			Ticket: c.Number.String(), OldParts: old, Pay: how}, "")
	})
}
