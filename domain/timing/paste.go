package timing

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode"
)

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

// ParsePaste reads a column or block copied from a spreadsheet (lines, parted by tabs, else by semicolons, else by commas)
// into the cells of g, from the cell at row and column rightwards and downwards. A first line of words is a heading and is
// passed over, unless it names the columns otherwise than the grid has them; a first field that is a position names the
// row. It returns the cells that could be read and what could not; it fails with ErrOffGrid if the first cell is not on
// the grid. A blank line or cell is a figure not measured; an empty last line is the spreadsheet's own and is passed over.
func ParsePaste(text string, g Grid, row, column int) ([]PastedCell, []PasteProblem, error) {
	if row < 0 || row >= len(g.Rows) || column < 0 || column >= len(g.Columns) {
		return nil, nil, ErrOffGrid
	}
	if len(text) > maxPastedBytes {
		return nil, []PasteProblem{{Line: 1, Reason: "The pasted text is too long for this grid."}}, nil
	}
	lines := pastedLines(text)
	part := separatorOf(lines)
	first := 0
	if bad, heading := g.pastedHeading(part(lines[0]), column); len(bad) > 0 {
		return nil, bad, nil
	} else if heading {
		first = 1
	}
	var cells []PastedCell
	var bad []PasteProblem
	filled := map[int]bool{}
	for i, line := range lines[first:] {
		fields, at, shift := part(line), row+i, 0
		if p, err := ParsePosition(fields[0]); err == nil && len(fields) > 1 {
			at, fields, shift = slices.Index(g.Rows, p), fields[1:], 1
		}
		switch {
		case at >= len(g.Rows):
			bad = append(bad, PasteProblem{Line: first + i + 1, Reason: fmt.Sprintf(
				"There is no row left below %s for this line and what follows it.", g.Rows[len(g.Rows)-1])})
			return cells, bad, nil
		case filled[at]:
			bad = append(bad, PasteProblem{Line: first + i + 1, Reason: fmt.Sprintf("%s is given twice.", g.Rows[at])})
			continue
		}
		filled[at] = true
		lineCells, problem := g.pasteLine(fields, at, column)
		cells = append(cells, lineCells...)
		for _, p := range problem {
			p.Line, p.Column = first+i+1, p.Column+shift
			bad = append(bad, p)
		}
	}
	return cells, bad, nil
}

// pastedHeading reports whether the first line is a heading: words alone, at least one of which names what is read. Where
// it names the columns otherwise than the grid has them from column on, the problems say so.
func (g Grid) pastedHeading(fields []string, column int) (bad []PasteProblem, heading bool) {
	shift := 0
	for i, field := range fields {
		word := strings.ToLower(field)
		if strings.ContainsFunc(word, unicode.IsDigit) {
			return nil, false
		}
		if strings.Contains(word, "position") && i == 0 {
			heading, shift = true, 1
			continue
		}
		for _, q := range Quantities() {
			if !strings.Contains(strings.ReplaceAll(word, "_", " "), q.Label()) {
				continue
			}
			heading = true
			if at := column + i - shift; at < len(g.Columns) && g.Columns[at].Quantity != q {
				bad = append(bad, PasteProblem{Line: 1, Column: i + 1, Reason: fmt.Sprintf(
					"The heading says %s, where the grid has the %s. Bring the columns into the order rate, amplitude, beat error.",
					q.Label(), g.Columns[at].Quantity.Label())})
			}
		}
	}
	return bad, heading
}

// pasteLine reads one pasted line into a row from column on.
func (g Grid) pasteLine(fields []string, row, column int) (cells []PastedCell, bad []PasteProblem) {
	for j, text := range fields {
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

// separatorOf finds what parts the fields of a pasted block: tabs; where there are none, semicolons; and where a line of
// figures is no figure as it stands, commas, which otherwise are decimal ones.
func separatorOf(lines []string) (part func(line string) []string) {
	separator := ","
	switch text := strings.Join(lines, "\n"); {
	case strings.Contains(text, "\t"):
		separator = "\t"
	case strings.Contains(text, ";"):
		separator = ";"
	case !slices.ContainsFunc(lines, commasPart):
		separator = "\t" // there is none
	}
	return func(line string) []string { return pastedFields(line, separator) }
}

// commasPart reports whether a line holds commas that cannot be those of decimals.
func commasPart(line string) bool {
	if !strings.Contains(line, ",") {
		return false
	}
	_, problem := ParseFigure(Rate, strings.Trim(strings.TrimSpace(line), `"`))
	return problem != ""
}

// pastedFields parts a line and takes off blanks and the quotation marks some programs put around a decimal comma.
func pastedFields(line, separator string) []string {
	var fields []string
	quoted, from := false, 0
	for i, r := range line {
		switch {
		case r == '"':
			quoted = !quoted
		case string(r) == separator && !quoted:
			fields, from = append(fields, line[from:i]), i+len(separator)
		}
	}
	fields = append(fields, line[from:])
	for i, f := range fields {
		f = strings.TrimSpace(f)
		if len(f) >= 2 && f[0] == '"' && f[len(f)-1] == '"' {
			f = strings.TrimSpace(f[1 : len(f)-1])
		}
		fields[i] = f
	}
	return fields
}
