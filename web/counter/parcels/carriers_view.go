package parcels

import "ledgerwheel/web/view"

// carriersView is whom the shop sends by.
type carriersView struct {
	Form     view.Form
	Currency string
	Carriers []carrierRow
}

type carrierRow struct{ ID, Name, Limit, Cells, Note string }

func (v carriersView) rows() []view.Row {
	var rows []view.Row
	for _, c := range v.Carriers {
		rows = append(rows, view.Row{Head: true, TestID: "carrier-row", Cells: []view.Cell{{Text: c.Name, Auto: true}, view.Txt(c.Limit),
			view.Txt(c.Cells), {Text: c.Note, Auto: true}, view.Show(endForm(c))}})
	}
	return rows
}
