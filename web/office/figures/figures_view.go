package figures

import (
	"github.com/a-h/templ"

	"ledgerwheel/domain/figures"
	"ledgerwheel/web/view"
)

// figureView is a page of one figure.
type figureView struct {
	Name, Question, Note, Path string
	Form                       view.Form
	Months                     bool // asks for a span of months
	From, To, By               string
	Presets                    []view.TabView
	Head                       string
	Report                     *report
	Chart                      templ.Component
	CSVURL, DocketsURL         string
	Missed                     string // those on the wrong side, in a word
	MissedURL                  string
}

// fill lays the report into the page; lines lead to the dockets behind them.
func (v *figureView) fill(f figureOf, a asked, rep report) {
	v.Head = first(f, a)
	v.CSVURL = f.path() + ".csv" + a.query()
	if f.behind != "" {
		v.DocketsURL = f.path() + "/dockets" + a.query()
		if f.missed != "" {
			v.Missed, v.MissedURL = f.missed, f.path()+"/dockets"+a.query("only", "missed")
		}
		for i, l := range rep.lines {
			switch {
			case l.month != 0:
				rep.lines[i].cells[0].href = f.path() + "/dockets" + a.query("from", l.month.String(), "to", l.month.String())
			case a.by != figures.ByAll && len(l.cells) > 0:
				rep.lines[i].cells[0].href = f.path() + "/dockets" + a.query("key", l.key)
			}
		}
	}
	if f.slug == "takings" {
		for i, l := range rep.lines {
			if l.month != 0 && len(l.cells) > 0 {
				rep.lines[i].cells[0].href = "/books/" + l.month.String()
			}
		}
	}
	v.Report, v.Chart = &rep, rep.draw()
}

func (v figureView) empty() bool { return v.Report == nil || v.Report.none }

func (v figureView) table() view.DataView {
	d := view.DataView{TableView: view.TableView{Caption: v.Name, HideCaption: true, TestID: "figure-table", Dense: true}, Stack: true, Columns: []view.Column{{Text: v.Head}}}
	for _, c := range v.Report.columns {
		d.Columns = append(d.Columns, view.Column{Text: c.text, Unit: c.unit, Numeric: c.numeric})
	}
	row := func(l line, id string) view.Row {
		r := view.Row{Head: true, TestID: id, Cells: []view.Cell{{Text: l.label, Auto: true}}}
		for _, c := range l.cells {
			if c.href != "" && c.text != "0" {
				r.Cells = append(r.Cells, view.Lnk(c.text, c.href))
			} else {
				r.Cells = append(r.Cells, view.Txt(c.text))
			}
		}
		return r
	}
	for _, l := range v.Report.lines {
		d.Rows = append(d.Rows, row(l, "figure-line"))
	}
	if v.Report.foot != nil {
		d.Foot = append(d.Foot, row(*v.Report.foot, "figure-foot"))
	}
	return d
}

func (v figureView) month(name, label, value string) view.Field {
	f := v.Form.Field(name, label).WithWidth(view.Third)
	if f.Value == "" {
		f.Value = value
	}
	f.Type = "month"
	return f
}

func (v figureView) by() view.Field {
	var options []view.Option
	for _, d := range figures.Dimensions() {
		options = append(options, view.Option{Value: string(d), Text: dimensionWords[d]})
	}
	f := v.Form.Field("by", "By").WithOptions(options...).WithWidth(view.Third)
	f.Value = v.By
	return f
}

// docketsView lists the dockets behind a figure.
type docketsView struct {
	Name, Path, Span string
	Tabs             []view.TabView
	Rows             []docketRow
	OlderURL         string
}

type docketRow struct{ Number, Href, Watch, Day, Said string }

func (v docketsView) table() view.DataView {
	d := view.DataView{TableView: view.TableView{Caption: "Dockets", HideCaption: true, TestID: "behind"}, Stack: true,
		Columns: []view.Column{{Text: "Docket"}, {Text: "Watch"}, {Text: "Day"}, {Text: "Counted as"}}}
	for _, r := range v.Rows {
		d.Rows = append(d.Rows, view.Row{Head: true, TestID: "behind-docket", Cells: []view.Cell{{Text: r.Number, Href: r.Href, Code: true}, {Text: r.Watch, Auto: true}, view.Txt(r.Day), view.Txt(r.Said)}})
	}
	return d
}

// indexView leads to the figures.
type indexView struct{ Figures []indexRow }

type indexRow struct{ Name, Href, Question, Headline string }
