package counter_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ledgerwheel/web/webtest"
)

// What the server will save is said back as it is typed, by the reader that will save it: one reading, or both.
func TestAmountsAreSaidBack(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.TakeIn()
	clerk := s.As(s.Clerk)
	for _, tt := range []struct{ typed, currency, want string }{
		{"1500", "GBP", "£1,500.00: one thousand five hundred GBP"},
		{"1.50", "GBP", "£1.50: one and 50/100 GBP"},
		{"120000", "", "€120,000.00: one hundred twenty thousand EUR"},
		{"1.500", "GBP", "can be read as £1.50 or as £1,500.00"},
		{"1.5", "JPY", "Give whole yen."},
		{"a lot", "GBP", "Give an amount"},
		{"<b>", "GBP", "Give an amount"},
		{"", "GBP", ""},
	} {
		q := url.Values{"q": {tt.typed}, "currency": {tt.currency}}
		got := strings.TrimSpace(clerk.Get("/said/money?" + q.Encode()).Want(http.StatusOK).Body)
		if !strings.Contains(got, tt.want) || (tt.want == "") != (got == "") {
			t.Errorf("%q %s: says %q, want %q", tt.typed, tt.currency, got, tt.want)
		}
	}
	for _, at := range []string{"/intake", "/dockets/" + number + "/intake", "/dockets/" + number + "/hand-over"} {
		page := clerk.Get(at).Want(http.StatusOK)
		if n := strings.Count(page.Body, `data-suggest-url="/said/money?currency=EUR"`); n < 2 {
			t.Errorf("%s says back %d amounts", at, n)
		}
	}
}

// Each amount that was once taken for a thousand times as much is refused with both readings, and kept as typed.
func TestTwofoldSumsAreRefusedAtTheCounter(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	for _, field := range []string{"declared_value", "approval_limit"} {
		for _, typed := range []string{"1.500", "120.000"} {
			refused := s.As(s.Clerk).Post("/intake", webtest.CounterForm(field, typed)).Want(http.StatusUnprocessableEntity)
			if got := refused.Problem(field); !strings.Contains(got, "can be read as") || refused.Value(field) != typed {
				t.Errorf("%s %s: says %q, keeps %q", field, typed, got, refused.Value(field))
			}
		}
	}
}
