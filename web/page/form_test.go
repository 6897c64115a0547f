package page_test

import (
	"net/url"
	"strconv"
	"strings"
	"testing"

	"ledgerwheel/domain/figure/figuretest"
	"ledgerwheel/web/page"
)

func typed(x string) *page.Form {
	return &page.Form{Values: url.Values{"x": {x}}, Problems: map[string]string{}}
}

// TestFormsReadNumbersAlike: a form's decimals are read by the one table of spellings.
func TestFormsReadNumbersAlike(t *testing.T) {
	t.Parallel()
	for _, s := range figuretest.Spellings {
		if strings.TrimSpace(s.Typed) == "" {
			continue // an empty field is each form's own matter
		}
		f := typed(s.Typed)
		x := f.Decimal("x")
		got, ok := page.OrZero(x), x != nil && f.OK()
		want, _ := strconv.ParseFloat(s.Text, 64) // nought for what is refused
		if ok == s.Refused || ok && got != want {
			t.Errorf("%q read as %g, %t; want %g", s.Typed, got, ok, want)
		}
	}
}

func TestWholeNumbersOfForms(t *testing.T) {
	t.Parallel()
	for written, problem := range map[string]string{
		"": "", "1 200": "", "12": "", "1e3": "Give a whole number.", "1.5": "Give a whole number.",
		"1.200": "“1.200” can be read as 1200 or as 1.200. Write it without the thousands mark.",
	} {
		f := typed(written)
		if f.Int("x"); f.Problems["x"] != problem {
			t.Errorf("%q: %q, want %q", written, f.Problems["x"], problem)
		}
	}
}
