package view

import (
	"cmp"
	"strconv"
)

// CalibresView is the shop's list of calibres.
type CalibresView struct {
	Calibres []CalibreRow
	MayEdit  bool
}

// CalibreRow is one line of it; figures not known are "".
type CalibreRow struct {
	ID                                                                int64
	Name, Maker, BeatsPerHour, LiftAngleDeg, PowerReserveHours, Grade string
	Remarks                                                           int // what looks wrong
}

func (v CalibresView) data() DataView {
	d := DataView{TableView: TableView{Caption: "Calibres", HideCaption: true, TestID: "calibres"}, Stack: true,
		Columns: []Column{{Text: "Calibre"}, {Text: "Maker"}, {Text: "Beats per hour", Numeric: true},
			{Text: "Lift angle", Unit: "°", Numeric: true}, {Text: "Power reserve", Unit: "h", Numeric: true}, {Text: "Grade"}, {Text: "Remarks"}}}
	for _, k := range v.Calibres {
		look := "–"
		if k.Remarks > 0 {
			look = strconv.Itoa(k.Remarks)
		}
		d.Rows = append(d.Rows, Row{Head: true, Cells: []Cell{{Text: k.Name, Auto: true, Href: calibreURL(k.ID)}, {Text: k.Maker, Auto: true},
			Txt(k.BeatsPerHour), Txt(cmp.Or(k.LiftAngleDeg, "–")), Txt(cmp.Or(k.PowerReserveHours, "–")), Txt(k.Grade), Txt(look)}})
	}
	return d
}

func calibreURL(id int64) string { return "/calibres/" + strconv.FormatInt(id, 10) }

// CalibreRemark is what looks wrong about a calibre, with the field it belongs to.
type CalibreRemark struct {
	Field, Label, Text string
	Contradicts        bool
}

func (r CalibreRemark) mark() MarkKind {
	if r.Contradicts {
		return Fail
	}
	return Undecided
}

func (r CalibreRemark) word() string {
	if r.Contradicts {
		return "Contradiction"
	}
	return "Unusual"
}

// CalibreGroup is what is known of one group of fields.
type CalibreGroup struct {
	Name  string
	Terms []TermView
}

// CalibreRecordView is a calibre's page.
type CalibreRecordView struct {
	ID          int64
	Name, Maker string
	MayEdit     bool
	Remarks     []CalibreRemark
	Groups      []CalibreGroup
	Oils        [][3]string // place, oil, note
	Notes       string
	Drawings    []CalibreDrawing
	Form        Form // of one more drawing
	History     []CalibreState
}

// CalibreDrawing is one drawing with the address that takes it off.
type CalibreDrawing struct {
	Photo     PhotoView
	RemoveURL string
	Added     string
}

// CalibreState is one saved state.
type CalibreState struct {
	When, By, Why, Docket string
	First                 bool
	Changes               []string
}

func (v CalibreRecordView) oils() DataView {
	d := DataView{TableView: TableView{Caption: "Oils and greases", HideCaption: true, TestID: "oils"}, Stack: true,
		Columns: []Column{{Text: "Place"}, {Text: "What"}, {Text: "To mind"}}}
	for _, o := range v.Oils {
		d.Rows = append(d.Rows, Row{Head: true, Cells: []Cell{{Text: o[0], Auto: true}, {Text: o[1], Auto: true}, {Text: cmp.Or(o[2], "–"), Auto: true}}})
	}
	return d
}

func (v CalibreRecordView) files() Field {
	f := v.Form.Field("photos", "Pictures").WithHint("JPEG or PNG; up to 24 at a time, 20 MB each.").WithWidth(Half)
	f.Accept, f.Multiple = "image/jpeg,image/png", true
	return f
}

// CalibreView is the form of one calibre; ID 0 is a new one.
type CalibreView struct {
	Form    Form
	ID      int64
	Groups  []CalibreFieldGroup
	Remarks []CalibreRemark
}

// CalibreFieldGroup is a group of fields of the form; all but the first fold.
type CalibreFieldGroup struct {
	Name, Hint string
	Fields     []CalibreFieldView
	Open       bool
	Remarks    []CalibreRemark
}

// CalibreFieldView is one field with what it takes: text, number, select or textarea.
type CalibreFieldView struct {
	Kind  string
	Field Field
}

func (v CalibreView) action() string {
	if v.ID == 0 {
		return "/calibres/new"
	}
	return calibreURL(v.ID)
}

func (v CalibreView) back() string {
	if v.ID == 0 {
		return "/calibres"
	}
	return calibreURL(v.ID)
}

func (v CalibreView) title() string {
	if v.ID == 0 {
		return "New calibre"
	}
	return v.Form.Values.Get("name")
}

func (v CalibreView) order() []string {
	var names []string
	for _, g := range v.Groups {
		for _, f := range g.Fields {
			names = append(names, f.Field.Name)
		}
	}
	return names
}

// groupTestID names a group for tests: the balance's is "balance".
func (g CalibreFieldGroup) testID() string { return "group-" + slug(g.Name) }

// CalibreImportView is the form of a file of calibres, with what is wrong with the one that was sent.
type CalibreImportView struct {
	Form     Form
	Columns  []string
	Problems []CalibreLineProblem
}

// CalibreLineProblem is what is wrong with one line of a file.
type CalibreLineProblem struct{ Line, Column, Why string }

func (v CalibreImportView) file() Field {
	f := v.Form.Field("file", "File").Need()
	f.Accept = ".csv,text/csv"
	return f
}

func (v CalibreImportView) problems() DataView {
	d := DataView{TableView: TableView{Caption: "What is wrong with the file", TestID: "line-problems"}, Stack: true,
		Columns: []Column{{Text: "Line", Numeric: true}, {Text: "Column"}, {Text: "What is wrong"}}}
	for _, p := range v.Problems {
		d.Rows = append(d.Rows, Row{Cells: []Cell{Txt(p.Line), Txt(cmp.Or(p.Column, "the whole line")), {Text: p.Why, Auto: true}}})
	}
	return d
}
