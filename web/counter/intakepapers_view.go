package counter

import "ledgerwheel/web/view"

// codes are a docket's bar code and QR code as SVG of the program's own making.
type codes struct{ Bars, QR string }

// ticketView is what a claim ticket says, formatted.
type ticketView struct {
	Shop, Address, Contact       string
	Number                       string
	Codes                        codes
	Watch                        string
	Details                      []view.TermView
	Customer                     string
	Complaint, Condition         string
	Received, Promised           string
	DeclaredValue, ApprovalLimit string
	Terms                        []string
	TakenInBy                    string
}

// labelView is what the label of a watch's bag says, formatted.
type labelView struct {
	Number, Watch, Serial, Promised, Hazards string
	Codes                                    codes
}
