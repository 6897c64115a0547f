package ledger_test

import (
	"errors"
	"maps"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"ledgerwheel/domain/ledger"
)

// drawMove draws a move, allowed or not.
func drawMove(t *rapid.T) ledger.Move {
	return ledger.Move{
		Kind:     rapid.SampledFrom(ledger.Kinds).Draw(t, "kind"),
		Pieces:   rapid.IntRange(-3, 6).Draw(t, "pieces"),
		Lot:      rapid.Int64Range(0, 2).Draw(t, "lot"),
		DocketID: rapid.Int64Range(0, 3).Draw(t, "docket"),
	}
}

// No part is made or lost, whatever is asked in whatever order: what came in is what is there and what went out.
func TestNoPieceIsMadeOrLost(t *testing.T) {
	t.Parallel()
	taken, refused := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		var b ledger.Balance
		in, out := map[int64]int{}, map[int64]int{}
		held := map[int64]int{}
		var done []ledger.Move
		for range rapid.IntRange(1, 60).Draw(t, "moves") {
			m := drawMove(t)
			next, err := b.After(m)
			if err != nil {
				refused++
				if next.OnHand() != b.OnHand() || next.Reserved() != b.Reserved() {
					t.Fatalf("%+v, refused, changed the balance", m)
				}
				continue
			}
			taken++
			done = append(done, m)
			switch m.Kind {
			case ledger.Received, ledger.PutBack:
				in[m.Lot] += m.Pieces
			case ledger.Counted:
				if m.Pieces > 0 {
					in[m.Lot] += m.Pieces
				} else {
					out[m.Lot] -= m.Pieces
				}
			case ledger.Fitted, ledger.WrittenOff, ledger.SentBack:
				out[m.Lot] += m.Pieces
				held[m.DocketID] -= min(held[m.DocketID], m.Pieces)
			case ledger.Reserved:
				held[m.DocketID] += m.Pieces
			case ledger.Released:
				held[m.DocketID] -= m.Pieces
			}
			b = next
			sum := 0
			for lot := range int64(3) {
				if got := b.InLot(lot); got != in[lot]-out[lot] || got < 0 {
					t.Fatalf("lot %d has %d, %d came in and %d went out", lot, got, in[lot], out[lot])
				}
				sum += b.InLot(lot)
			}
			reserved := 0
			for docket, n := range held {
				if b.ReservedFor(docket) != n || n < 0 {
					t.Fatalf("docket %d holds %d back, want %d", docket, b.ReservedFor(docket), n)
				}
				reserved += n
			}
			if b.OnHand() != sum || b.Reserved() != reserved || b.Free() != sum-reserved || b.Free() < 0 {
				t.Fatalf("%d on hand, %d reserved, %d free", b.OnHand(), b.Reserved(), b.Free())
			}
		}
		again, err := ledger.Replay(done)
		if err != nil || again.OnHand() != b.OnHand() || !slices.Equal(again.Reservations(), b.Reservations()) {
			t.Fatalf("replayed: %v, %d on hand for %d", err, again.OnHand(), b.OnHand())
		}
	})
	t.Logf("%d moves taken, %d refused", taken, refused)
	if taken == 0 || refused == 0 {
		t.Error("one of the two was never tried")
	}
}

// Two benches that take the last piece get one yes and one clear no.
func TestTheLastOneGoesOnce(t *testing.T) {
	t.Parallel()
	b, err := ledger.Replay([]ledger.Move{{Kind: ledger.Received, Pieces: 1}})
	if err != nil {
		t.Fatal(err)
	}
	b, err = b.After(ledger.Move{Kind: ledger.Reserved, Pieces: 1, DocketID: 1})
	if err != nil {
		t.Fatal(err)
	}
	var short *ledger.ShortError
	for _, kind := range []ledger.Kind{ledger.Reserved, ledger.Fitted} {
		if _, err := b.After(ledger.Move{Kind: kind, Pieces: 1, DocketID: 2}); !errors.As(err, &short) || short.There != 0 {
			t.Errorf("the other bench: %s: %v", kind, err)
		}
	}
	if b, err = b.After(ledger.Move{Kind: ledger.Fitted, Pieces: 1, DocketID: 1}); err != nil || b.OnHand() != 0 || b.Reserved() != 0 {
		t.Errorf("its own reservation: %v, %d left", err, b.OnHand())
	}
}

// A stocktake brings the book to what was counted, and takes reservations back only as far as it must, newest first.
func TestCountsAreBooked(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		var b ledger.Balance
		for range rapid.IntRange(0, 30).Draw(t, "moves") {
			if next, err := b.After(drawMove(t)); err == nil {
				b = next
			}
		}
		found := map[int64]int{}
		var counts []ledger.Count
		for lot := range int64(3) {
			if rapid.Bool().Draw(t, "counted") {
				found[lot] = rapid.IntRange(0, 12).Draw(t, "found")
				counts = append(counts, ledger.Count{Lot: lot, Pieces: found[lot], Why: "stocktake"})
			}
		}
		moves, err := b.Booked(counts)
		if err != nil {
			t.Fatal(err)
		}
		before := b.Reservations()
		after := b
		for _, m := range moves {
			if after, err = after.After(m); err != nil {
				t.Fatalf("%+v of %+v: %v", m, moves, err)
			}
		}
		for lot := range int64(3) {
			want, counted := found[lot]
			if !counted {
				want = b.InLot(lot)
			}
			if got := after.InLot(lot); got != want {
				t.Fatalf("lot %d: %d in the book, %d counted", lot, got, want)
			}
		}
		// By hand: the oldest reservations that what is left covers stand whole.
		left, want := after.OnHand(), []ledger.Reservation(nil)
		for _, r := range before {
			if n := min(left, r.Pieces); n > 0 {
				want = append(want, ledger.Reservation{DocketID: r.DocketID, Pieces: n})
				left -= n
			}
		}
		if !slices.Equal(after.Reservations(), want) {
			t.Fatalf("of %v with %d left: %v, want %v", before, after.OnHand(), after.Reservations(), want)
		}
	})
}

// What ends first is used first, what is past its life never: common practice for oils and seals.
func TestLotsAreUsedInTheirLife(t *testing.T) {
	t.Parallel()
	day := func(d int) time.Time { return time.Date(2027, 3, d, 0, 0, 0, 0, time.UTC) }
	lots := []ledger.Lot{{ID: 1, UsableTo: day(20)}, {ID: 2, UsableTo: day(10)}, {ID: 3, UsableTo: day(1)}}
	b, err := ledger.Replay([]ledger.Move{{Kind: ledger.Received, Pieces: 2, Lot: 1}, {Kind: ledger.Received, Pieces: 3, Lot: 2},
		{Kind: ledger.Received, Pieces: 9, Lot: 3}, {Kind: ledger.Received, Pieces: 1}})
	if err != nil {
		t.Fatal(err)
	}
	taken, err := b.Pick(6, lots, day(10)) // the last day counts
	if err != nil {
		t.Fatal(err)
	}
	got := map[int64]int{}
	for _, m := range taken {
		got[m.Lot] += m.Pieces
	}
	if want := (map[int64]int{2: 3, 1: 2, 0: 1}); !maps.Equal(got, want) {
		t.Errorf("taken of %v, want %v", got, want)
	}
	var short *ledger.ShortError
	if _, err := b.Pick(4, lots, day(11)); !errors.As(err, &short) || short.There != 3 {
		t.Errorf("a day later: %v", err)
	}
}
