package store

import (
	"context"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/purchase"
	"ledgerwheel/domain/stock"
)

// divertPart takes pieces of a docket's part where an order takes them, and returns the part as it stands then with what the
// docket's journal is told. Where only some of the pieces go, they become a part of their own. The docket is locked.
func divertPart(ctx context.Context, tx pgx.Tx, d docket.Docket, p PartRow, r purchase.Reach, at time.Time) (PartRow, []event, error) {
	var events []event
	tell := func(p stock.PartLine) {
		events = append(events, event{kind: partKinds[p.State], summary: p.Summary(), facts: factsOfPart(p)})
	}
	if r.Pieces == 0 {
		return p, nil, nil
	}
	was, whole := p, r.Pieces == p.Quantity
	p.PartLine = r.After(p.PartLine)
	if !whole {
		went := was.Split(r.Pieces, r.To)
		_, err := tx.Exec(ctx, `INSERT INTO part_line (docket_id, description, reference, supplier, quantity, state, old_part, note, payer, payer_why, state_at, part_id)
			SELECT docket_id, description, reference, supplier, $2, $3, old_part, note, payer, payer_why, $4, part_id FROM part_line WHERE id = $1`, p.ID,
			went.Quantity, string(went.State), docket.Moment(at))
		if err != nil {
			return p, nil, err
		}
		tell(went)
	}
	if whole || p.State != was.State {
		tell(p.PartLine)
	}
	if p.State != was.State {
		p.Since = docket.Moment(at)
	}
	return p, events, keepPart(ctx, tx, d, p)
}

// keepPart writes where a docket's part stands, and keeps how it stood.
func keepPart(ctx context.Context, tx pgx.Tx, d docket.Docket, p PartRow) error {
	if err := keepEarlierParts(ctx, tx, d, p.ID, ""); err != nil {
		return err
	}
	_, err := tx.Exec(ctx, `UPDATE part_line SET quantity = $2, state = $3, state_at = $4, supplier = $5, reference = $6 WHERE id = $1`, p.ID, p.Quantity,
		string(p.State), p.Since, p.Supplier, p.Reference)
	return err
}
