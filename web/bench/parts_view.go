package view

import (
	"cmp"
)

// PartsView is the parts sheet of a docket.
type PartsView struct {
	Form        Form // the refused form, if one was
	New         Form // of a part to be added
	Parts       []PartView
	Outstanding int
	ToFit       int
	ToReturn    int
	Suppliers   []string
	OldParts    []Option
	MayNeed     bool
}

// PartView is one part, where it stands, and where it may go.
type PartView struct {
	ID, URL                string
	Description, Reference string
	Supplier               string
	Quantity               int
	State, Since           string
	Waiting                bool // still to come
	OldPart                string
	HasOldPart             bool
	Note                   string
	Moves                  []PartMoveView
	OldMoves               []Option // what may be said of the old part by one button
	MayCorrect             bool
	Form                   Form   // of correcting or ordering it
	Open                   string // the form that was refused: "order" or "correct"
	Rank                   int
}

// PartMoveView is a button, or a small form, that moves a part on.
type PartMoveView struct {
	Slug, Text   string
	AsksSupplier bool
	AsksOldPart  bool
}

func (p PartView) count() string { return when(p.Quantity != 1, itoa(p.Quantity)+" × ") }

// field starts a field whose id no other part's form has, unless it is the form that was refused.
func (p PartView) field(what, name, label string) Field {
	f := p.Form.Field(name, label)
	if p.Open != what {
		f = Field{Name: name, Label: label, Value: p.Form.Values.Get(name), ID: what + "-" + p.ID + "-" + name}
	}
	return f.WithAttr("data-testid", what+"-"+p.ID+"-"+name)
}

func (p PartView) old(options []Option) Field {
	f := p.field("fit", "old_part", "Old part").WithOptions(options...)
	f.HideName = true
	return f
}

func (v PartsView) summary() string {
	switch {
	case v.Outstanding > 0 && v.ToFit > 0:
		return itoa(v.Outstanding) + " still to come, " + itoa(v.ToFit) + " here to be fitted."
	case v.Outstanding > 0:
		return itoa(v.Outstanding) + " still to come."
	case v.ToFit > 0:
		return "All are here, " + itoa(v.ToFit) + " to be fitted."
	case len(v.Parts) > 0:
		return "Nothing is outstanding."
	}
	return ""
}

func (v PartsView) toReturn() string {
	if v.ToReturn == 1 {
		return "Keep the old part for the customer: it goes back with the watch."
	}
	return "Keep the old parts for the customer: " + itoa(v.ToReturn) + " of those above go back with the watch."
}

// OutstandingView is the list of parts that dockets wait for.
type OutstandingView struct {
	Form                             Form
	Needed                           bool // still to be ordered; else ordered
	Supplier, State, Action          string
	Suppliers                        []SupplierView
	AllHref, OrderedHref, NeededHref string
	Parts                            []OutstandingPartView
	Pager                            PagerView
}

// SupplierView narrows the list to one supplier.
type SupplierView struct {
	Name, Href string
	Parts      int
	Current    bool
}

// OutstandingPartView is one part of the list. Key is sent when it is ticked.
type OutstandingPartView struct {
	Key                       string
	Description, Reference    string
	Supplier, Quantity, Since string
	Number, Href              string
	Watch, Customer           string
	Gone                      bool // its watch has left the shop
	Ticked                    bool
}

func (v OutstandingView) tabs() []TabView {
	return []TabView{{Text: "Ordered", Href: v.OrderedHref, Current: !v.Needed, TestID: "tab-ordered"},
		{Text: "To be ordered", Href: v.NeededHref, Current: v.Needed, TestID: "tab-needed"}}
}

func (v OutstandingView) table() DataView {
	caption := "Parts ordered"
	if v.Needed {
		caption = "Parts to be ordered"
	}
	d := DataView{TableView: TableView{Caption: caption, HideCaption: true, TestID: "outstanding"}, Stack: true,
		Columns: []Column{{Text: "Part"}, {Text: "Pieces", Numeric: true}, {Text: "Supplier"}, {Text: "Since"}, {Text: "Docket"}}}
	if !v.Needed {
		d.Columns = append(d.Columns, Column{Text: "Arrived"})
	}
	for i, p := range v.Parts {
		cells := []Cell{{Text: p.Description, Auto: true, Note: p.Reference}, Txt(p.Quantity), {Text: cmp.Or(p.Supplier, "–"), Auto: true}, Txt(p.Since), Show(outstandingDocket(p))}
		if !v.Needed {
			cells = append(cells, Show(arrivedTick(p, i == 0)))
		}
		d.Rows = append(d.Rows, Row{Head: true, TestID: "outstanding-part", Cells: cells})
	}
	return d
}
