package stock

import "ledgerwheel/web/view"

// suppliersView is whom the shop orders from.
type suppliersView struct {
	Rows []supplierRow
	May  bool
}

type supplierRow struct {
	Name, Href, Reach, Account, Lead string
}

func (v suppliersView) table() view.DataView {
	d := view.DataView{TableView: view.TableView{Caption: "Suppliers", HideCaption: true, TestID: "suppliers"}, Stack: true,
		Columns: []view.Column{{Text: "Supplier"}, {Text: "Orders go to"}, {Text: "Our number there"}, {Text: "Usually comes in", Numeric: true}}}
	for _, s := range v.Rows {
		d.Rows = append(d.Rows, view.Row{Head: true, TestID: "supplier", Cells: []view.Cell{{Text: s.Name, Href: s.Href, Auto: true}, view.Txt(s.Reach), view.Txt(s.Account),
			view.Txt(s.Lead)}})
	}
	return d
}

// supplierView is the form of one.
type supplierView struct {
	Form          view.Form
	Action, Title string
}
