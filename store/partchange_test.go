package store_test

import (
	"errors"
	"slices"
	"testing"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/stock"
	"ledgerwheel/store"
)

func TestPartOfTwoIsPutTogetherByField(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	id := b.mustAddPart(t, mainspring)
	stale := b.seen(t, b.watchmaker)
	b.at = b.at.Add(time.Minute)
	more, noted := mainspring, mainspring
	more.Quantity, noted.Note = 3, "blue"
	if err := b.CorrectPart(t.Context(), b.seen(t, b.clerk), id, more); err != nil {
		t.Fatal(err)
	}
	if err := b.CorrectPart(t.Context(), stale, id, noted); err != nil {
		t.Fatal(err)
	}
	if got := b.parts(t).Parts[0]; got.Quantity != 3 || got.Note != "blue" {
		t.Errorf("put together to %+v", got)
	}
	version := b.head(t).Docket.Version
	if err := b.CorrectPart(t.Context(), stale, id, noted); err != nil || b.head(t).Docket.Version != version {
		t.Errorf("the same again: %v, version %d after %d", err, b.head(t).Docket.Version, version)
	}
	fewer := mainspring
	fewer.Quantity = 1
	err := b.CorrectPart(t.Context(), stale, id, fewer)
	var clash *store.PartClash
	if !errors.As(err, &clash) || !errors.Is(err, domain.ErrChanged) || !slices.Equal(clash.Clashes, []string{"quantity"}) {
		t.Fatalf("two quantities: %v", err)
	}
	if by := clash.Changed["quantity"]; by.Name != b.clerk.Name || clash.Theirs.Quantity != 3 || clash.Merged.Note != "blue" ||
		clash.Merged.Quantity != 1 {
		t.Errorf("clash %+v", clash)
	}
	stale.Version = clash.Version
	if err := b.CorrectPart(t.Context(), stale, id, clash.Merged); err != nil || b.parts(t).Parts[0].Quantity != 1 {
		t.Errorf("once theirs was seen: %v, %+v", err, b.parts(t).Parts[0])
	}
}

func TestPartMovedByTwo(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	id := b.mustAddPart(t, mainspring)
	stale := b.seen(t, b.watchmaker)
	b.mustAddPart(t, mainspring)
	order := store.PartMove{To: stock.Ordered, Supplier: "Gannet Springs"}
	if err := b.MovePart(t.Context(), stale, id, order); err != nil {
		t.Errorf("another part was added meanwhile: %v", err)
	}
	version := b.head(t).Docket.Version
	if err := b.MovePart(t.Context(), stale, id, order); err != nil || b.head(t).Docket.Version != version {
		t.Errorf("ordered by two: %v, version %d after %d", err, b.head(t).Docket.Version, version)
	}
	order.Supplier = "Petrel & Sons"
	if err := b.MovePart(t.Context(), stale, id, order); !errors.Is(err, domain.ErrChanged) {
		t.Errorf("ordered elsewhere: %v", err)
	}
	if err := b.MovePart(t.Context(), stale, id, store.PartMove{To: stock.Cancelled}); !errors.Is(err, domain.ErrChanged) {
		t.Errorf("cancelled after it was ordered: %v", err)
	}
	if err := b.SetOldPart(t.Context(), stale, id, stock.OldPartLeft); err != nil {
		t.Errorf("the old part, of which nobody else spoke: %v", err)
	}
	if err := b.SetOldPart(t.Context(), stale, id, stock.OldPartReturned); !errors.Is(err, domain.ErrChanged) {
		t.Errorf("the old part, said otherwise: %v", err)
	}
}

func TestFindingOfTwoIsPutTogether(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	id, err := b.AddFinding(t.Context(), b.by(b.watchmaker), brokenSpring)
	if err != nil {
		t.Fatal(err)
	}
	stale := b.seen(t, b.watchmaker)
	noted, worse, other := brokenSpring, brokenSpring, brokenSpring
	noted.Note, worse.Fault, other.Fault = "at the eye", "set", "tired: too weak"
	if err := b.CorrectFinding(t.Context(), b.seen(t, b.clerk), id, noted); err != nil {
		t.Fatal(err)
	}
	if err := b.CorrectFinding(t.Context(), stale, id, worse); err != nil {
		t.Fatal(err)
	}
	standing := b.diagnosis(t).Standing()
	if len(standing) != 1 || standing[0].Note != "at the eye" || standing[0].Fault != "set" {
		t.Fatalf("put together to %+v", standing)
	}
	var clash *store.FindingClash
	if err := b.CorrectFinding(t.Context(), stale, id, other); !errors.As(err, &clash) ||
		!errors.Is(err, domain.ErrChanged) || clash.Standing != standing[0].ID || clash.Merged.Note != "at the eye" {
		t.Fatalf("two faults: %v, %+v", err, clash)
	}
	if err := b.StrikeFinding(t.Context(), stale, id, "x"); !errors.As(err, &clash) || clash.Standing != standing[0].ID {
		t.Errorf("struck out as it was before: %v", err)
	}
	if err := b.StrikeFinding(t.Context(), b.by(b.watchmaker), standing[0].ID, "x"); err != nil {
		t.Fatal(err)
	}
	if err := b.CorrectFinding(t.Context(), stale, id, other); !errors.As(err, &clash) || clash.Standing != 0 ||
		clash.Changed.Name != b.watchmaker.Name {
		t.Errorf("corrected after it was struck out: %v, %+v", err, clash)
	}
}
