package view

// InvoiceView is what a docket's invoice says, formatted.
type InvoiceView struct {
	Shop, Address, Number, Date string
	Customer                    []string
	Watch                       []TermView
	Lines                       []InvoiceLine
	Totals, Payments            []InvoiceTotal
	Due                         string
	Settled                     bool
	HowToPay, Notes             []string
}

// InvoiceLine is one priced line.
type InvoiceLine struct{ Number, Description, Quantity, UnitPrice, Tax, Amount string }

// InvoiceTotal is one sum, or one payment with its day in Note.
type InvoiceTotal struct {
	Label, Note, Amount string
	Strong              bool
}
