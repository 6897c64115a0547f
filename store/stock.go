package store

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/ledger"
)

// StockMove is a move of a part's stock, with what else the ledger keeps of it.
type StockMove struct {
	ledger.Move
	PartLineID int64 // of the docket, 0 for none
}

// lockBalance holds a part's line of the stock to the end of the transaction, and reads how it stands and the number of
// its newest move. The error wraps domain.ErrNotFound.
func lockBalance(ctx context.Context, tx pgx.Tx, partID int64) (b ledger.Balance, seq int64, err error) {
	if err := tx.QueryRow(ctx, `SELECT seq FROM stock WHERE part_id = $1 FOR UPDATE`, partID).Scan(&seq); err != nil {
		return b, 0, err
	}
	var lots []ledger.LotCount
	var held []ledger.Reservation
	var batch pgx.Batch
	batch.Queue(`SELECT lot_id, pieces FROM stock_lot WHERE part_id = $1`, partID).Query(func(rows pgx.Rows) (err error) {
		lots, err = pgx.CollectRows(rows, pgx.RowToStructByPos[ledger.LotCount])
		return err
	})
	batch.Queue(`SELECT docket_id, pieces FROM stock_held WHERE part_id = $1 ORDER BY ordinal`, partID).Query(func(rows pgx.Rows) (err error) {
		held, err = pgx.CollectRows(rows, pgx.RowToStructByPos[ledger.Reservation])
		return err
	})
	err = tx.SendBatch(ctx, &batch).Close()
	return ledger.Standing(lots, held), seq, err
}

// moveStock writes moves of a part, in their order, and what they come to: all or none. The error is one of
// ledger.Balance.After, or wraps domain.ErrNotFound.
func moveStock(ctx context.Context, tx pgx.Tx, partID int64, moves []StockMove, by Actor, at time.Time) (ledger.Balance, error) {
	b, seq, err := lockBalance(ctx, tx, partID)
	if err != nil {
		return b, err
	}
	for _, m := range moves {
		if b, err = b.After(m.Move); err != nil {
			return b, err
		}
	}
	return b, writeMoves(ctx, tx, partID, seq, moves, b, by, at)
}

// writeMoves writes moves of a part that is held by lockBalance, where seq is the newest before them and b what they come to.
func writeMoves(ctx context.Context, tx pgx.Tx, partID, seq int64, moves []StockMove, b ledger.Balance, by Actor, at time.Time) error {
	var batch pgx.Batch
	for i, m := range moves {
		batch.Queue(`INSERT INTO stock_move (part_id, seq, kind, pieces, lot_id, docket_id, part_line_id, why, by_id, at)
			VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)`, partID, seq+int64(i)+1, string(m.Kind), m.Pieces, nullID(m.Lot), nullID(m.DocketID),
			nullID(m.PartLineID), m.Why, nullID(by.StaffID), docket.Moment(at))
	}
	wanted := slices.ContainsFunc(moves, func(m StockMove) bool { return m.Kind.Wants() })
	batch.Queue(`UPDATE stock SET seq = $2, on_hand = $3, reserved = $4, wanted_at = CASE WHEN $5 THEN greatest(wanted_at, $6) ELSE wanted_at END
		WHERE part_id = $1`, partID, seq+int64(len(moves)), b.OnHand(), b.Reserved(), wanted, docket.Moment(at))
	batch.Queue(`DELETE FROM stock_lot WHERE part_id = $1`, partID)
	for _, l := range b.Lots() {
		batch.Queue(`INSERT INTO stock_lot (part_id, lot_id, pieces) VALUES ($1, $2, $3)`, partID, l.Lot, l.Pieces)
	}
	batch.Queue(`DELETE FROM stock_held WHERE part_id = $1`, partID)
	for i, r := range b.Reservations() {
		batch.Queue(`INSERT INTO stock_held (part_id, ordinal, docket_id, pieces) VALUES ($1, $2, $3, $4)`, partID, i+1, r.DocketID, r.Pieces)
	}
	return tx.SendBatch(ctx, &batch).Close()
}

// stockFacts is what a journal keeps of moves of stock.
type stockFacts struct {
	Part     string      `json:"part_number"`
	Name     string      `json:"name"`
	Moves    []moveFacts `json:"moves"`
	OnHand   int         `json:"on_hand"`
	Reserved int         `json:"reserved"`
}

type moveFacts struct {
	Kind   string `json:"move"`
	Pieces int    `json:"pieces"`
	Lot    int64  `json:"lot,omitempty"`
}

// ReceiveStock takes pieces into the drawer, in a lot where l has a number; a lot of that number is added to. The error is as
// of MoveStock, with ledger.Lot's problems among its keys.
func (s *Store) ReceiveStock(ctx context.Context, partID int64, pieces int, l ledger.Lot, today time.Time, by Actor, at time.Time) error {
	l = l.Tidied()
	n := note{kind: docket.StockMoved, by: by, at: at}
	err := s.changeShop(ctx, &n, func(tx pgx.Tx) error {
		var ages bool
		var f stockFacts
		if err := tx.QueryRow(ctx, `SELECT number, name, ages FROM part WHERE id = $1`, partID).Scan(&f.Part, &f.Name, &ages); err != nil {
			return err
		}
		m := ledger.Move{Kind: ledger.Received, Pieces: pieces}
		if pieces < 1 {
			return domain.Invalid(map[string]string{"pieces": "Give the number of pieces, 1 or more."})
		}
		if ages {
			if err := domain.Invalid(l.Problems(today)); err != nil {
				return err
			}
			var err error
			if m.Lot, err = keepLot(ctx, tx, partID, l, by, at); err != nil {
				return err
			}
		}
		b, err := moveStock(ctx, tx, partID, []StockMove{{Move: m}}, by, at)
		if err != nil {
			return tooFew(err)
		}
		f.Moves, f.OnHand, f.Reserved = []moveFacts{{m.Kind.Words(), m.Pieces, m.Lot}}, b.OnHand(), b.Reserved()
		n.summary, n.facts = ledger.MovedSummary(f.Part+" "+f.Name, []ledger.Move{m}, b), f
		return nil
	})
	if err != nil {
		return fmt.Errorf("receive part %d: %w", partID, Translate(err))
	}
	return nil
}

// keepLot is the id of a part's lot of that number, added where there is none.
func keepLot(ctx context.Context, tx pgx.Tx, partID int64, l ledger.Lot, by Actor, at time.Time) (id int64, err error) {
	if _, _, err := lockBalance(ctx, tx, partID); err != nil { // so that two don't add one lot
		return 0, err
	}
	err = tx.QueryRow(ctx, `SELECT id FROM lot WHERE part_id = $1 AND number = $2 ORDER BY id LIMIT 1`, partID, l.Number).Scan(&id)
	if errors.Is(err, pgx.ErrNoRows) {
		err = tx.QueryRow(ctx, `INSERT INTO lot (part_id, number, made_on, usable_to, kept_by, kept_at) VALUES ($1, $2, $3, $4, $5, $6) RETURNING id`,
			partID, l.Number, nullTime(l.MadeOn), nullTime(l.UsableTo), by.StaffID, docket.Moment(at)).Scan(&id)
	}
	return id, err
}

// CountStock books what a stocktake found of a part's lots, 0 standing for pieces without one, against how it stood when it
// was counted: seen is the number of its newest move then. Where something moved since, the error wraps
// domain.ErrChanged. Differences need a reason, else it is a *domain.InvalidError with the field "why".
func (s *Store) CountStock(ctx context.Context, partID int64, counts []ledger.Count, seen int64, by Actor, at time.Time) error {
	n := note{kind: docket.StockMoved, by: by, at: at, always: true}
	err := s.changeShop(ctx, &n, func(tx pgx.Tx) error {
		var f stockFacts
		if err := tx.QueryRow(ctx, `SELECT number, name FROM part WHERE id = $1`, partID).Scan(&f.Part, &f.Name); err != nil {
			return err
		}
		b, seq, err := lockBalance(ctx, tx, partID)
		if err != nil {
			return err
		}
		if seq != seen {
			return domain.ErrChanged
		}
		moves, err := b.Booked(counts)
		if err != nil {
			return domain.Invalid(map[string]string{"pieces": "Give what was counted, 0 or more."})
		}
		var list []StockMove
		for _, m := range moves {
			if why := m.NeedsReason(); why != "" {
				return domain.Invalid(map[string]string{"why": why})
			}
			if m.Kind == ledger.Counted {
				n.why = m.Why
			}
			list = append(list, StockMove{Move: m})
			f.Moves = append(f.Moves, moveFacts{m.Kind.Words(), m.Pieces, m.Lot})
		}
		if b, err = moveStock(ctx, tx, partID, list, by, at); err != nil {
			return tooFew(err)
		}
		f.OnHand, f.Reserved = b.OnHand(), b.Reserved()
		n.summary, n.facts = ledger.CountedSummary(f.Part+" "+f.Name, moves, b), f
		return nil
	})
	if err != nil {
		return fmt.Errorf("count part %d: %w", partID, Translate(err))
	}
	return nil
}

// MoveStock writes moves that belong to no docket, in their order, all or none: what came, what was sent back, counted or
// written off. The error is a *domain.InvalidError with the form field "pieces" where there are too few, or "why" where
// a reason lacks, or wraps domain.ErrNotFound.
func (s *Store) MoveStock(ctx context.Context, partID int64, moves []ledger.Move, by Actor, at time.Time) error {
	n := note{kind: docket.StockMoved, by: by, at: at}
	err := s.changeShop(ctx, &n, func(tx pgx.Tx) error {
		var f stockFacts
		if err := tx.QueryRow(ctx, `SELECT number, name FROM part WHERE id = $1`, partID).Scan(&f.Part, &f.Name); err != nil {
			return err
		}
		var list []StockMove
		for _, m := range moves {
			if why := m.NeedsReason(); why != "" {
				return domain.Invalid(map[string]string{"why": why})
			}
			list = append(list, StockMove{Move: m})
			f.Moves = append(f.Moves, moveFacts{m.Kind.Words(), m.Pieces, m.Lot})
			n.why = m.Why
		}
		b, err := moveStock(ctx, tx, partID, list, by, at)
		if err != nil {
			return tooFew(err)
		}
		f.OnHand, f.Reserved = b.OnHand(), b.Reserved()
		n.summary, n.facts = ledger.MovedSummary(f.Part+" "+f.Name, moves, b), f
		return nil
	})
	if err != nil {
		return fmt.Errorf("move stock of part %d: %w", partID, Translate(err))
	}
	return nil
}

// tooFew turns the refusals of a move into what a form says beside the number of pieces.
func tooFew(err error) error {
	var short *ledger.ShortError
	if errors.As(err, &short) {
		return domain.Invalid(map[string]string{"pieces": short.Words()})
	}
	if errors.Is(err, ledger.ErrTooMany) {
		return domain.Invalid(map[string]string{"pieces": "That is more than is kept of one part."})
	}
	return err
}
