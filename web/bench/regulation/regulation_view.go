package regulation

import (
	"ledgerwheel/web/runs"
	"ledgerwheel/web/view"
)

// regulationView is the regulation sheet of a docket.
type regulationView struct {
	Runs    view.DataView
	RunsSay string          // which there are, in a phrase
	Take    []view.LinkView // the kinds of run that may be taken now
	NoTake  string          // why none may be
	Judged  judgedView
	Shown   *runView
	Compare *compareView
	// RunDowns belong to the run shown, or to none.
	RunDowns []runDownView
	Before   view.BeforeView // of a comeback
}

// glanceView is the verdict of a run with what keeps it from passing, and what is to be done next.
type glanceView struct {
	Mark    view.MarkKind // "" when there is nothing to judge by
	Text    string
	Count   string // "5 of 8 met"
	Against []againstView
	// Next is the docket's next action in words; Advice is what the readings show first, and leads to the advice.
	Next, Advice, AdviceHref string
}

// againstView is limits that share a verdict other than pass.
type againstView struct {
	Words  string // "Not met"
	Limits []againstLimit
}

type againstLimit struct {
	Label, Bounds string
	Figure        runs.StatView
}

func (a againstView) after(i int) string {
	if i == len(a.Limits)-1 {
		return "."
	}
	return ";"
}

// judgedView says what the docket's runs are judged by, and offers what may be judged by instead.
type judgedView struct {
	By, ByHref string // "" when not judged yet
	Rule       string
	Offer      string     // the button; "" when there is nothing newer
	OfferGrade string     // the grade the button judges by
	News       string     // what is newer, in a sentence
	Grades     view.Field // the select of grades
	Why        view.Field // asked of another grade
	Asks       bool       // another grade asks for its reason
	Refused    bool       // for want of it
	GradeWhy   string     // why the docket is judged by another grade than before
	May        bool       // this person may judge, and the docket is at a stage where that may be
	Problem    string     // why a judgement was refused
}

// runView is one run in full.
type runView struct {
	Heading, Taken string
	Terms          []view.TermView
	TermsSay       string
	Note           string
	Glance         glanceView
	Grid           runs.GridView
	Figures        runs.FiguresView
	FiguresSay     string
	Rates          view.ChartView
	Amplitudes     view.ChartView
	Again          []view.TermView // every reading of the positions read more than once
	AgainNote      string          // how well they repeat
	Change         *view.LinkView  // to correct it or add figures
	Fixed          string          // why it can't be changed

	Corrected []correctedView // oldest first
}

// correctedView is a correction of figures that stood on record.
type correctedView struct {
	At, By, Why string
	Changes     []string
}

// compareView is two runs side by side.
type compareView struct {
	Before, After view.Field // the two selects
	RunID         string
	Says          string // which two runs
	Asked         bool   // the reader chose them
	Changes       view.DataView
	Every         view.DataView
	Chart         view.ChartView
	Bulletin      []view.LinkView
}

// runFormView is the sheet a run is typed into.
type runFormView struct {
	Form     view.Form
	Title    string
	Action   string
	Preview  string
	Hidden   []view.FieldValue
	Kinds    view.Field
	KindText string // said instead of asked when the kind is settled
	Grade    *view.Field
	Why      *view.Field  // of a correction; nil for a new run
	Touched  []view.Field // boxes: what an adjustment touched; none where the run is no adjustment
	Grid     runs.GridView
	Again    []runs.GridView // for positions read again
	Figures  runs.FiguresView
	Paste    pasteFoldView
	Summary  map[string]string // the form's problems, those of cells with the cell's name
	Order    []string          // of the fields, for the summary
	Conflict *runConflictView
	Back     string
	Save     string
	Refused  bool
}

// pasteFoldView is the place where a column copied from a spreadsheet can be put without a script.
type pasteFoldView struct {
	Text, Row, Column view.Field
	Problems          []string
	Open              bool
}

// runConflictView is shown to whoever saves a run that was changed meanwhile.
type runConflictView struct {
	Text    string
	Changes []view.EntryView
	Differs []view.TermView // what the record has where it differs from what is typed
}
