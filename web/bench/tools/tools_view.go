package view

import "github.com/a-h/templ"

// BenchIndexView is the list of bench tools.
type BenchIndexView struct {
	Tools []BenchLink
}

// BenchView is a bench tool with what was typed and what it answered.
type BenchView struct {
	Title, Purpose string
	Action         string // where the form goes, by GET
	Fresh          string // the tool with nothing typed
	Filled         string // whose data the fields begin with; "" for nobody's
	Groups         []BenchGroupView
	Problems       []Problem // in the order of the fields
	Answer         *BenchAnswerView
	Formulas       []BenchFormulaView
	Cautions       []string
	Keep           *BenchKeepView
	Kept           []BenchKeptView
}

// BenchGroupView is fields that stand together; Legend may be empty.
type BenchGroupView struct {
	Legend string
	Fields []BenchFieldView
}

// BenchFieldView is a field and how it is asked: number, text, select, checkbox or textarea.
type BenchFieldView struct {
	Kind  string
	Field Field
}

// BenchAnswerView is what a tool answers.
type BenchAnswerView struct {
	Rows    []BenchRowView
	Tables  []DataView
	Drawing templ.Component
	Finding string
}

// BenchRowView is one figure of an answer.
type BenchRowView struct{ Label, Value, Note string }

// BenchFormulaView is what a tool computes by.
type BenchFormulaView struct{ Text, Source, Limits string }

// BenchKeepView is how an answer can be kept with the docket; what can't be, by answer or by role, is nil.
type BenchKeepView struct {
	Action     string
	Typed      []FieldValue // what the answer was worked out from, sent again
	Refused    []Problem
	Refusal    string // what stands against it as a whole
	Finding    *BenchKeepForm
	Part       *BenchKeepForm
	Correction *BenchKeepForm
}

// BenchKeepForm is one way of keeping an answer.
type BenchKeepForm struct {
	Lede    string
	Said    []TermView
	Version string
	Fields  []BenchFieldView
	Open    bool
}

// BenchKeptView is an answer that the docket holds.
type BenchKeptView struct {
	Tool, KeptAs, By, At string
	Figures              []string
	Inputs               []string
	Again                string // address at which it is worked out again
}
