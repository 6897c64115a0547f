package web

import (
	"net/url"
	"strconv"
	"strings"
	"testing"

	"ledgerwheel/domain/figure/figuretest"
)

// TestFormsReadNumbersAlike: the helpers of forms and bench tools read the one table of spellings; what was typed stays.
func TestFormsReadNumbersAlike(t *testing.T) {
	t.Parallel()
	readers := map[string]func(f *form) (float64, bool){
		"decimal": func(f *form) (float64, bool) {
			x := f.decimal("x")
			return orZero(x), x != nil && f.OK()
		},
		"measured": func(f *form) (float64, bool) {
			r := newMeasuredReader(f.Values)
			v := r.measured("x", "mm")
			return v.Value, len(r.bad) == 0
		},
		"measured around": func(f *form) (float64, bool) {
			typed := f.Raw("x")
			f.Values.Set("x", typed+" ± 0,1")
			r := newMeasuredReader(f.Values)
			v := r.measured("x", "mm")
			return v.Value, len(r.bad) == 0 && typed != ""
		},
		"spring": func(f *form) (float64, bool) {
			x := springForm{f.Values, map[string]string{}}.mm("x")
			return x, x == x
		},
		"uncertainty": func(f *form) (float64, bool) {
			r := benchReader{f.Values, map[string]string{}}
			return r.figure("x")
		},
	}
	for place, read := range readers {
		for _, s := range figuretest.Spellings {
			if strings.TrimSpace(s.Typed) == "" {
				continue // an empty field is each form's own matter
			}
			got, ok := read(&form{Values: url.Values{"x": {s.Typed}}, Problems: map[string]string{}})
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
		f := &form{Values: url.Values{"x": {typed}}, Problems: map[string]string{}}
		if f.Int("x"); f.Problems["x"] != problem {
			t.Errorf("%q: %q, want %q", typed, f.Problems["x"], problem)
		}
	}
}
