package warranty_test

import (
	"testing"
	"time"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/warranty"
)

func TestMayComeBack(t *testing.T) {
	t.Parallel()
	start := day(2026, 8, 31)
	months := func(n int) warranty.Promise {
		return warranty.Promise{Stage: docket.StageHandedOver, HandedOverOn: start, Months: n}
	}
	carded := func(c *warranty.Card) warranty.Promise {
		p := months(1)
		p.Carded, p.Card = true, c
		return p
	}
	year := &warranty.Card{StartsOn: start, ExpiresOn: day(2027, 8, 31)}
	for _, tt := range []struct {
		name    string
		promise warranty.Promise
		today   time.Time
		want    bool
	}{
		{"same day", months(6), start, true},
		{"last day, in a shorter month", months(6), day(2027, 2, 28), true},
		{"a day later", months(6), day(2027, 3, 1), false},
		{"before it left", months(6), day(2026, 8, 30), false},
		{"no warranty given", months(0), start, false},
		{"still in the shop", warranty.Promise{Stage: docket.StageReady, Months: 6}, start, false},
		{"declined", warranty.Promise{Stage: docket.StageDeclined, HandedOverOn: start, Months: 6}, start, false},
		{"as signed, beyond the usual months", carded(year), day(2027, 8, 31), true},
		{"a day after what was signed", carded(year), day(2027, 9, 1), false},
		{"before it left, though signed", carded(year), day(2026, 8, 30), false},
		{"its card void, within the usual months", carded(nil), start, false},
	} {
		if got := tt.promise.MayComeBack(tt.today); got != tt.want {
			t.Errorf("%s: %v, want %v", tt.name, got, tt.want)
		}
	}
}
