package insured_test

import (
	"strings"
	"testing"

	"pgregory.net/rapid"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/insured"
)

var places = []docket.PlaceKind{docket.PlaceCounter, docket.PlaceSafe, docket.PlaceBench, docket.PlaceSentOut}

func limits() insured.Limits {
	return insured.Limits{Currency: "GBP", Minor: map[insured.Limit]int64{insured.Safe: 1_200_000, insured.Bench: 300_000, insured.Unlocked: 350_000,
		insured.InAll: 1_500_000, insured.Item: 500_000}}
}

// A worked example, by hand: £9,000 in the safe, £2,500 on benches, £800 at the counter, €4,000 in the safe.
func TestWhatAWatchBringsOverALimit(t *testing.T) {
	held := []insured.Held{{Place: docket.PlaceSafe, Currency: "GBP", Watches: 7, Undeclared: 2, Minor: 900_000},
		{Place: docket.PlaceSafe, Currency: "EUR", Watches: 1, Minor: 400_000}, {Place: docket.PlaceBench, Currency: "GBP", Watches: 3, Minor: 250_000},
		{Place: docket.PlaceCounter, Currency: "GBP", Watches: 1, Minor: 80_000}, {Place: "", Currency: "GBP", Watches: 2, Minor: 28_000}}
	value := func(minor int64) *int64 { return &minor }
	for name, tt := range map[string]struct {
		c    insured.Coming
		want string
	}{
		"room enough":          {insured.Coming{value(200_000), "GBP", "", docket.PlaceSafe}, ""},
		"exactly to the limit": {insured.Coming{value(242_000), "GBP", "", docket.PlaceSafe}, ""},
		"in all":               {insured.Coming{value(242_001), "GBP", "", docket.PlaceSafe}, "In all it would be £15,000.01: £0.01 above the insurer's limit of £15,000.00."},
		"safe, in all, and one": {insured.Coming{value(600_000), "GBP", "", docket.PlaceSafe}, "The safe would hold £15,000.00: £3,000.00 above the insurer's limit of £12,000.00. " +
			"In all it would be £18,580.00: £3,580.00 above the insurer's limit of £15,000.00. This watch alone is £1,000.00 above the insurer's limit of £5,000.00 for one watch."},
		"to a bench":         {insured.Coming{value(60_000), "GBP", docket.PlaceSafe, docket.PlaceBench}, "The bench would hold £3,100.00: £100.00 above the insurer's limit of £3,000.00. Out of the safe it would be £3,900.00: £400.00 above the insurer's limit of £3,500.00."},
		"counter to bench":   {insured.Coming{value(80_000), "GBP", docket.PlaceCounter, docket.PlaceBench}, "The bench would hold £3,300.00: £300.00 above the insurer's limit of £3,000.00."},
		"where it lies":      {insured.Coming{value(600_000), "GBP", docket.PlaceBench, docket.PlaceBench}, ""},
		"sent out, no limit": {insured.Coming{value(600_000), "GBP", docket.PlaceBench, docket.PlaceSentOut}, ""},
		"to the customer":    {insured.Coming{value(600_000), "GBP", docket.PlaceBench, docket.PlaceCustomer}, ""},
		"no value":           {insured.Coming{nil, "GBP", "", docket.PlaceSafe}, ""},
		"another currency":   {insured.Coming{value(9_000_000), "EUR", "", docket.PlaceSafe}, ""},
	} {
		var said []string
		for _, o := range limits().Brings(held, tt.c) {
			said = append(said, o.Sentence("en-GB", true))
		}
		if got := strings.Join(said, " "); got != tt.want {
			t.Errorf("%s: %q, want %q", name, got, tt.want)
		}
	}
	sum := insured.Sum(held, insured.InAll, "GBP")
	if sum.Minor != 1_258_000 || sum.Watches != 13 || sum.Undeclared != 2 {
		t.Errorf("in all: %+v", sum)
	}
	if got := insured.Currencies(held, "CHF"); strings.Join(got, " ") != "CHF EUR GBP" {
		t.Errorf("currencies: %v", got)
	}
}

// What a watch brings over a limit is exceeded after it came, and was exceeded less before; what it does not, is no more
// exceeded after than before.
func TestBringsAgreesWithExceeded(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := insured.Limits{Currency: "GBP", Minor: map[insured.Limit]int64{}}
		for _, of := range insured.AllLimits {
			if of != insured.Item && rapid.Bool().Draw(t, "limited") {
				l.Minor[of] = rapid.Int64Range(0, 500).Draw(t, string(of))
			}
		}
		var held []insured.Held
		for _, p := range places {
			held = append(held, insured.Held{Place: p, Currency: rapid.SampledFrom([]string{"GBP", "EUR"}).Draw(t, "currency"), Minor: rapid.Int64Range(0, 400).Draw(t, "held")})
		}
		minor := rapid.Int64Range(0, 200).Draw(t, "value")
		c := insured.Coming{Minor: &minor, Currency: "GBP", From: rapid.SampledFrom(append(places, "")).Draw(t, "from"), To: rapid.SampledFrom(places).Draw(t, "to")}
		after := append(append([]insured.Held{}, held...), insured.Held{Place: c.To, Currency: c.Currency, Minor: minor})
		if c.From != "" {
			after = append(after, insured.Held{Place: c.From, Currency: c.Currency, Minor: -minor})
		}
		by := func(held []insured.Held) map[insured.Limit]int64 {
			over := map[insured.Limit]int64{}
			for _, o := range l.Exceeded(held) {
				over[o.Limit] = o.ByMinor()
			}
			return over
		}
		was, now := by(held), by(after)
		brings := map[insured.Limit]bool{}
		for _, o := range l.Brings(held, c) {
			brings[o.Limit] = true
			if now[o.Limit] != o.ByMinor() {
				t.Fatalf("%s: %d over said, %d after", o.Limit, o.ByMinor(), now[o.Limit])
			}
		}
		for _, of := range insured.AllLimits {
			if brings[of] != (now[of] > was[of]) {
				t.Fatalf("%s: %d over before, %d after, said: %v", of, was[of], now[of], brings[of])
			}
		}
	})
}

func TestLimitsThatCantStand(t *testing.T) {
	good := limits()
	if bad := good.Problems(); len(bad) > 0 {
		t.Errorf("good limits: %v", bad)
	}
	if want := "The insurer's limits: safe 12000.00 GBP, bench 3000.00 GBP, out of the safe 3500.00 GBP, in all 15000.00 GBP, one watch 5000.00 GBP."; good.KeptSummary() != want {
		t.Errorf("summary: %q", good.KeptSummary())
	}
	for field, l := range map[string]insured.Limits{"currency": {Currency: "X"}, "safe": {Currency: "GBP", Minor: map[insured.Limit]int64{insured.Safe: -1}}} {
		if l.Problems()[field] == "" {
			t.Errorf("%s stands", field)
		}
	}
}
