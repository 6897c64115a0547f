package prices

import "ledgerwheel/web/view"

// pricesView is the price list.
type pricesView struct {
	Rows []jobRow
	May  bool // change it
}

type jobRow struct {
	Code, Name, Href, Price, Then, Time, Usual string
}

func (v pricesView) table() view.DataView {
	d := view.DataView{TableView: view.TableView{Caption: "Jobs of the price list", HideCaption: true, TestID: "prices"}, Stack: true,
		Columns: []view.Column{{Text: "Code"}, {Text: "Job"}, {Text: "Costs", Numeric: true}, {Text: "Usual time", Numeric: true}, {Text: "For, and usual parts"}}}
	for _, j := range v.Rows {
		d.Rows = append(d.Rows, view.Row{Head: true, TestID: "job", Cells: []view.Cell{{Text: j.Code, Code: true, Href: j.Href}, {Text: j.Name, Auto: true},
			{Text: j.Price, Note: j.Then}, view.Txt(j.Time), {Text: j.Usual, Auto: true}}})
	}
	return d
}

// jobView is the form of one job.
type jobView struct {
	Form                    view.Form
	Action, Title, EndURL   string
	Kept, Currency, TaxName string
	IncludesTax             bool
	Kinds, Windings         []view.Option
	Prices                  []priceRow // newest first
}

type priceRow struct {
	From, Price, Tax string
	Future           bool
}

func (v jobView) priceHint() string {
	if v.IncludesTax {
		return "with tax"
	}
	return "without tax"
}

// otherTongues unfolds the names in other languages where there is one, or where one is wrong.
func (v jobView) otherTongues() bool {
	for _, name := range []string{"name_de", "name_fr"} {
		if v.Form.Values.Get(name) != "" || v.Form.Problems[name] != "" {
			return true
		}
	}
	return false
}

func (v jobView) priceTable() view.DataView {
	d := view.DataView{TableView: view.TableView{Caption: "Prices of this job", HideCaption: true, TestID: "job-prices"}, Stack: true,
		Columns: []view.Column{{Text: "From"}, {Text: "Costs", Numeric: true}, {Text: v.TaxName, Numeric: true}}}
	for _, p := range v.Prices {
		from := view.Cell{Text: p.From}
		if p.Future {
			from.Note = "still to come"
		}
		d.Rows = append(d.Rows, view.Row{Head: true, Cells: []view.Cell{from, view.Txt(p.Price), view.Txt(p.Tax)}})
	}
	return d
}
