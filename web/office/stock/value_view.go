package stock

import (
	"strconv"

	"ledgerwheel/domain/ledger"
	"ledgerwheel/web/view"
)

// valueView is what lies in the drawers, and what of it lies dead.
type valueView struct {
	Sums []valueSum
	Dead []deadRow
	More bool
}

type valueSum struct {
	Currency                   string
	Parts, Unpriced, DeadParts int
	Pieces, DeadPieces         int64
	Value, Dead                string
}

type deadRow struct {
	Number, Name, Href, Drawer, Value, Wanted string
	Pieces                                    int
}

func (v valueView) sums() view.DataView {
	d := view.DataView{TableView: view.TableView{Caption: "What lies in the drawers", HideCaption: true, TestID: "stock-value"}, Stack: true,
		Columns: []view.Column{{Text: "Currency"}, {Text: "Parts", Numeric: true}, {Text: "Pieces", Numeric: true}, {Text: "Value", Numeric: true},
			{Text: "Cost not known", Numeric: true}, {Text: "Of it dead", Numeric: true}}}
	for _, s := range v.Sums {
		d.Rows = append(d.Rows, view.Row{Head: true, Cells: []view.Cell{view.Txt(s.Currency), view.Txt(strconv.Itoa(s.Parts)),
			view.Txt(strconv.FormatInt(s.Pieces, 10)), view.Txt(s.Value), view.Txt(strconv.Itoa(s.Unpriced)),
			{Text: s.Dead, Note: strconv.Itoa(s.DeadParts) + " parts, " + strconv.FormatInt(s.DeadPieces, 10) + " pieces"}}})
	}
	return d
}

func (v valueView) dead() view.DataView {
	d := view.DataView{TableView: view.TableView{Caption: "Dead stock", HideCaption: true, TestID: "dead-stock"}, Stack: true,
		Columns: []view.Column{{Text: "Part"}, {Text: "Place"}, {Text: "Pieces", Numeric: true}, {Text: "Value", Numeric: true}, {Text: "Last wanted"}}}
	for _, p := range v.Dead {
		d.Rows = append(d.Rows, view.Row{Head: true, TestID: "dead-part", Cells: []view.Cell{{Text: p.Number, Href: p.Href, Note: p.Name, Auto: true},
			view.Txt(p.Drawer), view.Txt(strconv.Itoa(p.Pieces)), view.Txt(p.Value), view.Txt(p.Wanted)}})
	}
	return d
}

// rule says what is called dead.
func (valueView) rule() string {
	return "Pieces that did not come, were not held back and not fitted for " + strconv.Itoa(ledger.DeadMonths) + " months. The dearest first."
}
