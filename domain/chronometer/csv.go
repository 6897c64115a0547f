package chronometer

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/timing"
)

// The header of a trial's file.
var header = []string{"day", "rate_s_per_day"}

// maxFileBytes is far above fifteen rows: more is another kind of file.
const maxFileBytes = 64 << 10

// LineError says what is wrong with one line of a trial's file.
type LineError struct {
	Line int // from 1
	Why  string
}

func (e *LineError) Error() string { return fmt.Sprintf("line %d: %s", e.Line, e.Why) }

// ReadCSV reads the fifteen rates of a trial: the header day,rate_s_per_day and one row a day, in any order. A
// byte-order mark, Windows line ends, blank lines, and blanks around fields are allowed. Decimals have a point; a
// decimal comma is read only inside quotes ("1,5"), as a bare one parts fields. Exponents, NaN and infinities are
// refused.
//
// Spreadsheets drop trailing zeros, so the figures' resolution is taken as the finest step in the file, for all days.
//
// It fails with a *LineError on a file that cannot be such a trial, and with the reader's error when reading fails.
func ReadCSV(source io.Reader) (Rates, error) {
	text, err := io.ReadAll(io.LimitReader(source, maxFileBytes+1))
	if err != nil {
		return Rates{}, err
	}
	if err := readable(text); err != nil {
		return Rates{}, err
	}
	rows := csv.NewReader(bytes.NewReader(bytes.TrimPrefix(text, []byte("\ufeff"))))
	rows.FieldsPerRecord = -1
	rows.TrimLeadingSpace = true
	sheet := sheet{}
	for {
		record, err := rows.Read()
		if err == io.EOF {
			break
		}
		if err != nil {
			return Rates{}, csvError(err)
		}
		line, _ := rows.FieldPos(0)
		for i := range record {
			record[i] = strings.TrimSpace(record[i])
		}
		if err := sheet.take(line, record); err != nil {
			return Rates{}, err
		}
	}
	return sheet.rates(1 + bytes.Count(bytes.TrimRight(text, " \t\r\n"), []byte("\n")))
}

// readable refuses what is not a short text.
func readable(text []byte) error {
	if len(text) > maxFileBytes {
		return &LineError{1, "the file is too long to hold fifteen rates"}
	}
	for i, line := range bytes.Split(text, []byte("\n")) {
		if !utf8.Valid(line) || bytes.IndexByte(line, 0) >= 0 {
			return &LineError{i + 1, "the file is not UTF-8 text; save it as CSV, UTF-8"}
		}
	}
	return nil
}

func csvError(err error) error {
	var parse *csv.ParseError
	if errors.As(err, &parse) {
		return &LineError{parse.StartLine, "a quotation mark is not where a field begins or ends"}
	}
	return err
}

// sheet collects rows.
type sheet struct {
	headed  bool
	figures [Days + 1]*timing.Figure
	lines   [Days + 1]int
}

func (s *sheet) take(line int, record []string) error {
	if blank(record) {
		return nil
	}
	if !s.headed {
		s.headed = true
		if len(record) != 2 || !strings.EqualFold(record[0], header[0]) || !strings.EqualFold(record[1], header[1]) {
			return &LineError{line, fmt.Sprintf("the header must be %s", strings.Join(header, ","))}
		}
		return nil
	}
	switch {
	case len(record) == 1 && strings.Contains(record[0], ";"):
		return &LineError{line, "fields are parted by a semicolon; part them by a comma and write decimals with a point"}
	case len(record) == 1:
		return &LineError{line, "there is a day but no rate; a row is day,rate"}
	case len(record) > 2:
		return &LineError{line, fmt.Sprintf("there are %d fields instead of 2; write decimals with a point", len(record))}
	}
	day, err := figure.ParseWhole(record[0])
	if err != nil || day < 1 || day > Days {
		return &LineError{line, fmt.Sprintf("%q is not a day from 1 to %d", shorten(record[0]), Days)}
	}
	if s.figures[day] != nil {
		return &LineError{line, fmt.Sprintf("day %d stands in line %d already", day, s.lines[day])}
	}
	if strings.ContainsFunc(record[1], unicode.IsControl) {
		return &LineError{line, fmt.Sprintf("day %d: the rate does not stand in one line", day)}
	}
	f, problem := timing.ParseFigure(timing.Rate, record[1])
	if f == nil {
		if problem == "" {
			problem = "the rate is missing"
		}
		return &LineError{line, fmt.Sprintf("day %d: %s", day, strings.TrimSuffix(problem, "."))}
	}
	s.figures[day], s.lines[day] = f, line
	return nil
}

// rates checks that all days are there; last is the last line that holds anything.
func (s *sheet) rates(last int) (Rates, error) {
	if !s.headed {
		return Rates{}, &LineError{1, fmt.Sprintf("the file is empty; it must begin with %s", strings.Join(header, ","))}
	}
	var missing []string
	step := 1.0
	for day := 1; day <= Days; day++ {
		if s.figures[day] == nil {
			missing = append(missing, strconv.Itoa(day))
			continue
		}
		step = min(step, s.figures[day].Step)
	}
	switch {
	case len(missing) == 1:
		return Rates{}, &LineError{last, fmt.Sprintf("the file ends without day %s", missing[0])}
	case len(missing) > 1:
		return Rates{}, &LineError{last, fmt.Sprintf("the file ends without days %s", strings.Join(missing, ", "))}
	}
	var r Rates
	for day := 1; day <= Days; day++ {
		f := *s.figures[day]
		f.Step = step
		if err := r.Set(day, f); err != nil {
			return Rates{}, &LineError{s.lines[day], err.Error()}
		}
	}
	return r, nil
}

func blank(record []string) bool {
	return !slices.ContainsFunc(record, func(field string) bool { return field != "" })
}

// shorten keeps an error to one clear line.
func shorten(text string) string {
	const most = 20
	if letters := []rune(text); len(letters) > most {
		return string(letters[:most]) + "…"
	}
	return text
}
