package docket

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// What is taken for several watches is paid onto their invoices to the last minor unit: each is settled by it, each method
// gets what was given by it, and all the cash that was counted and all the change is found again. Histories are made up:
// how many watches, what is due or was paid beyond, and what is given by which method.
func TestSpreadLosesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		dues := rapid.SliceOfN(rapid.OneOf(rapid.Int64Range(-5000, 0), rapid.Int64Range(1, 3), rapid.Int64Range(1, 900_000)), 1, 9).Draw(t, "dues")
		sum := DueOf(dues)
		tender := drawTender(t, sum)
		s, bad := tender.Settle(sum, "EUR")
		if len(bad) > 0 {
			t.Fatalf("%+v for %d: %v", tender, sum, bad)
		}
		spread := Spread(s.Payments, dues)
		if len(spread) != len(dues) {
			t.Fatalf("%d watches, %d lists", len(dues), len(spread))
		}
		paid, given, change := map[Method]int64{}, int64(0), int64(0)
		unpaid := tender.Way == PayLater || tender.Way == ""
		for i, list := range spread {
			var onto int64
			for _, p := range list {
				if p.Minor <= 0 || p.GivenMinor != 0 && p.GivenMinor < p.Minor {
					t.Fatalf("watch %d: %+v", i, p)
				}
				onto += p.Minor
				paid[p.Method] += p.Minor
				given += p.GivenMinor
				change += p.ChangeMinor()
			}
			if want := max(0, dues[i]); !unpaid && onto != want {
				t.Fatalf("watch %d: %d is paid of %d due", i, onto, want)
			}
		}
		want := map[Method]int64{}
		var wantGiven int64
		for _, p := range s.Payments {
			want[p.Method] += p.Minor
			wantGiven += p.GivenMinor
		}
		if d := cmp.Diff(want, paid); d != "" || given != wantGiven || change != s.ChangeMinor {
			t.Fatalf("by method: %s; given %d of %d, change %d of %d", d, given, wantGiven, change, s.ChangeMinor)
		}
	})
}

// drawTender is given for sum in one of the ways that Settle takes.
func drawTender(t *rapid.T, sum int64) Tender {
	way := rapid.SampledFrom(PayWays()).Draw(t, "way")
	over := rapid.Int64Range(0, 50_000).Draw(t, "over")
	switch {
	case way == PayCash && rapid.Bool().Draw(t, "counted"):
		return Tender{Way: way, Given: sum + over}
	case way != PayInParts || sum <= 0:
		return Tender{Way: way}
	}
	card := rapid.Int64Range(0, sum).Draw(t, "card")
	transfer := rapid.Int64Range(0, sum-card).Draw(t, "transfer")
	other := rapid.Int64Range(0, sum-card-transfer).Draw(t, "other")
	tender := Tender{Way: way, Card: card, Transfer: transfer, Other: other, Note: "voucher 7"}
	if rest := sum - card - transfer - other; rest > 0 {
		tender.Given = rest + over
	}
	return tender
}

// By hand: three watches, €90.00, €0.01 and €20.00; €60.00 by card, the rest in cash of which €100.00 was counted.
func TestSpreadByHand(t *testing.T) {
	t.Parallel()
	dues := []int64{9000, 1, 2000}
	s, bad := Tender{Way: PayInParts, Given: 10000, Card: 6000}.Settle(DueOf(dues), "EUR")
	if len(bad) > 0 {
		t.Fatal(bad)
	}
	want := [][]Payment{
		{{Minor: 5001, Method: Cash, GivenMinor: 10000}, {Minor: 3999, Method: Card}},
		{{Minor: 1, Method: Card}},
		{{Minor: 2000, Method: Card}}}
	if d := cmp.Diff(want, Spread(s.Payments, dues)); d != "" {
		t.Error(d)
	}
	s, _ = Tender{Way: PayCash, Given: 20000}.Settle(DueOf(dues), "EUR")
	want = [][]Payment{{{Minor: 9000, Method: Cash, GivenMinor: 9000}}, {{Minor: 1, Method: Cash, GivenMinor: 1}},
		{{Minor: 2000, Method: Cash, GivenMinor: 2000 + 8999}}}
	if d := cmp.Diff(want, Spread(s.Payments, dues)); d != "" {
		t.Error(d)
	}
}
