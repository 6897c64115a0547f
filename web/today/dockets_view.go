package view

import (
	"cmp"
)

// DocketRowView is a docket in a list.
type DocketRowView struct {
	Number, Watch, Customer string
	Stage, Waits            string
	Place, Bench            string // Bench is who has it in hand
	Promised                string
	Overdue                 bool
	Since                   string // how long it has been where this list says, such as "sent out 3 Nov"
	Now                     bool   // the one to take up next
}

// docketTable is a list of dockets; each row leads to its docket.
func docketTable(id, caption string, hideCaption bool, rows []DocketRowView) DataView {
	d := DataView{
		TableView: TableView{ID: id, Caption: caption, HideCaption: hideCaption, TestID: id},
		Stack:     true,
		Columns: []Column{{Text: "Docket"}, {Text: "Watch"}, {Text: "Customer"}, {Text: "Stage"}, {Text: "Waits for"},
			{Text: "Where"}, {Text: "Promised"}},
	}
	for _, r := range rows {
		d.Rows = append(d.Rows, Row{Head: true, Now: r.Now, TestID: "docket-row", Cells: []Cell{
			Show(docketNumber(r.Number)),
			{Text: r.Watch, Auto: true},
			{Text: r.Customer, Auto: true},
			Txt(r.Stage),
			Txt(r.Waits),
			{Text: r.Place, Note: cmp.Or(r.Since, r.Bench)},
			Show(promisedDay(r.Promised, r.Overdue)),
		}})
	}
	return d
}

// DocketsView is the list of dockets with what narrows it.
type DocketsView struct {
	Filter    []Field
	Hidden    []FieldValue // what narrows the list besides
	Narrowed  string       // says what that is
	Rows      []DocketRowView
	Pager     PagerView
	Filtered  bool // any filter is on, so an empty list may mean too narrow a one
	MayTakeIn bool
}

// FoundView is what the find box found.
type FoundView struct {
	Query     string
	Misread   string // what is wrong with a docket's number, in words
	Likely    []DocketRowView
	Groups    []FoundGroupView
	Nothing   bool
	Asked     bool // something was typed
	Further   bool // a later page of one group
	All       string
	MayTakeIn bool
}

// FoundGroupView is one sort of thing found.
type FoundGroupView struct {
	Key, Heading string
	Dockets      []DocketRowView
	Customers    []FoundCustomerView
	Watches      []FoundWatchView
	More         string
	// Sparse says that the page holds few because the words stand seldom together, and the search goes on.
	Sparse bool
}

// FoundCustomerView is a customer found.
type FoundCustomerView struct {
	Name, Href, Phone, Email string
	Dockets                  []DocketLink
}

// FoundWatchView is a watch found.
type FoundWatchView struct {
	Watch, Href, Serial, Movement string
	Owner, OwnerHref              string
	Dockets                       []DocketLink
}

// DocketLink is a docket named in passing.
type DocketLink struct{ Number, Stage string }

func (g FoundGroupView) table() DataView {
	id := "found-" + g.Key
	switch {
	case len(g.Customers) > 0:
		return customersFound(id, g)
	case len(g.Watches) > 0:
		return watchesFound(id, g)
	}
	return docketTable(id, g.Heading, true, g.Dockets)
}

func (g FoundGroupView) rows() int { return len(g.Dockets) + len(g.Customers) + len(g.Watches) }

func customersFound(id string, g FoundGroupView) DataView {
	d := DataView{TableView: TableView{ID: id, Caption: g.Heading, HideCaption: true, TestID: id}, Stack: true,
		Columns: []Column{{Text: "Customer"}, {Text: "Telephone"}, {Text: "E-mail"}, {Text: "Newest dockets"}}}
	for _, c := range g.Customers {
		d.Rows = append(d.Rows, Row{Head: true, TestID: "found-row", Cells: []Cell{{Text: c.Name, Href: c.Href, Auto: true},
			Txt(c.Phone), {Text: c.Email, Auto: true}, Show(docketLinks(c.Dockets))}})
	}
	return d
}

func watchesFound(id string, g FoundGroupView) DataView {
	d := DataView{TableView: TableView{ID: id, Caption: g.Heading, HideCaption: true, TestID: id}, Stack: true,
		Columns: []Column{{Text: "Watch"}, {Text: "Case serial"}, {Text: "Movement serial"}, {Text: "Owner"}, {Text: "Newest dockets"}}}
	for _, w := range g.Watches {
		d.Rows = append(d.Rows, Row{Head: true, TestID: "found-row", Cells: []Cell{{Text: w.Watch, Href: w.Href, Auto: true},
			{Text: w.Serial, Auto: true}, {Text: w.Movement, Auto: true}, {Text: w.Owner, Href: w.OwnerHref, Auto: true}, Show(docketLinks(w.Dockets))}})
	}
	return d
}

// TodayView is what waits for the reader.
type TodayView struct {
	Date, Lede string
	Queues     []QueueView
	Empty      string // says under what nothing waits
	More       bool   // the shop has more open dockets than were looked at
	MayTakeIn  bool
}

// QueueView is one thing that dockets wait for.
type QueueView struct {
	Key, Heading, Note string
	Count              int
	Rows               []DocketRowView
	Href               string // to all of them
}

func (q QueueView) allText() string { return "All " + itoa(q.Count) }
