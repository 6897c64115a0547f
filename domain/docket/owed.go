package docket

// OwedMinor is what the customer owes for the docket before anything is paid, in minor units: the amount
// charged, if the counter set one; else what the estimate says (see [AgreedMinor]).
func OwedMinor(s Stage, f Facts, charged *int64) int64 {
	if charged != nil {
		return *charged
	}
	return AgreedMinor(s, f)
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
