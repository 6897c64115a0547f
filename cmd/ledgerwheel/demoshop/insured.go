package demoshop

import (
	"context"

	"ledgerwheel/domain/insured"
	"ledgerwheel/domain/staff"
)

// insurerLimits writes down what Tern Quay's insurer covers, in pounds, where nothing was written down yet. The safe has room;
// what lies on the benches is above its limit, for the owner to see.
func (f *filler) insurerLimits(ctx context.Context) error {
	risk, err := f.store.AtRisk(ctx)
	if err != nil || risk.Limits.Currency != "" {
		return err
	}
	l := insured.Limits{Currency: "GBP", Minor: map[insured.Limit]int64{insured.Safe: 4_000_000, insured.Bench: 800_000, insured.Counter: 250_000,
		insured.SentOut: 500_000, insured.InAll: 5_000_000, insured.Item: 400_000}}
	return f.store.SaveLimits(ctx, l, f.staff[staff.Owner], f.calendar.at(firstBack, "09:20"))
}
