package docket_test

import (
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"ledgerwheel/domain/docket"
)

// A number with the check digit of ISO/IEC 7812-1, annex B, is refused however it is grouped; one digit wrong, and it is no
// card's. The formula is worked here from the right, on its own.
func TestCardNumbersAreNeverKept(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		digits := rapid.StringMatching(`[1-9][0-9]{11,17}`).Draw(t, "digits")
		sum := 0
		for i := range len(digits) {
			d := int(digits[len(digits)-1-i] - '0')
			if i%2 == 0 {
				d = d/5 + d*2%10
			}
			sum += d
		}
		check := (10 - sum%10) % 10
		card, other := digits+strconv.Itoa(check), digits+strconv.Itoa((check+1)%10)
		group := func(s string) string {
			var parts []string
			for len(s) > 4 {
				parts, s = append(parts, s[:4]), s[4:]
			}
			return strings.Join(append(parts, s), rapid.SampledFrom([]string{"", " ", "-"}).Draw(t, "between"))
		}
		for note, refused := range map[string]bool{"paid with " + group(card) + ", thanks": true, "voucher " + group(other): false} {
			p := docket.Payment{Minor: 5, Method: docket.Card, Note: note}
			if got := p.Problems(0, 5)["note"] != ""; got != refused {
				t.Fatalf("%q refused: %v", note, got)
			}
			_, bad := docket.Tender{Way: docket.PayInParts, Other: 5, Note: note}.Settle(5, "GBP")
			if got := bad["given-note"] != ""; got != refused {
				t.Fatalf("tender: %q refused: %v", note, got)
			}
		}
	})
	for _, kept := range []string{"order 12345", "01632 960123 rung", ""} {
		if (docket.Payment{Minor: 5, Method: docket.Card, Note: kept}).Problems(0, 5)["note"] != "" {
			t.Errorf("%q is refused", kept)
		}
	}
}

// Cash settles to the step in which it goes; what that gives or forgives is kept and makes the account even.
func TestCashIsRounded(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		dues := rapid.SliceOfN(rapid.Int64Range(0, 30_000), 1, 4).Draw(t, "dues")
		due := docket.DueOf(dues)
		tender := docket.Tender{Way: docket.PayCash}
		if rapid.Bool().Draw(t, "parts") && due > 0 {
			tender = docket.Tender{Way: docket.PayInParts, Given: due + 5, Card: rapid.Int64Range(0, due-1).Draw(t, "card")}
		}
		s, bad := tender.Settle(due, "CHF")
		if len(bad) > 0 {
			t.Fatal(bad)
		}
		for i, payments := range docket.Spread(s.Payments, dues) {
			left := dues[i]
			for _, p := range payments {
				left -= p.Minor - p.RoundedMinor
			}
			if left != 0 {
				t.Fatalf("%d of %d is left: %+v", left, dues[i], payments)
			}
		}
		for _, p := range s.Payments {
			if p.Method == docket.Cash && (p.Minor%5 != 0 || p.RoundedMinor < -2 || p.RoundedMinor > 2) {
				t.Fatalf("%+v", p)
			}
		}
	})
	// The Swiss television's example (SRF Espresso): 19.32 is paid as 19.30.
	if s, _ := (docket.Tender{Way: docket.PayCash}).Settle(1932, "CHF"); s.Payments[0].Minor != 1930 || s.Payments[0].RoundedMinor != -2 {
		t.Errorf("%+v", s)
	}
	if s, _ := (docket.Tender{Way: docket.PayCard}).Settle(1932, "CHF"); s.Payments[0].Minor != 1932 || s.Payments[0].RoundedMinor != 0 {
		t.Errorf("by card: %+v", s)
	}
	if s, _ := (docket.Tender{Way: docket.PayCash}).Settle(1932, "GBP"); s.Payments[0].Minor != 1932 {
		t.Errorf("in pounds: %+v", s)
	}
}
