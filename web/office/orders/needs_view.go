package orders

import "ledgerwheel/web/view"

// needsView is what is to be ordered, by supplier.
type needsView struct {
	Form      view.Form
	May, More bool
	Count     int
	Groups    []groupView
	Suppliers []view.Option
}

type groupView struct {
	Name         string
	AsksSupplier bool
	Rows         []needRow
}

type needRow struct {
	Key, Part, Number, Pieces, Note string
	Docket, Promised                string
	Drawer, Ticked                  bool
}

func (v needsView) table(g groupView, first bool) view.DataView {
	d := view.DataView{TableView: view.TableView{Caption: "To be ordered from " + g.Name, HideCaption: true}, Stack: true,
		Columns: []view.Column{{Text: "Part"}, {Text: "Pieces"}, {Text: "For"}}} // left, above where it is typed
	if v.May && g.AsksSupplier {
		d.Columns = append(d.Columns, view.Column{Text: "Supplier"})
	}
	if v.May {
		d.Columns = append(d.Columns, view.Column{Text: "Order it"})
	}
	for i, n := range g.Rows {
		pieces, waits := view.Txt(n.Pieces), view.Cell{Text: "the drawer", Note: n.Note}
		if n.Drawer && v.May {
			pieces = view.Show(needPieces(v, n))
		}
		if n.Docket != "" {
			waits = view.Cell{Text: n.Docket, Code: true, Href: view.DocketURL(n.Docket, "parts"), Note: n.Promised}
			if n.Note != "" && n.Promised != "" {
				waits.Note += ", "
			}
			waits.Note += n.Note
		}
		cells := []view.Cell{{Text: n.Part, Auto: true, Note: n.Number}, pieces, waits}
		if v.May && g.AsksSupplier {
			cells = append(cells, view.Show(needSupplier(v, n)))
		}
		if v.May {
			cells = append(cells, view.Show(needTick(n, first && i == 0)))
		}
		d.Rows = append(d.Rows, view.Row{Head: true, TestID: "need", Cells: cells})
	}
	return d
}

func (v needsView) supplierField(n needRow) view.Field {
	f := v.Form.Field("supplier."+n.Key, "Supplier of "+n.Part).WithOptions(append([]view.Option{{Text: "Choose"}}, v.Suppliers...)...)
	f.HideName = true
	return f
}

func (v needsView) piecesField(n needRow) view.Field {
	f := v.Form.Field("pieces."+n.Key, "Pieces of "+n.Part)
	f.HideName = true
	if f.Value == "" {
		f.Value = n.Pieces
	}
	return f
}

// groupSupplier is the id of the supplier that a group is for, as its option has it.
func (v needsView) groupSupplier(g groupView) string {
	for _, o := range v.Suppliers {
		if o.Text == g.Name {
			return o.Value
		}
	}
	return ""
}
