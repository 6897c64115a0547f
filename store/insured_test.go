package store_test

import (
	"fmt"
	"maps"
	"math/rand/v2"
	"testing"

	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/insured"
	"ledgerwheel/domain/loan"
	"ledgerwheel/store"
	"ledgerwheel/store/storetest"
)

// What the page adds up is what comes of walking every docket, watch by watch, after moves and departures.
func TestValueAtRiskRecomputed(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	ctx := t.Context()
	random := rand.New(rand.NewPCG(3, 41))
	at := []docket.Place{docket.PlaceAt(docket.PlaceSafe, ""), docket.PlaceAt(docket.PlaceCounter, ""), docket.PlaceAt(docket.PlaceBench, "1"),
		docket.PlaceAt(docket.PlaceBench, "2"), docket.PlaceAt(docket.PlaceSentOut, "Gannet Dialworks")}
	var numbers []docket.Number
	for i := range 30 {
		in := c.takingIn()
		in.Customer = customer.Customer{Name: fmt.Sprintf("Customer %d", i), PreferredContact: customer.ContactPost, Address: fmt.Sprintf("%d Quay", i)}.Tidied("GB")
		in.Watch.Serial = fmt.Sprintf("V %d9", i*17)
		if i%3 > 0 {
			minor := int64(random.IntN(900_000))
			in.Intake.DeclaredValueMinor = &minor
		}
		if i%7 == 0 {
			in.Shop.Currency = "CHF"
		}
		n, sheet := c.mustTakeIn(t, in)
		numbers = append(numbers, n)
		if p := at[random.IntN(len(at))]; p.Kind != docket.PlaceSafe {
			if err := c.MoveWatch(ctx, store.Change{Number: n, Version: sheet.Head.Docket.Version, By: c.clerk, At: c.at}, p); err != nil {
				t.Fatal(err)
			}
		}
	}
	for _, n := range numbers[:4] {
		if _, err := c.Pool().Exec(ctx, `UPDATE docket SET open = false, place = 'with-customer', place_detail = '' WHERE number = $1`, n.String()); err != nil {
			t.Fatal(err)
		}
	}
	if err := c.KeepLoanWatch(ctx, loan.Watch{Maker: "Pellwarne", ValueMinor: 12000, Currency: "EUR", State: "no marks"}, c.clerk, c.at); err != nil {
		t.Fatal(err)
	}
	type key struct {
		place    docket.PlaceKind
		currency string
	}
	want := map[key]insured.Held{{"", "EUR"}: {Currency: "EUR", Watches: 1, Minor: 12000}}
	for _, n := range numbers {
		h, err := c.Head(ctx, n)
		if err != nil {
			t.Fatal(err)
		}
		if h.Docket.Place.Kind == docket.PlaceCustomer {
			continue
		}
		k := key{h.Docket.Place.Kind, h.Docket.Currency}
		sum := want[k]
		sum.Place, sum.Currency, sum.Watches = k.place, k.currency, sum.Watches+1
		if v := h.Docket.DeclaredValueMinor; v != nil {
			sum.Minor += *v
		} else {
			sum.Undeclared++
		}
		want[k] = sum
	}
	risk, err := c.AtRisk(ctx)
	if err != nil {
		t.Fatal(err)
	}
	got := map[key]insured.Held{}
	for _, h := range risk.Held {
		got[key{h.Place, h.Currency}] = h
	}
	if !maps.Equal(got, want) {
		t.Errorf("got  %v\nwant %v", got, want)
	}
	if len(want) < 6 {
		t.Fatalf("too few places to tell anything: %v", want)
	}
}

// The newest saving holds, in one currency, and all of them stay in the record.
func TestLimitsAreKeptBySaving(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	for _, minor := range []map[insured.Limit]int64{{insured.Safe: 5, insured.Item: 7}, {insured.Safe: 9, insured.Unlocked: 1, insured.InAll: 2, insured.Bench: 3, insured.Counter: 4, insured.SentOut: 6}} {
		if err := c.SaveLimits(t.Context(), insured.Limits{Currency: "EUR", Minor: minor}, c.clerk, c.at); err != nil {
			t.Fatal(err)
		}
		sheet, err := c.RiskSheet(t.Context(), "EUR")
		if err != nil || !maps.Equal(sheet.Limits.Minor, minor) || sheet.KeptBy == "" || !sheet.KeptAt.Equal(c.at) {
			t.Errorf("%+v %v", sheet, err)
		}
	}
	storetest.Whole(t, c.Store)
}
