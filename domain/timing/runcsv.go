package timing

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"

	"ledgerwheel/domain/figure"
)

// RunColumns are the columns of a file of runs, in the order of its header. Amplitude and beat error may be empty.
func RunColumns() []string {
	return []string{"run", "hours", "position", "rate_s_per_day", "amplitude_deg", "beat_error_ms"}
}

// neededColumns is how many of them a file must have.
const neededColumns = 4

// maxRunsBytes and maxRunRows bound a file of runs.
const (
	maxRunsBytes = 1 << 20
	maxRunRows   = 5000
)

// RunFileError is what is wrong with a line of a file of runs.
type RunFileError struct {
	Line   int
	Reason string
}

func (e *RunFileError) Error() string { return fmt.Sprintf("line %d: %s", e.Line, e.Reason) }

// ReadRunsCSV reads runs from a file with the header of RunColumns, in any order of columns, and one row a reading. The
// first run is taken as received, each later one as the next adjustment; the same position again at the same state of wind
// is a repeat. Decimals have a point, a comma only inside quotes. A signed beat error is taken by its size.
//
// It fails with a *RunFileError on a file that cannot be such runs, and with the reader's error when reading fails.
func ReadRunsCSV(source io.Reader, crownHour int) ([]Run, error) {
	text, err := io.ReadAll(io.LimitReader(source, maxRunsBytes+1))
	if err != nil {
		return nil, err
	}
	if len(text) > maxRunsBytes {
		return nil, &RunFileError{1, "the file is too long to hold runs of one watch"}
	}
	for i, line := range bytes.Split(text, []byte("\n")) {
		if !utf8.Valid(line) || bytes.IndexByte(line, 0) >= 0 {
			return nil, &RunFileError{i + 1, "the file is not UTF-8 text; save it as CSV, UTF-8"}
		}
	}
	rows := csv.NewReader(bytes.NewReader(bytes.TrimPrefix(text, []byte("\ufeff"))))
	rows.FieldsPerRecord, rows.TrimLeadingSpace = -1, true
	file := runFile{crownHour: crownHour}
	for {
		record, err := rows.Read()
		if err == io.EOF {
			break
		}
		var parse *csv.ParseError
		if errors.As(err, &parse) {
			return nil, &RunFileError{parse.StartLine, "a quotation mark is not where a field begins or ends"}
		}
		if err != nil {
			return nil, err
		}
		line, _ := rows.FieldPos(0)
		if reason := file.take(record); reason != "" {
			return nil, &RunFileError{line, reason}
		}
	}
	if len(file.runs) == 0 {
		return nil, &RunFileError{1, "there is no reading; the file must begin with " + strings.Join(RunColumns(), ",")}
	}
	return file.runs, nil
}

// runFile collects the rows of a file of runs.
type runFile struct {
	crownHour int
	columns   map[string]int
	names     []string // of the runs
	runs      []Run
	rows      int
}

// take reads a row, and says what is wrong with it.
func (f *runFile) take(record []string) string {
	if !slices.ContainsFunc(record, func(s string) bool { return strings.TrimSpace(s) != "" }) {
		return ""
	}
	if f.columns == nil {
		return f.header(record)
	}
	if f.rows++; f.rows > maxRunRows {
		return fmt.Sprintf("there are more than %d readings", maxRunRows)
	}
	if len(record) > len(f.columns) {
		return fmt.Sprintf("there are %d fields instead of %d; write decimals with a point", len(record), len(f.columns))
	}
	at := func(column string) string {
		if i, there := f.columns[column]; there && i < len(record) {
			return strings.TrimSpace(record[i])
		}
		return ""
	}
	name := at("run")
	if name == "" {
		return "the run is not named; number the runs 1, 2, …"
	}
	r, reason := readingOf(at)
	if reason != "" {
		return reason
	}
	run := f.run(name)
	for _, x := range run.Readings {
		if x.Position == r.Position && sameHours(x.HoursAfterWinding, r.HoursAfterWinding) {
			r.Repeat = x.Repeat + 1
		}
	}
	run.Readings = append(run.Readings, r)
	return ""
}

func (f *runFile) header(record []string) string {
	f.columns = map[string]int{}
	for i, name := range record {
		name = strings.ToLower(strings.TrimSpace(name))
		if !slices.Contains(RunColumns(), name) {
			return fmt.Sprintf("%q is not a column; the header is %s", name, strings.Join(RunColumns(), ","))
		}
		if _, twice := f.columns[name]; twice {
			return fmt.Sprintf("the column %s stands there twice", name)
		}
		f.columns[name] = i
	}
	for _, name := range RunColumns()[:neededColumns] {
		if _, there := f.columns[name]; !there {
			return "the column " + name + " is missing; the header is " + strings.Join(RunColumns(), ",")
		}
	}
	return ""
}

// run is the run of that name, begun where it is new.
func (f *runFile) run(name string) *Run {
	if at := slices.Index(f.names, name); at >= 0 {
		return &f.runs[at]
	}
	r := Run{Kind: AsReceived, CrownHour: f.crownHour}
	if len(f.runs) > 0 {
		r.Kind, r.Adjustment = Adjustment, len(f.runs)
	}
	f.names, f.runs = append(f.names, name), append(f.runs, r)
	return &f.runs[len(f.runs)-1]
}

// readingOf reads one row by its columns.
func readingOf(at func(column string) string) (r Reading, reason string) {
	var problem string
	if r.HoursAfterWinding, problem = ParseHours(at("hours")); problem != "" {
		return r, "hours: " + withoutStop(problem)
	}
	var err error
	if r.Position, err = ParsePosition(at("position")); err != nil {
		return r, err.Error()
	}
	columns := RunColumns()
	for i, q := range Quantities() {
		text := at(columns[neededColumns-1+i])
		if q == BeatError {
			text = unsigned(text)
		}
		f, problem := ParseFigure(q, text)
		if problem == "" && f == nil && q == Rate {
			problem = "is missing"
		}
		if problem != "" {
			return r, fmt.Sprintf("%s: %s", q.Label(), withoutStop(problem))
		}
		r.SetFigure(q, f)
	}
	return r, ""
}

// unsigned takes the sign off a figure, in any spelling a sign has.
func unsigned(text string) string {
	n, err := figure.Parse(text)
	if err != nil {
		return text
	}
	return strings.TrimLeft(n.Text(), "-−+")
}

func withoutStop(sentence string) string { return strings.TrimSuffix(sentence, ".") }
