package poising

import (
	"ledgerwheel/domain/poising"
	"ledgerwheel/web/view"
)

// poisingView is the poising page of a docket.
type poisingView struct {
	Form   view.Form
	Next   string // what to do now
	Mark   view.MarkKind
	Word   string // beside the mark
	Last   bool   // warn before the last cut
	Facts  []view.TermView
	Chart  *view.ChartView
	Round  roundGrid
	Title  string // of the form
	May    bool   // a round may be read now
	Open   bool   // the form is what comes next
	Why    string // it may not
	Done   *view.Field
	LastID string // of the newest round, as seen
	Copies []view.LinkView
	Rounds *view.DataView
	Says   string // how many rounds there are
	Struck []view.TermView
}

// roundGrid is the table that a round is typed into.
type roundGrid struct {
	Rows  []roundRow
	Error string // of the round as a whole
}

type roundRow struct {
	ID, Words string
	Position  *view.PositionView // nil for the four between
	Cells     []view.NumberCell
}

// roundPageView is the page that corrects one round.
type roundPageView struct {
	Form         view.Form
	Round        roundGrid
	Number       int
	Action, Back string
	Read         string // when and by whom
}

func (v roundPageView) order() []string { return append(poising.Fields(), "why") }
