package runs

import (
	"cmp"

	"ledgerwheel/web/view"
)

// GridView is the grid of a run: the six positions by the states of wind, each with rate, amplitude and beat error.
// It is typed into when Edit is set.
type GridView struct {
	ID      string // unique on its page; begins the ids of headings
	Caption string
	Edit    bool
	Again   bool // a second or later reading of the positions
	States  []gridStateView
	Rows    []gridRowView
	Note    string // below: the uncertainty all figures of a kind share, said once
}

// gridStateView is a group of three columns.
type gridStateView struct {
	Text string // "full wind"
	Note string // who took these readings and when, where that differs from the run's own
}

// gridRowView is one position. Cells are rate, amplitude and beat error at each state in turn.
type gridRowView struct {
	Position view.PositionView
	Cells    []gridCellView
}

// gridCellView is one figure. Name is its form field.
type gridCellView struct {
	Name, Value, Error string
	Heard              string // where the recording is shown that it was heard in, "" for none
	Asked              view.Question
	Confirmed          string // what was asked when it was typed, and who confirmed it; "" for nothing
}

// gridColumn is one of the three columns of a state.
type gridColumn struct{ class, text, unit string }

var gridColumns = []gridColumn{{"rate", "rate", "s/d"}, {"amplitude", "amplitude", "°"}, {"beat", "beat error", "ms"}}

// typed counts the cells that hold anything.
func (g GridView) typed() int {
	n := 0
	for _, row := range g.Rows {
		for _, c := range row.Cells {
			if c.Value != "" {
				n++
			}
		}
	}
	return n
}

// Open reports whether a folded grid asks for attention.
func (g GridView) Open() bool {
	for _, row := range g.Rows {
		if len(row.wrong()) > 0 {
			return true
		}
	}
	return false
}

// Says is how much a folded grid holds; "" for nothing.
func (g GridView) Says() string {
	switch n := g.typed(); n {
	case 0:
		return ""
	case 1:
		return "1 figure"
	default:
		return view.Itoa(n) + " figures"
	}
}

func (g GridView) rowID(i int) string    { return g.ID + "-row-" + view.Itoa(i) }
func (g GridView) stateID(i int) string  { return g.ID + "-state-" + view.Itoa(i) }
func (g GridView) columnID(i int) string { return g.ID + "-column-" + view.Itoa(i) }
func (g GridView) width() string         { return view.Itoa(1 + len(gridColumns)*len(g.States)) }

// columnClass draws a line where a new state begins.
func (g GridView) columnClass(i int) string {
	return view.Join("num", "cell-"+gridColumns[i%len(gridColumns)].class, view.When(i%len(gridColumns) == 0,
		"state-first"))
}

// stateClass names the state of wind that a cell belongs to: on a narrow screen one is shown at a time.
func stateClass(i int) string { return "of-state-" + view.Itoa(i) }

func (g GridView) cell(row, column int) view.NumberCell {
	c := g.Rows[row].Cells[column]
	return view.NumberCell{Name: c.Name, Value: c.Value, Error: c.Error, RowID: g.rowID(row),
		ColumnID: g.columnID(column), Group: g.stateID(column / len(gridColumns))}
}

// wrong lists the cells of a row that are to be corrected, or were asked about.
func (r gridRowView) wrong() []gridCellView {
	var wrong []gridCellView
	for _, c := range r.Cells {
		if c.Error != "" || c.Asked.Text != "" {
			wrong = append(wrong, c)
		}
	}
	return wrong
}

// StatView is one computed figure; "" in Value means that it could not be computed.
type StatView struct{ Value, Uncertainty, Unit string }

// statRowView is one statistic at each state of wind. Whole belongs to the run, not to one state.
type statRowView struct {
	Label, Unit, TestID string
	Cells               []StatView
	Whole               bool
	Strong              bool
}

// WhyView says why some figures are not computed.
type WhyView struct{ What, Why string }

// FiguresView is what is computed from a run and how it is judged.
type FiguresView struct {
	Mark    view.MarkKind // "" when there is nothing to judge by
	Text    string        // the verdict in a sentence
	Judged  string        // by what
	Rule    string
	States  []string // headings of the statistics' columns
	Rows    []statRowView
	Why     []WhyView
	Limits  []limitRowView
	Unread  []view.Problem // figures left out because they can't be read
	Compact bool           // limits in short form, below the statistics
	Chart   []view.ChartView
}

// unreadNames lists the fields of the figures that can't be read, for the script that marks them.
func (f FiguresView) unreadNames() string {
	names := make([]string, len(f.Unread))
	for i, p := range f.Unread {
		names[i] = p.Name
	}
	return view.Join(names...)
}

// limitRowView is one limit, the figure it was held against and the verdict.
type limitRowView struct {
	Label, Bounds, Chance, Text, Reason, TestID string
	Figure                                      StatView
	Mark                                        view.MarkKind
}

func limitsData(f FiguresView) view.DataView {
	d := view.DataView{TableView: view.TableView{ID: "limits", Caption: "Held against the rate limits", TestID: "limits",
		HideCaption: true}, Stack: true,
		Columns: []view.Column{{Text: "limited"}, {Text: "figure", Numeric: true}, {Text: "limit", Numeric: true},
			{Text: "verdict"},
			{Text: "probability of conformity", Numeric: true}}}
	for _, l := range f.Limits {
		figure := view.Cell{Text: "–"}
		if l.Figure.Value != "" {
			figure = view.Show(Stat(l.Figure))
		}
		d.Rows = append(d.Rows, view.Row{Head: true, TestID: l.TestID, Cells: []view.Cell{
			{Text: l.Label, Note: l.Reason}, figure, view.Txt(l.Bounds), {Mark: l.Mark, Text: l.Mark.Word(), Note: l.Text},
			view.Txt(cmp.Or(l.Chance, "–"))}})
	}
	return d
}
