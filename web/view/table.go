package view

import "github.com/a-h/templ"

// TableView describes a table whose head and body are written by the page as children of Table.
type TableView struct {
	ID          string // "table" and the caption when empty
	Caption     string
	HideCaption bool // for screen readers only
	Dense       bool // less air, for long figures
	TestID      string
}

// regionName names what scrolls the table sideways; the section round it may well have the caption's words as its
// heading.
func (t TableView) regionName() string { return "Table: " + t.Caption }

// DataView is a whole table as data. On phones a Stack table sets each row as a small card, and a Lines table in two or
// three lines: first and last cell beside each other, the others below, and the last but one left out.
type DataView struct {
	TableView
	Columns []Column
	Rows    []Row
	Foot    []Row
	Stack   bool
	Lines   bool
}

// Column is a heading; a Numeric column is right aligned in tabular figures and its Unit stands in the heading.
type Column struct {
	Text, Unit string
	Numeric    bool
	Hide       bool // heading for screen readers only
}

// Row is one line. The first cell is the row's heading if Head is set.
type Row struct {
	Cells  []Cell
	Head   bool
	Now    bool // stands out: the row one is working on
	TestID string
}

// Cell holds one of: Component, a link, a Mark with its word in Text, or plain Text. Note is small, below.
type Cell struct {
	Text, Href, Note string
	Mark             MarkKind
	Component        templ.Component
	Auto             bool // text of any script: turns right-to-left by itself
	Code             bool // a number or code that must not be broken over two lines
}

// Txt, Lnk and Show are the common cells: text, a link, a component.
func Txt(s string) Cell           { return Cell{Text: s} }
func Lnk(s, href string) Cell     { return Cell{Text: s, Href: href} }
func Show(c templ.Component) Cell { return Cell{Component: c} }
func (d DataView) column(i int) Column {
	if i < len(d.Columns) {
		return d.Columns[i]
	}
	return Column{}
}

func (d DataView) role(name string) templ.Attributes {
	if !d.Stack && !d.Lines {
		return nil
	}
	return templ.Attributes{"role": name} // stacked rows would otherwise lose the table's meaning
}

// blank reports that nothing stands in the cell; where rows are stacked, its heading is left out too.
func (c Cell) blank() bool {
	return c.Component == nil && c.Mark == "" && c.Text == "" && c.Note == ""
}

func (c Column) label() string {
	if c.Unit == "" {
		return c.Text
	}
	return c.Text + ", " + c.Unit
}

// TermView is one line of a definition list: a term and its text, link or component.
type TermView struct {
	Term   string
	Cell   Cell
	TestID string
}

// Term is a line of plain text; an empty text is shown as a dash.
func Term(term, text string) TermView {
	return TermView{Term: term, Cell: Cell{Text: text, Auto: true}}
}

// PagerView leads to newer and older rows; "" when there are none.
type PagerView struct {
	Newer, Older string
	NewerText    string // "Newer" when empty
	OlderText    string // "Older" when empty
	Here         string // what is shown, such as "3 to 22 November"
}
