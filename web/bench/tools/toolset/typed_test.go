package toolset

import (
	"net/url"
	"strconv"
	"strings"
	"testing"

	"ledgerwheel/domain/figure/figuretest"
	"ledgerwheel/web/page"
)

// TestFormsReadNumbersAlike: the helpers of forms and bench tools read the one table of spellings; what was typed stays.
func TestFormsReadNumbersAlike(t *testing.T) {
	t.Parallel()
	readers := map[string]func(f *page.Form) (float64, bool){
		"decimal": func(f *page.Form) (float64, bool) {
			x := f.Decimal("x")
			return page.OrZero(x), x != nil && f.OK()
		},
		"measured": func(f *page.Form) (float64, bool) {
			r := newMeasuredReader(f.Values)
			v := r.measured("x", "mm")
			return v.Value, len(r.Bad) == 0
		},
		"measured around": func(f *page.Form) (float64, bool) {
			typed := f.Raw("x")
			f.Values.Set("x", typed+" ± 0,1")
			r := newMeasuredReader(f.Values)
			v := r.measured("x", "mm")
			return v.Value, len(r.Bad) == 0 && typed != ""
		},
		"spring": func(f *page.Form) (float64, bool) {
			x := springForm{f.Values, map[string]string{}}.mm("x")
			return x, x == x
		},
		"uncertainty": func(f *page.Form) (float64, bool) {
			r := benchReader{f.Values, map[string]string{}}
			return r.figure("x")
		},
	}
	for place, read := range readers {
		for _, s := range figuretest.Spellings {
			if strings.TrimSpace(s.Typed) == "" {
				continue // an empty field is each form's own matter
			}
			got, ok := read(&page.Form{Values: url.Values{"x": {s.Typed}}, Problems: map[string]string{}})
			want, _ := strconv.ParseFloat(s.Text, 64) // nought for what is refused
			if ok == s.Refused || ok && got != want {
				t.Errorf("%s: %q read as %g, %t; want %g", place, s.Typed, got, ok, want)
			}
		}
	}
}

func TestWholeNumbersOfForms(t *testing.T) {
	t.Parallel()
	for typed, problem := range map[string]string{
		"": "", "1 200": "", "12": "", "1e3": "Give a whole number.", "1.5": "Give a whole number.",
		"1.200": "“1.200” can be read as 1200 or as 1.200. Write it without the thousands mark.",
	} {
		f := &page.Form{Values: url.Values{"x": {typed}}, Problems: map[string]string{}}
		if f.Int("x"); f.Problems["x"] != problem {
			t.Errorf("%q: %q, want %q", typed, f.Problems["x"], problem)
		}
	}
}

func TestMeasuredFigures(t *testing.T) {
	t.Parallel()
	for typed, want := range map[string][2]float64{
		"12.3": {12.3, 0.1 / 3.4641016151377544}, "12,3 ± 0,2": {12.3, 0.1}, "−45 +/- 1": {-45, 0.5}, "18 000 ± 0": {18000, 0}, "+3": {3, 1 / 3.4641016151377544},
	} {
		r := newMeasuredReader(url.Values{"x": {typed}})
		got := r.measured("x", "mm")
		if d := got.StdUncertainty - want[1]; got.Value != want[0] || d > 1e-12 || d < -1e-12 || len(r.Bad) > 0 {
			t.Errorf("%q is read as %+v, %v", typed, got, r.Bad)
		}
	}
	for _, typed := range []string{"twelve", "1e5", "NaN", "--3", "1.2.3", "3 ± x", "3 ± −1", "±", strings.Repeat("9", 40)} {
		r := newMeasuredReader(url.Values{"x": {typed}})
		if r.measured("x", "mm"); r.Bad["x"] == "" {
			t.Errorf("%q is taken for a figure", typed)
		}
	}
}
