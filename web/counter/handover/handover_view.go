package handover

import (
	"ledgerwheel/web/view"
)

// handOverView is the page on which a watch leaves: money, ticket, who takes it, and what goes with it, in one form.
type handOverView struct {
	Problems map[string]string // of the form that was refused

	Leave *leaveFormView
	Why   string          // why there is no form
	Needs []view.NeedView // what is missing besides what the form asks
	Left  []view.TermView // how it left, once it has

	Photos []view.PhotoView // as it came in; the first few
	Beside []besideLine
	Papers []view.LinkView

	Accounts []accountLine
	Sums     string // what the accounts come to, in a line
	Unfolded bool   // they are not folded away
	// Payment, Refund and Charge are nil for those who may not take money.
	Payment, Refund, Charge *moneyFormView
}

// besideLine is one thing to know about the watch that leaves: its mark, a word and a sentence.
type besideLine struct {
	Name, TestID string
	Mark         view.MarkKind
	Word, Text   string
	Link         *view.LinkView
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

// leaveFormView is the one form by which a watch leaves. Pay is nil where nothing is due, Card where none can be issued,
// Reason where none can stand in for what is missing.
type leaveFormView struct {
	Due      string
	Pay      *payFields
	Ticket   view.Field
	Said     string // of the ticket that was looked at
	Check    view.ButtonView
	Other    otherFields
	OldParts view.Field
	Kept     []string // names of the old parts that are kept to go back
	Card     *view.Field
	Reason   *view.Field
	Later    bool // the reason is only for what is not paid now
	Button   view.ButtonView
}

// payFields ask how what is due is paid: all by one method, or amounts that add up to it. Change is what the page says
// goes back.
type payFields struct {
	Way                         view.Field
	Cash, Card, Transfer, Other view.Field
	Note                        view.Field
	Change                      string
}

// otherFields are for a watch that goes without its ticket, or to somebody else.
type otherFields struct {
	Open                  bool
	Says                  string // who takes it while nothing else is said
	CollectedBy, Identity view.Field
	Shown                 view.Field
	Done                  *view.Field // what the house asks without a ticket; nil for no rule
}
