package store

import (
	"context"
	"errors"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/ledger"
	"ledgerwheel/domain/stock"
)

// moveLine writes the moves of stock that a docket's part makes by going from was to now (see ledger.OfLine). id is the
// part's, by 0 where no one of the shop does it. The error is a *domain.InvalidError where the drawer has too few.
func moveLine(ctx context.Context, tx pgx.Tx, d docket.Docket, id, by int64, at time.Time, was, now stock.PartLine) error {
	moves := ledger.OfLine(was, now)
	if len(moves) == 0 {
		return nil
	}
	b, seq, err := lockBalance(ctx, tx, now.PartID)
	if err != nil {
		return err
	}
	var list []StockMove
	for _, m := range moves {
		parted := []ledger.Move{m}
		switch m.Kind {
		case ledger.Fitted:
			parted, err = pickLots(ctx, tx, now.PartID, m.Pieces, b, at)
		case ledger.PutBack:
			parted, err = lotsOfLine(ctx, tx, id, m.Pieces)
		}
		if err != nil {
			return tooFewOf(err, now)
		}
		for _, p := range parted {
			p.Kind, p.DocketID = m.Kind, d.ID
			if b, err = b.After(p); err != nil {
				return tooFewOf(err, now)
			}
			list = append(list, StockMove{Move: p, PartLineID: id})
		}
	}
	return writeMoves(ctx, tx, now.PartID, seq, list, b, Actor{StaffID: by}, at)
}

// tooFewOf is tooFew for a form that types no number of pieces; it names the part.
func tooFewOf(err error, p stock.PartLine) error {
	var short *ledger.ShortError
	if errors.As(err, &short) {
		return domain.Invalid(map[string]string{"": short.OfPart(p.Description)})
	}
	return err
}

// pickLots chooses from which lots pieces are fitted, by the shop's day.
func pickLots(ctx context.Context, tx pgx.Tx, partID int64, pieces int, b ledger.Balance, at time.Time) ([]ledger.Move, error) {
	var lots []ledger.Lot
	var today time.Time
	var batch pgx.Batch
	batch.Queue(`SELECT ($1::timestamptz AT TIME ZONE time_zone)::date FROM shop`, at).QueryRow(func(row pgx.Row) error { return row.Scan(&today) })
	batch.Queue(`SELECT id, usable_to FROM lot WHERE part_id = $1`, partID).Query(func(rows pgx.Rows) error {
		var l ledger.Lot
		var usable *time.Time
		_, err := pgx.ForEachRow(rows, []any{&l.ID, &usable}, func() error {
			l.UsableTo = timeOr(usable)
			lots = append(lots, l)
			return nil
		})
		return err
	})
	if err := tx.SendBatch(ctx, &batch).Close(); err != nil {
		return nil, err
	}
	return b.Pick(pieces, lots, today)
}

// lotsOfLine are the lots from which so many pieces were fitted for a docket's part, the newest first.
func lotsOfLine(ctx context.Context, tx pgx.Tx, lineID int64, pieces int) ([]ledger.Move, error) {
	rows, _ := tx.Query(ctx, `SELECT coalesce(lot_id, 0), sum(CASE kind WHEN 'fitted' THEN pieces ELSE -pieces END)::int FROM stock_move
		WHERE part_line_id = $1 AND kind IN ('fitted', 'put-back') GROUP BY 1
		HAVING sum(CASE kind WHEN 'fitted' THEN pieces ELSE -pieces END) > 0 ORDER BY max(id) DESC`, lineID)
	fitted, err := pgx.CollectRows(rows, pgx.RowToStructByPos[ledger.LotCount])
	if err != nil {
		return nil, err
	}
	var moves []ledger.Move
	for _, l := range fitted {
		if n := min(pieces, l.Pieces); n > 0 {
			moves = append(moves, ledger.Move{Pieces: n, Lot: l.Lot})
			pieces -= n
		}
	}
	if pieces > 0 { // fitted before the part was one of the catalogue
		moves = append(moves, ledger.Move{Pieces: pieces})
	}
	return moves, nil
}

// needAgreed notes for a docket whose estimate was approved the parts of the catalogue that its lines name, as far as the docket
// does not have them noted yet. What the customer left out is not needed.
func needAgreed(ctx context.Context, tx pgx.Tx, d docket.Docket, c Change, lines []estimate.Line) ([]event, error) {
	rows, _ := tx.Query(ctx, `SELECT part_id, sum(quantity)::int FROM part_line WHERE docket_id = $1 AND part_id IS NOT NULL AND state NOT IN ('cancelled', 'returned')
		GROUP BY part_id`, d.ID)
	noted := map[int64]int{}
	var id int64
	var pieces int
	if _, err := pgx.ForEachRow(rows, []any{&id, &pieces}, func() error { noted[id] = pieces; return nil }); err != nil {
		return nil, err
	}
	var events []event
	for _, p := range estimate.NeededParts(lines, noted) {
		err := tx.QueryRow(ctx, `SELECT number FROM part WHERE id = $1`, p.PartID).Scan(&p.Reference)
		if err == nil {
			_, err = tx.Exec(ctx, `INSERT INTO part_line (docket_id, description, reference, quantity, state, state_at, part_id) VALUES ($1, $2, $3, $4, $5, $6, $7)`,
				d.ID, p.Description, p.Reference, p.Quantity, string(p.State), docket.Moment(c.At), p.PartID)
		}
		if err != nil {
			return nil, err
		}
		events = append(events, event{kind: docket.PartNeeded, summary: p.Summary(), facts: factsOfPart(p)})
	}
	return events, nil
}

// holdAgreed holds back for a docket whose estimate was approved what it needs of the catalogue, as far as the drawers have
// it; the rest is still to be ordered. Parts are taken in the order of their ids, so that two dockets don't wait for each
// other.
func holdAgreed(ctx context.Context, tx pgx.Tx, d docket.Docket, c Change) ([]event, error) {
	rows, _ := tx.Query(ctx, `SELECT `+partFields+` FROM part_line p WHERE p.docket_id = $1 AND p.part_id IS NOT NULL AND p.state = 'needed'
		ORDER BY p.part_id, p.id`, d.ID)
	needed, err := pgx.CollectRows(rows, scanPart)
	if err != nil {
		return nil, err
	}
	var events []event
	for _, p := range needed {
		now := p.PartLine
		now.State = stock.Arrived
		b, _, err := lockBalance(ctx, tx, p.PartID)
		if err != nil {
			return nil, err
		}
		if b.Free() < p.Quantity {
			continue
		}
		if err := moveLine(ctx, tx, d, p.ID, c.By.StaffID, c.At, p.PartLine, now); err != nil {
			return nil, err
		}
		if err := keepEarlierParts(ctx, tx, d, p.ID, ""); err != nil {
			return nil, err
		}
		if _, err := tx.Exec(ctx, `UPDATE part_line SET state = 'arrived', state_at = $2 WHERE id = $1`, p.ID, docket.Moment(c.At)); err != nil {
			return nil, err
		}
		events = append(events, event{kind: docket.StockHeld, summary: now.HeldSummary(), facts: factsOfPart(now)})
	}
	return events, nil
}

// letGo gives back what a docket that leaves still holds back.
func letGo(ctx context.Context, tx pgx.Tx, d docket.Docket, at time.Time) error {
	rows, _ := tx.Query(ctx, `SELECT part_id, pieces FROM stock_held WHERE docket_id = $1 ORDER BY part_id`, d.ID)
	type held struct {
		PartID int64
		Pieces int
	}
	list, err := pgx.CollectRows(rows, pgx.RowToStructByPos[held])
	for _, h := range list {
		if err == nil {
			_, err = moveStock(ctx, tx, h.PartID, []StockMove{{Move: ledger.Move{Kind: ledger.Released, Pieces: h.Pieces, DocketID: d.ID}}}, Actor{}, at)
		}
	}
	return err
}
