package calibres

import (
	"cmp"
	"strconv"

	"ledgerwheel/web/view"
)

// calibresView is the shop's list of calibres.
type calibresView struct {
	Calibres []calibreRow
	MayEdit  bool
}

// calibreRow is one line of it; figures not known are "".
type calibreRow struct {
	ID                                                                int64
	Name, Maker, BeatsPerHour, LiftAngleDeg, PowerReserveHours, Grade string
	Remarks                                                           int // what looks wrong
}

func (v calibresView) data() view.DataView {
	d := view.DataView{TableView: view.TableView{Caption: "Calibres", HideCaption: true, TestID: "calibres"}, Stack: true,
		Columns: []view.Column{{Text: "Calibre"}, {Text: "Maker"}, {Text: "Beats per hour", Numeric: true},
			{Text: "Lift angle", Unit: "°", Numeric: true}, {Text: "Power reserve", Unit: "h", Numeric: true}, {Text: "Grade"},
			{Text: "Remarks"}}}
	for _, k := range v.Calibres {
		look := "–"
		if k.Remarks > 0 {
			look = strconv.Itoa(k.Remarks)
		}
		d.Rows = append(d.Rows, view.Row{Head: true, Cells: []view.Cell{{Text: k.Name, Auto: true, Href: calibreURL(k.ID)},
			{Text: k.Maker, Auto: true},
			view.Txt(k.BeatsPerHour), view.Txt(cmp.Or(k.LiftAngleDeg, "–")), view.Txt(cmp.Or(k.PowerReserveHours, "–")),
			view.Txt(k.Grade), view.Txt(look)}})
	}
	return d
}

func calibreURL(id int64) string { return "/calibres/" + strconv.FormatInt(id, 10) }

// calibreRemark is what looks wrong about a calibre, with the field it belongs to.
type calibreRemark struct {
	Field, Label, Text string
	Contradicts        bool
}

func (r calibreRemark) mark() view.MarkKind {
	if r.Contradicts {
		return view.Fail
	}
	return view.Undecided
}

func (r calibreRemark) word() string {
	if r.Contradicts {
		return "Contradiction"
	}
	return "Unusual"
}

// calibreGroup is what is known of one group of fields.
type calibreGroup struct {
	Name  string
	Terms []view.TermView
}

// calibreRecordView is a calibre's page.
type calibreRecordView struct {
	ID          int64
	Name, Maker string
	MayEdit     bool
	Remarks     []calibreRemark
	Groups      []calibreGroup
	Oils        [][3]string // place, oil, note
	Notes       string
	Drawings    []calibreDrawing
	Form        view.Form // of one more drawing, or of a lift angle
	Lift        liftView
	History     []stateView
}

// calibreDrawing is one drawing with the address that takes it off.
type calibreDrawing struct {
	Photo     view.PhotoView
	RemoveURL string
	Added     string
}

// stateView is one saved state.
type stateView struct {
	When, By, Why, Docket string
	First                 bool
	Changes               []string
}

func (v calibreRecordView) oils() view.DataView {
	d := view.DataView{TableView: view.TableView{Caption: "Oils and greases", HideCaption: true, TestID: "oils"},
		Stack:   true,
		Columns: []view.Column{{Text: "Place"}, {Text: "What"}, {Text: "To mind"}}}
	for _, o := range v.Oils {
		d.Rows = append(d.Rows, view.Row{Head: true, Cells: []view.Cell{{Text: o[0], Auto: true}, {Text: o[1], Auto: true},
			{Text: cmp.Or(o[2], "–"), Auto: true}}})
	}
	return d
}

func (v calibreRecordView) files() view.Field {
	f := v.Form.Field("photos", "Pictures").WithHint("JPEG or PNG; up to 24 at a time, 20 MB each.").WithWidth(view.Half)
	f.Accept, f.Multiple = "image/jpeg,image/png", true
	return f
}

// calibreView is the form of one calibre; ID 0 is a new one.
type calibreView struct {
	Form    view.Form
	ID      int64
	Groups  []calibreFieldGroup
	Remarks []calibreRemark
}

// calibreFieldGroup is a group of fields of the form; all but the first fold.
type calibreFieldGroup struct {
	Name, Hint string
	Fields     []fieldView
	Open       bool
	Remarks    []calibreRemark
}

// fieldView is one field with what it takes: text, number, select or textarea.
type fieldView struct {
	Kind  string
	Field view.Field
}

func (v calibreView) action() string {
	if v.ID == 0 {
		return "/calibres/new"
	}
	return calibreURL(v.ID)
}

func (v calibreView) back() string {
	if v.ID == 0 {
		return "/calibres"
	}
	return calibreURL(v.ID)
}

func (v calibreView) title() string {
	if v.ID == 0 {
		return "New calibre"
	}
	return v.Form.Values.Get("name")
}

func (v calibreView) order() []string {
	var names []string
	for _, g := range v.Groups {
		for _, f := range g.Fields {
			names = append(names, f.Field.Name)
		}
	}
	return append(names, "why")
}

// testID names a group for tests: the balance's is "balance".
func (g calibreFieldGroup) testID() string { return "group-" + view.Slug(g.Name) }

// calibreImportView is the form of a file of calibres, with what is wrong with the one that was sent.
type calibreImportView struct {
	Form     view.Form
	Columns  []string
	Problems []calibreLineProblem
}

// calibreLineProblem is what is wrong with one line of a file.
type calibreLineProblem struct{ Line, Column, Why string }

func (v calibreImportView) file() view.Field {
	f := v.Form.Field("file", "File").Need()
	f.Accept = ".csv,text/csv"
	return f
}

func (v calibreImportView) problems() view.DataView {
	d := view.DataView{TableView: view.TableView{Caption: "What is wrong with the file", TestID: "line-problems"},
		Stack:   true,
		Columns: []view.Column{{Text: "Line", Numeric: true}, {Text: "Column"}, {Text: "What is wrong"}}}
	for _, p := range v.Problems {
		d.Rows = append(d.Rows, view.Row{Cells: []view.Cell{view.Txt(p.Line), view.Txt(cmp.Or(p.Column, "the whole line")),
			{Text: p.Why, Auto: true}}})
	}
	return d
}
