package atrisk

import "ledgerwheel/web/view"

// riskView is what the shop keeps for others, in money, against what its insurer covers.
type riskView struct {
	Form                view.Form
	Open                bool // the form of the limits
	Currency            string
	Kept, Beware        string
	Over                []string // what is above a limit, a sentence each
	Watches, Undeclared int
	Sums                []sumRow
	Dearest, Without    []pieceRow
}

// sumRow is what lies at a place.
type sumRow struct {
	Place                   string
	Watches, Undeclared     int
	Held, Limit, Room, Over string
	Together                bool // bench and counter
	Loans                   bool // watches of the shop's own, which have no place
	Other                   bool // in another currency than the limits
}

type pieceRow struct{ Number, Watch, Place, Value, Over string }

// lede counts what is known, and says what is not.
func (v riskView) lede() string {
	switch {
	case v.Watches == 0:
		return "No watch is in the shop's keeping."
	case v.Undeclared == 0:
		return "What customers declared. Every watch here has a declared value."
	case v.Undeclared == 1:
		return "What customers declared. 1 watch of " + view.Itoa(v.Watches) + " has no declared value, and stands in no sum."
	}
	return "What customers declared. " + view.Itoa(v.Undeclared) + " watches of " + view.Itoa(v.Watches) + " have no declared value, and stand in no sum."
}

func (v riskView) sumTable() view.DataView {
	d := view.DataView{TableView: view.TableView{Caption: "Declared values by place", HideCaption: true, TestID: "sums"}, Stack: true,
		Columns: []view.Column{{Text: "Place"}, {Text: "Watches", Numeric: true}, {Text: "Declared", Numeric: true}, {Text: "Limit", Numeric: true}, {Text: "Room", Numeric: true}}}
	for _, s := range v.Sums {
		place := view.Cell{Text: s.Place}
		if s.Other {
			place.Note = "in another currency, held against no limit"
		} else if s.Together {
			place.Note = "bench and counter together"
		} else if s.Loans {
			place.Note = "the shop's own; counted in all"
		}
		watches := view.Cell{Text: view.Itoa(s.Watches)}
		if s.Undeclared > 0 {
			watches.Note = view.Itoa(s.Undeclared) + " without a value"
		}
		limit, room := view.Txt(s.Limit), view.Txt(s.Room)
		if s.Limit == "" {
			limit = view.Txt("none written down")
			if s.Other || s.Loans {
				limit = view.Txt("–")
			}
		}
		if s.Over != "" {
			room = view.Show(overMark(s.Over + " above"))
		}
		d.Rows = append(d.Rows, view.Row{Head: true, TestID: "sum", Cells: []view.Cell{place, watches, view.Txt(s.Held), limit, room}})
	}
	return d
}

func pieceTable(caption, testID string, rows []pieceRow) view.DataView {
	d := view.DataView{TableView: view.TableView{Caption: caption, HideCaption: true, TestID: testID}, Stack: true,
		Columns: []view.Column{{Text: "Docket"}, {Text: "Watch"}, {Text: "Place"}}}
	valued := len(rows) > 0 && rows[0].Value != ""
	if valued {
		d.Columns = append(d.Columns, view.Column{Text: "Declared", Numeric: true})
	}
	for _, p := range rows {
		cells := []view.Cell{{Text: p.Number, Code: true, Href: view.DocketURL(p.Number, "intake")}, {Text: p.Watch, Auto: true}, {Text: p.Place, Auto: true}}
		if valued {
			cells = append(cells, view.Cell{Text: p.Value, Note: p.Over})
		}
		d.Rows = append(d.Rows, view.Row{Head: true, TestID: "piece", Cells: cells})
	}
	return d
}

// without says how many of those without a value are listed.
func (v riskView) without() string {
	if v.Undeclared > len(v.Without) {
		return "The " + view.Itoa(len(v.Without)) + " oldest of " + view.Itoa(v.Undeclared) + "."
	}
	return ""
}
