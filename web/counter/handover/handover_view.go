package handover

import (
	"ledgerwheel/web/view"
)

// handOverView is the sheet on which a watch leaves: the money, who takes it, and what goes with it.
type handOverView struct {
	Problems   map[string]string // of the form that was refused
	Accounts   []accountLine
	Due        string
	NothingDue bool
	// Payment, Refund and Charge are nil for those who may not take money.
	Payment, Refund, Charge *moneyFormView

	Leave    *leaveFormView
	Why      string          // why there is no form
	Needs    []view.NeedView // what is missing besides what the form asks
	OldParts []string        // kept to go back with the watch
	Left     []view.TermView // how it left, once it has

	Card   *cardLine // nil where there will be none
	Papers []view.LinkView
}

// accountLine is one line of a docket's money. A struck line no longer counts; the sum stands last.
type accountLine struct {
	What, Note, Amount   string
	Struck, Payment, Sum bool
}

// moneyFormView asks for an amount and what goes with it: the first field is the amount, and one with options is a
// choice.
type moneyFormView struct {
	Slug, Heading, Action string
	Open                  bool
	Fields                []view.Field
	Beyond                *view.Field // asks whether more than is due is meant
	Button                view.ButtonView
}

// leaveFormView is what the counter writes down when a watch leaves. Reason is the owner's, where one may stand in.
type leaveFormView struct {
	Proof, Ticket, Identity, CollectedBy, OldParts view.Field
	Reason                                         *view.Field
	Button                                         view.ButtonView
}

// cardLine is how it stands with the warranty card.
type cardLine struct {
	Mark       view.MarkKind
	Word, Text string
	Link       view.LinkView
}
