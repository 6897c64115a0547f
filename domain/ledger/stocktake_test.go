package ledger_test

import (
	"errors"
	"testing"

	"pgregory.net/rapid"

	"ledgerwheel/domain/ledger"
)

// Whatever moves between counting and explaining, the book is afterwards what lies in the drawer, where the count was true.
func TestADifferenceStaysOneWhateverMoves(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		start := rapid.IntRange(0, 12).Draw(t, "start")
		book := ledger.Standing([]ledger.LotCount{{Lot: 0, Pieces: start}}, nil)
		if start == 0 {
			book = ledger.Balance{}
		}
		drawer := rapid.IntRange(0, 12).Draw(t, "in the drawer") // what lies there really
		taken := []ledger.Taken{{Pieces: drawer, Book: book.InLot(0), Why: "nobody knows"}}
		for range rapid.IntRange(0, 6).Draw(t, "moves") {
			m := ledger.Move{Kind: rapid.SampledFrom([]ledger.Kind{ledger.Received, ledger.WrittenOff, ledger.Reserved, ledger.Fitted}).Draw(t, "kind"),
				Pieces: rapid.IntRange(1, 3).Draw(t, "pieces"), DocketID: 7}
			next, err := book.After(m)
			if err != nil {
				continue
			}
			there := drawer + next.OnHand() - book.OnHand()
			if there < 0 {
				continue // nobody takes what is not there
			}
			book, drawer = next, there
		}
		moves, err := book.Settled(taken)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range moves {
			if book, err = book.After(m); err != nil {
				t.Fatal(err)
			}
		}
		if book.OnHand() != drawer {
			t.Fatalf("the book has %d, the drawer %d", book.OnHand(), drawer)
		}
	})
}

func TestMoreMissingThanIsLeft(t *testing.T) {
	b := ledger.Standing([]ledger.LotCount{{Lot: 0, Pieces: 1}}, nil)
	if _, err := b.Settled([]ledger.Taken{{Pieces: 0, Book: 3}}); !errors.Is(err, ledger.ErrMove) {
		t.Errorf("3 missing of 1: %v", err)
	}
}

func TestLabelsAreRead(t *testing.T) {
	for typed, want := range map[string]struct {
		id     int64
		number string
	}{
		"BIN17": {17, ""}, "bin17": {17, ""}, " BIN17 ": {17, ""}, "https://ternquay.example/stock/17": {17, ""}, "HTTPS://TERNQUAY.EXAMPLE/STOCK/17": {17, ""},
		"MS-120": {0, "MS-120"}, "ms-120": {0, "MS-120"}, "BIN": {0, "BIN"}, "BIN-4": {0, "BIN-4"}, "BIN+4": {0, "BIN+4"}, "17": {0, "17"}, "": {0, ""},
		"BIN99999999999999999999": {0, "BIN99999999999999999999"},
	} {
		if id, number := ledger.ReadLabel(typed); id != want.id || number != want.number {
			t.Errorf("%q is read as %d, %q", typed, id, number)
		}
	}
	if id, _ := ledger.ReadLabel(ledger.LabelCode(4711)); id != 4711 {
		t.Errorf("the label's own code is read as %d", id)
	}
	taken := []ledger.Taken{{Pieces: 3, Book: 4}, {Lot: 2, Pieces: 1, Book: 0}}
	if got := ledger.TakenSummary("MS-120 mainspring", taken); got != "Stocktake, MS-120 mainspring: 4 counted, the book has 4; still to be explained." {
		t.Error(got)
	}
}
