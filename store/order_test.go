package store_test

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/ledger"
	"ledgerwheel/domain/purchase"
	"ledgerwheel/domain/stock"
	"ledgerwheel/store"
	"ledgerwheel/store/storetest"
)

var orderDay = time.Date(2026, 11, 24, 0, 0, 0, 0, time.UTC)

func (c *counter) supplier(t *testing.T, name string) int64 {
	t.Helper()
	lead := 4
	id, err := c.SaveSupplier(t.Context(), purchase.Supplier{Name: name, Email: "orders@materials.example", LeadDays: &lead}, 0, c.clerk, c.at)
	if err != nil {
		t.Fatal(err)
	}
	return id
}

// order reads an order, and the change that somebody makes who saw it so.
func (c *counter) order(t *testing.T, id int64) (store.Order, store.OrderChange) {
	t.Helper()
	o, err := c.Order(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	return o, store.OrderChange{ID: id, Version: o.Version, Today: orderDay, By: c.clerk, At: c.at}
}

func (c *counter) gather(t *testing.T, picks ...store.Pick) store.Gathered {
	t.Helper()
	g, err := c.Gather(t.Context(), picks, orderDay, c.clerk, c.at)
	if err != nil {
		t.Fatal(err)
	}
	return g
}

func (c *counter) send(t *testing.T, id int64) {
	t.Helper()
	_, change := c.order(t, id)
	if err := c.SendOrder(t.Context(), change, purchase.ByTelephone, store.OrderLetter{}); err != nil {
		t.Fatal(err)
	}
}

func (c *counter) happened(t *testing.T, id int64, list ...store.Happening) {
	t.Helper()
	_, change := c.order(t, id)
	if err := c.WriteDown(t.Context(), change, list); err != nil {
		t.Fatal(err)
	}
}

func came(line int64, pieces int) store.Happening {
	return store.Happening{Event: purchase.Event{Kind: purchase.Came, LineID: line, Pieces: pieces}}
}

// What dockets and drawers need is gathered by supplier, sent, and comes in part, wrong, and at last: each part goes to its docket
// through the ledger, and both journals tell it.
func TestAnOrderFromNeedToArrival(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	harbourside := b.supplier(t, "Harbourside")
	at, to := 1, 4
	id, err := b.SavePart(t.Context(), ledger.Part{Number: "SL-1", Name: "seal", Currency: "EUR", Ages: true, ReorderAt: &at, ReorderTo: to,
		Sources: []ledger.Source{{SupplierID: harbourside, Number: "H 9"}}}, 0, b.clerk, b.at)
	if err != nil {
		t.Fatal(err)
	}
	seal := b.mustAddPart(t, stock.PartLine{Description: "Seal", Quantity: 3, State: stock.Needed, PartID: id})
	crown := b.mustAddPart(t, stock.PartLine{Description: "Crown", Reference: "C 5", Supplier: "harbourside", Quantity: 1, State: stock.Needed})
	needs, err := b.Needs(t.Context())
	if err != nil || len(needs.Dockets) != 2 || len(needs.Drawers) != 1 || needs.Drawers[0].Pieces != 4 {
		t.Fatalf("needed: %+v, %v", needs, err)
	}
	if needs.Dockets[0].SupplierID != harbourside || needs.Dockets[1].SupplierID != harbourside || needs.Dockets[0].Number != "H 9" || needs.Dockets[0].Agreed() {
		t.Errorf("from whom: %+v", needs.Dockets)
	}
	picks := []store.Pick{{PartLineID: seal, SupplierID: harbourside}, {PartLineID: crown, SupplierID: harbourside}, {PartID: id, SupplierID: harbourside}}
	g := b.gather(t, picks...)
	if len(g.Orders) != 1 || g.Put != 3 || g.Passed != 0 {
		t.Fatalf("gathered: %+v", g)
	}
	if again := b.gather(t, picks...); again.Put != 0 || again.Passed != 3 {
		t.Errorf("gathered again: %+v", again)
	}
	if needs, err := b.Needs(t.Context()); err != nil || len(needs.Dockets)+len(needs.Drawers) != 0 {
		t.Errorf("still needed: %+v, %v", needs, err)
	}
	order := g.Orders[0]
	b.send(t, order)
	o, _ := b.order(t, order)
	lines := o.Lines
	if o.Number != "2026-001" || o.Stands != purchase.Underway || o.To.Name != "Harbourside" || o.Standing(lines[0].ID).DueOn != orderDay.AddDate(0, 0, 4) {
		t.Errorf("sent: %+v", o.OrderHead)
	}
	for _, p := range b.parts(t).Parts {
		if p.State != stock.Ordered || p.Supplier != "Harbourside" {
			t.Errorf("sent, %s is %s from %s", p.Description, p.State, p.Supplier)
		}
	}
	// A delivery of seals without their lot is refused, whole.
	_, change := b.order(t, order)
	var invalid *domain.InvalidError
	if err := b.WriteDown(t.Context(), change, []store.Happening{came(lines[1].ID, 1), came(lines[0].ID, 2)}); !errors.As(err, &invalid) ||
		invalid.Problems[fmt.Sprintf("lot.%d", lines[0].ID)] == "" {
		t.Errorf("without a lot: %v", err)
	}
	inLot := func(h store.Happening, lot string) store.Happening { h.Lot.Number = lot; return h }
	b.happened(t, order, inLot(came(lines[0].ID, 2), "A"), store.Happening{Event: purchase.Event{Kind: purchase.CameWrong, LineID: lines[1].ID, Pieces: 1,
		Note: "a crown of 5.0 mm", Fate: purchase.SentBack}}, inLot(came(lines[2].ID, 5), "A"))
	if err := b.WriteDown(t.Context(), change, []store.Happening{inLot(came(lines[0].ID, 1), "A")}); !errors.Is(err, domain.ErrChanged) {
		t.Errorf("by one who had not seen the delivery: %v", err)
	}
	if got := b.holdsTogether(t, id); got.OnHand() != 7 || got.Reserved() != 2 {
		t.Errorf("%d in the drawer, %d reserved", got.OnHand(), got.Reserved())
	}
	states := func() string {
		var said []string
		for _, p := range b.parts(t).Parts {
			said = append(said, fmt.Sprintf("%d %s %s", p.Quantity, p.Description, p.State))
		}
		slices.Sort(said)
		return strings.Join(said, ", ")
	}
	if got := states(); got != "1 Crown ordered, 1 Seal ordered, 2 Seal arrived" {
		t.Errorf("after the first delivery: %s", got)
	}
	o, _ = b.order(t, order)
	if o.Standing(lines[2].ID).Surplus != 1 || o.Stands != purchase.InPart || len(o.Waiting) != 1 || o.Waiting[0].ToCome != 2 {
		t.Errorf("after the first delivery: %+v, %+v", o.Stands, o.Waiting)
	}
	b.happened(t, order, store.Happening{Event: purchase.Event{Kind: purchase.BackOrdered, LineID: lines[1].ID, DueOn: orderDay.AddDate(0, 0, 30)}})
	b.happened(t, order, inLot(came(lines[0].ID, 1), "B"), store.Happening{Event: purchase.Event{Kind: purchase.Cancelled, LineID: lines[1].ID, Pieces: 1}})
	if got := states(); got != "1 Crown needed, 1 Seal arrived, 2 Seal arrived" {
		t.Errorf("at last: %s", got)
	}
	if needs, err := b.Needs(t.Context()); err != nil || len(needs.Dockets) != 1 {
		t.Errorf("what was called off is needed again: %+v, %v", needs.Dockets, err)
	}
	if o, _ = b.order(t, order); o.Stands != purchase.Complete {
		t.Errorf("the order is %s", o.Stands)
	}
	storetest.Whole(t, b.Store)
}

// A delivery that was miscounted is put right with a reason: the pieces leave ledger and docket, which waits for them again, and
// come a second time; what is fitted by then, or was no delivery of this order's, can't be taken back.
func TestAMiscountedDeliveryIsPutRight(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	from, id := b.supplier(t, "Harbourside"), b.cataloguePart(t, "MS-1", 0)
	line := b.mustAddPart(t, stock.PartLine{Description: "Mainspring", Quantity: 3, State: stock.Needed, PartID: id})
	order := b.gather(t, store.Pick{PartLineID: line, SupplierID: from}).Orders[0]
	b.send(t, order)
	o, _ := b.order(t, order)
	of := o.Lines[0].ID
	states := func() string {
		var said []string
		for _, p := range b.parts(t).Parts {
			said = append(said, fmt.Sprintf("%d %s", p.Quantity, p.State))
		}
		slices.Sort(said)
		return strings.Join(said, ", ")
	}
	refused := func(m store.Miscount, field string) {
		t.Helper()
		_, change := b.order(t, order)
		var invalid *domain.InvalidError
		if err := b.PutRight(t.Context(), change, m); !errors.As(err, &invalid) || invalid.Problems[field] == "" {
			t.Errorf("%+v: %v, want a word beside %q", m, err, field)
		}
	}
	right := func(pieces int, want string, onHand, reserved int) {
		t.Helper()
		_, change := b.order(t, order)
		if err := b.PutRight(t.Context(), change, store.Miscount{LineID: of, Pieces: pieces, Why: "The bag held fewer."}); err != nil {
			t.Fatal(err)
		}
		if err := b.PutRight(t.Context(), change, store.Miscount{LineID: of, Pieces: 1, Why: "Seen before."}); !errors.Is(err, domain.ErrChanged) {
			t.Errorf("by one who saw the order as it was: %v", err)
		}
		if got := b.holdsTogether(t, id); states() != want || got.OnHand() != onHand || got.Reserved() != reserved {
			t.Errorf("%s, %d in the drawer, %d reserved; want %s, %d, %d", states(), got.OnHand(), got.Reserved(), want, onHand, reserved)
		}
	}
	b.happened(t, order, came(of, 4))
	refused(store.Miscount{LineID: of, Pieces: 5, Why: "x"}, "pieces")
	refused(store.Miscount{LineID: of, Pieces: 0, Why: "x"}, "pieces")
	refused(store.Miscount{LineID: of, Pieces: 1}, "note")
	right(1, "3 arrived", 3, 3)            // the one beyond what was ordered
	right(1, "1 ordered, 2 arrived", 2, 2) // of the docket's
	if o, _ = b.order(t, order); o.Standing(of).ToCome != 1 || o.Stands != purchase.InPart {
		t.Errorf("%+v, %s", o.Standing(of), o.Stands)
	}
	right(2, "2 cancelled, 3 ordered", 0, 0) // what had arrived beside what waits
	b.happened(t, order, came(of, 3))
	if got := states(); got != "2 cancelled, 3 arrived" {
		t.Errorf("come once more: %s", got)
	}
	if err := b.MovePart(t.Context(), b.seen(t, b.watchmaker), line, store.PartMove{To: stock.Fitted, Money: stock.Money{Payer: stock.PayerShop, Why: "x"}}); err != nil {
		t.Fatal(err)
	}
	refused(store.Miscount{LineID: of, Pieces: 1, Why: "x"}, "pieces") // the drawer has none
	j, err := b.ShopJournal(t.Context(), 0)
	if err != nil || !slices.ContainsFunc(j.Entries, func(e docket.Entry) bool { return e.Why == "The bag held fewer." }) {
		t.Errorf("the shop's journal names no reason, %v", err)
	}
	storetest.Whole(t, b.Store)
}

// What was kept aside goes back, or into the drawer as what it is, piece by piece and not twice.
func TestWhatWasKeptAsideIsSettled(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	from, id := b.supplier(t, "Harbourside"), b.cataloguePart(t, "CR-1", 0)
	line := b.mustAddPart(t, stock.PartLine{Description: "Crown", Quantity: 1, State: stock.Needed})
	order := b.gather(t, store.Pick{PartLineID: line, SupplierID: from}).Orders[0]
	b.send(t, order)
	o, _ := b.order(t, order)
	b.happened(t, order, store.Happening{Event: purchase.Event{Kind: purchase.CameWrong, LineID: o.Lines[0].ID, Pieces: 3, Note: "crowns of 5.0 mm", Fate: purchase.KeptAside}})
	o, _ = b.order(t, order)
	kept := o.Kept()
	if len(kept) != 1 || kept[0].Pieces != 3 {
		t.Fatalf("kept aside: %+v", kept)
	}
	settle := func(pieces int, fate purchase.Fate, part int64) error {
		_, change := b.order(t, order)
		return b.WriteDown(t.Context(), change, []store.Happening{{Event: purchase.Event{Kind: purchase.Settled, OfID: kept[0].ID, Pieces: pieces, Fate: fate, PartID: part}}})
	}
	var invalid *domain.InvalidError
	for _, err := range []error{settle(4, purchase.SentBack, 0), settle(1, purchase.KeptAside, 0), settle(1, purchase.IntoStock, 0)} {
		if !errors.As(err, &invalid) {
			t.Errorf("settled: %v", err)
		}
	}
	if err := errors.Join(settle(2, purchase.IntoStock, id), settle(1, purchase.SentBack, 0)); err != nil {
		t.Fatal(err)
	}
	if err := settle(1, purchase.SentBack, 0); !errors.As(err, &invalid) {
		t.Errorf("what went back goes back again: %v", err)
	}
	o, _ = b.order(t, order)
	if got := b.holdsTogether(t, id); got.Free() != 2 || len(o.Kept()) != 0 || o.Standing(o.Lines[0].ID).ToCome != 1 {
		t.Errorf("%d in the drawer, kept %+v, %+v", got.Free(), o.Kept(), o.Standing(o.Lines[0].ID))
	}
	storetest.Whole(t, b.Store)
}

// A part that the docket's own page says to have come is on its order too, and is not received twice.
func TestWhatADocketsPageSaysToHaveCome(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	from, id := b.supplier(t, "Harbourside"), b.cataloguePart(t, "MS-1", 0)
	line := b.mustAddPart(t, stock.PartLine{Description: "Mainspring", Quantity: 2, State: stock.Needed, PartID: id})
	order := b.gather(t, store.Pick{PartLineID: line, SupplierID: from}).Orders[0]
	b.send(t, order)
	if err := b.MovePart(t.Context(), b.seen(t, b.watchmaker), line, store.PartMove{To: stock.Arrived}); err != nil {
		t.Fatal(err)
	}
	o, change := b.order(t, order)
	if st := o.Standing(o.Lines[0].ID); st.Came != 2 || st.ToCome != 0 || o.Stands != purchase.Complete {
		t.Errorf("%+v", st)
	}
	// The same again is surplus, and free.
	if err := b.WriteDown(t.Context(), change, []store.Happening{came(o.Lines[0].ID, 1)}); err != nil {
		t.Fatal(err)
	}
	if got := b.holdsTogether(t, id); got.OnHand() != 3 || got.Reserved() != 2 {
		t.Errorf("%d in the drawer, %d reserved", got.OnHand(), got.Reserved())
	}
	storetest.Whole(t, b.Store)
}

// A draft is corrected, refused with the reason beside its field, and given up; a need that is gone by then is not sent.
func TestDraftsAreCorrected(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	from := b.supplier(t, "Harbourside")
	crown := b.mustAddPart(t, stock.PartLine{Description: "Crown", Quantity: 1, State: stock.Needed})
	order := b.gather(t, store.Pick{PartLineID: crown, SupplierID: from}).Orders[0]
	o, change := b.order(t, order)
	var invalid *domain.InvalidError
	if err := b.SaveOrder(t.Context(), change, []purchase.Line{{ID: o.Lines[0].ID, Description: "Crown", Pieces: 0}}, ""); !errors.As(err, &invalid) ||
		invalid.Problems["lines.0.pieces"] == "" {
		t.Errorf("no pieces: %v", err)
	}
	cost := int64(1250)
	asked := []purchase.Line{{ID: o.Lines[0].ID, Description: "Crown 5.5", Pieces: 2, CostMinor: &cost}, {Description: "Peg wood", Number: "77", Pieces: 1}}
	if err := b.SaveOrder(t.Context(), change, asked, "Please send together."); err != nil {
		t.Fatal(err)
	}
	if err := b.SaveOrder(t.Context(), change, asked, ""); !errors.Is(err, domain.ErrChanged) {
		t.Errorf("of an older draft: %v", err)
	}
	o, _ = b.order(t, order)
	if len(o.Lines) != 2 || *o.Lines[0].CostMinor != cost || o.Lines[1].Description != "Peg wood" || o.Parts[o.Lines[0].ID].Docket != b.n || o.Note == "" {
		t.Errorf("the draft: %+v", o.Lines)
	}
	if err := b.MovePart(t.Context(), b.seen(t, b.watchmaker), crown, store.PartMove{To: stock.Cancelled}); err != nil {
		t.Fatal(err)
	}
	_, change = b.order(t, order)
	if err := b.SendOrder(t.Context(), change, purchase.ByTelephone, store.OrderLetter{}); !errors.As(err, &invalid) || invalid.Problems["lines.0.description"] == "" {
		t.Errorf("what is needed no more is sent: %v", err)
	}
	if err := b.DropDraft(t.Context(), change); err != nil {
		t.Fatal(err)
	}
	if o, _ = b.order(t, order); o.Stands != purchase.CalledOff {
		t.Errorf("given up, it is %s", o.Stands)
	}
	storetest.Whole(t, b.Store)
}

// However many gather at once, one need is put on one order, and a supplier has one draft.
func TestGatherersOrderOnce(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	suppliers := []int64{b.supplier(t, "Harbourside"), b.supplier(t, "Petrel & Sons")}
	var picks []store.Pick
	for i := range 6 {
		line := b.mustAddPart(t, stock.PartLine{Description: fmt.Sprintf("Part %d", i), Quantity: 1, State: stock.Needed})
		picks = append(picks, store.Pick{PartLineID: line, SupplierID: suppliers[i%2]})
	}
	at := 0
	id, err := b.SavePart(t.Context(), ledger.Part{Number: "MS-1", Name: "spring", Currency: "EUR", ReorderAt: &at, ReorderTo: 5}, 0, b.clerk, b.at)
	if err != nil {
		t.Fatal(err)
	}
	picks = append(picks, store.Pick{PartID: id, SupplierID: suppliers[0]})
	var put atomic.Int32
	var wait sync.WaitGroup
	for i := range 8 {
		mine := slices.Clone(picks)
		rand.Shuffle(len(mine), func(a, b int) { mine[a], mine[b] = mine[b], mine[a] })
		wait.Go(func() {
			g, err := b.Gather(t.Context(), mine[:1+i%len(mine)], orderDay, b.clerk, b.at)
			if err != nil {
				t.Error(err)
			}
			put.Add(int32(g.Put))
		})
	}
	wait.Wait()
	put.Add(int32(b.gather(t, picks...).Put))
	var lines, drafts int
	if err := b.Pool().QueryRow(t.Context(), `SELECT (SELECT count(*) FROM order_line), (SELECT count(*) FROM purchase_order)`).Scan(&lines, &drafts); err != nil {
		t.Fatal(err)
	}
	if int(put.Load()) != len(picks) || lines != len(picks) || drafts != 2 {
		t.Errorf("%d said to be put, %d lines on %d drafts, want %d on 2", put.Load(), lines, drafts, len(picks))
	}
	storetest.Whole(t, b.Store)
}

// TestOrdersAddUp has several people order, receive, call off and move parts at the docket's page at once, and then recomputes
// slowly what stands: every piece ordered came, was called off or is to come; what came is in the ledger once; dockets hold back
// what arrived for them; no need is on two orders.
func TestOrdersAddUp(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	suppliers := []int64{b.supplier(t, "Harbourside"), b.supplier(t, "Petrel & Sons")}
	parts := []int64{b.cataloguePart(t, "MS-1", 0), b.cataloguePart(t, "CR-1", 0), 0}
	numbers := []docket.Number{b.n}
	for i := range 3 {
		in := b.takingIn()
		in.Customer = customer.Customer{Name: fmt.Sprintf("Customer %d", i), PreferredContact: customer.ContactPost, Address: fmt.Sprintf("%d Quay", i)}.Tidied("GB")
		in.Watch.Serial = fmt.Sprintf("Q %d77", i*13)
		n, _ := b.mustTakeIn(t, in)
		numbers = append(numbers, n)
	}
	var done, refused atomic.Int32
	var asked [3]atomic.Int32 // pieces that dockets need of each part
	var wait sync.WaitGroup
	for worker := range 4 {
		wait.Go(func() {
			p := person{counter: b.counter, rand: rand.New(rand.NewPCG(uint64(worker), 7)), suppliers: suppliers, parts: parts, numbers: numbers, asked: &asked}
			for range 60 {
				switch err := p.act(t.Context()); {
				case err == nil:
					done.Add(1)
				case errors.Is(err, domain.ErrChanged), errors.Is(err, stock.ErrMove), errors.As(err, new(*domain.InvalidError)):
					refused.Add(1)
				default:
					t.Error(err)
				}
			}
		})
	}
	wait.Wait()
	t.Logf("%d acts done, %d refused", done.Load(), refused.Load())
	checkOrders(t, b.counter, parts[:2], &asked)
	storetest.Whole(t, b.Store)
}

// person does one thing after another by chance.
type person struct {
	*counter
	rand      *rand.Rand
	suppliers []int64
	parts     []int64
	numbers   []docket.Number
	asked     *[3]atomic.Int32
}

func (p person) act(ctx context.Context) error {
	n := p.numbers[p.rand.IntN(len(p.numbers))]
	switch which := p.rand.IntN(10); which {
	case 0, 1:
		i, pieces := p.rand.IntN(3), 1+p.rand.IntN(3)
		_, err := p.AddPart(ctx, store.Change{Number: n, By: p.clerk, At: p.at}, stock.PartLine{Description: fmt.Sprintf("Part %d", i), Quantity: pieces,
			State: stock.Needed, PartID: p.parts[i]})
		if err == nil {
			p.asked[i].Add(int32(pieces))
		}
		return err
	case 2, 3:
		needs, err := p.Needs(ctx)
		var picks []store.Pick
		for _, need := range needs.Dockets {
			if p.rand.IntN(2) == 0 {
				picks = append(picks, store.Pick{PartLineID: need.PartLineID, SupplierID: p.suppliers[p.rand.IntN(2)]})
			}
		}
		if err == nil {
			_, err = p.Gather(ctx, picks, orderDay, p.clerk, p.at)
		}
		return err
	case 4:
		return p.onDocket(ctx, n)
	default:
		return p.onOrder(ctx, which)
	}
}

// onDocket moves a part at the docket's page.
func (p person) onDocket(ctx context.Context, n docket.Number) error {
	sheet, err := p.PartsSheet(ctx, n)
	if err != nil || len(sheet.Parts) == 0 {
		return err
	}
	part := sheet.Parts[p.rand.IntN(len(sheet.Parts))]
	if part.State == stock.Cancelled { // its pieces are another part's since a delivery was put right
		return nil
	}
	to := []stock.State{stock.Arrived, stock.Needed}[p.rand.IntN(2)]
	return p.MovePart(ctx, store.Change{Number: n, Version: sheet.Head.Docket.Version, By: p.clerk, At: p.at}, part.ID, store.PartMove{To: to})
}

// onOrder sends an order, or writes down what happened to it.
func (p person) onOrder(ctx context.Context, which int) error {
	var id int64
	err := p.Pool().QueryRow(ctx, `SELECT order_id FROM order_now WHERE stage IN ('drafted', 'under way', 'came in part') OR $1 ORDER BY random() LIMIT 1`, which == 8).Scan(&id)
	if errors.Is(err, pgx.ErrNoRows) {
		return nil
	}
	o, err := p.Order(ctx, id)
	if err != nil {
		return err
	}
	c := store.OrderChange{ID: id, Version: o.Version, Today: orderDay, By: p.clerk, At: p.at}
	if o.Stands == purchase.Drafted {
		return p.SendOrder(ctx, c, purchase.Otherwise, store.OrderLetter{})
	}
	if which == 8 {
		for _, l := range o.Lines {
			if st := o.Standing(l.ID); st.Came > 0 {
				return p.PutRight(ctx, c, store.Miscount{LineID: l.ID, Pieces: 1 + p.rand.IntN(st.Came), Why: "the bag held fewer"})
			}
		}
	}
	var list []store.Happening
	for _, l := range o.Lines {
		h := store.Happening{Event: purchase.Event{Kind: purchase.Came, LineID: l.ID, Pieces: 1 + p.rand.IntN(l.Pieces+1)}}
		if which == 9 {
			h.Kind = purchase.Cancelled
		}
		if p.rand.IntN(2) == 0 {
			list = append(list, h)
		}
	}
	return p.WriteDown(ctx, c, list)
}

// checkOrders recomputes what stands of orders, drawers and dockets' parts.
func checkOrders(t *testing.T, c *counter, parts []int64, asked *[3]atomic.Int32) {
	t.Helper()
	rows, _ := c.Pool().Query(t.Context(), `SELECT l.id, l.pieces, coalesce(l.part_id, 0), n.to_come, o.stage,
			(SELECT coalesce(sum(CASE kind WHEN 'came' THEN pieces ELSE -pieces END), 0) FROM order_event e WHERE e.line_id = l.id AND e.kind IN ('came', 'miscounted'))::int,
			(SELECT coalesce(sum(pieces), 0) FROM order_event e WHERE e.line_id = l.id AND e.kind = 'cancelled')::int
		FROM order_line l JOIN order_line_now n ON n.line_id = l.id JOIN order_now o ON o.order_id = l.order_id`)
	type line struct {
		ID              int64
		Pieces          int
		PartID          int64
		ToCome          int
		Stage           string
		Came, Cancelled int
	}
	list, err := pgx.CollectRows(rows, pgx.RowToStructByPos[line])
	if err != nil {
		t.Fatal(err)
	}
	arrived := map[int64]int{}
	sawSurplus, sawAll := false, 0
	for _, l := range list {
		arrived[l.PartID] += l.Came
		surplus := max(0, l.Came+l.Cancelled-l.Pieces)
		if l.Pieces+surplus != l.Came+l.Cancelled+l.ToCome || surplus > 0 && l.ToCome > 0 {
			t.Errorf("%+v does not add up", l)
		}
		sawSurplus = sawSurplus || surplus > 0
		sawAll += l.Came
	}
	if !sawSurplus || sawAll == 0 {
		t.Error("nothing came beyond what was ordered: the history tried too little")
	}
	var twice int
	if err := c.Pool().QueryRow(t.Context(), `SELECT count(*) FROM (SELECT part_line_id FROM order_line_now WHERE to_come > 0 AND part_line_id IS NOT NULL
		GROUP BY 1 HAVING count(*) > 1) d`).Scan(&twice); err != nil || twice > 0 {
		t.Errorf("%d needs are on two orders, %v", twice, err)
	}
	for i, id := range parts {
		b := c.holdsTogether(t, id)
		var received, held, wanted int
		err := c.Pool().QueryRow(t.Context(), `SELECT (SELECT coalesce(sum(pieces), 0) FROM stock_move WHERE part_id = $1 AND kind IN ('received', 'counted')),
			(SELECT coalesce(sum(quantity), 0) FROM part_line WHERE part_id = $1 AND state = 'arrived'), (SELECT coalesce(sum(quantity), 0) FROM part_line WHERE part_id = $1 AND state <> 'cancelled')`,
			id).Scan(&received, &held, &wanted)
		if err != nil || received != arrived[id] || b.Reserved() != held || wanted != int(asked[i].Load()) {
			t.Errorf("part %d: %d received, %d came on orders; %d reserved, %d arrived for dockets; dockets have %d pieces, were asked %d; %v", id, received, arrived[id],
				b.Reserved(), held, wanted, asked[i].Load(), err)
		}
	}
}
