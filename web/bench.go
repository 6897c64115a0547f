package web

import (
	"net/url"

	"github.com/a-h/templ"

	"ledgerwheel/domain/diagnosis"
	"ledgerwheel/domain/watch"
)

// benchTool is a piece of the movement's arithmetic as a page: what it asks, what it answers, and by which formulas.
// The rules are in domain; a tool parses, calls them and formats.
type benchTool struct {
	Slug, Title, Purpose string
	Component            diagnosis.Component // that a finding is usually about; "" leaves it to be chosen
	Fields               []benchField
	// Solve answers what was typed, or says by field name what stands against it; "" is the form as a whole.
	Solve    func(v url.Values) (benchAnswer, map[string]string)
	Fill     func(c watch.Calibre) url.Values // what a calibre knows of the fields; nil where it knows nothing
	Formulas []benchFormula
	Cautions []string
}

// benchField is one thing a tool asks for.
type benchField struct {
	Name, Label, Unit, Hint string
	Kind                    string // number, text, select, checkbox or textarea; "" is text
	Group                   string // fields of one group stand together under it
	Default                 string // offered while nothing is typed
	Options                 [][2]string
}

// benchFormula is what a tool computes by, where that is from, and how far it holds.
type benchFormula struct{ Text, Source, Limits string }

// benchAnswer is what a tool found, as formatted text.
type benchAnswer struct {
	Rows       []benchRow
	Tables     []benchTable
	Drawing    templ.Component   // an SVG with title and desc; nil for none
	Finding    string            // a sentence that can be kept as a finding; "" for none
	Part       *benchPart        // nil where no part follows from it
	Correction map[string]string // what of the calibre's form this answers; nil for none
}

// benchRow is one figure of an answer.
type benchRow struct{ Label, Value, Note string }

// benchTable is a list of figures of an answer.
type benchTable struct {
	Caption string
	Head    []string
	Rows    [][]string
}

// benchPart is a part to order that an answer gives.
type benchPart struct{ Name, Specification string }

// benchTools are the tools in the order of the list.
func benchTools() []benchTool {
	return []benchTool{
		trainTool(),
		motionWorkTool(),
		countingTool(),
		mainspringTool(),
		powerReserveTool(),
		balanceTool(),
		regulatingTool(),
		vibratingTool(),
		temperatureTool(),
		missingTool(),
		jewelFitTool(),
		oilTool(),
		uncertaintyTool(),
	}
}
