package priced

import "ledgerwheel/web/view"

// Lines are lines and totals for reading.
type Lines struct {
	Lines  []Line
	Totals []TotalRow
	Rule   string // how tax was worked out
}

// Line is one line for reading.
type Line struct {
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
	Lines                             Lines
	Draft, Waiting, Expired, Approved bool
	Answer, AnswerNote                string
	Within                            string // whether it lies within the approval limit, in words
}

func (l Lines) table(caption string) view.DataView {
	d := view.DataView{TableView: view.TableView{Caption: caption, HideCaption: true, TestID: "lines"}, Stack: true,
		Columns: []view.Column{{Text: "Work and parts"}, {Text: "Quantity", Numeric: true}, {Text: "Unit price", Numeric: true},
			{Text: "Tax", Numeric: true}, {Text: "Amount", Numeric: true}}}
	for _, line := range l.Lines {
		first := view.Cell{Text: line.Description, Auto: true, Note: line.Optional}
		if line.LeftOut {
			first = view.Cell{Component: LeftOut(line.Description), Note: "left out"}
		}
		d.Rows = append(d.Rows, view.Row{Head: true, TestID: "line", Cells: []view.Cell{first, view.Txt(line.Quantity),
			view.Txt(line.UnitPrice), view.Txt(line.Tax), view.Txt(line.Amount)}})
	}
	return d
}

// Heading names the revision.
func (r RevisionView) Heading() string {
	return "Revision " + r.Number
}

// Standing says how far the revision has come, or nothing once it is answered.
func (r RevisionView) Standing() string {
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
