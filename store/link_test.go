package store_test

import (
	"errors"
	"testing"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/link"
	"ledgerwheel/domain/photo"
	"ledgerwheel/store"
	"ledgerwheel/store/storetest"
)

func customerActor(name string) store.Actor { return store.Actor{Customer: true, Name: name} }

func TestAnswerByLink(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	n := b.mustSend(t, priced())
	id := b.estimate(t).Link.ID
	begun := len(b.kinds(t, b.n))
	b.at = b.at.Add(time.Hour)
	other, shown := int64(29939), int64(29940) // priced, 20 % on 249.50
	a := estimate.Answer{Revision: n, Approve: true, Name: "דוד לוי", ShownMinor: &other}
	if err := b.AnswerByLink(t.Context(), b.by(customerActor(a.Name)), id, a, estimateDay); !errors.Is(err, estimate.ErrOtherTotal) {
		t.Errorf("another total than the server's: %v", err)
	}
	b.wantKinds(t, begun)
	a.ShownMinor = &shown
	if err := b.AnswerByLink(t.Context(), b.by(customerActor(a.Name)), id, a, estimateDay); err != nil {
		t.Fatal(err)
	}
	page, err := b.LinkPage(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	r, _ := page.Estimate.Shown()
	if r.State != estimate.Approved || r.Answer.By != estimate.ByLink || r.Answer.Name != "דוד לוי" {
		t.Errorf("kept as %+v, %+v", r, r.Answer)
	}
	if row := b.estimate(t).Row(n); row.AnswerTakenBy != "" {
		t.Errorf("the shop's %s stands for the customer", row.AnswerTakenBy)
	}
	b.wantKinds(t, begun, docket.EstimateAccepted, docket.MessageWritten)
	entries, err := b.ChangesSince(t.Context(), b.n, int64(begun))
	if err != nil || len(entries) != 2 || entries[0].By.Kind != docket.ByCustomer || entries[0].By.Name != "דוד לוי" {
		t.Errorf("journalled as %+v, %v", entries, err)
	}
	if err := b.AnswerByLink(t.Context(), b.by(customerActor("Ada")), id, a, estimateDay); !errors.Is(err,
		estimate.ErrNotWaiting) {
		t.Errorf("answered twice: %v", err)
	}
}

func TestLinkEndsAndIsRemade(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	n := b.mustSend(t, priced())
	old := b.estimate(t).Link
	begun := len(b.kinds(t, b.n))
	if err := b.MakeLink(t.Context(), b.seen(t, b.clerk)); err != nil {
		t.Fatal(err)
	}
	now := b.estimate(t).Link
	if now.ID == old.ID || !now.Serves(b.at) || now.MadeBy != "Nuala Reed" {
		t.Errorf("remade as %+v", now)
	}
	a := estimate.Answer{Revision: n, Approve: true, Name: "Ada"}
	if err := b.AnswerByLink(t.Context(), b.by(customerActor("Ada")), old.ID, a, estimateDay); !errors.Is(err,
		link.ErrEnded) {
		t.Errorf("by the old link: %v", err)
	}
	late := b.by(customerActor("Ada"))
	late.At = b.at.AddDate(0, 0, link.LifeDays)
	if err := b.AnswerByLink(t.Context(), late, now.ID, a, estimateDay); !errors.Is(err, link.ErrExpired) {
		t.Errorf("by an expired link: %v", err)
	}
	for range 2 { // the second time there is nothing to end
		if err := b.EndLink(t.Context(), b.seen(t, b.clerk)); err != nil {
			t.Fatal(err)
		}
	}
	if l := b.estimate(t).Link; l.Serves(b.at) {
		t.Errorf("still serves: %+v", l)
	}
	b.wantKinds(t, begun, docket.LinkRevoked, docket.LinkMade, docket.LinkRevoked)
	if r, _ := b.estimate(t).Estimate.Find(n); r.State != estimate.Sent {
		t.Errorf("the refusals left the revision %s", r.State)
	}
}

// Sending another revision keeps the link that serves, with its life begun anew.
func TestSendingRenewsTheLink(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	b.mustSend(t, priced())
	first := b.estimate(t).Link
	b.at = b.at.AddDate(0, 0, 3)
	again := priced()
	again.Note = "The crystal too."
	b.mustSend(t, again)
	second := b.estimate(t).Link
	if second.ID != first.ID || !second.ExpiresAt.Equal(first.ExpiresAt.AddDate(0, 0, 3)) ||
		!second.ExpiresAt.Equal(link.Expiry(b.at)) {
		t.Errorf("the link %d until %s became %d until %s", first.ID, first.ExpiresAt, second.ID, second.ExpiresAt)
	}
}

func TestLinkShowsItsOwnDocketAlone(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	b.mustSend(t, priced())
	id := b.estimate(t).Link.ID
	b.mustDraft(t, priced()) // nobody's to see

	in := b.takingIn()
	in.NewCustomer, in.Watch.Serial = true, "another"
	second, _ := b.mustTakeIn(t, in)
	picture := []photo.Picture{{SHA256: "00112233445566778899aabbccddeeff00112233445566778899aabbccddeeff", WidthPx: 4,
		HeightPx: 3, Full: []byte{1}}}
	own, err := b.AddPhotos(t.Context(), b.by(b.clerk), photo.Label{About: photo.OfWork, CustomerSees: true}, picture)
	if err != nil {
		t.Fatal(err)
	}
	others, err := b.AddPhotos(t.Context(), store.Change{Number: second, By: b.clerk, At: b.at},
		photo.Label{About: photo.OfWork, CustomerSees: true}, picture)
	if err != nil {
		t.Fatal(err)
	}
	ctx, counter := storetest.CountRoundTrips(t.Context())
	page, err := b.LinkPage(ctx, id)
	if err != nil || counter.Trips() != 1 {
		t.Fatalf("%v, %d round trips", err, counter.Trips())
	}
	if page.Number != b.n || len(page.Estimate.Revisions) != 1 || len(page.Photos) != 1 || page.Photos[0].ID != own[0] ||
		page.Watch.Maker != "Gannet" {
		t.Errorf("the link shows %+v", page)
	}
	if _, l, err := b.LinkPhoto(t.Context(), id, own[0]); err != nil || l.ID != id {
		t.Errorf("its own photograph: %v", err)
	}
	if _, _, err := b.LinkPhoto(t.Context(), id, others[0]); !errors.Is(err, domain.ErrNotFound) {
		t.Errorf("another docket's photograph: %v", err)
	}
	if _, err := b.LinkPage(t.Context(), id+1); !errors.Is(err, domain.ErrNotFound) {
		t.Errorf("no such link: %v", err)
	}
	// A link answers for its own docket only, whatever number the change names.
	a := estimate.Answer{Revision: 1, Approve: true, Name: "Ada"}
	c := store.Change{Number: second, By: customerActor("Ada"), At: b.at}
	if err := b.AnswerByLink(t.Context(), c, id, a, estimateDay); !errors.Is(err, domain.ErrNotFound) {
		t.Errorf("for another docket: %v", err)
	}
}
