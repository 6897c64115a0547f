package stock

import (
	"strconv"

	"ledgerwheel/web/view"
)

// catalogueView is the catalogue with what is in the drawers.
type catalogueView struct {
	Typed              string
	Short              bool // only what is to be ordered again
	May                bool
	Rows               []partRow
	MoreURL, LabelsURL string
}

type partRow struct {
	Number, Name, Href, Drawer, Price, Free string
	Reserved, ToOrder                       int
}

func (v catalogueView) table() view.DataView {
	d := view.DataView{TableView: view.TableView{Caption: "Parts of the catalogue", HideCaption: true, TestID: "catalogue"}, Stack: true,
		Columns: []view.Column{{Text: "Number"}, {Text: "Part"}, {Text: "Place"}, {Text: "Free", Numeric: true}, {Text: "Costs", Numeric: true}}}
	for _, p := range v.Rows {
		free := view.Cell{Text: p.Free}
		if p.Reserved > 0 {
			free.Note = strconv.Itoa(p.Reserved) + " reserved"
		}
		name := view.Cell{Text: p.Name, Auto: true}
		if p.ToOrder > 0 {
			name.Note = "order " + strconv.Itoa(p.ToOrder)
		}
		d.Rows = append(d.Rows, view.Row{Head: true, TestID: "part", Cells: []view.Cell{{Text: p.Number, Code: true, Href: p.Href}, name, view.Txt(p.Drawer),
			free, view.Txt(p.Price)}})
	}
	return d
}

// tabs lead from all parts to those that are short.
func (v catalogueView) tabs() []view.TabView {
	return []view.TabView{{Text: "All parts", Href: "/stock", Current: !v.Short, TestID: "all-parts"},
		{Text: "To be ordered again", Href: "/stock?show=short", Current: v.Short, TestID: "short-parts"},
		{Text: "Orders", Href: "/orders", TestID: "to-orders"}, {Text: "Suppliers", Href: "/suppliers", TestID: "to-suppliers"}}
}

// partView is one part with its ledger.
type partView struct {
	Number, Name, URL, Seq, Unit string
	Ages, May                    bool
	Problems                     map[string]string
	Failed                       string // which form was refused
	Terms                        []view.TermView
	Lots                         []lotRow
	Held                         []heldRow
	Moves                        []moveRow // newest first
	OlderURL                     string
	Receive, Count, TakeOut      view.Form
}

type lotRow struct {
	ID, Number, Usable string
	Pieces             int
	Past               bool
}

type heldRow struct {
	Docket string
	Pieces int
}

type moveRow struct {
	At, What, Pieces, Docket, Lot, By, Why string
}

// counted are the lines of a stocktake: each lot in the drawer, and pieces without one where nothing is there.
func (v partView) counted() []lotRow {
	if len(v.Lots) == 0 {
		return []lotRow{{ID: "0", Number: "without a lot"}}
	}
	return v.Lots
}

func (v partView) countField(l lotRow) view.Field {
	label := "Counted"
	if v.Ages {
		label += ", lot " + l.Number
	}
	return v.Count.Field("counted."+l.ID, label).Need().WithWidth(view.Third).WithHint("the book has " + strconv.Itoa(l.Pieces))
}

func (v partView) lotTable() view.DataView {
	d := view.DataView{TableView: view.TableView{Caption: "Lots in the drawer", HideCaption: true, TestID: "lots"}, Stack: true,
		Columns: []view.Column{{Text: "Lot"}, {Text: "Usable to"}, {Text: "In the drawer", Numeric: true}}}
	for _, l := range v.Lots {
		usable := view.Cell{Text: l.Usable}
		if l.Past {
			usable = view.Cell{Text: "past its life", Mark: view.Fail, Note: l.Usable}
		}
		d.Rows = append(d.Rows, view.Row{Head: true, Cells: []view.Cell{view.Txt(l.Number), usable, view.Txt(strconv.Itoa(l.Pieces))}})
	}
	return d
}

func (v partView) moveTable() view.DataView {
	d := view.DataView{TableView: view.TableView{Caption: "Moves of this part", HideCaption: true, TestID: "moves"}, Stack: true,
		Columns: []view.Column{{Text: "When"}, {Text: "What"}, {Text: "Pieces", Numeric: true}, {Text: "Docket"}, {Text: "By"}}}
	for _, m := range v.Moves {
		what := view.Cell{Text: m.What, Note: m.Why}
		if m.Lot != "" {
			what.Text += ", lot " + m.Lot
		}
		number := view.Cell{}
		if m.Docket != "" {
			number = view.Cell{Text: m.Docket, Code: true, Href: view.DocketURL(m.Docket, "parts")}
		}
		d.Rows = append(d.Rows, view.Row{Head: true, TestID: "move", Cells: []view.Cell{view.Txt(m.At), what, view.Txt(m.Pieces), number, view.Txt(m.By)}})
	}
	return d
}

// editView is the form of a part of the catalogue.
type editView struct {
	Form                             view.Form
	Action, Title, Currency, TaxName string
	IncludesTax                      bool
}

func (v editView) priceHint() string {
	if v.IncludesTax {
		return "with tax; empty is priced each time"
	}
	return "without tax; empty is priced each time"
}

func (v partView) lotOptions() []view.Option {
	var list []view.Option
	for _, l := range v.Lots {
		list = append(list, view.Option{Value: l.ID, Text: l.Number})
	}
	return list
}
