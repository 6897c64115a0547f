package sheet

import "ledgerwheel/web/view"

// overviewView is the first sheet of a docket: what may happen next, and what the docket is about.
type overviewView struct {
	Problems map[string]string // of the form that was refused
	Kept     []view.TermView   // what was typed into a form that is no longer on the page
	Moves    []MoveView
	Place    *custodyFormView // nil for those who may not, and when the watch has left
	Bench    *custodyFormView

	WatchURL, CustomerURL    string
	Watch, Customer, Said    []view.TermView
	Complaint, ComplaintFrom string
	Photos                   []view.PhotoView
	MorePhotos               bool
	Closed                   bool
}

// MoveView is one thing that may happen next, with what it still needs.
type MoveView struct {
	To, Label string
	Missing   []NeedView
	// Ask names those who may, for a reader who may not.
	Ask string
	// Form is nil while something is missing that no reason of the reader's may stand in for.
	Form *moveFormView
	Open bool // unfolded when the page opens
}

// NeedView is one thing that is missing, and the sheet on which it is mended.
type NeedView struct {
	Text, Sheet, Href string
}

// moveFormView holds the questions of a move. Detail, Bench and Reason are nil where they aren't asked.
type moveFormView struct {
	ID        string // of the form's own part of the page
	Place     view.Field
	OnlyPlace string // the one place there is, which then isn't asked
	Detail    *view.Field
	Bench     *view.Field
	Reason    view.Field
	Button    view.ButtonView
}

// custodyFormView asks where the watch is, or who has it in hand.
type custodyFormView struct {
	Action string
	Fields []view.Field
	Radio  bool // the first field is a radio group, the rest are text; else the first is a select
	Button view.ButtonView
}

// stateWord is what stands beside a folded move.
func (m MoveView) stateWord() string {
	switch {
	case m.Ask != "":
		return "for " + m.Ask
	case m.Form == nil && len(m.Missing) == 1:
		return "one thing is missing"
	case m.Form == nil:
		return view.Itoa(len(m.Missing)) + " things are missing"
	case len(m.Missing) > 0:
		return "with a written reason"
	}
	return "can be done now"
}

func (m MoveView) mark() view.MarkKind {
	switch {
	case m.Ask != "" || m.Form == nil:
		return view.NotMeasured
	case len(m.Missing) > 0:
		return view.Undecided
	}
	return view.Pass
}
