package figure_test

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"

	"ledgerwheel/domain/chronometer"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/figure/figuretest"
	"ledgerwheel/domain/finaltest"
	"ledgerwheel/domain/heard"
	"ledgerwheel/domain/money"
	"ledgerwheel/domain/timing"
	"ledgerwheel/domain/watch"
)

// reader is one place that takes a typed number: what it reads, and which numbers lie in its range.
type reader struct {
	read    func(typed string) (x float64, ok bool)
	takes   func(x float64) bool
	noLines bool // text of several lines or fields is another matter there
}

func within(least, most float64) func(float64) bool {
	return func(x float64) bool { return x >= least && x <= most }
}

// readers are the forms, pastes and files of the domain that take a number with decimals.
var readers = map[string]reader{
	"a cell of the grid": {takes: within(-9999, 9999), read: func(typed string) (float64, bool) {
		f, problem := timing.ParseFigure(timing.Rate, typed)
		if f == nil || problem != "" {
			return 0, false
		}
		return f.Value, true
	}},
	"a paste": {takes: within(-9999, 9999), noLines: true, read: func(typed string) (float64, bool) {
		cells, bad, err := timing.ParsePaste(typed, timing.NewGrid(0), 0, 0)
		if err != nil || len(bad) > 0 || len(cells) != 1 || cells[0].Figure == nil {
			return 0, false
		}
		return cells[0].Figure.Value, true
	}},
	"a trial's file": {takes: within(-9999, 9999), noLines: true, read: func(typed string) (float64, bool) {
		file := "day,rate_s_per_day\n1,\"" + typed + "\"\n"
		for day := 2; day <= chronometer.Days; day++ {
			file += fmt.Sprintf("%d,0\n", day)
		}
		rates, err := chronometer.ReadCSV(strings.NewReader(file))
		if err != nil {
			return 0, false
		}
		v, ok := rates.Rate(1)
		return v.Value, ok
	}},
	"hours after winding": {takes: within(0, 1000), read: func(typed string) (float64, bool) {
		x, problem := timing.ParseHours(typed)
		return x, problem == ""
	}},
	"a final test": {takes: within(0, math.Inf(1)), read: func(typed string) (float64, bool) {
		x, given, err := finaltest.ParseFigure(typed, "h")
		return x, given && err == nil
	}},
	"a line's quantity": {takes: within(0, 100000), read: func(typed string) (float64, bool) {
		milli, err := estimate.ParseQuantity(typed)
		return float64(milli) / 1000, err == nil
	}},
	"a rate of tax": {takes: within(0, 100), read: func(typed string) (float64, bool) {
		points, err := estimate.ParsePercent(typed)
		return float64(points) / 100, err == nil
	}},
	"money": {takes: within(-1e9, 1e9), read: func(typed string) (float64, bool) {
		minor, err := money.Parse(typed, "EUR", "en-GB")
		return float64(minor) / 100, err == nil
	}},
	"a calibre": {takes: func(x float64) bool { return x > 0 && x <= 20000 }, read: func(typed string) (float64, bool) {
		c, bad := watch.CalibreForm{"name": "A", "beats_per_hour": "18000", "grade": "modern", "balance_mass": typed}.Check()
		return c.Balance.MassMg, len(bad) == 0 && c.Balance.MassMg != 0
	}},
	"an instant": {takes: within(-100, 100), read: func(typed string) (float64, bool) {
		out, bad := heard.ParseInstants(func(field string) string {
			if field == heard.InstantFields[0].Drop {
				return typed
			}
			return map[string]string{heard.InstantFields[1].Drop: "0"}[field]
		})
		return out[0].DropMs, len(bad) == 0
	}},
}

// TestReadAlikeEverywhere: a spelling means the same number wherever it is typed, or is refused wherever it is typed.
func TestReadAlikeEverywhere(t *testing.T) {
	t.Parallel()
	for place, r := range readers {
		read := 0
		for _, s := range figuretest.Spellings {
			if r.noLines && (strings.ContainsAny(s.Typed, "\t\n\"\ufeff") || !utf8.ValidString(s.Typed)) {
				continue
			}
			got, ok := r.read(s.Typed)
			want, _ := strconv.ParseFloat(s.Text, 64) // nought for what is refused
			switch {
			case s.Refused && ok && s.Typed != "5%": // a unit of the rate of tax
				t.Errorf("%s: %q read as %g", place, s.Typed, got)
			case !s.Refused && r.takes(want) && (!ok || got != want):
				t.Errorf("%s: %q read as %g, %t; want %g", place, s.Typed, got, ok, want)
			case ok:
				read++
			}
		}
		if read < 10 {
			t.Errorf("%s: only %d spellings lie in its range", place, read)
		}
	}
}
