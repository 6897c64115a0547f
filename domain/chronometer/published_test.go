package chronometer_test

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/chronometer"
	"ledgerwheel/domain/timing"
)

// published is one row of testdata/published.json. Each row names its source and whether the number was read there,
// recalled ("memory") or computed from the formula named ("derived").
type published struct {
	ID         string
	Inputs     json.RawMessage
	Expected   json.RawMessage
	Source     string
	Confidence string
}

// publishedRows returns the rows whose id begins so, and notes them as used.
func publishedRows(t *testing.T, prefix string) []published {
	t.Helper()
	raw, err := os.ReadFile("testdata/published.json")
	if err != nil {
		t.Fatal(err)
	}
	var all, some []published
	if err := json.Unmarshal(raw, &all); err != nil {
		t.Fatal(err)
	}
	for _, r := range all {
		if strings.HasPrefix(r.ID, prefix) {
			some = append(some, r)
		}
	}
	if len(some) == 0 {
		t.Fatalf("no published row begins with %s", prefix)
	}
	return some
}

func (r published) decode(t *testing.T, inputs, expected any) {
	t.Helper()
	t.Logf("%s: %s (%s)", r.ID, r.Source, r.Confidence)
	for _, part := range []struct {
		raw  json.RawMessage
		into any
	}{{r.Inputs, inputs}, {r.Expected, expected}} {
		if part.into == nil {
			continue
		}
		if err := json.Unmarshal(part.raw, part.into); err != nil {
			t.Fatalf("%s: %v", r.ID, err)
		}
	}
}

// near refuses NaN.
func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: got %v, want %v within %v", what, got, want, tol)
	}
}

// rounding is allowed where exact decimals are compared through binary numbers.
const rounding = 1e-9

// typed returns rates as typed on days 1, 2, and so on, each with the step of its own decimals.
func typed(t interface {
	Helper()
	Fatal(...any)
}, rates ...float64) chronometer.Rates {
	t.Helper()
	var r chronometer.Rates
	for i, x := range rates {
		f, problem := timing.ParseFigure(timing.Rate, strconv.FormatFloat(x, 'f', -1, 64))
		if problem != "" {
			t.Fatal(problem)
		}
		if err := r.Set(i+1, *f); err != nil {
			t.Fatal(err)
		}
	}
	return r
}

func symbolsOutside(j chronometer.Judgement) []string {
	list := []string{}
	for _, r := range j.Results {
		if !r.WithinLimits() {
			list = append(list, r.Criterion.Symbol())
		}
	}
	return list
}

func TestWorkedCasesOfISO3159(t *testing.T) {
	t.Parallel()
	count := 0
	for _, row := range publishedRows(t, "ISO3159-EX-") {
		if row.ID == "ISO3159-EX-A-STATES" {
			continue // below
		}
		count++
		var in struct {
			Rates []float64 `json:"rates_day_1_to_15"`
		}
		var want map[string]json.RawMessage
		row.decode(t, &in, &want)
		rates := typed(t, in.Rates...)
		for _, category := range []chronometer.Category{chronometer.Category1, chronometer.Category2} {
			j := chronometer.Judge(category, rates)
			for _, r := range j.Results {
				var figure float64
				if err := json.Unmarshal(want[r.Criterion.Symbol()], &figure); err != nil {
					t.Fatal(err)
				}
				tol := 0.005 // the row's rounding
				if r.Criterion == chronometer.ThermalVariation {
					tol = 0.0005
				}
				near(t, row.ID+" "+r.Criterion.Symbol(), r.Value.Value, figure, tol)
			}
			var fails []string
			if err := json.Unmarshal(want[fmt.Sprintf("fails_cat%d", category)], &fails); err != nil {
				t.Fatal(err)
			}
			if got := symbolsOutside(j); !slices.Equal(got, fails) {
				t.Errorf("%s category %d: outside %v, want %v", row.ID, category, got, fails)
			}
			if got, want := j.Standing == chronometer.Pass, len(fails) == 0; got != want {
				t.Errorf("%s category %d: %s", row.ID, category, j.Standing)
			}
		}
	}
	if count != 13 {
		t.Errorf("%d worked cases were checked, want 13", count)
	}
}

func TestLimitsAgreeWithPublishedRows(t *testing.T) {
	t.Parallel()
	count := 0
	for category := 1; category <= 2; category++ {
		for _, c := range chronometer.Criteria() {
			id := fmt.Sprintf("ISO3159-LIM%d-%s", category, c.Symbol())
			for _, row := range publishedRows(t, id) {
				if row.ID != id { // V is the beginning of Vmax
					continue
				}
				count++
				var want struct{ Min, Max *float64 }
				row.decode(t, nil, &want)
				l := c.Limits(chronometer.Category(category))
				if !same(l.Lower, want.Min) || !same(l.Upper, want.Max) {
					t.Errorf("%s: limits %v", id, l)
				}
			}
		}
	}
	if count != 14 {
		t.Errorf("%d limits were checked, want 14", count)
	}
}

func same(a, b *float64) bool { return a == nil && b == nil || a != nil && b != nil && *a == *b }

func TestProgrammeAgreesWithPublishedRow(t *testing.T) {
	t.Parallel()
	var want [][]any
	publishedRows(t, "ISO3159-PROG")[0].decode(t, nil, &want)
	got := chronometer.Programme()
	if len(got) != len(want) {
		t.Fatalf("%d days, want %d", len(got), len(want))
	}
	for i, day := range got {
		if float64(day.Number) != want[i][0] || string(day.Position) != want[i][1] || day.TemperatureC != want[i][2] {
			t.Errorf("got %v, want %v", day, want[i])
		}
	}
	var functions struct{ Day int }
	publishedRows(t, "ISO3159-DAY10")[0].decode(t, &functions, nil)
	for _, day := range got {
		if day.FunctionsEngaged != (day.Number == functions.Day) || functions.Day != chronometer.FunctionDay {
			t.Errorf("day %d: functions engaged %v", day.Number, day.FunctionsEngaged)
		}
	}
	var settling struct {
		TemperatureC float64 `json:"temperature_degC"`
		ToleranceC   float64 `json:"tolerance_degC"`
		MinimumHours float64 `json:"minimum_hours"`
	}
	publishedRows(t, "ISO3159-DAY0")[0].decode(t, nil, &settling)
	near(t, "settling", chronometer.SettlingTemperatureC, settling.TemperatureC, 0)
	near(t, "settling hours", chronometer.SettlingHours, settling.MinimumHours, 0)
	near(t, "tolerance", chronometer.ChamberToleranceC, settling.ToleranceC, 0)
	var chamber map[string]any
	publishedRows(t, "ISO3159-TOL")[0].decode(t, nil, &chamber) // 8 and 38 °C from memory
	for _, day := range got {
		if chamber[strconv.FormatFloat(day.TemperatureC, 'f', -1, 64)] != chronometer.ChamberToleranceC {
			t.Errorf("tolerance at %v °C: published %v", day.TemperatureC, chamber)
		}
	}
}

func TestCategoriesAgreeWithPublishedRows(t *testing.T) {
	t.Parallel()
	var area float64
	publishedRows(t, "ISO3159-CAT1-AREA")[0].decode(t, nil, &area)
	near(t, "area of the 20 mm disc", math.Pi/4*chronometer.Category1DiameterMm*chronometer.Category1DiameterMm, area, 0.001)
	publishedRows(t, "CONTRA-1")[0].decode(t, nil, nil)
	for _, tc := range []struct {
		diameter, area float64
		want           chronometer.Category
	}{
		{20, 0, 1}, {19.99, 0, 2}, {25.6, 0, 1}, {0, 314, 1}, {0, 313.9, 2}, {20, 314.159, 1}, {15.3, 183, 2}, {18, 320, 1},
	} {
		got, err := chronometer.CategoryOf(tc.diameter, tc.area)
		if err != nil || got != tc.want {
			t.Errorf("%v mm, %v mm²: got %v, %v", tc.diameter, tc.area, got, err)
		}
	}
	for _, bad := range [][2]float64{{0, 0}, {-1, 0}, {math.NaN(), 320}, {math.Inf(1), 0}} {
		if got, err := chronometer.CategoryOf(bad[0], bad[1]); err == nil {
			t.Errorf("%v: accepted as %v", bad, got)
		}
	}
}

// The states of worked case A, entered as sixteen clock comparisons, give its rates and criteria.
func TestStatesGiveTheRatesOfWorkedCaseA(t *testing.T) {
	t.Parallel()
	var in struct {
		States []float64 `json:"states_E0_to_E15"`
	}
	var want struct{ Rates []float64 }
	publishedRows(t, "ISO3159-EX-A-STATES")[0].decode(t, &in, &want)
	start := time.Date(2024, 3, 1, 9, 0, 0, 0, time.UTC)
	var list []chronometer.Comparison
	for day, e := range in.States {
		at := start.Add(time.Duration(day) * 24 * time.Hour)
		list = append(list, chronometer.Comparison{Day: day, Reference: at, Watch: at.Add(time.Duration(math.Round(e * 1e9))), StdS: 0.05})
	}
	r, err := chronometer.FromComparisons(list)
	if err != nil {
		t.Fatal(err)
	}
	for i, rate := range want.Rates {
		got, ok := r.Rate(i + 1)
		if !ok {
			t.Fatalf("day %d is not known", i+1)
		}
		near(t, fmt.Sprint("day ", i+1), got.Value, rate, rounding)
	}
	near(t, "M", chronometer.Judge(1, r).Result(chronometer.MeanDailyRate).Value.Value, 1.21, rounding)
}

// Teaching page: a mean of -1.8 and a most deviant rate of 7 make 8.8. The other nine are made to fit.
func TestLargestDeviationAgreesWithTeachingPage(t *testing.T) {
	t.Parallel()
	var in struct {
		Mean float64 `json:"mean_rate"`
		Most float64 `json:"most_deviant_rate"`
	}
	var want float64
	publishedRows(t, "PUB-JP-P")[0].decode(t, &in, &want)
	j := chronometer.Judge(1, typed(t, -2.8, -2.8, -2.8, in.Most, -2.8, -2.8, -2.8, -2.8, -2.8, -2.6))
	near(t, "mean", j.Result(chronometer.MeanDailyRate).Value.Value, in.Mean, rounding)
	near(t, "P", j.Result(chronometer.LargestDeviation).Value.Value, want, rounding)
}

// The formulae as printed on the page are those of the digests, set with the same days.
func TestFormulaeAreStatedForEveryCriterion(t *testing.T) {
	t.Parallel()
	for _, row := range publishedRows(t, "ISO3159-F-") {
		if row.ID == "ISO3159-F-Mi" {
			continue // FromComparisons, above
		}
		var in struct{ Criterion string }
		row.decode(t, &in, nil)
		i := slices.IndexFunc(chronometer.Criteria(), func(c chronometer.Criterion) bool { return c.Symbol() == in.Criterion })
		if i < 0 {
			t.Errorf("%s: no criterion %s", row.ID, in.Criterion)
			continue
		}
		c := chronometer.Criteria()[i]
		var text string
		if err := json.Unmarshal(row.Expected, &text); err != nil {
			t.Fatal(err)
		}
		for _, day := range []int{11, 13, 15} { // the days that tell formulae apart
			if m := fmt.Sprintf("M%d", day); strings.Contains(text, m) != strings.Contains(c.Formula(), m) ||
				strings.Contains(text, m) != slices.Contains(c.Needs(), day) {
				t.Errorf("%s: %q against %q, days %v", row.ID, c.Formula(), text, c.Needs())
			}
		}
	}
}
