// Package toolset is the bench tools as pure calculators: each takes what was typed and answers, and knows nothing of
// pages or dockets. The arithmetic is domain's. Those of balance and hairspring are a package of their own, over what a
// tool is here.
package toolset

import (
	"net/url"
	"strings"
	"unicode"

	"github.com/a-h/templ"

	"ledgerwheel/domain/diagnosis"
	"ledgerwheel/domain/watch"
)

// Tool is a piece of the movement's arithmetic as a page: what it asks, what it answers, and by which formulas.
// The rules are in domain; a tool parses, calls them and formats.
type Tool struct {
	Slug, Title, Purpose string
	Component            diagnosis.Component // that a finding is usually about; "" leaves it to be chosen
	Fields               []Field
	// Solve answers what was typed, or says by field name what stands against it; "" is the form as a whole.
	Solve    func(v url.Values) (Answer, map[string]string)
	Fill     func(c watch.Calibre) url.Values // what a calibre knows of the fields; nil where it knows nothing
	Formulas []Formula
	Cautions []string
}

// Field is one thing a tool asks for.
type Field struct {
	Name, Label, Unit, Hint string
	Kind                    string // number, text, select, checkbox or textarea; "" is text
	Group                   string // fields of one group stand together under it
	Default                 string // offered while nothing is typed
	Options                 [][2]string
}

// Formula is what a tool computes by, where that is from, and how far it holds.
type Formula struct{ Text, Source, Limits string }

// Answer is what a tool found, as formatted text.
type Answer struct {
	Rows       []Row
	Tables     []Table
	Drawing    templ.Component   // an SVG with title and desc; nil for none
	Finding    string            // a sentence that can be kept as a finding; "" for none
	Part       *Part             // nil where no part follows from it
	Correction map[string]string // what of the calibre's form this answers; nil for none
}

// Add appends a figure.
func (a *Answer) Add(label, value, note string) {
	a.Rows = append(a.Rows, Row{Label: label, Value: value, Note: note})
}

// Row is one figure of an answer.
type Row struct{ Label, Value, Note string }

// Table is a list of figures of an answer.
type Table struct {
	Caption string
	Head    []string
	Rows    [][]string
}

// Part is a part to order that an answer gives.
type Part struct{ Name, Specification string }

// Movement are the tools of barrel, train and motion work, in the order of the list.
func Movement() []Tool {
	return []Tool{trainTool(), motionWorkTool(), countingTool(), dailyRateTool(), mainspringTool(), powerReserveTool()}
}

// Repair are the tools of lost parts, fits, oil and measuring, in the order of the list.
func Repair() []Tool {
	return []Tool{missingTool(), jewelFitTool(), escapementTool(), oilTool(), uncertaintyTool()}
}

// Label tells a field from those of the same name in other groups.
func (t Tool) Label(f Field) string {
	for _, other := range t.Fields {
		if other.Name != f.Name && other.Label == f.Label && f.Group != "" {
			return f.Group + ", " + f.Label
		}
	}
	return f.Label
}

// Said is an input in words: an option by its text, a figure with its unit.
func (f Field) Said(typed string) string {
	switch {
	case typed == "":
		return ""
	case f.Kind == "checkbox":
		return "yes"
	case f.Kind == "select":
		for _, o := range f.Options {
			if o[0] == typed {
				return o[1]
			}
		}
	case f.Unit != "":
		return typed + " " + f.Unit
	}
	return typed
}

func (p Part) Words() string {
	if p.Specification == "" {
		return p.Name
	}
	return p.Name + ", " + p.Specification
}

// Start is what the fields begin with: what the calibre knows, or else the usual.
func (t Tool) Start(c *watch.Calibre) (start url.Values, filled bool) {
	start = url.Values{}
	for _, f := range t.Fields {
		if f.Default != "" {
			start.Set(f.Name, f.Default)
		}
	}
	if c == nil || t.Fill == nil {
		return start, false
	}
	for name, values := range t.Fill(*c) {
		if len(values) > 0 && values[0] != "" {
			start.Set(name, values[0])
			filled = true
		}
	}
	return start, filled
}

// Numeric reports whether a column holds figures only, which are set under one another.
func (t Table) Numeric(column int) bool {
	some := false
	for _, row := range t.Rows {
		if column >= len(row) || row[column] == "" || row[column] == "–" {
			continue
		}
		first := strings.TrimLeft(row[column], "+−±-≈")
		if first == "" || !unicode.IsDigit([]rune(first)[0]) || len([]rune(first)) > 24 {
			return false
		}
		some = true
	}
	return some
}
