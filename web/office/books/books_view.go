package books

import "ledgerwheel/web/view"

// yearView lists the months of a year.
type yearView struct {
	Year                 string
	Months               []monthRow
	EarlierURL, LaterURL string
}

type monthRow struct{ Month, Href, Billed, Credited, Taken, Owed string }

func (v yearView) table() view.DataView {
	d := view.DataView{TableView: view.TableView{Caption: "Months of " + v.Year, HideCaption: true, TestID: "months"}, Stack: true,
		Columns: []view.Column{{Text: "Month"}, {Text: "Invoices", Numeric: true}, {Text: "Credit notes", Numeric: true}, {Text: "Taken", Numeric: true},
			{Text: "Owed, less paid ahead", Numeric: true}}}
	for _, m := range v.Months {
		d.Rows = append(d.Rows, view.Row{Head: true, TestID: "month", Cells: []view.Cell{view.Lnk(m.Month, m.Href), view.Txt(m.Billed), view.Txt(m.Credited), view.Txt(m.Taken),
			view.Txt(m.Owed)}})
	}
	return d
}

// spanView is a month or a day of the books.
type spanView struct {
	Title, BackURL, LinesURL, DaysURL string
	Count                             int // of lines
	Terms                             []view.TermView
	Takings, Tax, Accounts            [][]string
	Days                              []monthRow
}

// listed is a table of texts, all but the first in figures.
func listed(caption, id string, rows [][]string, texts int, columns ...string) view.DataView {
	d := view.DataView{TableView: view.TableView{Caption: caption, HideCaption: true, TestID: id}, Stack: true}
	for i, c := range columns {
		d.Columns = append(d.Columns, view.Column{Text: c, Numeric: i >= texts})
	}
	for _, row := range rows {
		r := view.Row{Head: true}
		for _, text := range row {
			r.Cells = append(r.Cells, view.Txt(text))
		}
		d.Rows = append(d.Rows, r)
	}
	return d
}

func (v spanView) dayTable() view.DataView {
	d := view.DataView{TableView: view.TableView{Caption: "Days", HideCaption: true, TestID: "days"}, Stack: true,
		Columns: []view.Column{{Text: "Day"}, {Text: "Invoices", Numeric: true}, {Text: "Credit notes", Numeric: true}, {Text: "Taken", Numeric: true}}}
	for _, m := range v.Days {
		d.Rows = append(d.Rows, view.Row{Head: true, TestID: "day", Cells: []view.Cell{view.Lnk(m.Month, m.Href), view.Txt(m.Billed), view.Txt(m.Credited), view.Txt(m.Taken)}})
	}
	return d
}

// accountsView is the form of the accounts.
type accountsView struct {
	Form     view.Form
	Accounts []accountRow
}

type accountRow struct{ Key, Words string }

func (v accountsView) number(a accountRow) view.Field {
	return v.Form.Field("number-"+a.Key, a.Words+": number").Maybe().WithMaxLength(20).WithWidth(view.Third)
}

func (v accountsView) name(a accountRow) view.Field {
	return v.Form.Field("name-"+a.Key, a.Words+": name").Maybe().WithMaxLength(60).WithWidth(view.Half)
}
