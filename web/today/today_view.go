package today

import "ledgerwheel/web/view"

// todayView is what is to be done next by the reader.
type todayView struct {
	Date, InShop string
	Heading      string // of what is listed
	Tallies      []tallyView
	Rows         []taskView
	AllText      string // leads to the rest; empty when all is shown
	AllHref      string
	More         bool // the shop has more open dockets than were looked at
	MayTakeIn    bool
	Uncounted    string // the day whose till was never counted; "" for none
	OrdersLate   int    // lines of orders
}

// tallyView is a number that narrows the list to what it counts.
type tallyView struct {
	Key, Heading string
	Count        int
	Current      bool
}

func (t tallyView) href() string { return "/?show=" + t.Key }

// taskView is a docket and what is to be done with it.
type taskView struct {
	Number, Watch, Customer string
	Phone, Tel              string // Tel is the link; empty where the number was not read
	Act, ActHref            string // where it is done; "" for the docket itself
	Waits                   bool   // it waits for somebody outside
	Place, Bench            string
	Promised                string
	Late, Comeback, Now     bool
}

// table sets every task in one grid of columns; on a phone each takes two or three lines.
func (v todayView) table() view.DataView {
	d := view.DataView{TableView: view.TableView{ID: "today-list", Caption: v.Heading, HideCaption: true, TestID: "today-list"},
		Lines: true, Columns: []view.Column{{Text: "Docket and watch"}, {Text: "Next"}, {Text: "Customer"}, {Text: "Where"},
			{Text: "Promised"}}}
	for _, t := range v.Rows {
		where := t.Place
		if t.Bench != "" {
			where += ", " + t.Bench
		}
		d.Rows = append(d.Rows, view.Row{Head: true, Now: t.Now, TestID: "docket-row", Cells: []view.Cell{
			view.Show(taskWatch(t)), view.Show(taskAct(t)), view.Show(taskCustomer(t)), view.Txt(where),
			view.Show(taskPromised(t)),
		}})
	}
	return d
}
