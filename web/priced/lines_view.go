package view

// PricedLines are lines and totals for reading.
type PricedLines struct {
	Lines  []PricedLine
	Totals []TotalRow
	Rule   string // how tax was worked out
}

// PricedLine is one line for reading.
type PricedLine struct {
	Kind, Description, Quantity, UnitPrice, Tax, Amount string
	Optional                                            string // "may be left out"
	LeftOut                                             bool
}

// TotalRow is a sum below the lines.
type TotalRow struct {
	Label, Amount string
	Strong        bool
}

// RevisionView is a revision for reading.
type RevisionView struct {
	Number, State, Note, ValidUntil   string
	Lines                             PricedLines
	Draft, Waiting, Expired, Approved bool
	Answer, AnswerNote                string
	Within                            string // whether it lies within the approval limit, in words
}

func (l PricedLines) table(caption string) DataView {
	d := DataView{TableView: TableView{Caption: caption, HideCaption: true, TestID: "lines"}, Stack: true,
		Columns: []Column{{Text: "Work and parts"}, {Text: "Quantity", Numeric: true}, {Text: "Each", Numeric: true}, {Text: "Tax", Numeric: true}, {Text: "Amount", Numeric: true}}}
	for _, line := range l.Lines {
		first := Cell{Text: line.Description, Auto: true, Note: line.Optional}
		if line.LeftOut {
			first = Cell{Component: leftOut(line.Description), Note: "left out"}
		}
		d.Rows = append(d.Rows, Row{Head: true, TestID: "line", Cells: []Cell{first, Txt(line.Quantity), Txt(line.UnitPrice), Txt(line.Tax), Txt(line.Amount)}})
	}
	return d
}

func (r RevisionView) heading() string {
	return "Revision " + r.Number
}

func (r RevisionView) note() string {
	switch {
	case r.Draft:
		return "A draft. The customer does not see it yet."
	case r.Waiting && r.Expired:
		return "Its time for approval is over: it was valid until " + r.ValidUntil + "."
	case r.Waiting:
		return "Waiting for the customer, until " + r.ValidUntil + "."
	}
	return ""
}
