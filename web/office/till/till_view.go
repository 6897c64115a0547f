package till

import "ledgerwheel/web/view"

// tillView is the day of the till that is open, and the days that are closed.
type tillView struct {
	Day               string
	Early, Late       bool // it has not begun; it should have been closed before today
	Certified         string
	Takings           []takingRow
	Cash              []view.TermView
	Moves             []moveRow
	Closed            []closedRow
	CountURL, MoveURL string
	OlderURL          string
	Others            []view.LinkView
}

func (v tillView) lede() string {
	switch {
	case v.Early:
		return "Today is closed. What comes now counts for " + v.Day + "."
	case v.Late:
		return v.Day + " was never counted. Count the till now: cash that came since is taken off."
	}
	return v.Day
}

type takingRow struct{ Way, Amount string }

type moveRow struct {
	At, What, Note, Amount, By, BackURL, Currency string
	Taken                                         bool
}

type closedRow struct {
	Day, Href, Counted, Difference, Why, By string
	Off                                     bool
}

func (v tillView) takingTable() view.DataView {
	d := view.DataView{TableView: view.TableView{Caption: "Takings by way of payment", HideCaption: true, TestID: "takings"}, Lines: true,
		Columns: []view.Column{{Text: "Paid by"}, {Text: "Amount", Numeric: true}}}
	for _, t := range v.Takings {
		d.Rows = append(d.Rows, view.Row{Head: true, TestID: "taking", Cells: []view.Cell{view.Txt(t.Way), view.Txt(t.Amount)}})
	}
	return d
}

func (v tillView) moveTable() view.DataView {
	d := view.DataView{TableView: view.TableView{Caption: "Cash put in or taken out", HideCaption: true, TestID: "moves"}, Stack: true,
		Columns: []view.Column{{Text: "What"}, {Text: "Amount", Numeric: true}, {Text: "When"}, {Text: "By"}, {Text: "Take back", Hide: true}}}
	for _, m := range v.Moves {
		what := view.Cell{Text: m.What, Note: m.Note, Auto: true}
		last := view.Cell{}
		switch {
		case m.Taken:
			last = view.Txt("taken back")
		case m.BackURL != "":
			last = view.Show(backForm(m))
		}
		d.Rows = append(d.Rows, view.Row{Head: true, TestID: "move", Cells: []view.Cell{what, view.Txt(m.Amount), view.Txt(m.At), view.Txt(m.By), last}})
	}
	return d
}

func (v tillView) closedTable() view.DataView {
	d := view.DataView{TableView: view.TableView{Caption: "Closed days", HideCaption: true, TestID: "closed"}, Stack: true,
		Columns: []view.Column{{Text: "Day"}, {Text: "Counted", Numeric: true}, {Text: "Difference"}, {Text: "By"}}}
	for _, c := range v.Closed {
		diff := view.Cell{Text: c.Difference}
		if c.Off {
			diff = view.Cell{Text: c.Difference, Mark: view.Fail, Note: c.Why}
		}
		d.Rows = append(d.Rows, view.Row{Head: true, TestID: "closed-day", Cells: []view.Cell{view.Lnk(c.Day, c.Href), view.Txt(c.Counted), diff, view.Txt(c.By)}})
	}
	return d
}

// moveView is the form of cash put in or taken out.
type moveView struct {
	Form            view.Form
	Currency, Holds string
	BackURL         string
	Acts            []view.Option
}

// countView is the form of the count.
type countView struct {
	Form              view.Form
	Currency, Day, On string
	Early, Late       bool
	Since             string // cash of later days, "" for none
	Pieces            []view.Field
	SumURL, BackURL   string
	Compared          *comparedView
}

func (v countView) lede() string {
	if v.Early {
		return "Today is closed already. " + v.Day + " has not begun."
	}
	if v.Since != "" {
		return v.Day + ". Count all that lies in the till: " + v.Since + " came since and is taken off."
	}
	return v.Day
}

// comparedView is a count beside the book.
type comparedView struct {
	Terms                     []view.TermView
	Counted, Difference, Seen string
	Off                       bool
}

func (c comparedView) terms() []view.TermView {
	diff := view.Cell{Text: c.Difference}
	if c.Off {
		diff.Mark = view.Fail
	} else {
		diff.Mark = view.Pass
	}
	return append(append([]view.TermView{}, c.Terms...), view.TermView{Term: "Counted", Cell: view.Cell{Text: c.Counted}, TestID: "counted-sum"},
		view.TermView{Term: "Difference", Cell: diff, TestID: "difference"})
}

func (v countView) compareText() string {
	if v.Compared != nil {
		return "Compare again"
	}
	return "Compare with the book"
}

func (v countView) compareKind() view.ButtonKind {
	if v.Compared != nil {
		return view.Plain
	}
	return view.Chief
}
