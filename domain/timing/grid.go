package timing

import (
	"errors"
	"fmt"
	"strings"
)

// Column is one column of the grid of readings.
type Column struct {
	HoursAfterWinding float64
	Quantity          Quantity
}

// Grid is the sheet a run is typed into: a row for each position, a column for each quantity at each state of wind.
type Grid struct {
	Rows    []Position
	Columns []Column
}

// NewGrid returns the grid of the six positions by the given states of wind (hours after winding), with rate,
// amplitude and beat error at each.
func NewGrid(hours ...float64) Grid {
	g := Grid{Rows: Positions()}
	for _, h := range hours {
		for _, q := range Quantities() {
			g.Columns = append(g.Columns, Column{HoursAfterWinding: h, Quantity: q})
		}
	}
	return g
}

// Field names the form field of a cell. It panics if the cell is not on the grid.
func (g Grid) Field(row, column int) string {
	c := g.Columns[column]
	return FieldName(c.Quantity, g.Rows[row], c.HoursAfterWinding)
}

// Parse reads the typed text of every cell, which typed returns by field name ("" for an empty one). Each reading
// found has the instrument, temperature and taker of common. The problems are keyed by field name; where there are
// any, nothing is to be saved.
func (g Grid) Parse(typed func(field string) string, common Reading) ([]Reading, map[string]string) {
	bad := map[string]string{}
	var readings []Reading
	at := map[string]int{} // cell name -> index in readings
	for row, position := range g.Rows {
		for column, c := range g.Columns {
			field := g.Field(row, column)
			figure, problem := ParseFigure(c.Quantity, typed(field))
			if problem != "" {
				bad[field] = problem
				continue
			}
			if figure == nil {
				continue
			}
			cell := CellName(position, c.HoursAfterWinding)
			i, found := at[cell]
			if !found {
				r := common
				r.Position, r.HoursAfterWinding = position, c.HoursAfterWinding
				r.RateSPerDay, r.AmplitudeDeg, r.BeatErrorMs = nil, nil, nil
				i = len(readings)
				at[cell] = i
				readings = append(readings, r)
			}
			readings[i].SetFigure(c.Quantity, figure)
		}
	}
	return readings, bad
}

// PastedCell is one cell that a pasted block fills.
type PastedCell struct {
	Field  string  // of the grid
	Text   string  // as pasted
	Figure *Figure // nil when the text is blank: not measured
}

// PasteProblem is one reason why a pasted block cannot be taken as it is.
type PasteProblem struct {
	Line   int    // of the pasted text, from 1
	Column int    // of the pasted text, from 1; 0 when the whole line is meant
	Reason string // a sentence
}

// String says where and why.
func (p PasteProblem) String() string {
	if p.Column == 0 {
		return fmt.Sprintf("Line %d: %s", p.Line, p.Reason)
	}
	return fmt.Sprintf("Line %d, column %d: %s", p.Line, p.Column, p.Reason)
}

// ErrOffGrid reports a paste that starts outside the grid.
var ErrOffGrid = errors.New("the paste starts outside the grid")

// maxPastedBytes is far above any grid's text; it bounds the work done for a wrong paste.
const maxPastedBytes = 64 << 10

// ParsePaste reads a column or block copied from a spreadsheet (lines, parted by tabs or else by semicolons) into the
// cells of g, from the cell at row and column rightwards and downwards. It returns the cells that could be read and
// what could not; it fails with ErrOffGrid if the first cell is not on the grid. A blank line or cell is a figure not
// measured; an empty last line is the spreadsheet's own and is passed over.
func ParsePaste(text string, g Grid, row, column int) ([]PastedCell, []PasteProblem, error) {
	if row < 0 || row >= len(g.Rows) || column < 0 || column >= len(g.Columns) {
		return nil, nil, ErrOffGrid
	}
	if len(text) > maxPastedBytes {
		return nil, []PasteProblem{{Line: 1, Reason: "The pasted text is too long for this grid."}}, nil
	}
	var cells []PastedCell
	var bad []PasteProblem
	for i, line := range pastedLines(text) {
		if row+i >= len(g.Rows) {
			bad = append(bad, PasteProblem{Line: i + 1, Reason: fmt.Sprintf(
				"There is no row left below %s for this line and what follows it.", g.Rows[len(g.Rows)-1])})
			break
		}
		lineCells, problem := g.pasteLine(line, row+i, column)
		cells = append(cells, lineCells...)
		for _, p := range problem {
			p.Line = i + 1
			bad = append(bad, p)
		}
	}
	return cells, bad, nil
}

// pasteLine reads one pasted line into a row from column on.
func (g Grid) pasteLine(line string, row, column int) (cells []PastedCell, bad []PasteProblem) {
	for j, text := range pastedFields(line) {
		if column+j >= len(g.Columns) {
			bad = append(bad, PasteProblem{Column: j + 1, Reason: "There is no column left for this figure."})
			break
		}
		figure, problem := ParseFigure(g.Columns[column+j].Quantity, text)
		if problem != "" {
			bad = append(bad, PasteProblem{Column: j + 1, Reason: problem})
			continue
		}
		cells = append(cells, PastedCell{Field: g.Field(row, column+j), Text: text, Figure: figure})
	}
	return cells, bad
}

func pastedLines(text string) []string {
	text = strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(text)
	return strings.Split(strings.TrimSuffix(text, "\n"), "\n")
}

// pastedFields parts a line at tabs, or where it has none at semicolons, and takes off blanks and the quotation
// marks some programs put around a decimal comma.
func pastedFields(line string) []string {
	separator := "\t"
	if !strings.Contains(line, separator) {
		separator = ";"
	}
	fields := strings.Split(line, separator)
	for i, f := range fields {
		f = strings.TrimSpace(f)
		if len(f) >= 2 && f[0] == '"' && f[len(f)-1] == '"' {
			f = strings.TrimSpace(f[1 : len(f)-1])
		}
		fields[i] = f
	}
	return fields
}
