package store

import (
	"context"
	"fmt"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/purchase"
	"ledgerwheel/domain/text"
)

// StartOrder is the draft of an order to a supplier, made where there is none.
func (s *Store) StartOrder(ctx context.Context, supplierID int64, today time.Time, by Actor, at time.Time) (id int64, err error) {
	n := note{kind: docket.OrderChanged, by: by, at: at}
	err = s.changeShop(ctx, &n, func(tx pgx.Tx) error {
		if _, err := tx.Exec(ctx, `SELECT pg_advisory_xact_lock($1)`, gathering); err != nil {
			return err
		}
		o, err := draftOf(ctx, tx, supplierID, today, by, at)
		id, n.summary, n.facts = o.ID, purchase.DraftSummary(o.Number, o.Supplier.Name, o.Lines), o.facts()
		return err
	})
	if err != nil {
		return 0, fmt.Errorf("order to supplier %d: %w", supplierID, Translate(err))
	}
	return id, nil
}

// OrderChange is who changes which order when, and on the strength of which version of it.
type OrderChange struct {
	ID, Version int64
	Today       time.Time // civil day in the shop
	By          Actor
	At          time.Time
}

// changeOrder holds an order, with the dockets that it leads to, and runs do on it as it was seen. The error wraps
// domain.ErrNotFound or domain.ErrChanged.
func (s *Store) changeOrder(ctx context.Context, c OrderChange, n *note, do func(pgx.Tx, Order, map[int64]docket.Docket) error) error {
	n.by, n.at = c.By, c.At
	err := s.changeShop(ctx, n, func(tx pgx.Tx) error {
		dockets, err := lockDocketsByID(ctx, tx, `SELECT docket_id FROM order_line WHERE order_id = $1`, c.ID)
		if err != nil {
			return err
		}
		o, err := lockOrder(ctx, tx, c.ID)
		if err != nil {
			return err
		}
		if o.Version != c.Version {
			return domain.ErrChanged
		}
		return do(tx, o, dockets)
	})
	if err != nil {
		return fmt.Errorf("change order %d: %w", c.ID, Translate(err))
	}
	return nil
}

// SaveOrder replaces a draft's note and its lines: those that lack are taken off, those without an id are added, for the
// drawer, under the supplier's own number where none was given. The error is a *domain.InvalidError (purchase.Order.Problems; a draft may be empty), or as of the other changes of an
// order; "" where it was sent meanwhile.
func (s *Store) SaveOrder(ctx context.Context, c OrderChange, lines []purchase.Line, said string) error {
	n := note{kind: docket.OrderChanged}
	return s.changeOrder(ctx, c, &n, func(tx pgx.Tx, o Order, _ map[int64]docket.Docket) error {
		if o.Order.Stage() != purchase.Drafted {
			return domain.Invalid(purchase.Refusal(purchase.ErrSent))
		}
		said = text.Lines(said)
		was, asked := o.Lines, o.Order
		asked.Lines = nil
		for _, l := range lines {
			l.Number, l.Description = text.Line(l.Number), text.Line(l.Description)
			l.PartLineID = 0
			if l.ID != 0 {
				at := slices.IndexFunc(was, func(old purchase.Line) bool { return old.ID == l.ID })
				if at < 0 {
					return domain.ErrNotFound
				}
				l.PartID, l.PartLineID = was[at].PartID, was[at].PartLineID
			}
			if l.ID == 0 && l.PartID != 0 && l.Number == "" {
				if err := tx.QueryRow(ctx, `SELECT coalesce((SELECT number FROM part_source WHERE part_id = $1 AND supplier_id = $2 ORDER BY ordinal LIMIT 1), '')`,
					l.PartID, o.Supplier.ID).Scan(&l.Number); err != nil {
					return err
				}
			}
			asked.Lines = append(asked.Lines, l)
		}
		bad := asked.Problems()
		if len(asked.Lines) == 0 {
			delete(bad, "lines")
		}
		if why := purchase.NoteProblem(said); why != "" {
			bad["note"] = why
		}
		if err := domain.Invalid(bad); err != nil {
			return err
		}
		o.Lines = asked.Lines
		if err := writeDraft(ctx, tx, o, was, said); err != nil {
			return err
		}
		n.summary, n.facts = purchase.DraftSummary(o.Number, o.Supplier.Name, o.Lines), o.facts()
		return nil
	})
}

// writeDraft writes the lines of a draft that had others, and its note.
func writeDraft(ctx context.Context, tx pgx.Tx, o Order, was []purchase.Line, said string) error {
	kept := map[int64]bool{}
	var batch pgx.Batch
	if said != o.Note {
		batch.Queue(`UPDATE purchase_order SET note = $2 WHERE id = $1`, o.ID, said)
	}
	var old, fresh []purchase.Line
	for _, l := range o.Lines {
		if l.ID == 0 {
			fresh = append(fresh, l)
			continue
		}
		old, kept[l.ID] = append(old, l), true
		batch.Queue(`UPDATE order_line SET number = $3, description = $4, pieces = $5, cost_minor = $6 WHERE id = $1 AND order_id = $2`, l.ID, o.ID, l.Number,
			l.Description, l.Pieces, l.CostMinor)
	}
	for _, l := range was {
		if !kept[l.ID] {
			batch.Queue(`DELETE FROM order_line_now WHERE line_id = $1`, l.ID)
			batch.Queue(`DELETE FROM order_line WHERE id = $1`, l.ID)
		}
	}
	if err := tx.SendBatch(ctx, &batch).Close(); err != nil {
		return err
	}
	o.Lines = append(old, fresh...)
	_, err := addLines(ctx, tx, o, len(old))
	return err
}

// DropDraft gives a draft up: what it had is to be ordered again.
func (s *Store) DropDraft(ctx context.Context, c OrderChange) error {
	n := note{kind: docket.OrderChanged}
	return s.changeOrder(ctx, c, &n, func(tx pgx.Tx, o Order, _ map[int64]docket.Docket) error {
		e := purchase.Event{Kind: purchase.Dropped}
		next, err := o.After(e)
		if err != nil {
			return domain.Invalid(purchase.Refusal(err))
		}
		o.Order = next
		var batch pgx.Batch
		queueHappened(&batch, o.ID, []purchase.Event{e}, c.By, c.At)
		queueStanding(&batch, o)
		n.summary, n.facts = purchase.DroppedSummary(o.Number, o.Supplier.Name), o.facts()
		return tx.SendBatch(ctx, &batch).Close()
	})
}
