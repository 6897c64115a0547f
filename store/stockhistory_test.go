package store_test

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
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
	"ledgerwheel/store/storetest"
)

// crew is several people who work on the same few parts for many dockets at once.
type crew struct {
	*counter
	parts    []int64
	dockets  []docket.Number
	received []atomic.Int64 // by part: pieces that came in from outside
	left     []atomic.Int64 // by part: pieces that went out for good, by count, writing off or sending back
	coming   sync.Map       // by line: held while somebody books it in
	acts, no atomic.Int64
}

// act does one thing by chance. What the record refuses is no fault; anything else is.
func (c *crew) act(ctx context.Context, random *rand.Rand) error {
	p := random.IntN(len(c.parts))
	id, n := c.parts[p], c.dockets[random.IntN(len(c.dockets))]
	pieces := 1 + random.IntN(3)
	change := store.Change{Number: n, By: c.clerk, At: c.at}
	free := stock.Money{Payer: stock.PayerShop, Why: "a gift"}
	switch random.IntN(10) {
	case 0:
		err := c.ReceiveStock(ctx, id, pieces, ledger.Lot{}, c.at, c.clerk, c.at)
		if err == nil {
			c.received[p].Add(int64(pieces))
		}
		return err
	case 1:
		kind := []ledger.Kind{ledger.WrittenOff, ledger.SentBack}[random.IntN(2)]
		err := c.MoveStock(ctx, id, []ledger.Move{{Kind: kind, Pieces: pieces, Why: "bent"}}, c.clerk, c.at)
		if err == nil {
			c.left[p].Add(int64(pieces))
		}
		return err
	case 2:
		row, err := c.PartStock(ctx, id, 0)
		if err != nil {
			return err
		}
		found := max(row.OnHand+random.IntN(3)-1, 0)
		if err = c.CountStock(ctx, id, []ledger.Count{{Pieces: found, Why: "nobody knows"}}, row.Seq, c.clerk, c.at); err == nil {
			c.left[p].Add(int64(row.OnHand - found))
		}
		return err
	case 3, 4, 5:
		state := []stock.State{stock.Needed, stock.Arrived}[random.IntN(2)]
		_, err := c.AddPart(ctx, change, stock.PartLine{Description: "Mainspring", Quantity: pieces, State: state, PartID: id})
		return err
	}
	return c.actOnPart(ctx, random, change, free)
}

// actOnPart moves a part of a docket on.
func (c *crew) actOnPart(ctx context.Context, random *rand.Rand, change store.Change, free stock.Money) error {
	sheet, err := c.PartsSheet(ctx, change.Number)
	if err != nil || len(sheet.Parts) == 0 {
		return err
	}
	line := sheet.Parts[random.IntN(len(sheet.Parts))]
	to := line.State.Moves()
	if len(to) == 0 {
		return nil
	}
	m := store.PartMove{To: to[random.IntN(len(to))], Money: free, Supplier: "Coldharbour"}
	change.Version = sheet.Head.Docket.Version
	if m.To == stock.Arrived && line.State == stock.Ordered {
		return c.comes(ctx, change, line.ID, m)
	}
	return c.MovePart(ctx, change, line.ID, m)
}

// comes books in a part that comes from the supplier, twice from the same page: the second time says no more than the first.
// A part that others book in at that moment is left to them, so that what came is counted once here as well.
func (c *crew) comes(ctx context.Context, change store.Change, lineID int64, m store.PartMove) error {
	mu, _ := c.coming.LoadOrStore(lineID, new(sync.Mutex))
	mu.(*sync.Mutex).Lock()
	defer mu.(*sync.Mutex).Unlock()
	sheet, err := c.PartsSheet(ctx, change.Number)
	if err != nil {
		return err
	}
	i := slices.IndexFunc(sheet.Parts, func(p store.PartRow) bool { return p.ID == lineID })
	if i < 0 || sheet.Parts[i].State != stock.Ordered {
		return nil
	}
	line := sheet.Parts[i]
	change.Version = sheet.Head.Docket.Version
	if err = c.MovePart(ctx, change, lineID, m); err != nil {
		return err
	}
	c.received[slices.Index(c.parts, line.PartID)].Add(int64(line.Quantity))
	return c.MovePart(ctx, change, lineID, m)
}

// refused reports whether the record said no in one of the ways that it may.
func refused(err error) bool {
	var invalid *domain.InvalidError
	return errors.As(err, &invalid) || errors.Is(err, domain.ErrChanged) || errors.Is(err, stock.ErrMove)
}

// agree recomputes every part from its moves and from the dockets, slowly, and holds what is kept to it.
func (c *crew) agree(t *testing.T) {
	t.Helper()
	for i, id := range c.parts {
		b := c.holdsTogether(t, id)
		lines, _ := c.Pool().Query(t.Context(), `SELECT state, quantity, docket_id FROM part_line WHERE part_id = $1`, id)
		fitted, held := 0, map[int64]int{}
		var state stock.State
		var quantity int
		var docketID int64
		if _, err := pgx.ForEachRow(lines, []any{&state, &quantity, &docketID}, func() error {
			switch state {
			case stock.Fitted:
				fitted += quantity
			case stock.Arrived:
				held[docketID] += quantity
			}
			return nil
		}); err != nil {
			t.Fatal(err)
		}
		if want := int(c.received[i].Load()) - int(c.left[i].Load()) - fitted; b.OnHand() != want {
			t.Fatalf("part %d: %d in the drawer, and %d came in, %d went out, %d are fitted", id, b.OnHand(), c.received[i].Load(), c.left[i].Load(), fitted)
		}
		for docketID, pieces := range held {
			if got := b.ReservedFor(docketID); got > pieces {
				t.Fatalf("part %d: docket %d holds %d back and needs %d", id, docketID, got, pieces)
			}
		}
		for _, r := range b.Reservations() {
			if held[r.DocketID] < r.Pieces {
				t.Fatalf("part %d: %d held back for docket %d, which has %d here", id, r.Pieces, r.DocketID, held[r.DocketID])
			}
		}
		var kept int
		if err := c.Pool().QueryRow(t.Context(), `SELECT coalesce(sum(pieces), 0) FROM stock_held WHERE part_id = $1`, id).Scan(&kept); err != nil || kept != b.Reserved() {
			t.Fatalf("part %d: %d kept as held back, the moves come to %d: %v", id, kept, b.Reserved(), err)
		}
	}
}

// Random histories of several people at once on a few parts shared over many dockets: no part is made or lost, and ledger,
// kept quantities and reservations agree after every round. LEDGERWHEEL_STOCK_ACTS makes them longer.
func TestRandomHistoriesOfStock(t *testing.T) {
	t.Parallel()
	acts := 2400
	if typed, err := strconv.Atoi(os.Getenv("LEDGERWHEEL_STOCK_ACTS")); err == nil {
		acts = typed
	}
	c := &crew{counter: newCounter(t)}
	for i := range 3 {
		c.parts = append(c.parts, c.cataloguePart(t, fmt.Sprintf("MS-%d", i), 0))
	}
	c.received, c.left = make([]atomic.Int64, len(c.parts)), make([]atomic.Int64, len(c.parts))
	for i := range 8 {
		in := c.takingIn()
		in.Customer = customer.Customer{Name: fmt.Sprintf("Customer %d", i), PreferredContact: customer.ContactPost, Address: fmt.Sprintf("%d Quay", i)}.Tidied("GB")
		in.Watch.Serial = fmt.Sprintf("H %d31", i*19)
		n, _ := c.mustTakeIn(t, in)
		c.dockets = append(c.dockets, n)
	}
	const people, rounds = 6, 8
	for round := range rounds {
		var wait sync.WaitGroup
		for person := range people {
			wait.Go(func() {
				random := rand.New(rand.NewPCG(uint64(round), uint64(person)))
				for range acts / people / rounds {
					c.acts.Add(1)
					if err := c.act(t.Context(), random); err != nil {
						c.no.Add(1)
						if !refused(err) {
							t.Errorf("round %d: %v", round, err)
						}
					}
				}
			})
		}
		wait.Wait()
		c.agree(t)
	}
	if c.no.Load() > c.acts.Load()*3/4 {
		t.Errorf("%d of %d acts were refused: the history tells little", c.no.Load(), c.acts.Load())
	}
	t.Logf("%d acts of %d people in %d rounds, %d refused", c.acts.Load(), people, rounds, c.no.Load())
	storetest.Whole(t, c.Store)
}
