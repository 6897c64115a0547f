package comebacks

import "ledgerwheel/web/view"

// listView is the list of comebacks.
type listView struct {
	Open  bool // only those in the shop
	Rows  []comebackRow
	Pager view.PagerView
}

type comebackRow struct {
	Number, Of, Watch, Customer, Stage, Cause, Cover, Cost string
}

func (v listView) table() view.DataView {
	d := view.DataView{TableView: view.TableView{Caption: "Comebacks", HideCaption: true, TestID: "comebacks"}, Stack: true,
		Columns: []view.Column{{Text: "Docket"}, {Text: "Comes back from"}, {Text: "Watch"}, {Text: "Customer"}, {Text: "Now"}, {Text: "Brought back by"},
			{Text: "Under warranty"}, {Text: "Cost", Numeric: true}}}
	for _, r := range v.Rows {
		number := view.Lnk(r.Number, view.DocketURL(r.Number, "comeback"))
		of := view.Lnk(r.Of, view.DocketURL(r.Of, ""))
		number.Code, of.Code = true, true
		cover := r.Cover
		if cover == "" {
			cover = "not decided yet"
		}
		d.Rows = append(d.Rows, view.Row{Head: true, TestID: "comeback-row", Cells: []view.Cell{number, of, {Text: r.Watch, Auto: true},
			{Text: r.Customer, Auto: true}, view.Txt(r.Stage), view.Txt(r.Cause), view.Txt(cover), view.Txt(r.Cost)}})
	}
	return d
}
