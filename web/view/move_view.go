package view

// MoveView is one thing that may happen next, with what it still needs.
type MoveView struct {
	To, Label string
	Missing   []NeedView
	// Ask names those who may, for a reader who may not.
	Ask string
	// Form is nil while something is missing that no reason of the reader's may stand in for.
	Form *MoveForm
	Open bool // unfolded when the page opens
}

// NeedView is one thing that is missing, and the sheet on which it is mended.
type NeedView struct {
	Text, Sheet, Href string
}

// MoveForm holds the questions of a move. Detail, Bench and Reason are nil where they aren't asked.
type MoveForm struct {
	ID        string // of the form's own part of the page
	Place     Field
	OnlyPlace string // the one place there is, which then isn't asked
	Detail    *Field
	Bench     *Field
	Reason    Field
	Tell      *TellView // nil where the customer is told nothing of it
	Button    ButtonView
}

// stateWord is what stands beside a folded move; nothing if it can be done now.
func (m MoveView) stateWord() string {
	switch {
	case m.Ask != "":
		return "for " + m.Ask
	case m.Form == nil && len(m.Missing) == 1:
		return "one thing is missing"
	case m.Form == nil:
		return Itoa(len(m.Missing)) + " things are missing"
	case len(m.Missing) > 0:
		return "with a written reason"
	}
	return ""
}

func (m MoveView) mark() MarkKind {
	switch {
	case m.Ask != "" || m.Form == nil:
		return NotMeasured
	case len(m.Missing) > 0:
		return Undecided
	}
	return Pass
}
