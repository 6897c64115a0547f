package view

// WarrantyCheckView is the public page on which anyone checks a card.
type WarrantyCheckView struct {
	Form   Form
	Result *CheckResult // nil before a card is asked for
}

// CheckResult is what anyone may know of a card: nothing that is not on it, and less than is.
type CheckResult struct {
	Mark               MarkKind
	Word, Text, Number string
	Shop, Watch        string // "" where the card says nothing of them
	Terms              []TermView
	Figures            []FigureView
	Verdict, Covers    string
}

func checkHeading(r *CheckResult) string {
	if r == nil {
		return "The card"
	}
	return "Another card"
}
