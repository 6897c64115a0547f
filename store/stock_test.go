package store_test

import (
	"errors"
	"fmt"
	"strings"
	"sync"
	"sync/atomic"
	"testing"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/ledger"
	"ledgerwheel/domain/stock"
	"ledgerwheel/store"
)

func (c *counter) cataloguePart(t *testing.T, number string, pieces int) int64 {
	t.Helper()
	id, err := c.SavePart(t.Context(), ledger.Part{Number: number, Name: "mainspring", Currency: "EUR"}, 0, c.clerk, c.at)
	if err != nil {
		t.Fatal(err)
	}
	if pieces > 0 {
		if err := c.MoveStock(t.Context(), id, []ledger.Move{{Kind: ledger.Received, Pieces: pieces}}, c.clerk, c.at); err != nil {
			t.Fatal(err)
		}
	}
	return id
}

// holdsTogether fails where what stands of a part is not what its moves come to.
func (c *counter) holdsTogether(t *testing.T, id int64) ledger.Balance {
	t.Helper()
	rows, _ := c.Pool().Query(t.Context(), `SELECT kind, pieces, coalesce(lot_id, 0), coalesce(docket_id, 0), why FROM stock_move WHERE part_id = $1
		ORDER BY seq`, id)
	moves, err := pgx.CollectRows(rows, pgx.RowToStructByPos[ledger.Move])
	if err != nil {
		t.Fatal(err)
	}
	b, err := ledger.Replay(moves)
	if err != nil {
		t.Fatalf("the ledger has a move that could not be made: %v", err)
	}
	row, err := c.PartStock(t.Context(), id, 0)
	if err != nil || row.OnHand != b.OnHand() || row.Reserved != b.Reserved() {
		t.Fatalf("%d on hand, %d reserved, and the moves come to %d and %d: %v", row.OnHand, row.Reserved, b.OnHand(), b.Reserved(), err)
	}
	return b
}

// Benches that take the last pieces at once get as many yeses as there are pieces, and clear noes; no piece is made or
// lost, whoever comes first.
func TestTheLastPiecesGoOnce(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	const pieces, benches = 3, 8
	id := c.cataloguePart(t, "MS-1", pieces)
	var numbers []docket.Number
	for i := range benches {
		in := c.takingIn()
		in.Customer = customer.Customer{Name: fmt.Sprintf("Customer %d", i), PreferredContact: customer.ContactPost, Address: fmt.Sprintf("%d Quay", i)}.Tidied("GB")
		in.Watch.Serial = fmt.Sprintf("Q %d77", i*13)
		n, _ := c.mustTakeIn(t, in)
		numbers = append(numbers, n)
	}
	var wait sync.WaitGroup
	var held atomic.Int32
	for _, n := range numbers {
		wait.Go(func() {
			_, err := c.AddPart(t.Context(), store.Change{Number: n, By: c.clerk, At: c.at}, stock.PartLine{Description: "Mainspring", Quantity: 1,
				State: stock.Arrived, PartID: id})
			var invalid *domain.InvalidError
			switch {
			case err == nil:
				held.Add(1)
			case !errors.As(err, &invalid) || !strings.Contains(invalid.Problems[""], "1 needed, 0 free."):
				t.Errorf("a bench that came too late hears %v", err)
			}
		})
	}
	wait.Wait()
	if b := c.holdsTogether(t, id); held.Load() != pieces || b.Free() != 0 || b.Reserved() != pieces {
		t.Errorf("%d of %d held back, %d free", held.Load(), pieces, b.Free())
	}
}

func TestStockThatCantMove(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	id := c.cataloguePart(t, "ms-2", 2)
	for field, moves := range map[string][]ledger.Move{
		"pieces": {{Kind: ledger.WrittenOff, Pieces: 1, Why: "bent"}, {Kind: ledger.WrittenOff, Pieces: 2, Why: "bent"}},
		"why":    {{Kind: ledger.Counted, Pieces: -1}},
	} {
		var invalid *domain.InvalidError
		if err := c.MoveStock(t.Context(), id, moves, c.clerk, c.at); !errors.As(err, &invalid) || invalid.Problems[field] == "" {
			t.Errorf("%s: %v", field, err)
		}
	}
	if b := c.holdsTogether(t, id); b.OnHand() != 2 {
		t.Errorf("%d left of 2 after what was refused", b.OnHand())
	}
	if err := c.MoveStock(t.Context(), 99, []ledger.Move{{Kind: ledger.Received, Pieces: 1}}, c.clerk, c.at); !errors.Is(err, domain.ErrNotFound) {
		t.Errorf("of no part: %v", err)
	}
	var invalid *domain.InvalidError
	if _, err := c.SavePart(t.Context(), ledger.Part{Number: "MS-2", Name: "another", Currency: "EUR"}, 0, c.clerk, c.at); !errors.As(err, &invalid) ||
		invalid.Problems["number"] == "" {
		t.Errorf("a number given twice: %v", err)
	}
}
