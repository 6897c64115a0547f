package tools

import (
	"github.com/a-h/templ"

	"ledgerwheel/web/view"
)

// benchIndexView is the list of bench tools.
type benchIndexView struct {
	Tools []view.BenchLink
}

// benchView is a bench tool with what was typed and what it answered.
type benchView struct {
	Title, Purpose string
	Action         string // where the form goes, by GET
	Fresh          string // the tool with nothing typed
	Filled         string // whose data the fields begin with; "" for nobody's
	Groups         []benchGroupView
	Problems       []view.Problem // in the order of the fields
	Answer         *benchAnswerView
	Formulas       []benchFormulaView
	Cautions       []string
	Keep           *benchKeepView
	Kept           []benchKeptView
}

// benchGroupView is fields that stand together; Legend may be empty.
type benchGroupView struct {
	Legend string
	Fields []benchFieldView
}

// benchFieldView is a field and how it is asked: number, text, select, checkbox or textarea.
type benchFieldView struct {
	Kind  string
	Field view.Field
}

// benchAnswerView is what a tool answers.
type benchAnswerView struct {
	Rows    []benchRowView
	Tables  []view.DataView
	Drawing templ.Component
	Finding string
}

// benchRowView is one figure of an answer.
type benchRowView struct{ Label, Value, Note string }

// benchFormulaView is what a tool computes by.
type benchFormulaView struct{ Text, Source, Limits string }

// benchKeepView is how an answer can be kept with the docket; what can't be, by answer or by role, is nil.
type benchKeepView struct {
	Action     string
	Typed      []view.FieldValue // what the answer was worked out from, sent again
	Refused    []view.Problem
	Refusal    string // what stands against it as a whole
	Finding    *BenchKeepForm
	Part       *BenchKeepForm
	Correction *BenchKeepForm
}

// BenchKeepForm is one way of keeping an answer.
type BenchKeepForm struct {
	Lede    string
	Said    []view.TermView
	Version string
	Fields  []benchFieldView
	Open    bool
}

// benchKeptView is an answer that the docket holds.
type benchKeptView struct {
	Tool, KeptAs, By, At string
	Figures              []string
	Inputs               []string
	Again                string // address at which it is worked out again
}
