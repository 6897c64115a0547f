package store_test

import (
	"errors"
	"sync"
	"sync/atomic"
	"testing"

	"ledgerwheel/domain"
	"ledgerwheel/domain/ledger"
	"ledgerwheel/store/storetest"
)

// A stocktake is left and gone on with by others, who read from the record alone; differences wait, are booked with their
// reason whatever moved since, and none can be passed over.
func TestAStocktake(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	ctx := t.Context()
	same, short := c.cataloguePart(t, "MS-1", 5), c.cataloguePart(t, "MS-2", 4)
	c.cataloguePart(t, "MS-3", 1)
	var invalid *domain.InvalidError
	if _, err := c.CountDrawer(ctx, same, []ledger.Count{{Pieces: 5}}, 1, c.clerk, c.at); !errors.As(err, &invalid) {
		t.Errorf("counted without a stocktake: %v", err)
	}
	var begun atomic.Int32
	var wait sync.WaitGroup
	for range 4 {
		wait.Go(func() {
			if c.BeginStocktake(ctx, c.clerk, c.at) == nil {
				begun.Add(1)
			}
		})
	}
	wait.Wait()
	if begun.Load() != 1 {
		t.Fatalf("%d stocktakes begun at once", begun.Load())
	}
	taken, err := c.CountDrawer(ctx, same, []ledger.Count{{Pieces: 5}}, 1, c.clerk, c.at)
	if err != nil || ledger.Differs(taken) {
		t.Fatalf("%v %v", taken, err)
	}
	if _, err := c.CountDrawer(ctx, short, []ledger.Count{{Pieces: 3}}, 7, c.clerk, c.at); !errors.Is(err, domain.ErrChanged) {
		t.Errorf("counted against another book: %v", err)
	}
	if taken, err = c.CountDrawer(ctx, short, []ledger.Count{{Pieces: 3}}, 1, c.clerk, c.at); err != nil || !ledger.Differs(taken) {
		t.Fatalf("%v %v", taken, err)
	}
	if b := c.holdsTogether(t, short); b.OnHand() != 4 {
		t.Errorf("booked before it was explained: %d", b.OnHand())
	}
	for label, want := range map[string]string{"MS-2": "MS-2", ledger.LabelCode(short): "MS-2", "https://ternquay.example/stock/1": "MS-1", "ms-3": "MS-3"} {
		sheet, err := c.Stocktake(ctx, label)
		if err != nil || sheet.Found == nil || sheet.Found.Number != want {
			t.Fatalf("%s finds %+v %v", label, sheet.Found, err)
		}
	}
	sheet, err := c.Stocktake(ctx, "nothing")
	if err != nil || sheet.Counted != 2 || sheet.All != 3 || len(sheet.Differ) != 1 || sheet.Next == nil || sheet.Next.Number != "MS-3" || sheet.Found != nil {
		t.Fatalf("gone on with: %+v %v", sheet, err)
	}
	if err := c.EndStocktake(ctx, c.clerk, c.at); !errors.As(err, &invalid) {
		t.Errorf("ended with a difference: %v", err)
	}
	if err := c.MoveStock(ctx, short, []ledger.Move{{Kind: ledger.WrittenOff, Pieces: 1, Why: "bent"}}, c.clerk, c.at); err != nil {
		t.Fatal(err)
	}
	if err := c.BookTaken(ctx, short, "", c.clerk, c.at); !errors.As(err, &invalid) || invalid.Problems["why"] == "" {
		t.Errorf("booked without a reason: %v", err)
	}
	if err := c.BookTaken(ctx, short, "nobody knows", c.clerk, c.at); err != nil {
		t.Fatal(err)
	}
	if b := c.holdsTogether(t, short); b.OnHand() != 2 { // 3 counted, 1 bent since
		t.Errorf("%d in the book", b.OnHand())
	}
	if err := c.BookTaken(ctx, short, "nobody knows", c.clerk, c.at); !errors.Is(err, domain.ErrNotFound) {
		t.Errorf("booked twice: %v", err)
	}
	if err := c.EndStocktake(ctx, c.clerk, c.at); err != nil {
		t.Fatal(err)
	}
	storetest.Whole(t, c.Store)
}
