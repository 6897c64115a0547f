package view

// RegulationView is the regulation sheet of a docket.
type RegulationView struct {
	Runs    DataView
	Take    []LinkView // the kinds of run that may be taken now
	NoTake  string     // why none may be
	Judged  JudgedView
	Shown   *RunView
	Compare *CompareView

	Next, NextHref string // what to look at next on the run shown, and where the whole advice is
}

// JudgedView says what the docket's runs are judged by, and offers what may be judged by instead.
type JudgedView struct {
	By, ByHref string // "" when not judged yet
	Rule       string
	Offer      string // the button; "" when there is nothing newer
	OfferGrade string // the grade the button judges by
	News       string // what is newer, in a sentence
	Grades     Field  // the select of grades
	May        bool   // this person may judge, and the docket is at a stage where that may be
	Problem    string // why a judgement was refused
}

// RunView is one run in full.
type RunView struct {
	Heading string
	Terms   []TermView
	Note    string
	Grid    RunGridView
	Figures FiguresView
	Charts  []ChartView
	Change  *LinkView // to correct it or add figures
	Paper   *LinkView // its bulletin, where there is no other run to set beside it
	Fixed   string    // why it can't be changed
}

// CompareView is two runs side by side.
type CompareView struct {
	Before, After Field // the two selects
	RunID         string
	Changes       DataView
	Every         DataView
	Chart         ChartView
	Bulletin      []LinkView
}

// RunFormView is the sheet a run is typed into.
type RunFormView struct {
	Form     Form
	Title    string
	Action   string
	Preview  string
	Hidden   []FieldValue
	Kinds    Field
	KindText string // said instead of asked when the kind is settled
	Grade    *Field
	Grid     RunGridView
	Figures  FiguresView
	Paste    PasteView
	Summary  map[string]string // the form's problems, those of cells with the cell's name
	Order    []string          // of the fields, for the summary
	Conflict *RunConflictView
	Back     string
	Save     string
	Refused  bool
}

// PasteView is the place where a column copied from a spreadsheet can be put without a script.
type PasteView struct {
	Text, Row, Column Field
	Problems          []string
	Open              bool
}

// RunConflictView is shown to whoever saves a run that was changed meanwhile.
type RunConflictView struct {
	Text    string
	Changes []EntryView
	Differs []TermView // what the record has where it differs from what is typed
}
