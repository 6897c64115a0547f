package loans

import "ledgerwheel/web/view"

// loansView is what the shop lends.
type loansView struct {
	Form     view.Form
	Currency string
	Watches  []watchRow
	May      bool // keep the list
}

type watchRow struct {
	ID, Title, State, Value string
	Docket, With, Until     string // "" while it is in
	Overdue, May            bool
}

func (v loansView) rows() []view.Row {
	var rows []view.Row
	for _, w := range v.Watches {
		where := view.Cell{Text: "in the shop"}
		if w.Docket != "" {
			where = view.Cell{Text: w.Docket, Code: true, Href: view.DocketURL(w.Docket, "loan"), Note: w.With}
		}
		until := view.Cell{Text: w.Until}
		if w.Overdue {
			until = view.Cell{Text: "overdue", Mark: view.Fail, Note: w.Until}
		}
		row := []view.Cell{{Text: w.Title, Auto: true}, {Text: w.State, Auto: true}, view.Txt(w.Value), where, until}
		if w.May && w.Docket == "" {
			row = append(row, view.Show(endForm(w)))
		} else {
			row = append(row, view.Txt(""))
		}
		rows = append(rows, view.Row{Head: true, TestID: "loan-row", Cells: row})
	}
	return rows
}

// loanView is the loan watch of a docket.
type loanView struct {
	Problems        map[string]string
	Failed          string
	Out, Back, Keep view.Form
	Currency        string
	In              []view.Option     // those that can be lent
	Current         []view.TermView   // the one that is out; nil for none
	Before          [][]view.TermView // that came back
	Deposit         bool
	InTill          string // what of it lies in the till, "" for nothing
	Ways            []view.Option
	KeptOut         bool
	SlipURL         string
	May, Closed     bool
}
