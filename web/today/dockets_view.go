package today

import (
	"cmp"

	"ledgerwheel/web/view"
)

// docketRowView is a docket in a list.
type docketRowView struct {
	Number, Watch, Customer string
	Stage, Waits            string
	Place, Bench            string // Bench is who has it in hand
	Promised                string
	Overdue                 bool
	Since                   string // how long it has been where this list says, such as "sent out 3 Nov"
	Now                     bool   // the one to take up next
}

// docketTable is a list of dockets; each row leads to its docket.
func docketTable(id, caption string, hideCaption bool, rows []docketRowView) view.DataView {
	d := view.DataView{
		TableView: view.TableView{ID: id, Caption: caption, HideCaption: hideCaption, TestID: id},
		Stack:     true,
		Columns: []view.Column{{Text: "Docket"}, {Text: "Watch"}, {Text: "Customer"}, {Text: "Stage"}, {Text: "Waits for"},
			{Text: "Where"}, {Text: "Promised"}},
	}
	for _, r := range rows {
		d.Rows = append(d.Rows, view.Row{Head: true, Now: r.Now, TestID: "docket-row", Cells: []view.Cell{
			view.Show(docketNumber(r.Number)),
			{Text: r.Watch, Auto: true},
			{Text: r.Customer, Auto: true},
			view.Txt(r.Stage),
			view.Txt(r.Waits),
			{Text: r.Place, Note: cmp.Or(r.Since, r.Bench)},
			view.Show(promisedDay(r.Promised, r.Overdue)),
		}})
	}
	return d
}

// docketsView is the list of dockets with what narrows it.
type docketsView struct {
	Filter    []view.Field
	Hidden    []view.FieldValue // what narrows the list besides
	Narrowed  string            // says what that is
	Rows      []docketRowView
	Pager     view.PagerView
	Filtered  bool // any filter is on, so an empty list may mean too narrow a one
	MayTakeIn bool
}

// foundView is what the find box found.
type foundView struct {
	Query     string
	Misread   string // what is wrong with a docket's number, in words
	Likely    []docketRowView
	Groups    []foundGroupView
	Nothing   bool
	Asked     bool   // something was typed
	Instead   string // what was found for it, where it finds nothing itself
	Further   bool   // a later page of one group
	All       string
	MayTakeIn bool
}

// foundGroupView is one sort of thing found.
type foundGroupView struct {
	Key, Heading string
	Dockets      []docketRowView
	Customers    []foundCustomerView
	Watches      []foundWatchView
	More         string
	// Sparse says that the page holds few because the words stand seldom together, and the search goes on.
	Sparse bool
}

// foundCustomerView is a customer found.
type foundCustomerView struct {
	Name, Href, Phone, Email string
	Dockets                  []docketLink
}

// foundWatchView is a watch found.
type foundWatchView struct {
	Watch, Href, Serial, Movement string
	Owner, OwnerHref              string
	Dockets                       []docketLink
}

// docketLink is a docket named in passing.
type docketLink struct{ Number, Stage string }

func (g foundGroupView) table() view.DataView {
	id := "found-" + g.Key
	switch {
	case len(g.Customers) > 0:
		return customersFound(id, g)
	case len(g.Watches) > 0:
		return watchesFound(id, g)
	}
	return docketTable(id, g.Heading, true, g.Dockets)
}

func (g foundGroupView) rows() int { return len(g.Dockets) + len(g.Customers) + len(g.Watches) }

func customersFound(id string, g foundGroupView) view.DataView {
	d := view.DataView{TableView: view.TableView{ID: id, Caption: g.Heading, HideCaption: true, TestID: id}, Stack: true,
		Columns: []view.Column{{Text: "Customer"}, {Text: "Telephone"}, {Text: "E-mail"}, {Text: "Newest dockets"}}}
	for _, c := range g.Customers {
		d.Rows = append(d.Rows, view.Row{Head: true, TestID: "found-row",
			Cells: []view.Cell{{Text: c.Name, Href: c.Href, Auto: true},
				view.Txt(c.Phone), {Text: c.Email, Auto: true}, view.Show(docketLinks(c.Dockets))}})
	}
	return d
}

func watchesFound(id string, g foundGroupView) view.DataView {
	d := view.DataView{TableView: view.TableView{ID: id, Caption: g.Heading, HideCaption: true, TestID: id}, Stack: true,
		Columns: []view.Column{{Text: "Watch"}, {Text: "Case serial"}, {Text: "Movement serial"}, {Text: "Owner"},
			{Text: "Newest dockets"}}}
	for _, w := range g.Watches {
		d.Rows = append(d.Rows, view.Row{Head: true, TestID: "found-row",
			Cells: []view.Cell{{Text: w.Watch, Href: w.Href, Auto: true},
				{Text: w.Serial, Auto: true}, {Text: w.Movement, Auto: true}, {Text: w.Owner, Href: w.OwnerHref, Auto: true},
				view.Show(docketLinks(w.Dockets))}})
	}
	return d
}
