package toolset

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
		"spring": func(v url.Values) (float64, bool) {
			x := springForm{v, map[string]string{}}.mm("x")
			return x, x == x
		},
		"uncertainty": func(v url.Values) (float64, bool) {
			r := benchReader{v, map[string]string{}}
			return r.figure("x")
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
