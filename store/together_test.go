package store_test

import (
	"errors"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/finaltest"
	"ledgerwheel/domain/visit"
	"ledgerwheel/store"
	"ledgerwheel/store/storetest"
)

// threeReady is a bench with three watches of one visit, each ready with 90 euros due, in the order of their numbers. The last
// stays at its final test where ready says 2.
func threeReady(t *testing.T, ready int) (*bench, []docket.Number, visit.Number) {
	t.Helper()
	b := newBench(t)
	numbers := []docket.Number{b.n}
	first := b.head(t)
	for _, serial := range []string{"88-1", "88-2"} {
		in := b.takingIn()
		in.CustomerID, in.With, in.Condition, in.Watch.Serial = first.Customer.ID, numbers[0], noMarks, serial
		n, _ := b.mustTakeIn(t, in)
		numbers = append(numbers, n)
	}
	for i, n := range numbers {
		b.n = n
		b.toFinalTest(t)
		b.mustTest(t, passed(), finaltest.OutcomePass)
		if i < ready {
			b.mustMove(t, b.watchmaker, docket.StageReady, docket.PlaceSafe, "", "")
		}
	}
	b.n = numbers[0]
	return b, numbers, visit.Number(first.VisitID)
}

// together has these leave against the visit's ticket, as they stand now.
func (b *bench) together(t *testing.T, by store.Actor, v visit.Number, pay docket.Tender, numbers ...docket.Number) store.Together {
	t.Helper()
	out := store.Together{Visit: v, By: by, At: b.at.Add(time.Minute),
		Leaving: docket.Leaving{CollectedBy: "Ada Quillmarsh", Ticket: "http://localhost/v/" + v.Compact(), Pay: pay}}
	for _, n := range numbers {
		h, err := b.Head(t.Context(), n)
		if err != nil {
			t.Fatal(err)
		}
		out.Going = append(out.Going, store.Going{Number: n, Version: h.Docket.Version, OldParts: docket.OldPartsReturned})
	}
	return out
}

func (b *bench) sheets(t *testing.T, v visit.Number) []store.HandOverSheet {
	t.Helper()
	ctx, count := storetest.CountRoundTrips(t.Context())
	got, err := b.VisitLeaving(ctx, v)
	if err != nil || count.Trips() != 2 {
		t.Fatalf("%d round trips: %v", count.Trips(), err)
	}
	return got.Sheets
}

// Two of three go for one payment in cash and by card; the third stays with its ticket, and goes later by the same.
func TestTwoOfThreeLeaveTogether(t *testing.T) {
	t.Parallel()
	b, n, v := threeReady(t, 3)
	in := b.together(t, b.owner, v, docket.Tender{Way: docket.PayInParts, Given: 15000, Card: 5000}, n[0], n[1])
	in.Leaving.IssueCard = true
	due := int64(18000)
	in.SeenDueMinor = &due
	ctx, count := storetest.CountRoundTrips(t.Context())
	if err := b.HandOverTogether(ctx, in); err != nil {
		t.Fatal(err)
	}
	t.Logf("two watches with their cards: %d round trips", count.Trips())
	sheets := b.sheets(t, v)
	want := [][]store.PaymentRow{
		{{Minor: 9000, Method: docket.Cash, Given: 9000}},
		{{Minor: 4000, Method: docket.Cash, Given: 6000}, {Minor: 5000, Method: docket.Card}}, nil}
	for i, s := range sheets {
		if len(s.Payments) != len(want[i]) {
			t.Fatalf("watch %d was paid by %+v", i+1, s.Payments)
		}
		for k, p := range s.Payments {
			if w := want[i][k]; p.Minor != w.Minor || p.Method != w.Method || p.Given != w.Given {
				t.Errorf("watch %d: payment %+v, want %+v", i+1, p, w)
			}
		}
		if gone := s.Head.Docket.Closed(); gone != (i < 2) {
			t.Errorf("watch %d: gone %v", i+1, gone)
		}
		if card := s.Card != nil && s.Card.Live(); card != (i < 2) {
			t.Errorf("watch %d: card %v", i+1, card)
		}
	}
	if got := sheets[0].Left; got.CollectedBy != "Ada Quillmarsh" || got.Proof != docket.ProofTicket {
		t.Errorf("left as %+v", got)
	}
	if d := sheets[2].Head.Docket; d.Stage != docket.StageReady || d.Place.Kind != docket.PlaceSafe {
		t.Errorf("the third is %s at %s", d.Stage, d.Place)
	}
	for i, other := range []docket.Number{n[1], n[0]} {
		entries, err := b.Journal(t.Context(), sheets[i].Head.Docket.ID, 0)
		if err != nil {
			t.Fatal(err)
		}
		var told int
		for _, e := range entries {
			if strings.Contains(string(e.Facts), other.String()) {
				told++
			}
		}
		if told < 2 {
			t.Errorf("the journal of watch %d names the other in %d entries, want those of money and collector", i+1, told)
		}
		d := sheets[i].Head.Docket
		slices.Reverse(entries)
		if err := docket.VerifyHead(d.ID, entries, docket.Head{Seq: d.Version, Hash: d.Head}); err != nil {
			t.Errorf("watch %d: %v", i+1, err)
		}
	}
	if err := b.HandOverTogether(t.Context(), b.together(t, b.clerk, v, docket.Tender{Way: docket.PayCard}, n[2])); err != nil {
		t.Errorf("the third, by the same ticket: %v", err)
	}
}

// What is wrong with one watch, with the ticket, the money or the sum stops all, and each is named.
func TestTogetherIsAllOrNone(t *testing.T) {
	t.Parallel()
	b, n, v := threeReady(t, 2)
	pays := docket.Tender{Way: docket.PayCard}
	stranger, _ := docket.ParseNumber("26-00099-" + string(rune('0'))) // of no docket here
	wrong := int64(9000)
	for what, c := range map[string]struct {
		change func(*store.Together)
		field  string
		says   string
	}{
		"a watch that is not ready": {func(in *store.Together) {
			in.Going = b.together(t, b.clerk, v, pays, n...).Going
		}, "go-" + n[2].String(), n[2].String()},
		"nothing ticked":              {func(in *store.Together) { in.Going = nil }, "go", "Tick"},
		"a watch of no ticket":        {func(in *store.Together) { in.Going[0].Number = stranger }, "go", "not on this ticket"},
		"the ticket of another visit": {func(in *store.Together) { in.Leaving.Ticket = (v + 1).String() }, "ticket", (v + 1).String()},
		"no ticket that can be read":  {func(in *store.Together) { in.Leaving.Ticket = "the blue one" }, "ticket", "not a docket number"},
		"a sum that stood otherwise":  {func(in *store.Together) { in.SeenDueMinor = &wrong }, "pay", "180.00 EUR"},
		"too little cash":             {func(in *store.Together) { in.Leaving.Pay = docket.Tender{Way: docket.PayCash, Given: 17999} }, "given-cash", "0.01 EUR"},
		"too much by card": {func(in *store.Together) {
			in.Leaving.Pay = docket.Tender{Way: docket.PayInParts, Card: 18001}
		}, "given-card", "more than"},
		"no word of money": {func(in *store.Together) { in.Leaving.Pay = docket.Tender{} }, "pay", "how it is paid"},
		"not now, by a clerk": {func(in *store.Together) { in.Leaving.Pay = docket.Tender{Way: docket.PayLater} },
			"reason", "owner's reason"},
		"somebody else with nothing shown": {func(in *store.Together) { in.Leaving.CollectedBy = "A nephew" }, "shown", "what was shown"},
		"an older form":                    {func(in *store.Together) { in.Going[1].Version-- }, "go-" + n[1].String(), "Someone else saved first"},
	} {
		in := b.together(t, b.clerk, v, pays, n[0], n[1])
		c.change(&in)
		err := b.HandOverTogether(t.Context(), in)
		if bad := problemsOf(t, err); !strings.Contains(bad[c.field], c.says) || len(bad) != 1 {
			t.Errorf("%s: %v", what, bad)
		}
		if clash := errors.Is(err, domain.ErrChanged); clash != (what == "an older form") {
			t.Errorf("%s: clash %v", what, clash)
		}
	}
	for i, s := range b.sheets(t, v) {
		if len(s.Payments) > 0 || s.Head.Docket.Closed() || s.Card != nil {
			t.Errorf("watch %d: something was kept", i+1)
		}
	}
	if err := b.HandOverTogether(t.Context(), store.Together{Visit: v + 7, By: b.clerk, At: b.at}); !errors.Is(err, domain.ErrNotFound) {
		t.Errorf("no such visit: %v", err)
	}
	in := b.together(t, b.owner, v, docket.Tender{Way: docket.PayLater}, n[0], n[1])
	in.Reason = "pays by the end of the month"
	if err := b.HandOverTogether(t.Context(), in); err != nil {
		t.Fatal(err)
	}
	if s := b.sheets(t, v); s[0].Head.Facts.DueMinor != 9000 || !s[1].Head.Docket.Closed() {
		t.Errorf("not paid now: %d due", s[0].Head.Facts.DueMinor)
	}
}

// Of clerks who hand over at once, with watches in common, one has them and every other is told which had gone; no watch leaves
// twice, none alone of those that were asked for, and no money is taken twice.
func TestTogetherTwiceAtOnce(t *testing.T) {
	t.Parallel()
	b, n, v := threeReady(t, 3)
	asks := []store.Together{b.together(t, b.clerk, v, docket.Tender{Way: docket.PayCard}, n[0], n[1]),
		b.together(t, b.owner, v, docket.Tender{Way: docket.PayCash, Given: 20000}, n[1], n[2]),
		b.together(t, b.clerk, v, docket.Tender{Way: docket.PayCard}, n[2], n[1], n[0])}
	errs := make([]error, len(asks))
	var wg sync.WaitGroup
	for i, in := range asks {
		wg.Go(func() { errs[i] = b.HandOverTogether(t.Context(), in) })
	}
	wg.Wait()
	won := slices.IndexFunc(errs, func(err error) bool { return err == nil })
	for i, err := range errs {
		if i == won {
			continue
		}
		if bad := problemsOf(t, err); !strings.Contains(bad["go-"+n[1].String()], "already handed over, to Ada Quillmarsh") || !errors.Is(err, domain.ErrChanged) {
			t.Errorf("the other is told %v", bad)
		}
	}
	gone := 0
	for _, s := range b.sheets(t, v) {
		if s.Head.Docket.Closed() {
			gone++
			if s.Head.PaidMinor != 9000 {
				t.Errorf("%s: %d paid", s.Head.Docket.Number, s.Head.PaidMinor)
			}
		} else if len(s.Payments) > 0 {
			t.Errorf("%s stays and was paid for", s.Head.Docket.Number)
		}
	}
	if won < 0 || gone != len(asks[won].Going) {
		t.Errorf("%d won, %d watches are gone", won, gone)
	}
}

// A press sent twice by mistake takes the money once: the form's versions are spent by the first.
func TestTogetherSentTwice(t *testing.T) {
	t.Parallel()
	b, n, v := threeReady(t, 2)
	in := b.together(t, b.clerk, v, docket.Tender{Way: docket.PayCard}, n[0], n[1])
	if err := b.HandOverTogether(t.Context(), in); err != nil {
		t.Fatal(err)
	}
	bad := problemsOf(t, b.HandOverTogether(t.Context(), in))
	if len(bad) != 2 || !strings.Contains(bad["go-"+n[0].String()], "already handed over") {
		t.Errorf("again: %v", bad)
	}
	for _, s := range b.sheets(t, v)[:2] {
		if len(s.Payments) != 1 {
			t.Errorf("paid by %+v", s.Payments)
		}
	}
}

// Cards of several begin on the civil day of the shop, also in the hour that a clock put back has twice.
func TestTogetherBeginsOnTheShopsDay(t *testing.T) {
	t.Parallel()
	for at, day := range map[string]string{"2027-10-30T23:30:00Z": "2027-10-31", "2027-10-31T00:30:00Z": "2027-10-31",
		"2027-10-31T01:30:00Z": "2027-10-31", "2027-03-27T23:59:00Z": "2027-03-27", "2027-03-28T23:00:00Z": "2027-03-29"} {
		b, n, v := threeReady(t, 2)
		sh := b.shop
		sh.TimeZone = "Europe/London"
		if err := b.SaveShop(t.Context(), sh, b.owner, b.at); err != nil {
			t.Fatal(err)
		}
		in := b.together(t, b.owner, v, docket.Tender{Way: docket.PayCard}, n[0], n[1])
		in.Leaving.IssueCard = true
		var err error
		if in.At, err = time.Parse(time.RFC3339, at); err != nil {
			t.Fatal(err)
		}
		if err := b.HandOverTogether(t.Context(), in); err != nil {
			t.Fatal(err)
		}
		for _, s := range b.sheets(t, v)[:2] {
			card, err := s.Card.Card()
			if err != nil {
				t.Fatal(err)
			}
			if got := card.StartsOn.Format(time.DateOnly); got != day {
				t.Errorf("at %s: from %s, want %s", at, got, day)
			}
		}
	}
}
