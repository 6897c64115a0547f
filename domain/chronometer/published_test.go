package chronometer_test

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/chronometer"
	"ledgerwheel/domain/published"
	"ledgerwheel/domain/timing"
)

// TestPublishedRows holds the package to testdata/published.json.
func TestPublishedRows(t *testing.T) {
	t.Parallel()
	published.Hold(t, "testdata/published.json", map[string]published.Check{
		"ISO3159-EX-?": checkWorkedCase, "ISO3159-EX-A-STATES": checkStates,
		"ISO3159-LIM[12]-*": checkLimits, "ISO3159-F-[^M]*": checkFormula, "ISO3159-F-M": checkFormula,
		"ISO3159-F-Mi": checkDailyRate,
		"ISO3159-PROG": checkProgramme, "ISO3159-DAY10": checkFunctionDay, "ISO3159-DAY0": checkSettling,
		"ISO3159-TOL":     checkChamber,
		"ISO3159-CAT[12]": checkCategory, "ISO3159-CAT1-AREA": checkArea, "CONTRA-1": checkLargeMovement,
		"PUB-JP-P": checkLargestDeviation,
	}, map[string]string{
		"ISO3159-DAILY":                         "how the watch is handled, not a figure; nothing here winds a watch",
		"ISO3159-TOL relative_humidity_percent": "no humidity is asked for; by its note it is not to be enforced",
	})
}

func near(t published.T, what string, got, want, tol float64) {
	t.Helper()
	published.Near(t, what, got, want, tol)
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

func checkWorkedCase(t published.T, row published.Row) {
	var in struct {
		Rates []float64 `json:"rates_day_1_to_15"`
	}
	var want map[string]json.RawMessage
	row.Read(t, &in, &want)
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
			near(t, r.Criterion.Symbol(), r.Value.Value, figure, tol)
		}
		var fails []string
		if err := json.Unmarshal(want[fmt.Sprintf("fails_cat%d", category)], &fails); err != nil {
			t.Fatal(err)
		}
		if got := symbolsOutside(j); !slices.Equal(got, fails) {
			t.Errorf("category %d: outside %v, want %v", category, got, fails)
		}
		if got, want := j.Standing == chronometer.Pass, len(fails) == 0; got != want {
			t.Errorf("category %d: %s", category, j.Standing)
		}
	}
}

func criterionOf(t published.T, symbol string) chronometer.Criterion {
	for _, c := range chronometer.Criteria() {
		if c.Symbol() == symbol {
			return c
		}
	}
	t.Fatalf("no criterion %s", symbol)
	return ""
}

func checkLimits(t published.T, row published.Row) {
	var in struct {
		Category  chronometer.Category
		Criterion string
	}
	var want struct{ Min, Max *float64 }
	row.Read(t, &in, &want)
	symbol, _, _ := strings.Cut(in.Criterion, " ")
	l := criterionOf(t, symbol).Limits(in.Category)
	if !same(l.Lower, want.Min) || !same(l.Upper, want.Max) {
		t.Errorf("limits %v", l)
	}
}

func same(a, b *float64) bool { return a == nil && b == nil || a != nil && b != nil && *a == *b }

func checkProgramme(t published.T, row published.Row) {
	var want [][]any
	row.Read(t, nil, &want)
	got := chronometer.Programme()
	if len(got) != len(want) {
		t.Fatalf("%d days, want %d", len(got), len(want))
	}
	for i, day := range got {
		if float64(day.Number) != want[i][0] || string(day.Position) != want[i][1] || day.TemperatureC != want[i][2] {
			t.Errorf("got %v, want %v", day, want[i])
		}
	}
}

func checkFunctionDay(t published.T, row published.Row) {
	var in struct{ Day int }
	var want string
	row.Read(t, &in, &want)
	if said := fmt.Sprintf("functions that can be engaged (e.g. chronograph) run on day %d",
		chronometer.FunctionDay); want != said {
		t.Errorf("published %q, here %q", want, said)
	}
	for _, day := range chronometer.Programme() {
		if day.FunctionsEngaged != (day.Number == in.Day) {
			t.Errorf("day %d: functions engaged %v", day.Number, day.FunctionsEngaged)
		}
	}
}

func checkSettling(t published.T, row published.Row) {
	var want struct {
		TemperatureC float64 `json:"temperature_degC"`
		ToleranceC   float64 `json:"tolerance_degC"`
		MinimumHours float64 `json:"minimum_hours"`
	}
	row.Read(t, nil, &want)
	near(t, "settling", chronometer.SettlingTemperatureC, want.TemperatureC, 0)
	near(t, "settling hours", chronometer.SettlingHours, want.MinimumHours, 0)
	near(t, "tolerance", chronometer.ChamberToleranceC, want.ToleranceC, 0)
}

// checkChamber: the tolerances at 8 and 38 °C are from memory.
func checkChamber(t published.T, row published.Row) {
	var want map[string]any
	row.Read(t, nil, &want)
	for _, day := range chronometer.Programme() {
		if want[strconv.FormatFloat(day.TemperatureC, 'f', -1, 64)] != chronometer.ChamberToleranceC {
			t.Errorf("tolerance at %v °C: published %v", day.TemperatureC, want)
		}
	}
}

// checkCategory takes the threshold of the row, ">= 20" or "< 20", at it or just below.
func checkCategory(t published.T, row published.Row) {
	var in map[string]string
	var want string
	row.Read(t, &in, &want)
	for name, text := range in {
		sign, number, _ := strings.Cut(text, " ")
		x, err := strconv.ParseFloat(number, 64)
		if err != nil {
			t.Fatal(err)
		}
		if sign == "<" {
			x -= 0.01
		}
		diameter, area := x, 0.0
		if strings.Contains(name, "area") {
			diameter, area = 0, x
		}
		if got, err := chronometer.CategoryOf(diameter, area); err != nil || fmt.Sprintf("category %d", got) != want {
			t.Errorf("%s %s: category %v, want %s, %v", name, text, got, want, err)
		}
	}
}

func checkArea(t published.T, row published.Row) {
	var in struct {
		Diameter float64 `json:"diameter_mm"`
	}
	var area float64
	row.Read(t, &in, &area)
	near(t, "diameter", chronometer.Category1DiameterMm, in.Diameter, 0)
	near(t, "area of the disc", math.Pi/4*in.Diameter*in.Diameter, area, 0.001)
	near(t, "area", chronometer.Category1AreaMm2, math.Trunc(area), 0)
}

// checkLargeMovement: a forum has the two categories the wrong way round. The large movement is in the one whose
// limits are tighter.
func checkLargeMovement(t published.T, row published.Row) {
	var want string
	row.Read(t, nil, &want)
	large, err := chronometer.CategoryOf(chronometer.Category1DiameterMm, 0)
	if said := fmt.Sprintf("category %d = diameter %v mm and over (tighter limits)", large,
		chronometer.Category1DiameterMm); err != nil || want != said {
		t.Errorf("published %q, here %q, %v", want, said, err)
	}
	for _, c := range chronometer.Criteria() {
		tight, wide := c.Limits(large), c.Limits(3-large)
		if !(*tight.Upper < *wide.Upper) || tight.Lower != nil && !(*tight.Lower > *wide.Lower) {
			t.Errorf("%s: %v is not tighter than %v", c, tight, wide)
		}
	}
}

func TestCategories(t *testing.T) {
	t.Parallel()
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

// ratesOf takes the rates of clock comparisons a day apart. States are the watch less the reference, seconds.
func ratesOf(t published.T, states ...float64) chronometer.Rates {
	start := time.Date(2024, 3, 1, 9, 0, 0, 0, time.UTC)
	var list []chronometer.Comparison
	for day, e := range states {
		at := start.Add(time.Duration(day) * 24 * time.Hour)
		list = append(list, chronometer.Comparison{Day: day, Reference: at, Watch: at.Add(time.Duration(math.Round(e * 1e9))),
			StdS: 0.05})
	}
	r, err := chronometer.FromComparisons(list)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// checkStates: the states of worked case A, entered as sixteen clock comparisons, give its rates and criteria.
func checkStates(t published.T, row published.Row) {
	var in struct {
		States []float64 `json:"states_E0_to_E15"`
	}
	var want struct{ Rates []float64 }
	row.Read(t, &in, &want)
	r := ratesOf(t, in.States...)
	for i, rate := range want.Rates {
		got, ok := r.Rate(i + 1)
		if !ok {
			t.Fatalf("day %d is not known", i+1)
		}
		near(t, fmt.Sprint("day ", i+1), got.Value, rate, rounding)
	}
	near(t, "M", chronometer.Judge(1, r).Result(chronometer.MeanDailyRate).Value.Value, 1.21, rounding)
}

// checkDailyRate: a rate is the state less that of the day before, so a gain is positive; in the unit of the mean.
func checkDailyRate(t published.T, row published.Row) {
	var in struct{ Formula string }
	var unit string
	row.Read(t, &in, &unit)
	if in.Formula != "M_i = E_i - E_(i-1), E = state of the watch (fast +)" {
		t.Fatalf("another formula: %q", in.Formula)
	}
	r := ratesOf(t, 1.5, 4, 3)
	for day, want := range map[int]float64{1: 2.5, 2: -1} {
		got, ok := r.Rate(day)
		if !ok || got.Unit != unit {
			t.Errorf("day %d in %q, want %q", day, got.Unit, unit)
		}
		near(t, fmt.Sprint("day ", day), got.Value, want, rounding)
	}
}

// checkLargestDeviation: a teaching page has a mean of -1.8 and a most deviant rate of 7, which make 8.8. The other
// nine are made to fit.
func checkLargestDeviation(t published.T, row published.Row) {
	var in struct {
		Mean float64 `json:"mean_rate"`
		Most float64 `json:"most_deviant_rate"`
	}
	var want float64
	row.Read(t, &in, &want)
	j := chronometer.Judge(1, typed(t, -2.8, -2.8, -2.8, in.Most, -2.8, -2.8, -2.8, -2.8, -2.8, -2.6))
	near(t, "mean", j.Result(chronometer.MeanDailyRate).Value.Value, in.Mean, rounding)
	near(t, "P", j.Result(chronometer.LargestDeviation).Value.Value, want, rounding)
}

// publishedFormulae are the digests' formulae, by their text, of the rates of days 1 to 15 at m[1] to m[15].
var publishedFormulae = map[string]func(m []float64) float64{
	"(M1+...+M10)/10": func(m []float64) float64 { return mean(m[1:11]) },
	"(|M1-M2|+|M3-M4|+|M5-M6|+|M7-M8|+|M9-M10|)/5": func(m []float64) float64 { return mean(pairs(m)) },
	"max of the five absolute pair differences":    func(m []float64) float64 { return slices.Max(pairs(m)) },
	"(M1+M2)/2 - (M9+M10)/2":                       func(m []float64) float64 { return (m[1]+m[2])/2 - (m[9]+m[10])/2 },
	"max |Mi - M|, i = 1..10": func(m []float64) (most float64) {
		for _, x := range m[1:11] {
			most = max(most, math.Abs(x-mean(m[1:11])))
		}
		return most
	},
	"(M13 - M11)/30":  func(m []float64) float64 { return (m[13] - m[11]) / 30 },
	"M15 - (M1+M2)/2": func(m []float64) float64 { return m[15] - (m[1]+m[2])/2 },
}

func mean(x []float64) (sum float64) {
	for _, v := range x {
		sum += v / float64(len(x))
	}
	return sum
}

func pairs(m []float64) (list []float64) {
	for i := 1; i < 10; i += 2 {
		list = append(list, math.Abs(m[i]-m[i+1]))
	}
	return list
}

// checkFormula: the formula of the digests gives what is judged, on any rates; as printed here it is set with the
// same days.
func checkFormula(t published.T, row published.Row) {
	var in struct{ Criterion string }
	var text string
	row.Read(t, &in, &text)
	c, formula := criterionOf(t, in.Criterion), publishedFormulae[text]
	if formula == nil {
		t.Fatalf("%q is not among the formulae", text)
	}
	r := rand.New(rand.NewPCG(3159, 1976))
	for range 20 {
		m := make([]float64, chronometer.Days+1)
		for i := range m[1:] {
			m[i+1] = math.Round(100*r.Float64()-50) / 10
		}
		near(t, c.Symbol(), chronometer.Judge(1, typed(t, m[1:]...)).Result(c).Value.Value, formula(m), rounding)
	}
	for _, day := range []int{11, 13, 15} { // the days that tell formulae apart
		if m := fmt.Sprintf("M%d", day); strings.Contains(text, m) != strings.Contains(c.Formula(), m) ||
			strings.Contains(text, m) != slices.Contains(c.Needs(), day) {
			t.Errorf("%q against %q, days %v", c.Formula(), text, c.Needs())
		}
	}
}
