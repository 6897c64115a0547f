package view

import "cmp"

// RunGridView is the grid of a run: the six positions by the states of wind, each with rate, amplitude and beat error.
// It is typed into when Edit is set.
type RunGridView struct {
	ID      string // unique on its page; begins the ids of headings
	Caption string
	Edit    bool
	States  []GridStateView
	Rows    []GridRowView
	Note    string // below: the uncertainty all figures of a kind share, said once
}

// GridStateView is a group of three columns.
type GridStateView struct {
	Text string // "full wind"
	Note string // who took these readings and when, where that differs from the run's own
}

// GridRowView is one position. Cells are rate, amplitude and beat error at each state in turn.
type GridRowView struct {
	Position PositionView
	Cells    []GridCellView
}

// GridCellView is one figure. Name is its form field.
type GridCellView struct {
	Name, Value, Error string
	Heard              string // where the recording is shown that it was heard in, "" for none
}

// gridColumn is one of the three columns of a state.
type gridColumn struct{ class, text, unit string }

var gridColumns = []gridColumn{{"rate", "rate", "s/d"}, {"amplitude", "amplitude", "°"}, {"beat", "beat error", "ms"}}

func (g RunGridView) rowID(i int) string    { return g.ID + "-row-" + itoa(i) }
func (g RunGridView) stateID(i int) string  { return g.ID + "-state-" + itoa(i) }
func (g RunGridView) columnID(i int) string { return g.ID + "-column-" + itoa(i) }
func (g RunGridView) width() string         { return itoa(1 + len(gridColumns)*len(g.States)) }

// columnClass draws a line where a new state begins.
func (g RunGridView) columnClass(i int) string {
	return join("num", "cell-"+gridColumns[i%len(gridColumns)].class, when(i%len(gridColumns) == 0, "state-first"))
}

func (g RunGridView) cell(row, column int) NumberCell {
	c := g.Rows[row].Cells[column]
	return NumberCell{Name: c.Name, Value: c.Value, Error: c.Error, RowID: g.rowID(row),
		ColumnID: g.columnID(column), Group: g.stateID(column / len(gridColumns))}
}

// wrong lists the cells of a row that must be mended.
func (r GridRowView) wrong() []GridCellView {
	var wrong []GridCellView
	for _, c := range r.Cells {
		if c.Error != "" {
			wrong = append(wrong, c)
		}
	}
	return wrong
}

// StatView is one computed figure; "" in Value means that it could not be computed.
type StatView struct{ Value, Uncertainty, Unit string }

// StatRowView is one statistic at each state of wind. Whole belongs to the run, not to one state.
type StatRowView struct {
	Label, Unit, TestID string
	Cells               []StatView
	Whole               bool
	Strong              bool
}

// WhyView says why some figures are not computed.
type WhyView struct{ What, Why string }

// FiguresView is what is computed from a run and how it is judged.
type FiguresView struct {
	Mark    MarkKind // "" when there is nothing to judge by
	Text    string   // the verdict in a sentence
	Judged  string   // by what
	Rule    string
	States  []string // headings of the statistics' columns
	Rows    []StatRowView
	Why     []WhyView
	Limits  []LimitRowView
	Unread  []Problem // figures left out because they can't be read
	Compact bool      // limits in short form, below the statistics
	Chart   []ChartView
}

// UnreadNames lists the fields of the figures that can't be read, for the script that marks them.
func (f FiguresView) unreadNames() string {
	names := make([]string, len(f.Unread))
	for i, p := range f.Unread {
		names[i] = p.Name
	}
	return join(names...)
}

// LimitRowView is one limit, the figure it was held against and the verdict.
type LimitRowView struct {
	Label, Bounds, Chance, Text, Reason, TestID string
	Figure                                      StatView
	Mark                                        MarkKind
}

func limitsData(f FiguresView) DataView {
	d := DataView{TableView: TableView{ID: "limits", Caption: "Held against the rate limits", TestID: "limits", HideCaption: true}, Stack: true,
		Columns: []Column{{Text: "limited"}, {Text: "figure", Numeric: true}, {Text: "limit", Numeric: true}, {Text: "verdict"},
			{Text: "probability of conformity", Numeric: true}}}
	for _, l := range f.Limits {
		figure := Cell{Text: "–"}
		if l.Figure.Value != "" {
			figure = Show(Stat(l.Figure))
		}
		d.Rows = append(d.Rows, Row{Head: true, TestID: l.TestID, Cells: []Cell{
			{Text: l.Label, Note: l.Reason}, figure, Txt(l.Bounds), {Mark: l.Mark, Text: l.Mark.word(), Note: l.Text}, Txt(cmp.Or(l.Chance, "–"))}})
	}
	return d
}
