package watch

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"
)

// Bounds of a file of calibres.
const (
	MaxCalibreFileBytes = 4 << 20
	maxCalibreRows      = 1000
	maxFileProblems     = 100 // more tell nothing new
)

// LineProblem is what is wrong with one line of a file of calibres.
type LineProblem struct {
	Line   int    // from 1, where the row begins
	Column string // as the header names it; "" for the line as a whole
	Why    string // a sentence
}

// formulaMarks begin what a spreadsheet would take for a formula.
const formulaMarks = "=+-@\t"

// WriteCalibres writes calibres as a file that ReadCalibres reads back as the same: UTF-8, a header of field names with
// units in brackets, one row a calibre. A text that a spreadsheet would take for a formula begins with an apostrophe.
func WriteCalibres(to io.Writer, list []Calibre) error {
	w := csv.NewWriter(to)
	header := make([]string, len(calibreFields))
	for i, f := range calibreFields {
		header[i] = f.Name
		if f.Unit != "" {
			header[i] += " (" + f.Unit + ")"
		}
	}
	if err := w.Write(header); err != nil {
		return err
	}
	for _, c := range list {
		row := make([]string, len(calibreFields))
		for i, f := range calibreFields {
			row[i] = guarded(f.Typed(c))
		}
		if err := w.Write(row); err != nil {
			return err
		}
	}
	w.Flush()
	return w.Error()
}

func guarded(s string) string {
	if startsFormula(s) {
		return "'" + s
	}
	return s
}

// unguarded takes back what guarded did.
func unguarded(s string) string {
	if strings.HasPrefix(s, "'") && startsFormula(s) {
		return s[1:]
	}
	return s
}

// startsFormula looks behind the apostrophes, so that one that was typed is told from one that was added.
func startsFormula(s string) bool {
	s = strings.TrimLeft(s, "'")
	return s != "" && strings.ContainsRune(formulaMarks, rune(s[0]))
}

// ReadCalibres reads a file of calibres against those already known: a row whose name is known, spaces, dashes and case
// aside, corrects that calibre in the columns that the file has; any other row is a new one. An empty cell says that
// the figure is not known. Fields are parted by commas, or by semicolons where the header is. It returns every calibre
// of the file, the known ones with their ID, or every problem found and no calibre.
func ReadCalibres(file []byte, known []Calibre) ([]Calibre, []LineProblem) {
	if why := unreadable(file); why != nil {
		return nil, []LineProblem{*why}
	}
	file = bytes.TrimPrefix(file, []byte("\ufeff"))
	rows := csv.NewReader(bytes.NewReader(file))
	rows.FieldsPerRecord = -1
	if first, _, _ := bytes.Cut(file, []byte("\n")); bytes.Contains(first, []byte(";")) &&
		!bytes.Contains(first, []byte(",")) {
		rows.Comma = ';'
	}
	sheet := calibreSheet{known: known, lines: map[string]int{}}
	for len(sheet.bad) < maxFileProblems {
		record, err := rows.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			sheet.refuse(quoteLine(err), "", "A quotation mark is not where a field begins or ends; what follows can't be read.")
			break
		}
		line, _ := rows.FieldPos(0)
		if !sheet.take(line, record) {
			break
		}
	}
	if sheet.columns == nil && len(sheet.bad) == 0 {
		sheet.refuse(1, "", "The file is empty; it begins with a line that names the columns.")
	}
	if len(sheet.bad) > 0 {
		return nil, sheet.bad
	}
	return sheet.list, nil
}

func unreadable(file []byte) *LineProblem {
	if len(file) > MaxCalibreFileBytes {
		return &LineProblem{Line: 1, Why: "The file is larger than 4 MB; part it."}
	}
	for i, line := range bytes.Split(file, []byte("\n")) {
		if !utf8.Valid(line) || bytes.IndexByte(line, 0) >= 0 {
			return &LineProblem{Line: i + 1, Why: "This is not UTF-8 text; save the file as CSV, UTF-8."}
		}
	}
	return nil
}

func quoteLine(err error) int {
	var parse *csv.ParseError
	if errors.As(err, &parse) {
		return parse.StartLine
	}
	return 1
}

// calibreSheet collects rows.
type calibreSheet struct {
	known   []Calibre
	columns []CalibreField // nil until the header is read
	titles  []string
	lines   map[string]int // of a name's key
	list    []Calibre
	bad     []LineProblem
}

func (s *calibreSheet) refuse(line int, column, why string) {
	s.bad = append(s.bad, LineProblem{Line: line, Column: column, Why: why})
}

// take reads one row and reports whether the next can be looked at.
func (s *calibreSheet) take(line int, record []string) bool {
	switch {
	case !slices.ContainsFunc(record, func(cell string) bool { return strings.TrimSpace(cell) != "" }):
		return true
	case s.columns == nil:
		return s.header(line, record)
	case len(s.list) >= maxCalibreRows:
		s.refuse(line, "", fmt.Sprintf("A file holds at most %d calibres; part it.", maxCalibreRows))
		return false
	case len(record) != len(s.columns):
		s.refuse(line, "", fmt.Sprintf("This line has %d fields and the header %d: a comma is missing or too many, or a "+
			"text with one lacks its quotation marks.", len(record), len(s.columns)))
		return true
	}
	s.row(line, record)
	return true
}

func (s *calibreSheet) header(line int, record []string) bool {
	s.columns = []CalibreField{}
	for _, cell := range record {
		name, _, _ := strings.Cut(strings.ToLower(strings.TrimSpace(cell)), " (")
		f, is := fieldNamed(name)
		switch {
		case !is:
			s.refuse(line, cell, "No column has this name. The file that is written here shows the names.")
		case slices.Contains(s.titles, f.Name):
			s.refuse(line, cell, "This column stands twice.")
		}
		s.columns, s.titles = append(s.columns, f), append(s.titles, f.Name)
	}
	if !slices.Contains(s.titles, "name") {
		s.refuse(line, "name", "The column with the calibres’ names is missing.")
	}
	return len(s.bad) == 0
}

func (s *calibreSheet) row(line int, record []string) {
	fields := map[string]string{}
	for i, f := range s.columns {
		fields[f.Name] = unguarded(record[i])
	}
	key := SerialKey(fields["name"])
	if first, twice := s.lines[key]; twice && key != "" {
		s.refuse(line, "name", fmt.Sprintf("This calibre stands in line %d already.", first))
		return
	}
	s.lines[key] = line
	var old Calibre
	if i := slices.IndexFunc(s.known, func(c Calibre) bool { return SerialKey(c.Name) == key }); i >= 0 && key != "" {
		old = s.known[i]
	}
	next, bad := old.Correct(fields)
	s.refuseAll(line, bad)
	s.list = append(s.list, next)
}

// refuseAll notes the problems of one row in the order of the columns; a field that the file lacks comes after them.
func (s *calibreSheet) refuseAll(line int, bad map[string]string) {
	for _, f := range s.columns {
		if why := bad[f.Name]; why != "" {
			s.refuse(line, f.Name, why)
		}
	}
	for _, f := range calibreFields {
		if why := bad[f.Name]; why != "" && !slices.Contains(s.titles, f.Name) {
			s.refuse(line, f.Name, "The file has no such column. "+why)
		}
	}
}
