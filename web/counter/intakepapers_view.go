package view

// Codes are a docket's bar code and QR code as SVG of the program's own making.
type Codes struct{ Bars, QR string }

// TicketView is what a claim ticket says, formatted.
type TicketView struct {
	Shop, Address, Contact       string
	Number                       string
	Codes                        Codes
	Watch                        string
	Details                      []TermView
	Customer                     string
	Complaint, Condition         string
	Received, Promised           string
	DeclaredValue, ApprovalLimit string
	Terms                        []string
	TakenInBy                    string
}

// LabelView is what the label of a watch's bag says, formatted.
type LabelView struct {
	Number, Watch, Serial, Promised, Hazards string
	Codes                                    Codes
}
