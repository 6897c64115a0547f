package view

// HandOverView is the sheet on which a watch leaves: the money, who takes it, and what goes with it.
type HandOverView struct {
	Problems   map[string]string // of the form that was refused
	Accounts   []AccountLine
	Due        string
	NothingDue bool
	// Payment, Refund and Charge are nil for those who may not take money.
	Payment, Refund, Charge *MoneyForm

	Leave    *LeaveForm
	Why      string     // why there is no form
	Needs    []NeedView // what is missing besides what the form asks
	OldParts []string   // kept to go back with the watch
	Left     []TermView // how it left, once it has

	Card   *CardLine // nil where there will be none
	Papers []LinkView
}

// AccountLine is one line of a docket's money. A struck line no longer counts; the sum stands last.
type AccountLine struct {
	What, Note, Amount   string
	Struck, Payment, Sum bool
}

// MoneyForm asks for an amount and what goes with it: the first field is the amount, and one with options is a choice.
type MoneyForm struct {
	Slug, Heading, Action string
	Open                  bool
	Fields                []Field
	Beyond                *Field // asks whether more than is due is meant
	Button                ButtonView
}

// LeaveForm is what the counter writes down when a watch leaves. Reason is the owner's, where one may stand in.
type LeaveForm struct {
	Proof, Ticket, Identity, CollectedBy, OldParts Field
	Reason                                         *Field
	Button                                         ButtonView
}

// CardLine is how it stands with the warranty card.
type CardLine struct {
	Mark       MarkKind
	Word, Text string
	Link       LinkView
}
