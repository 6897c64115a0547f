package docket

// OwedMinor is what the customer owes for the docket before anything is paid, in minor units: the amount
// charged, if the counter set one; else what the estimate says (see [AgreedMinor]).
func OwedMinor(s Stage, f Facts, charged *int64) int64 {
	if charged != nil {
		return *charged
	}
	return AgreedMinor(s, f)
}

// Money is what the record says of a docket's money, in minor units of its currency.
type Money struct {
	Charged *int64 // see [OwedMinor]
	// Billed says that an invoice was issued: from then on InvoicedMinor, what the invoices come to less the credit notes,
	// is what is owed, whatever the estimate says.
	Billed        bool
	InvoicedMinor int64
	PaidMinor     int64 // taken, less given back
	RoundedMinor  int64 // that cash was paid over what was due, below zero for under it, because it goes in steps
}

// OwedMinor is what the customer owes in all before anything is paid.
func (m Money) OwedMinor(s Stage, f Facts) int64 {
	if m.Billed {
		return m.InvoicedMinor
	}
	return OwedMinor(s, f, m.Charged)
}

// DueMinor is what is still to pay; below zero, what is owed to the customer.
func (m Money) DueMinor(s Stage, f Facts) int64 {
	return m.OwedMinor(s, f) - m.PaidMinor + m.RoundedMinor
}

// AgreedMinor is what the customer agreed to pay, in minor units: nothing for a watch that goes back
// unrepaired; else the newest estimate's total where that was agreed, or that of the revision approved before:
// who declines more work, or has not answered yet, has not taken back what was agreed.
func AgreedMinor(s Stage, f Facts) int64 {
	switch {
	case s.Exit():
		return 0
	case f.Agreed():
		return f.TotalMinor
	}
	return f.ApprovedMinor
}

// AllowedMinor is how much the customer has allowed the shop to charge, in minor units: what was agreed, and before a
// revision was approved or declined anything up to the approval limit.
func AllowedMinor(s Stage, f Facts) int64 {
	agreed := AgreedMinor(s, f)
	answered := f.ApprovedMinor > 0 || f.Estimate == EstimateApproved || f.Estimate == EstimateDeclined
	if s.Exit() || answered || f.ApprovalLimitMinor == nil {
		return agreed
	}
	return max(agreed, *f.ApprovalLimitMinor)
}
