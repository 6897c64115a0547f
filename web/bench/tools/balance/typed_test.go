package balance

import (
	"net/url"
	"strconv"
	"strings"
	"testing"

	"ledgerwheel/domain/figure/figuretest"
)

// TestToolsReadNumbersAlike: the helpers of bench tools read the one table of spellings; what was typed stays.
func TestToolsReadNumbersAlike(t *testing.T) {
	t.Parallel()
	readers := map[string]func(v url.Values) (float64, bool){
		"measured": func(v url.Values) (float64, bool) {
			r := newMeasuredReader(v)
			x := r.measured("x", "mm")
			return x.Value, len(r.Bad) == 0
		},
		"measured around": func(v url.Values) (float64, bool) {
			typed := v.Get("x")
			v.Set("x", typed+" ± 0,1")
			r := newMeasuredReader(v)
			x := r.measured("x", "mm")
			return x.Value, len(r.Bad) == 0 && typed != ""
		},
	}
	for place, read := range readers {
		for _, s := range figuretest.Spellings {
			if strings.TrimSpace(s.Typed) == "" {
				continue // an empty field is each form's own matter
			}
			got, ok := read(url.Values{"x": {s.Typed}})
			want, _ := strconv.ParseFloat(s.Text, 64) // nought for what is refused
			if ok == s.Refused || ok && got != want {
				t.Errorf("%s: %q read as %g, %t; want %g", place, s.Typed, got, ok, want)
			}
		}
	}
}

func TestMeasuredFigures(t *testing.T) {
	t.Parallel()
	for typed, want := range map[string][2]float64{
		"12.3": {12.3, 0.1 / 3.4641016151377544}, "12,3 ± 0,2": {12.3, 0.1}, "−45 +/- 1": {-45, 0.5},
		"18 000 ± 0": {18000, 0}, "+3": {3, 1 / 3.4641016151377544},
	} {
		r := newMeasuredReader(url.Values{"x": {typed}})
		got := r.measured("x", "mm")
		if d := got.StdUncertainty - want[1]; got.Value != want[0] || d > 1e-12 || d < -1e-12 || len(r.Bad) > 0 {
			t.Errorf("%q is read as %+v, %v", typed, got, r.Bad)
		}
	}
	for _, typed := range []string{"twelve", "1e5", "NaN", "--3", "1.2.3", "3 ± x", "3 ± −1", "±",
		strings.Repeat("9", 40)} {
		r := newMeasuredReader(url.Values{"x": {typed}})
		if r.measured("x", "mm"); r.Bad["x"] == "" {
			t.Errorf("%q is taken for a figure", typed)
		}
	}
}
