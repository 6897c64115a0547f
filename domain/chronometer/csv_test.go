package chronometer_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"testing/iotest"

	"ledgerwheel/domain/chronometer"
)

func file(rows ...string) string {
	return "day,rate_s_per_day\n" + strings.Join(rows, "\n") + "\n"
}

func fifteen() []string {
	var rows []string
	for day := 1; day <= 15; day++ {
		rows = append(rows, fmt.Sprintf("%d,%.1f", day, float64(day)/10))
	}
	return rows
}

func TestReadCSV(t *testing.T) {
	t.Parallel()
	plain := file(fifteen()...)
	reversed := fifteen()
	for i, k := 0, 14; i < k; i, k = i+1, k-1 {
		reversed[i], reversed[k] = reversed[k], reversed[i]
	}
	for name, text := range map[string]string{
		"plain":            plain,
		"byte-order mark":  "\ufeff" + plain,
		"Windows":          strings.ReplaceAll(plain, "\n", "\r\n"),
		"no last line end": strings.TrimSuffix(plain, "\n"),
		"blanks":           strings.ReplaceAll(strings.ReplaceAll(plain, ",", " ,\t"), "\n", "  \n"),
		"blank lines":      strings.ReplaceAll(plain, "\n", "\n\n"),
		"empty rows":       plain + ",\n,\n",
		"any order":        file(reversed...),
		"plus signs":       strings.ReplaceAll(plain, ",0", ",+0"),
		"quoted comma":     strings.Replace(plain, "\n3,0.3", "\n3,\"0,3\"", 1),
		"quoted":           strings.Replace(plain, "\n3,0.3", "\n\"3\",\"0.3\"", 1),
		"trailing zero":    strings.Replace(plain, "\n10,1.0", "\n10,1", 1), // the finest step is that of all
	} {
		r, err := chronometer.ReadCSV(strings.NewReader(text))
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		for day := 1; day <= 15; day++ {
			got, _ := r.Rate(day)
			near(t, fmt.Sprint(name, " day ", day), got.Value, float64(day)/10, rounding)
			near(t, fmt.Sprint(name, " u of day ", day), got.StdUncertainty, 0.0288675, 1e-7) // 0.1/√12
		}
	}
}

func TestReadCSVRefuses(t *testing.T) {
	t.Parallel()
	with := func(day int, row string) string {
		rows := fifteen()
		rows[day-1] = row
		return file(rows...)
	}
	for _, tc := range []struct {
		name, text string
		line       int
		want       string
	}{
		{"empty", "", 1, "empty"},
		{"no header", strings.Join(fifteen(), "\n"), 1, "header must be day,rate_s_per_day"},
		{"header of three", "day,rate_s_per_day,note\n", 1, "header"},
		{"missing day", file(append(fifteen()[:6], fifteen()[7:]...)...), 15, "without day 7"},
		{"ten rows", file(fifteen()[:10]...), 11, "without days 11, 12, 13, 14, 15"},
		{"sixteen rows", file(append(fifteen(), "16,1.0")...), 17, `"16" is not a day`},
		{"twice", file(append(fifteen(), "3,1.0")...), 17, "day 3 stands in line 4 already"},
		{"NaN", with(4, "4,NaN"), 5, "not a figure"},
		{"Inf", with(4, "4,-Inf"), 5, "not a figure"},
		{"exponent", with(4, "4,1e3"), 5, "not a figure"},
		{"hexadecimal", with(4, "4,0x10"), 5, "not a figure"},
		{"huge", with(4, "4,10000"), 5, "−9999"},
		{"bare comma", with(4, "4,1,5"), 5, "3 fields instead of 2"},
		{"semicolon", with(4, "4;1.5"), 5, "semicolon"},
		{"no rate", with(4, "4,"), 5, "rate is missing"},
		{"one field", with(4, "4"), 5, "no rate"},
		{"day 0", with(4, "0,1.0"), 5, "not a day"},
		{"day 4.0", with(4, "4.0,1.0"), 5, "not a day"},
		{"word", with(4, "four,1.0"), 5, "not a day"},
		{"open quote", with(4, `4,"1.0`), 5, "quotation mark"},
		{"stray quote", with(4, `4,1"0`), 5, "quotation mark"},
		{"line end in a figure", with(4, "4,\"1\n2\""), 5, "one line"},
		{"UTF-16", "\xff\xfed\x00a\x00y\x00", 1, "UTF-8"},
		{"zero byte", with(4, "4,1\x00"), 5, "UTF-8"},
		{"long", file(append(fifteen(), strings.Repeat(",\n", 40000))...), 1, "too long"},
	} {
		_, err := chronometer.ReadCSV(strings.NewReader(tc.text))
		var line *chronometer.LineError
		if !errors.As(err, &line) || line.Line != tc.line || !strings.Contains(line.Why, tc.want) ||
			strings.ContainsAny(err.Error(), "\n\r") {
			t.Errorf("%s: got %v, want line %d with %q", tc.name, err, tc.line, tc.want)
		}
	}
	broken := errors.New("the disc is gone")
	if _, err := chronometer.ReadCSV(iotest.ErrReader(broken)); !errors.Is(err, broken) {
		t.Errorf("a reader that fails: got %v", err)
	}
}

// Whatever the file, the answer is fifteen rates that can be judged, or one line that names a line of the file.
func FuzzReadCSV(f *testing.F) {
	f.Add(file(fifteen()...))
	f.Add("\ufeff" + strings.ReplaceAll(file(fifteen()...), "\n", "\r\n"))
	f.Add(strings.ReplaceAll(file(fifteen()...), ",0", ",\"−0\""))
	f.Add("day,rate_s_per_day\n1,\"1\n")
	f.Add("day;rate_s_per_day\n1;1,5\n")
	f.Add("\r\r\n,\"\"")
	f.Fuzz(func(t *testing.T, text string) {
		r, err := chronometer.ReadCSV(strings.NewReader(text))
		if err != nil {
			var line *chronometer.LineError
			if !errors.As(err, &line) || line.Line < 1 || line.Line > 2+strings.Count(text, "\n") ||
				strings.ContainsAny(err.Error(), "\n\r") {
				t.Fatalf("%q: %q", text, err)
			}
			return
		}
		if len(r.Known()) != chronometer.Days {
			t.Fatalf("%q: known days %v", text, r.Known())
		}
		for _, result := range chronometer.Judge(1, r).Results {
			if err := result.Value.Check(); err != nil || !result.Known {
				t.Fatalf("%q: %s %v", text, result.Criterion, err)
			}
		}
	})
}
