package bench

import (
	"cmp"

	"ledgerwheel/web/view"
)

// partsView is the parts sheet of a docket.
type partsView struct {
	Form        view.Form // the refused form, if one was
	New         view.Form // of a part to be added
	Parts       []partView
	Outstanding int
	ToFit       int
	ToReturn    int
	Suppliers   []string
	OldParts    []view.Option
	MayNeed     bool
}

// partView is one part, where it stands, and where it may go.
type partView struct {
	ID, URL                string
	Description, Reference string
	Supplier               string
	Quantity               int
	State, Since           string
	Waiting                bool // still to come
	OldPart                string
	HasOldPart             bool
	Note                   string
	Moves                  []partMoveView
	OldMoves               []view.Option // what may be said of the old part by one button
	MayCorrect             bool
	Form                   view.Form // of correcting or ordering it
	Open                   string    // the form that was refused: "order", "correct", "fit" or "payer"
	Rank                   int
	Drawer, DrawerURL      string // how it stands in the drawer; "" for a part that is not of the catalogue
	Short                  bool   // too few are free

	NotHeld         bool // fitted, and no agreed estimate holds it
	Payer, PayerWhy string
	ToBePriced      bool // the customer is asked by a revision that is not agreed yet
	MaySayPayer     bool
}

// partMoveView is a button, or a small form, that moves a part on.
type partMoveView struct {
	Slug, Text   string
	AsksSupplier bool
	AsksOldPart  bool
	AsksMoney    bool // no agreed estimate holds the part
}

func (p partView) count() string { return view.When(p.Quantity != 1, view.Itoa(p.Quantity)+" × ") }

// field starts a field whose id no other part's form has, unless it is the form that was refused.
func (p partView) field(what, name, label string) view.Field {
	f := p.Form.Field(name, label)
	if p.Open != what {
		f = view.Field{Name: name, Label: label, Value: p.Form.Values.Get(name), ID: what + "-" + p.ID + "-" + name}
	}
	return f.WithAttr("data-testid", what+"-"+p.ID+"-"+name)
}

func (p partView) old(options []view.Option) view.Field {
	f := p.field("fit", "old_part", "Old part").WithOptions(options...)
	f.HideName = true
	return f
}

var payers = []view.Option{
	{Value: "customer", Text: "Ask the customer", Hint: "Price it in a new revision of the estimate."},
	{Value: "estimate", Text: "It is in the agreed price", Hint: "Say in which line."},
	{Value: "shop", Text: "On the house", Hint: "Say why."}}

// payer and payerWhy ask who pays for the part; what names the form.
func (p partView) payer(what string) view.Field {
	f := p.field(what, "payer", "Who pays for it?").WithOptions(payers...).Need()
	f.Attrs = nil // each choice names itself
	return f
}

func (p partView) payerWhy(what string) view.Field {
	return p.field(what, "payer_why", "Which line, or why").WithMaxLength(2000).WithAttr("dir", "auto").Maybe()
}

func (v partsView) summary() string {
	switch {
	case v.Outstanding > 0 && v.ToFit > 0:
		return view.Itoa(v.Outstanding) + " still to come, " + view.Itoa(v.ToFit) + " here to be fitted."
	case v.Outstanding > 0:
		return view.Itoa(v.Outstanding) + " still to come."
	case v.ToFit > 0:
		return "All are here, " + view.Itoa(v.ToFit) + " to be fitted."
	case len(v.Parts) > 0:
		return "Nothing is outstanding."
	}
	return ""
}

func (v partsView) toReturn() string {
	if v.ToReturn == 1 {
		return "Keep the old part for the customer: it goes back with the watch."
	}
	return "Keep the old parts for the customer: " + view.Itoa(v.ToReturn) + " of those above go back with the watch."
}

// outstandingView is the list of parts that dockets wait for.
type outstandingView struct {
	Form                             view.Form
	Needed                           bool // still to be ordered; else ordered
	Supplier, State, Action          string
	Suppliers                        []supplierView
	AllHref, OrderedHref, NeededHref string
	Parts                            []outstandingPartView
	Pager                            view.PagerView
}

// supplierView narrows the list to one supplier.
type supplierView struct {
	Name, Href string
	Parts      int
	Current    bool
}

// outstandingPartView is one part of the list. Key is sent when it is ticked.
type outstandingPartView struct {
	Key                       string
	Description, Reference    string
	Supplier, Quantity, Since string
	Number, Href              string
	Watch, Customer           string
	Free                      string // how many are free in the drawer
	Gone                      bool   // its watch has left the shop
	Ticked                    bool
}

func (v outstandingView) tabs() []view.TabView {
	return []view.TabView{{Text: "Ordered", Href: v.OrderedHref, Current: !v.Needed, TestID: "tab-ordered"},
		{Text: "To be ordered", Href: v.NeededHref, Current: v.Needed, TestID: "tab-needed"},
		{Text: "Orders", Href: "/orders", TestID: "tab-orders"}, {Text: "In the drawers", Href: "/stock", TestID: "tab-drawers"}}
}

func (v outstandingView) table() view.DataView {
	caption := "Parts ordered"
	if v.Needed {
		caption = "Parts to be ordered"
	}
	d := view.DataView{TableView: view.TableView{Caption: caption, HideCaption: true, TestID: "outstanding"}, Stack: true,
		Columns: []view.Column{{Text: "Part"}, {Text: "Pieces", Numeric: true}, {Text: "Supplier"}, {Text: "Since"},
			{Text: "Docket"}}}
	if !v.Needed {
		d.Columns = append(d.Columns, view.Column{Text: "Arrived"})
	}
	for i, p := range v.Parts {
		cells := []view.Cell{{Text: p.Description, Auto: true, Note: p.Reference}, {Text: p.Quantity, Note: view.When(v.Needed, p.Free)},
			{Text: cmp.Or(p.Supplier, "–"), Auto: true}, view.Txt(p.Since), view.Show(outstandingDocket(p))}
		if !v.Needed {
			cells = append(cells, view.Show(arrivedTick(p, i == 0)))
		}
		d.Rows = append(d.Rows, view.Row{Head: true, TestID: "outstanding-part", Cells: cells})
	}
	return d
}
