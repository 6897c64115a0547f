package store_test

import (
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
)

// One press takes money by several methods, lets the watch leave and issues its card; or, where one thing lacks, does nothing.
func TestHandOverWithMoneyAndCard(t *testing.T) {
	t.Parallel()
	b := ready(t)
	l := b.leaving()
	l.Pay = docket.Tender{Way: docket.PayInParts, Given: 5000, Card: 4500}
	l.IssueCard = true
	bad := problemsOf(t, b.HandOver(t.Context(), b.change(t, b.clerk), l, ""))
	if bad["card"] == "" || len(bad) != 1 {
		t.Errorf("a card without the owner's order: %v", bad)
	}
	l.Pay.Card, l.Ticket = 1000, "the blue one"
	if bad := problemsOf(t, b.HandOver(t.Context(), b.change(t, b.clerk), l, "")); bad["given-cash"] == "" || bad["ticket"] == "" {
		t.Errorf("two things at once: %v", bad)
	}
	l.Pay = docket.Tender{}
	if bad := problemsOf(t, b.HandOver(t.Context(), b.change(t, b.clerk), l, "")); bad["pay"] == "" || bad["ticket"] == "" {
		t.Errorf("neither money nor ticket: %v", bad)
	}
	if sheet := b.handOverSheet(t); len(sheet.Payments) > 0 || sheet.Head.Docket.Closed() || sheet.Card != nil {
		t.Fatalf("something was kept: %+v", sheet)
	}
	ordered := b.shop
	ordered.CardByClerk = true
	if err := b.SaveShop(t.Context(), ordered, b.owner, b.at); err != nil {
		t.Fatal(err)
	}
	l = b.leaving()
	l.Pay, l.IssueCard = docket.Tender{Way: docket.PayInParts, Given: 5000, Card: 4500}, true
	if err := b.HandOver(t.Context(), b.change(t, b.clerk), l, ""); err != nil {
		t.Fatal(err)
	}
	sheet := b.handOverSheet(t)
	if len(sheet.Payments) != 2 || sheet.Payments[0].Minor != 4500 || sheet.Payments[0].Given != 5000 ||
		sheet.Payments[1].Minor != 4500 || sheet.Payments[1].Given != 0 || sheet.Head.Facts.DueMinor != 0 {
		t.Errorf("payments %+v, due %d", sheet.Payments, sheet.Head.Facts.DueMinor)
	}
	if sheet.Card == nil || !sheet.Card.Live() || !sheet.Head.Docket.Closed() {
		t.Fatalf("card %+v", sheet.Card)
	}
	kinds := b.kinds(t, b.n)
	if got := kinds[max(0, len(kinds)-8):]; !slices.Equal(got, []docket.Kind{docket.Paid, docket.Paid, docket.InvoiceIssued, docket.CollectorChecked,
		docket.OldPartsDecided, docket.Moved, docket.HandedOver, docket.CardIssued}) {
		t.Errorf("journal ends with %v", got)
	}
	entries, err := b.Journal(t.Context(), sheet.Head.Docket.ID, 0)
	if err != nil {
		t.Fatal(err)
	}
	if facts := string(entries[0].Facts); !strings.Contains(facts, "standing_order") || !strings.Contains(facts, b.owner.Name) {
		t.Errorf("the card's entry does not name the order: %s", facts)
	}
}

// Without a passed final test the order does not hold, whatever the owner's reason let the watch do.
func TestStandingOrderNeedsThePassedTest(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	b.toFinalTest(t)
	b.mustMove(t, b.owner, docket.StageReady, docket.PlaceSafe, "", "sails tonight")
	ordered := b.shop
	ordered.CardByClerk = true
	if err := b.SaveShop(t.Context(), ordered, b.owner, b.at); err != nil {
		t.Fatal(err)
	}
	_, err := b.IssueCard(t.Context(), b.change(t, b.clerk), wording(b))
	if bad := problemsOf(t, err); !strings.Contains(bad[""], "final test") {
		t.Errorf("issued without a test: %v", bad)
	}
	if _, err := b.IssueCard(t.Context(), b.change(t, b.watchmaker), wording(b)); err == nil {
		t.Error("the watchmaker issued a card")
	}
}

// The first day of a warranty is the civil day of the hand-over in the shop's zone, on both sides of midnight and on the
// days on which clocks change there. The days and offsets are those of the IANA time zone database.
func TestWarrantyBeginsOnTheDayOfTheShop(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ zone, at, day, until string }{
		{"Europe/London", "2027-03-28T00:30:00Z", "2027-03-28", "2028-03-28"},    // half past midnight, before the clocks go on
		{"Europe/London", "2027-03-28T23:30:00Z", "2027-03-29", "2028-03-29"},    // summer time: past midnight
		{"Europe/London", "2027-10-30T23:30:00Z", "2027-10-31", "2028-10-31"},    // still summer time
		{"Europe/London", "2027-10-31T00:30:00Z", "2027-10-31", "2028-10-31"},    // 01:30 the first time
		{"Europe/London", "2027-10-31T01:30:00Z", "2027-10-31", "2028-10-31"},    // 01:30 the second time
		{"Europe/London", "2027-10-31T23:59:00Z", "2027-10-31", "2028-10-31"},    // winter again
		{"America/New_York", "2027-03-14T04:59:00Z", "2027-03-13", "2028-03-13"}, // EST, a minute before midnight
		{"Pacific/Auckland", "2027-04-03T12:30:00Z", "2027-04-04", "2028-04-04"}, // NZDT, the day on which it ends
		{"Pacific/Apia", "2027-01-01T10:30:00Z", "2027-01-01", "2028-01-01"},     // thirteen hours east
	} {
		b := ready(t)
		sh := b.shop
		sh.TimeZone = c.zone
		if err := b.SaveShop(t.Context(), sh, b.owner, b.at); err != nil {
			t.Fatal(err)
		}
		at, err := time.Parse(time.RFC3339, c.at)
		if err != nil {
			t.Fatal(err)
		}
		l := b.leaving()
		l.Pay, l.IssueCard = docket.Tender{Way: docket.PayCard}, true
		change := b.change(t, b.owner)
		change.At = at
		if err := b.HandOver(t.Context(), change, l, ""); err != nil {
			t.Errorf("%s at %s: %v", c.zone, c.at, err)
			continue
		}
		card, err := b.handOverSheet(t).Card.Card()
		if err != nil {
			t.Fatal(err)
		}
		if from, until := card.StartsOn.Format(time.DateOnly), card.ExpiresOn.Format(time.DateOnly); from != c.day ||
			!strings.HasPrefix(until, c.until[:4]) || card.Months() != 12 {
			t.Errorf("%s at %s: from %s to %s (%d months), want from %s", c.zone, c.at, from, until, card.Months(), c.day)
		}
	}
}

// Of two who hand over at once the second is told that it was done, and no money is taken twice.
func TestHandOverTwiceAtOnceIsPaidOnce(t *testing.T) {
	t.Parallel()
	b := ready(t)
	c := b.change(t, b.clerk)
	l := b.leaving()
	l.Pay = docket.Tender{Way: docket.PayCash, Given: 10000}
	done := make(chan error, 4)
	for range cap(done) {
		go func() { done <- b.HandOver(t.Context(), c, l, "") }()
	}
	ok := 0
	for range cap(done) {
		switch err := <-done; {
		case err == nil:
			ok++
		case !errors.Is(err, domain.ErrChanged) && !errors.Is(err, domain.ErrClosed):
			t.Errorf("refused with %v", err)
		}
	}
	if sheet := b.handOverSheet(t); ok != 1 || len(sheet.Payments) != 1 || sheet.Head.PaidMinor != 9000 {
		t.Errorf("%d went through, payments %+v", ok, sheet.Payments)
	}
}
