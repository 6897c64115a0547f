package sheet

import "ledgerwheel/web/view"

// overviewView is the first sheet of a docket: what may happen next, and what the docket is about.
type overviewView struct {
	Problems map[string]string // of the form that was refused
	Kept     []view.TermView   // what was typed into a form that is no longer on the page
	Moves    []view.MoveView
	Place    *custodyFormView // nil for those who may not, and when the watch has left
	Bench    *custodyFormView
	// CustodyOpen unfolds those two, since one of them was refused.
	CustodyOpen bool

	WatchURL, CustomerURL    string
	Watch, Customer, Said    []view.TermView
	Complaint, ComplaintFrom string
	Photos                   []view.PhotoView
	MorePhotos               bool
	Closed                   bool
}

// custodyFormView asks where the watch is, or who has it in hand.
type custodyFormView struct {
	Action string
	Fields []view.Field
	Radio  bool // the first field is a radio group, the rest are text; else the first is a select
	Button view.ButtonView
}
