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
	Before                   view.BeforeView // of a comeback

	Questions, Answered []questionView // that wait for an answer, and that have one
}

// answeredWords say how many questions the customer was answered.
func (v overviewView) answeredWords() string {
	if len(v.Answered) == 1 {
		return "A question answered"
	}
	return view.Itoa(len(v.Answered)) + " questions answered"
}

// questionView is what a customer asked by the private link. Action is where its answer is sent, "" for who may not.
type questionView struct {
	ID, Words, Asked, Answer, Answered, Action string
	Form                                       view.Form
}

// answerField takes the answer; several questions may stand on a page, each with a field of its own.
func (q questionView) answerField() view.Field {
	f := q.Form.Field("answer", "Your answer").WithHint("the customer reads it on their page").Need().WithRows(2).WithMaxLength(1000).WithAttr("dir", "auto")
	f.ID = "f-answer"
	if q.Form.Values == nil {
		f.ID = "answer-" + q.ID
	}
	return f
}

// custodyFormView asks where the watch is, or who has it in hand.
type custodyFormView struct {
	Action string
	Fields []view.Field
	Radio  bool // the first field is a radio group, the rest are text; else the first is a select
	Button view.ButtonView
}
