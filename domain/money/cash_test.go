package money_test

import (
	"testing"

	"ledgerwheel/domain/money"
)

// The steps of cash are the CLDR's; the sum is the Swiss television's example (SRF Espresso): 19.32 is paid as 19.30.
func TestCashGoesInSteps(t *testing.T) {
	t.Parallel()
	for code, step := range map[string]int64{"CHF": 5, "DKK": 50, "SEK": 100, "EUR": 1, "GBP": 1, "JPY": 1, "KWD": 1, "XYZ": 1, "": 1} {
		if got := money.CashStep(code); got != step {
			t.Errorf("%s goes in steps of %d, want %d", code, got, step)
		}
	}
	for minor, want := range map[int64]int64{1932: 1930, 1933: 1935, 1930: 1930, -1932: -1930, 2: 0, 3: 5, 0: 0} {
		if got := money.CashRounded(minor, "CHF"); got != want {
			t.Errorf("%d is paid as %d, want %d", minor, got, want)
		}
	}
}
