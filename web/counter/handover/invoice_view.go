package handover

import "ledgerwheel/web/view"

// invoiceView is what a docket's invoice says, formatted.
type invoiceView struct {
	Shop, Address, Number, Date string
	Customer                    []string
	Watch                       []view.TermView
	Lines                       []invoiceLine
	Totals, Payments            []invoiceTotal
	Due                         string
	Settled                     bool
	HowToPay, Notes             []string
}

// invoiceLine is one priced line.
type invoiceLine struct{ Number, Description, Quantity, UnitPrice, Tax, Amount string }

// invoiceTotal is one sum, or one payment with its day in Note.
type invoiceTotal struct {
	Label, Note, Amount string
	Strong              bool
}
