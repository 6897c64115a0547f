package books

import "ledgerwheel/web/view"

// owedView is what is billed and not paid.
type owedView struct {
	Rows  []owedRow
	Pager view.PagerView
}

type owedRow struct{ Number, Customer, Phone, Tel, Watch, Since, Amount string }

func (v owedView) table() view.DataView {
	d := view.DataView{TableView: view.TableView{Caption: "What is owed", HideCaption: true, TestID: "owed"}, Stack: true,
		Columns: []view.Column{{Text: "Docket"}, {Text: "Customer"}, {Text: "Telephone"}, {Text: "The watch"}, {Text: "Billed"}, {Text: "Owed", Numeric: true}}}
	for _, r := range v.Rows {
		number := view.Lnk(r.Number, view.DocketURL(r.Number, "invoices"))
		number.Code = true
		d.Rows = append(d.Rows, view.Row{Head: true, TestID: "debt", Cells: []view.Cell{number, {Text: r.Customer, Auto: true}, {Text: r.Phone, Href: r.Tel},
			view.Txt(r.Watch), view.Txt(r.Since), view.Txt(r.Amount)}})
	}
	return d
}
