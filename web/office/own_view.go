package office

import (
	"cmp"

	"ledgerwheel/web/view"
)

// ownView is a person's own page of how they sign in. Idle is in minutes.
type ownView struct {
	Idle     int
	Enrol    bool // a second factor has to be set up before anything else
	Problem  string
	Factors  factorsView
	Sessions []sessionRow
	Accesses []accessRow
}

// sessionRow is one session; Here is the one that looks.
type sessionRow struct {
	ID, Device, Address, Begun, Seen string
	Here                             bool
}

func (n sessionRow) endURL() string { return "/account/sign-in/sessions/" + n.ID + "/end" }

// accessRow is a line of the log of sign-ins. Since is "" unless it stands for several.
type accessRow struct {
	At, Since, Name, What, Detail, By, Address, Device string
	Times                                              int
	Refused                                            bool
}

func (v ownView) sessions() view.DataView {
	d := view.DataView{TableView: view.TableView{Caption: "Your sessions", HideCaption: true}, Stack: true,
		Columns: []view.Column{{Text: "Device"}, {Text: "Last used"}, {Text: "Begun"}, {Text: "Address"}, {Text: "End", Hide: true}}}
	for _, n := range v.Sessions {
		device := view.Cell{Text: n.Device}
		if n.Here {
			device.Note = "This is where you are now."
		}
		d.Rows = append(d.Rows, view.Row{Head: true, TestID: "session", Cells: []view.Cell{device, view.Txt(n.Seen),
			view.Txt(n.Begun), view.Txt(cmp.Or(n.Address, "not known")), view.Show(endSession(n))}})
	}
	return d
}

// accessTable lists lines of the log; named says of each whom it is about.
func accessTable(list []accessRow, named bool) view.DataView {
	d := view.DataView{TableView: view.TableView{Caption: "What happened", HideCaption: true}, Stack: true}
	if named {
		d.Columns = append(d.Columns, view.Column{Text: "Who"})
	}
	d.Columns = append(d.Columns, view.Column{Text: "What"}, view.Column{Text: "When"}, view.Column{Text: "From"})
	for _, e := range list {
		var row []view.Cell
		if named {
			row = append(row, view.Cell{Text: cmp.Or(e.Name, "nobody of the shop"), Auto: true})
		}
		what := view.Cell{Text: view.Join(e.What, e.Detail, view.When(e.By != "", "(by "+e.By+")")), Auto: true}
		if e.Refused {
			what.Mark = view.Fail
		}
		when := view.Cell{Text: e.At}
		if e.Times > 1 {
			when.Note = view.Itoa(e.Times) + " times since " + e.Since
		}
		from := view.Cell{Text: cmp.Or(e.Address, "several addresses"), Note: e.Device}
		d.Rows = append(d.Rows, view.Row{Head: true, TestID: "access", Cells: append(row, what, when, from)})
	}
	return d
}

// accessView is the owner's log of sign-ins. Older leads on; "" at the end.
type accessView struct {
	Accesses []accessRow
	Older    string
}

func (v ownView) idleWords() string {
	span := view.Itoa(v.Idle) + " minutes"
	switch {
	case v.Idle == 60:
		span = "an hour"
	case v.Idle%60 == 0:
		span = view.Itoa(v.Idle/60) + " hours"
	}
	return "A session ends by itself when it is not used for " + span + "."
}
