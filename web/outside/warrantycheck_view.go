package outside

import (
	"ledgerwheel/domain/tongue"
	"ledgerwheel/web/view"
)

// warrantyCheckView is the public page on which anyone checks a card.
type warrantyCheckView struct {
	T      tongue.Tongue // the reader's
	Asked  tongue.Tongue // that the address asks for; "" for none
	Keys   string        // address of the keys
	Form   view.Form
	Result *checkResult // nil before a card is asked for
}

// checkResult is what anyone may know of a card: nothing that is not on it, and less than is.
type checkResult struct {
	Mark               view.MarkKind
	Word, Text, Number string
	Mistyped           bool   // the card itself was not found
	Shop, Watch        string // "" where the card says nothing of them
	Terms              []view.TermView
	Figures            []view.FigureView
	Verdict, Covers    string
	Statement          string // address of the signed statement; "" for a card that is not kept
}

func (v warrantyCheckView) heading() string {
	if v.Result == nil {
		return v.T.Say("check.the_card")
	}
	return v.T.Say("check.another")
}
