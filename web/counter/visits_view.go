package counter

import "ledgerwheel/web/view"

// visitView is the watches that one customer brought at once.
type visitView struct {
	Number, Customer, CustomerURL, Phone string
	Began, By                            string
	Watches                              []visitRow
	Due                                  string // of all of them; "" for nothing
	// LeaveURL is where they are handed over; Leaves says that one of them can be now.
	LeaveURL             string
	Leaves               bool
	PrintURL, AnotherURL string // "" where it is not to be done
}

// visitRow is one of the watches.
type visitRow struct {
	Number, Watch, Stage, Waits, Place, Promised, Due string
}

// lede says whose they are, and when they came.
func (v visitView) lede() string { return "Taken in " + v.Began + " by " + v.By + ", on one ticket." }

func (v visitView) rows() []view.Row {
	var rows []view.Row
	for _, w := range v.Watches {
		rows = append(rows, view.Row{Head: true, TestID: "visit-watch", Cells: []view.Cell{
			{Text: w.Number, Href: view.DocketURL(w.Number, ""), Code: true}, {Text: w.Watch, Auto: true},
			{Text: w.Stage, Note: w.Waits}, view.Txt(w.Place), view.Txt(w.Promised), view.Txt(w.Due)}})
	}
	return rows
}

// withView is the visit that a watch being taken in joins: Docket names it.
type withView struct {
	Docket             string
	Dockets            []keptWatch
	PrintURL, AloneURL string
}

// keptWatch is one that is taken in already.
type keptWatch struct{ Number, Watch string }
