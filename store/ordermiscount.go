package store

import (
	"context"
	"errors"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/ledger"
	"ledgerwheel/domain/purchase"
	"ledgerwheel/domain/stock"
	"ledgerwheel/domain/text"
)

// Miscount is a delivery that was booked in with more pieces of a line than came.
type Miscount struct {
	LineID int64
	Pieces int    // that never came
	Lot    string // by its number, of a part that ages
	Why    string
}

// PutRight takes back what a delivery was booked in with too much: the order's line is to come again, its docket's part is ordered
// again as far as it had arrived by it, and the ledger takes the pieces out of the drawer, with the reason. The error is a
// *domain.InvalidError (purchase.Refusal; "lot"; "pieces" where they are not in the drawer any more), or as of the other changes of
// an order.
func (s *Store) PutRight(ctx context.Context, c OrderChange, m Miscount) error {
	m.Why = text.Lines(m.Why)
	n := note{kind: docket.OrderChanged, why: m.Why}
	return s.changeOrder(ctx, c, &n, func(tx pgx.Tx, o Order, dockets map[int64]docket.Docket) error {
		e := purchase.Event{Kind: purchase.Miscounted, LineID: m.LineID, Pieces: m.Pieces, Note: m.Why}
		next, err := o.After(e)
		if err != nil {
			if bad := purchase.Refusal(err); len(bad) > 0 {
				return domain.Invalid(bad)
			}
			return err
		}
		b := takingBack{store: s, tx: tx, change: c, order: o, event: e, d: dockets[o.Parts[m.LineID].DocketID]}
		for _, l := range o.Lines {
			if l.ID == m.LineID {
				b.line = l
			}
		}
		if err := b.plan(ctx, next.Standing(m.LineID).ToCome-o.Standing(m.LineID).ToCome); err != nil {
			return err
		}
		if b.line.PartID != 0 {
			if err := b.takeOut(ctx, m.Lot); err != nil {
				return err
			}
		}
		if err := b.orderAgain(ctx); err != nil {
			return err
		}
		was := o.Order
		o.Order = next
		var batch pgx.Batch
		queueHappened(&batch, o.ID, []purchase.Event{e}, c.By, c.At)
		queueStanding(&batch, o)
		n.summary, n.facts = purchase.HappenedSummary(o.Number, o.Supplier.Name, was, []purchase.Event{e}), o.happenedFacts([]purchase.Event{e})
		return tx.SendBatch(ctx, &batch).Close()
	})
}

// takingBack is a miscounted delivery while it is put right.
type takingBack struct {
	store  *Store
	tx     pgx.Tx
	change OrderChange
	order  Order
	event  purchase.Event
	line   purchase.Line
	d      docket.Docket // that waits for it; zero for the drawer
	own    PartRow       // the docket's part; zero where the watch has left
	others map[int64]PartRow
	again  purchase.Again
}

// plan reads the docket's parts and has the rules say which of them wait again for so many pieces.
func (b *takingBack) plan(ctx context.Context, pieces int) error {
	if b.line.PartLineID == 0 || b.d.ID == 0 || b.d.Closed() {
		return nil
	}
	rows, _ := b.tx.Query(ctx, `SELECT `+partFields+` FROM part_line own JOIN part_line p ON p.id = own.id OR p.docket_id = own.docket_id AND p.state = 'arrived'
		AND p.description = own.description AND p.part_id IS NOT DISTINCT FROM own.part_id WHERE own.id = $1 ORDER BY p.id DESC`, b.line.PartLineID)
	list, err := pgx.CollectRows(rows, scanPart)
	if err != nil {
		return err
	}
	var others []stock.PartLine
	b.others = map[int64]PartRow{}
	for _, p := range list {
		if p.ID == b.line.PartLineID {
			b.own = p
			continue
		}
		b.others[p.ID] = p
		others = append(others, p.PartLine)
	}
	var elsewhere string // the docket's part was moved back by hand and ordered once more
	err = b.tx.QueryRow(ctx, `SELECT o.number FROM order_line_now n JOIN purchase_order o ON o.id = n.order_id
		WHERE n.part_line_id = $1 AND n.to_come > 0 AND n.order_id <> $2`, b.line.PartLineID, b.order.ID).Scan(&elsewhere)
	if err == nil {
		return domain.Invalid(map[string]string{"line": purchase.OrderedElsewhere(b.d.Number.String(), elsewhere)})
	}
	if !errors.Is(err, pgx.ErrNoRows) {
		return err
	}
	b.again = purchase.OrderedAgain(b.own.PartLine, others, pieces)
	return nil
}

// takeOut takes the pieces out of the drawer: those that the docket held back by them first.
func (b *takingBack) takeOut(ctx context.Context, lot string) error {
	stands, _, err := lockBalance(ctx, b.tx, b.line.PartID)
	if err != nil {
		return err
	}
	take := ledger.Move{Kind: ledger.Counted, Pieces: -b.event.Pieces, Why: purchase.MiscountReason(b.order.Number, b.event.Note)}
	if b.order.Parts[b.line.ID].Ages {
		err := b.tx.QueryRow(ctx, `SELECT id FROM lot WHERE part_id = $1 AND number = $2 ORDER BY id LIMIT 1`, b.line.PartID, text.Line(lot)).Scan(&take.Lot)
		if errors.Is(err, pgx.ErrNoRows) {
			return domain.Invalid(map[string]string{"lot": "Give the lot that it was booked in with."})
		}
		if err != nil {
			return err
		}
	}
	var moves []StockMove
	if held := min(b.again.Released, stands.ReservedFor(b.d.ID)); held > 0 {
		moves = append(moves, StockMove{Move: ledger.Move{Kind: ledger.Released, Pieces: held, DocketID: b.d.ID}, PartLineID: b.own.ID})
	}
	_, err = moveStock(ctx, b.tx, b.line.PartID, append(moves, StockMove{Move: take}), b.change.By, b.change.At)
	return tooFew(err)
}

// orderAgain has the docket's part wait again, and tells its journal.
func (b *takingBack) orderAgain(ctx context.Context) error {
	if b.d.ID == 0 || b.d.Closed() {
		return nil
	}
	told := []event{{kind: docket.PartNews, summary: b.line.NewsSummary(b.order.Number, b.event), facts: b.order.happenedFacts([]purchase.Event{b.event})}}
	if b.again.Released > 0 {
		own := b.own
		var err error
		if b.again.Kept > 0 {
			var events []event
			_, events, err = divertPart(ctx, b.tx, b.d, own, purchase.Reach{Pieces: b.again.Kept, To: stock.Arrived, Rest: stock.Ordered}, b.change.At)
			told = append(told, events...)
		} else {
			own.PartLine = b.again.Own
			err = b.keep(ctx, own, &told)
		}
		for _, p := range b.again.Others {
			if row := b.others[p.ID]; err == nil {
				row.PartLine = p
				err = b.keep(ctx, row, &told)
			}
		}
		if err != nil {
			return err
		}
	}
	return tellDockets(ctx, b.tx, b.store, map[int64]docket.Docket{b.d.ID: b.d}, map[int64][]event{b.d.ID: told}, b.change)
}

func (b *takingBack) keep(ctx context.Context, p PartRow, told *[]event) error {
	p.Since = docket.Moment(b.change.At)
	*told = append(*told, event{kind: partKinds[p.State], summary: p.Summary(), facts: factsOfPart(p.PartLine)})
	return keepPart(ctx, b.tx, b.d, p)
}
