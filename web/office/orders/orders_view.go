package orders

import "ledgerwheel/web/view"

// ordersView is a list of orders.
type ordersView struct {
	Form          view.Form
	Done, May     bool
	Late, Refused int
	Rows          []orderRow
	Suppliers     []view.Option
	MoreURL       string
}

type orderRow struct {
	Number, Href, Supplier, Stage, Sent, Lines, Due string
	Late                                            bool
	Refused                                         bool // its mail
	Mark                                            view.MarkKind
}

// tabs lead through what is to be ordered, on its way, late and done with.
func tabs(current string, late int) []view.TabView {
	lateText := "Late"
	if late > 0 {
		lateText += " (" + view.Itoa(late) + ")"
	}
	list := []view.TabView{{Text: "To be ordered", Href: "/orders/needs", TestID: "tab-needs"}, {Text: "Orders", Href: "/orders", TestID: "tab-orders"},
		{Text: lateText, Href: "/orders/late", TestID: "tab-late"}, {Text: "Done", Href: "/orders?show=done", TestID: "tab-done"},
		{Text: "Suppliers", Href: "/suppliers", TestID: "tab-suppliers"}}
	for i := range list {
		list[i].Current = list[i].TestID == "tab-"+current
	}
	return list
}

func (v ordersView) tab() string {
	if v.Done {
		return "done"
	}
	return "orders"
}

func (v ordersView) table() view.DataView {
	d := view.DataView{TableView: view.TableView{Caption: "Orders", HideCaption: true, TestID: "orders"}, Stack: true,
		Columns: []view.Column{{Text: "Order"}, {Text: "Supplier"}, {Text: "Stands"}, {Text: "Sent"}, {Text: "Lines"}}}
	if !v.Done {
		d.Columns = append(d.Columns, view.Column{Text: "Expected"})
	}
	for _, o := range v.Rows {
		stands := view.Cell{Text: o.Stage, Mark: o.Mark}
		if o.Refused {
			stands.Note = "the mail was refused"
		}
		row := view.Row{Head: true, TestID: "order", Cells: []view.Cell{{Text: o.Number, Code: true, Href: o.Href}, {Text: o.Supplier, Auto: true}, stands,
			view.Txt(o.Sent), view.Txt(o.Lines)}}
		if !v.Done {
			due := view.Txt(o.Due)
			if o.Late {
				due = view.Cell{Text: o.Due, Mark: view.Fail}
			}
			row.Cells = append(row.Cells, due)
		}
		d.Rows = append(d.Rows, row)
	}
	return d
}

// lateView is what should have come, by supplier.
type lateView struct {
	Doors []doorView
	More  bool
}

type doorView struct {
	Supplier, Phone, Email, Account string
	Rows                            []lateRow
}

type lateRow struct {
	Part, Number, Pieces, Due, Late, Order, Href string
	Docket, Customer, Promised                   string
	Past                                         bool // the docket's day has come
}

func (d doorView) note() string {
	if d.Account == "" {
		return ""
	}
	return "Our number there: " + d.Account
}

func (d doorView) table() view.DataView {
	t := view.DataView{TableView: view.TableView{Caption: "Late from " + d.Supplier, HideCaption: true}, Stack: true,
		Columns: []view.Column{{Text: "Part"}, {Text: "Pieces", Numeric: true}, {Text: "Late"}, {Text: "Order"}, {Text: "For"}}}
	for _, l := range d.Rows {
		waits := view.Txt("the drawer")
		if l.Docket != "" {
			waits = view.Cell{Text: l.Docket, Code: true, Href: view.DocketURL(l.Docket, "parts"), Note: l.Customer}
			if l.Promised != "" {
				waits.Note += ", promised " + l.Promised
			}
			if l.Past {
				waits.Note += ": the day has come"
			}
		}
		t.Rows = append(t.Rows, view.Row{Head: true, TestID: "late-line", Cells: []view.Cell{{Text: l.Part, Auto: true, Href: l.Href, Note: l.Number}, view.Txt(l.Pieces),
			{Text: l.Late, Mark: view.Fail, Note: "expected " + l.Due}, {Text: l.Order, Code: true}, waits}})
	}
	return t
}
