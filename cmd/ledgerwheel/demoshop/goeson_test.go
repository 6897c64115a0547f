package demoshop

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"testing"
	"time"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/message"
	"ledgerwheel/domain/parcel"
	"ledgerwheel/domain/purchase"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
	"ledgerwheel/store/storetest"
)

// twoDays is a short story with everything of the year's that takes more than one transaction: mails that are taken, calls
// that are passed on, a parcel that is opened, and a loan watch.
func twoDays(c calendar) []step {
	b := &book{calendar: c}
	b.open("shiomi-tideway", arrival{back: firstBack, clock: "10:12", customer: "shiomi", watch: "shiomi tideway",
		wanted: docket.WantedAdvice, complaint: "Suddenly fast.", dueDays: 12,
		byPost: &parcel.Arrival{Carrier: "Estuary Post", Number: "EP 1", Sender: "C. Shiomi", Seal: parcel.SealWhole,
			Box: parcel.BoxWhole, Things: 1, Contents: "watch"}}).
		lent("No marks; strap new.").
		delayed(2, message.Mail, "").
		delayed(3, message.Text, "").passedOn(staff.Clerk, "Text message sent.").
		delayed(4, message.Mail, "").
		put(staff.Clerk, bench1)
	b.open("strake-consul", arrival{back: firstBack - 1, clock: "11:00", customer: "strake", watch: "bareket consul",
		wanted: docket.WantedService, complaint: "Slow.", dueDays: 20}).
		lent("Case back scratched.").
		delayed(2, message.Text, "").passedOn(staff.Clerk, "Text message sent.").
		delayed(5, message.Mail, "").
		on(firstBack-5, "09:10").put(staff.Clerk, bench1)
	b.reorder(firstBack, coldharbour, "OIL-F")
	return b.inOrder()
}

// toldOf says what became of every word to a customer, and what else two fillings must agree on.
func toldOf(t *testing.T, s *store.Store, r record) []string {
	t.Helper()
	out := r.lines()
	for i, h := range r.heads {
		// A mail that was handed over late has an entry at another moment, and behind later steps: the docket's last entry is no
		// measure here.
		out[i] = fmt.Sprintf("%s %s %s %s", h.Docket.Number, h.Docket.Stage, h.Docket.PromisedOn, h.Docket.Place)
		kinds := map[docket.Kind]int{}
		for _, e := range r.entries[h.Docket.ID] {
			kinds[e.Kind]++
		}
		out = append(out, fmt.Sprint(kinds))
		list, err := s.Messages(t.Context(), h.Docket.Number)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range list {
			out = append(out, fmt.Sprint(h.Docket.Number, m.Topic, m.Way, m.State, m.QueuedAt))
		}
	}
	parcels, err := s.ParcelsIn(t.Context(), 0)
	if err != nil {
		t.Fatal(err)
	}
	loans, err := s.LoanWatches(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	orders, err := s.Orders(t.Context(), store.OrdersFilter{Stages: purchase.Stages}, testNow)
	if err != nil || len(orders.Orders) == 0 {
		t.Fatalf("%d orders, %v", len(orders.Orders), err)
	}
	oil, err := s.Catalogue(t.Context(), "OIL-F", "", false)
	if err != nil {
		t.Fatal(err)
	}
	return append(out, fmt.Sprint(len(parcels), " parcels, ", len(loans), " loan watches"), fmt.Sprint(orders.Orders, oil.Parts[0].OnHand))
}

// TestFillGoesOnFromEveryPoint cuts a filling off again and again, each time one round trip further, and finds the shop that an undisturbed one makes: no step twice, no mail left behind, nothing kept twice.
func TestFillGoesOnFromEveryPoint(t *testing.T) {
	t.Parallel()
	whole, uploads := storetest.New(t), openUploads(t)
	if err := fill(t.Context(), whole, uploads, testNow, twoDays); err != nil {
		t.Fatal(err)
	}
	want := toldOf(t, whole, read(t, whole))
	cut := &cutOff{}
	s := storetest.New(t, store.WithTracer(cut))
	interrupted := 0
	for left := 1; ; left++ {
		ctx, cancel := context.WithCancel(t.Context())
		cut.left, cut.cancel = left, cancel
		err := fill(ctx, s, uploads, testNow, twoDays)
		cancel()
		if err == nil {
			break
		}
		if !errors.Is(err, context.Canceled) {
			t.Fatalf("after %d interruptions: %v", interrupted, err)
		}
		interrupted++
	}
	t.Logf("interrupted %d times", interrupted)
	if interrupted < 40 {
		t.Errorf("interrupted %d times only", interrupted)
	}
	if got := toldOf(t, s, read(t, s)); !slices.Equal(got, want) {
		t.Errorf("after %d interruptions:\n%v\nwant\n%v", interrupted, got, want)
	}
	if c := storetest.Whole(t, s); c.Dockets != 2 {
		t.Errorf("%d dockets hold", c.Dockets)
	}
}

// TestLateAnswerIsNoStep: where a filling was cut off between a mail and its being taken, the next one has the entry of the taking
// written behind later steps, at an older moment than theirs. No step is done again for that.
func TestLateAnswerIsNoStep(t *testing.T) {
	t.Parallel()
	whole, uploads := storetest.New(t), openUploads(t)
	if err := fill(t.Context(), whole, uploads, testNow, twoDays); err != nil {
		t.Fatal(err)
	}
	want := toldOf(t, whole, read(t, whole))
	first := calendarBefore(testNow, ternQuay().Location())
	enough := errors.New("enough")
	steps := twoDays(first)
	passedOn := 4 // behind the first mail and the call
	cutOff := func(calendar) []step {
		steps := twoDays(first)
		end := step{job: steps[0].job, at: steps[passedOn].at.Add(time.Minute),
			do: func(context.Context, *filler, store.Change) error { return enough }}
		return append(steps[:passedOn+1:passedOn+1], end)
	}
	s := storetest.New(t)
	// For the first, the day of the mail has not passed: it is not carried.
	for _, now := range []time.Time{steps[passedOn].at, testNow} {
		if err := fill(t.Context(), s, uploads, now, cutOff); !errors.Is(err, enough) {
			t.Fatal(err)
		}
	}
	r := read(t, s)
	entries := r.entries[r.heads[0].Docket.ID]
	if last := entries[len(entries)-1]; last.Kind != docket.MessageSent || !last.At.Before(steps[passedOn].at) {
		t.Fatalf("the newest entry is %s of %s, want the mail's, older than %s", last.Kind, last.At, steps[passedOn].at)
	}
	if err := fill(t.Context(), s, uploads, testNow, twoDays); err != nil {
		t.Fatal(err)
	}
	if got := toldOf(t, s, read(t, s)); !slices.Equal(got, want) {
		t.Errorf("%v\nwant\n%v", got, want)
	}
}
