package docket

// OwedMinor is what the customer owes for the docket before anything is paid, in minor units: the amount
// charged, if the counter set one; else nothing for a watch that goes back unrepaired, and the newest
// estimate's total for one whose work was agreed.
func OwedMinor(s Stage, f Facts, charged *int64) int64 {
	switch {
	case charged != nil:
		return *charged
	case s.Exit() || !f.Agreed():
		return 0
	}
	return f.TotalMinor
}
