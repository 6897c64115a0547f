package invoices

import (
	"strings"

	"ledgerwheel/web/view"
)

// invoicesView is the page of what was and what can be billed on a docket.
type invoicesView struct {
	Problems map[string]string
	Issued   []issuedRow
	Account  []view.TermView // what was billed, credited and paid; nil before anything was issued
	Bill     *billForm       // nil where a bill stands, or for who may not issue
	Deposit  *depositForm
	Early    bool   // the work is still to be done: the deposit comes first, and the bill is folded
	Why      string // why there is no form
}

// issuedRow is a document that was issued.
type issuedRow struct {
	Number, Kind, Day, By, Amount, Note string
	URL, CreditURL                      string
}

func (v invoicesView) rows() []view.Row {
	var rows []view.Row
	for _, d := range v.Issued {
		act := view.Txt("")
		if d.CreditURL != "" {
			act = view.Cell{Text: "Credit", Href: d.CreditURL}
		}
		rows = append(rows, view.Row{Head: true, TestID: "issued-row", Cells: []view.Cell{{Text: d.Number, Code: true, Href: d.URL},
			{Text: d.Kind, Note: d.Note}, {Text: d.Day, Note: d.By, Code: true}, view.Txt(d.Amount), act}})
	}
	return rows
}

// beside is what was agreed, fitted and spent, one below another.
type beside struct {
	Agreed []view.TermView
	Fitted []string
	Spent  string
}

// done are the parts and the time that stand against what was agreed.
func (b beside) done() []view.TermView {
	fitted := "nothing"
	if len(b.Fitted) > 0 {
		fitted = strings.Join(b.Fitted, ", ")
	}
	return []view.TermView{view.Term("Fitted", fitted), view.Term("Spent", b.Spent)}
}

// billForm issues the bill. Total and Differs say what it comes to and by how much that is not what was agreed.
type billForm struct {
	Form           view.Form
	Beside         beside
	Comes          []view.TermView
	Differs        []string
	Lines          []view.Field // a discount on each line, in per cent
	Treatment      view.Field
	Series         *view.Field
	Word           *view.Field
	Currency       string
	Open, DiffOpen bool
}

// depositForm asks for money before the work.
type depositForm struct {
	Form          view.Form
	Treatment     view.Field
	Currency      string
	Left          string // of what was agreed and is not invoiced
	Open, TaxOpen bool
}

// creditView is the page on which a document is answered by a credit note.
type creditView struct {
	Problems       map[string]string
	Form           view.Form
	Number, Action string
	Back           string
	Left           string
	Lines          view.Field
	Currency       string
}

// sentenceHint says who writes the sentence by which no tax is charged.
const sentenceHint = "The law’s own words for reverse charge come by themselves; for an exemption ask your adviser."
