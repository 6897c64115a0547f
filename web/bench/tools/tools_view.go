package tools

import (
	"ledgerwheel/web/bench/tools/toolset"
	"ledgerwheel/web/view"
)

// indexView is the list of bench tools.
type indexView struct {
	Tools []view.BenchLink
}

// toolView is a bench tool with what was typed and what it answered.
type toolView struct {
	Title, Purpose string
	Action         string // where the form goes, by GET
	Fresh          string // the tool with nothing typed
	Filled         string // whose data the fields begin with; "" for nobody's
	Groups         []groupView
	Problems       []view.Problem  // in the order of the fields
	Answer         *toolset.Answer // nil while nothing is answered
	Formulas       []toolset.Formula
	Cautions       []string
	Keep           *keepView
	Kept           []keptView
}

// groupView is fields that stand together; Legend may be empty.
type groupView struct {
	Legend string
	Fields []fieldView
}

// fieldView is a field and how it is asked: number, text, select, checkbox or textarea.
type fieldView struct {
	Kind  string
	Field view.Field
}

// keepView is how an answer can be kept with the docket; what can't be, by answer or by role, is nil.
type keepView struct {
	Action     string
	Typed      []view.FieldValue // what the answer was worked out from, sent again
	Refused    []view.Problem
	Refusal    string // what stands against it as a whole
	Finding    *keepForm
	Part       *keepForm
	Correction *keepForm
}

// keepForm is one way of keeping an answer.
type keepForm struct {
	Lede    string
	Said    []view.TermView
	Version string
	Fields  []fieldView
	Open    bool
}

// keptView is an answer that the docket holds.
type keptView struct {
	Tool, KeptAs, By, At string
	Figures              []string
	Inputs               []string
	Again                string // address at which it is worked out again
}
