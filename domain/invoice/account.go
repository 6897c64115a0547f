package invoice

// Account is what is billed on one docket, or by one customer, and what was paid for it, in minor units of one
// currency.
type Account struct {
	BilledMinor   int64 // of invoices and deposit invoices
	CreditedMinor int64 // of credit notes
	PaidMinor     int64 // taken, less given back
	RoundedMinor  int64 // that cash paid over the amounts due, below zero for under, because it goes in steps
}

// OwedMinor is what is still owed; below zero, what is owed to the customer.
func (a Account) OwedMinor() int64 {
	return a.BilledMinor - a.CreditedMinor - a.PaidMinor + a.RoundedMinor
}
