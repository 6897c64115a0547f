package store

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/ledger"
)

// Stocktake is how the stocktake stands that is under way.
type Stocktake struct {
	ID           int64 // 0 where none is under way
	BegunBy      string
	BegunAt      time.Time
	Counted, All int            // parts
	Differ       []DrawerTaken  // whose difference waits to be explained, by their places
	Next         *ledger.Part   // the first by its place that was not counted; nil for none
	Found        *DrawerToCount // whose label was scanned; nil for none
	Lately       []DrawerTaken  // those counted last, newest first
}

// DrawerTaken is a part that was counted, lot by lot.
type DrawerTaken struct {
	Part  ledger.Part // number, name and drawer
	Taken []ledger.Taken
	Lots  []string // the numbers of Taken's lots, "" for pieces without one
	By    string
	At    time.Time
}

// DrawerToCount is a part whose drawer lies open before whoever counts.
type DrawerToCount struct {
	ledger.Part
	Seq     int64 // of its newest move
	Balance ledger.Balance
	Lots    []ledger.Lot
	Counted bool // in this stocktake already
}

const (
	takenLately = 3
	takenRead   = 400
)

// currentTake finds the stocktake under way.
const currentTake = `(SELECT id FROM stocktake WHERE ended_at IS NULL)`

// Stocktake reads the page of the stocktake in one round trip; label is what was scanned or typed, "" for nothing.
func (s *Store) Stocktake(ctx context.Context, label string) (Stocktake, error) {
	var t Stocktake
	var batch pgx.Batch
	batch.Queue(`SELECT t.id, f.name, t.begun_at FROM stocktake t JOIN staff f ON f.id = t.begun_by WHERE t.ended_at IS NULL`).Query(func(rows pgx.Rows) error {
		_, err := pgx.ForEachRow(rows, []any{&t.ID, &t.BegunBy, &t.BegunAt}, func() error { return nil })
		t.BegunAt = t.BegunAt.UTC()
		return err
	})
	batch.Queue(`SELECT (SELECT count(DISTINCT c.part_id) FROM stocktake_count c JOIN part p ON p.id = c.part_id WHERE stocktake_id = ` + currentTake + ` AND p.ended_at IS NULL)::int,
		(SELECT count(*) FROM part WHERE ended_at IS NULL)::int`).QueryRow(func(row pgx.Row) error { return row.Scan(&t.Counted, &t.All) })
	queueTaken(&batch, &t.Differ, `c.stocktake_id = `+currentTake+` AND c.pieces <> c.book AND c.booked_at IS NULL`, `p.drawer, p.number, p.id, c.lot_id`, takenRead)
	queueTaken(&batch, &t.Lately, `c.stocktake_id = `+currentTake, `c.counted_at DESC, p.id, c.lot_id`, takenLately)
	batch.Queue(`SELECT number, name, drawer FROM part p WHERE p.ended_at IS NULL AND NOT EXISTS (SELECT FROM stocktake_count c
		WHERE c.stocktake_id = ` + currentTake + ` AND c.part_id = p.id) ORDER BY drawer, number LIMIT 1`).Query(func(rows pgx.Rows) error {
		var p ledger.Part
		_, err := pgx.ForEachRow(rows, []any{&p.Number, &p.Name, &p.Drawer}, func() error { t.Next = &p; return nil })
		return err
	})
	if label != "" {
		queueDrawer(&batch, label, &t.Found)
	}
	if err := s.db.SendBatch(ctx, &batch).Close(); err != nil {
		return t, fmt.Errorf("stocktake: %w", Translate(err))
	}
	return t, nil
}

// queueTaken adds the reading of counts that a condition on c finds, put together by part.
func queueTaken(batch *pgx.Batch, list *[]DrawerTaken, where, order string, limit int) {
	batch.Queue(`SELECT p.id, p.number, p.name, p.drawer, c.lot_id, c.pieces, c.book, coalesce(l.number, ''), f.name, c.counted_at
		FROM stocktake_count c JOIN part p ON p.id = c.part_id JOIN staff f ON f.id = c.counted_by LEFT JOIN lot l ON l.id = nullif(c.lot_id, 0)
		WHERE `+where+` ORDER BY `+order+` LIMIT $1`, limit).Query(func(rows pgx.Rows) error {
		var d DrawerTaken
		var taken ledger.Taken
		var lot string
		_, err := pgx.ForEachRow(rows, []any{&d.Part.ID, &d.Part.Number, &d.Part.Name, &d.Part.Drawer, &taken.Lot, &taken.Pieces, &taken.Book, &lot, &d.By, &d.At}, func() error {
			d.At = d.At.UTC()
			if n := len(*list); n == 0 || (*list)[n-1].Part.ID != d.Part.ID {
				*list = append(*list, d)
			}
			last := &(*list)[len(*list)-1]
			last.Taken, last.Lots = append(last.Taken, taken), append(last.Lots, lot)
			return nil
		})
		return err
	})
}

// queueDrawer adds the reading of the part that a label names; it stays nil where there is none.
func queueDrawer(batch *pgx.Batch, label string, found **DrawerToCount) {
	id, number := ledger.ReadLabel(label)
	const which = `(SELECT id FROM part WHERE ended_at IS NULL AND (id = $1 OR number = $2) LIMIT 1)`
	var lots []ledger.LotCount
	batch.Queue(`SELECT p.id, p.number, p.name, p.unit, p.drawer, p.ages, s.seq, EXISTS (SELECT FROM stocktake_count c WHERE c.stocktake_id = `+currentTake+` AND c.part_id = p.id)
		FROM part p JOIN stock s ON s.part_id = p.id WHERE p.id = `+which, id, number).Query(func(rows pgx.Rows) error {
		var d DrawerToCount
		_, err := pgx.ForEachRow(rows, []any{&d.ID, &d.Number, &d.Name, &d.Unit, &d.Drawer, &d.Ages, &d.Seq, &d.Counted}, func() error { *found = &d; return nil })
		return err
	})
	batch.Queue(`SELECT lot_id, pieces FROM stock_lot WHERE part_id = `+which, id, number).Query(func(rows pgx.Rows) (err error) {
		lots, err = pgx.CollectRows(rows, pgx.RowToStructByPos[ledger.LotCount])
		if *found != nil {
			(*found).Balance = ledger.Standing(lots, nil)
		}
		return err
	})
	batch.Queue(`SELECT id, number, usable_to FROM lot WHERE part_id = `+which+` ORDER BY id`, id, number).Query(func(rows pgx.Rows) error {
		var l ledger.Lot
		var usable *time.Time
		_, err := pgx.ForEachRow(rows, []any{&l.ID, &l.Number, &usable}, func() error {
			l.UsableTo = timeOr(usable)
			if *found != nil {
				(*found).Lots = append((*found).Lots, l)
			}
			return nil
		})
		return err
	})
}

// errNoTake is said where no stocktake is under way.
func errNoTake() error {
	return domain.Invalid(map[string]string{"": "No stocktake is under way: begin one."})
}

// lockTake holds the stocktake under way against its end, to the end of the transaction.
func lockTake(ctx context.Context, tx pgx.Tx, strength string) (id int64, err error) {
	err = tx.QueryRow(ctx, `SELECT id FROM stocktake WHERE ended_at IS NULL FOR `+strength).Scan(&id)
	if errors.Is(err, pgx.ErrNoRows) {
		err = errNoTake()
	}
	return id, err
}

// BeginStocktake begins one. The error is a *domain.InvalidError where one is under way.
func (s *Store) BeginStocktake(ctx context.Context, by Actor, at time.Time) error {
	n := note{kind: docket.Stocktaken, by: by, at: at, summary: ledger.StocktakeBegunSummary}
	err := s.changeShop(ctx, &n, func(tx pgx.Tx) error {
		tag, err := tx.Exec(ctx, `INSERT INTO stocktake (begun_by, begun_at) VALUES ($1, $2) ON CONFLICT DO NOTHING`, by.StaffID, docket.Moment(at))
		if err == nil && tag.RowsAffected() == 0 {
			err = domain.Invalid(map[string]string{"": "A stocktake is under way already."})
		}
		return err
	})
	if err != nil {
		return fmt.Errorf("begin stocktake: %w", Translate(err))
	}
	return nil
}

// EndStocktake ends the stocktake under way. The error is a *domain.InvalidError while differences wait, or where none is
// under way.
func (s *Store) EndStocktake(ctx context.Context, by Actor, at time.Time) error {
	n := note{kind: docket.Stocktaken, by: by, at: at}
	err := s.changeShop(ctx, &n, func(tx pgx.Tx) error {
		id, err := lockTake(ctx, tx, "UPDATE")
		if err != nil {
			return err
		}
		var waiting bool
		var counted, all int
		err = tx.QueryRow(ctx, `SELECT EXISTS (SELECT FROM stocktake_count WHERE stocktake_id = $1 AND pieces <> book AND booked_at IS NULL),
			(SELECT count(DISTINCT part_id) FROM stocktake_count WHERE stocktake_id = $1)::int, (SELECT count(*) FROM part WHERE ended_at IS NULL)::int`, id).
			Scan(&waiting, &counted, &all)
		if err == nil && waiting {
			err = domain.Invalid(map[string]string{"": "Explain and book the differences first, or count those drawers again."})
		}
		if err != nil {
			return err
		}
		n.summary = ledger.StocktakeEndedSummary(counted, all)
		_, err = tx.Exec(ctx, `UPDATE stocktake SET ended_by = $2, ended_at = $3 WHERE id = $1`, id, by.StaffID, docket.Moment(at))
		return err
	})
	if err != nil {
		return fmt.Errorf("end stocktake: %w", Translate(err))
	}
	return nil
}

// CountDrawer writes down what was counted of a part's lots in the stocktake under way, in place of an earlier count, and
// returns it beside the book. Nothing is booked. seen is the number of the part's newest move when its drawer was opened: where
// something moved since, the error wraps domain.ErrChanged. Else it is a *domain.InvalidError, or wraps domain.ErrNotFound.
func (s *Store) CountDrawer(ctx context.Context, partID int64, counts []ledger.Count, seen int64, by Actor, at time.Time) (taken []ledger.Taken, err error) {
	n := note{kind: docket.Stocktaken, by: by, at: at}
	err = s.changeShop(ctx, &n, func(tx pgx.Tx) error {
		take, err := lockTake(ctx, tx, "SHARE")
		if err != nil {
			return err
		}
		var f takenFacts
		if err := tx.QueryRow(ctx, `SELECT number, name FROM part WHERE id = $1`, partID).Scan(&f.Part, &f.Name); err != nil {
			return err
		}
		b, seq, err := lockBalance(ctx, tx, partID)
		switch {
		case err != nil:
			return err
		case seq != seen:
			return domain.ErrChanged
		}
		if _, err := b.Booked(counts); err != nil {
			return domain.Invalid(map[string]string{"pieces": "Give what was counted, 0 or more."})
		}
		var batch pgx.Batch
		batch.Queue(`DELETE FROM stocktake_count WHERE stocktake_id = $1 AND part_id = $2`, take, partID)
		for _, c := range counts {
			t := ledger.Taken{Lot: c.Lot, Pieces: c.Pieces, Book: b.InLot(c.Lot)}
			taken = append(taken, t)
			f.Counted, f.Book = f.Counted+t.Pieces, f.Book+t.Book
			batch.Queue(`INSERT INTO stocktake_count (stocktake_id, part_id, lot_id, pieces, book, counted_by, counted_at) VALUES ($1, $2, $3, $4, $5, $6, $7)`,
				take, partID, t.Lot, t.Pieces, t.Book, by.StaffID, docket.Moment(at))
		}
		n.summary, n.facts = ledger.TakenSummary(f.Part+" "+f.Name, taken), f
		return tx.SendBatch(ctx, &batch).Close()
	})
	if err != nil {
		return nil, fmt.Errorf("count drawer of part %d: %w", partID, Translate(err))
	}
	return taken, nil
}

// takenFacts is what the shop's journal keeps of a drawer that was counted.
type takenFacts struct {
	Part    string `json:"part_number"`
	Name    string `json:"name"`
	Counted int    `json:"counted"`
	Book    int    `json:"in_the_book"`
}

// BookTaken books the difference of a part that the stocktake under way found, with its explanation. The error is a
// *domain.InvalidError with "why", or with "pieces" where more is missing by now than the book has, so that the drawer is to
// be counted again; it wraps domain.ErrNotFound where nothing waits.
func (s *Store) BookTaken(ctx context.Context, partID int64, why string, by Actor, at time.Time) error {
	n := note{kind: docket.StockMoved, by: by, at: at, why: why}
	err := s.changeShop(ctx, &n, func(tx pgx.Tx) error {
		take, err := lockTake(ctx, tx, "SHARE")
		if err != nil {
			return err
		}
		var f stockFacts
		if err := tx.QueryRow(ctx, `SELECT number, name FROM part WHERE id = $1`, partID).Scan(&f.Part, &f.Name); err != nil {
			return err
		}
		b, seq, err := lockBalance(ctx, tx, partID)
		if err != nil {
			return err
		}
		taken, err := waitingOf(ctx, tx, take, partID, why)
		if err != nil {
			return err
		}
		moves, err := b.Settled(taken)
		if err != nil {
			return domain.Invalid(map[string]string{"pieces": "More is missing than the book has by now: count this drawer again."})
		}
		var list []StockMove
		for _, m := range moves {
			if lacks := m.NeedsReason(); lacks != "" {
				return domain.Invalid(map[string]string{"why": lacks})
			}
			if b, err = b.After(m); err != nil {
				return tooFew(err)
			}
			list = append(list, StockMove{Move: m})
			f.Moves = append(f.Moves, moveFacts{m.Kind.Words(), m.Pieces, m.Lot})
		}
		if err := writeMoves(ctx, tx, partID, seq, list, b, by, at); err != nil {
			return err
		}
		f.OnHand, f.Reserved = b.OnHand(), b.Reserved()
		n.summary, n.facts = ledger.CountedSummary(f.Part+" "+f.Name, moves, b), f
		_, err = tx.Exec(ctx, `UPDATE stocktake_count SET why = $3, booked_at = $4 WHERE stocktake_id = $1 AND part_id = $2 AND pieces <> book AND booked_at IS NULL`,
			take, partID, why, docket.Moment(at))
		return err
	})
	if err != nil {
		return fmt.Errorf("book count of part %d: %w", partID, Translate(err))
	}
	return nil
}

// waitingOf are the differences of a part that wait to be booked; domain.ErrNotFound where there are none.
func waitingOf(ctx context.Context, tx pgx.Tx, take, partID int64, why string) ([]ledger.Taken, error) {
	rows, _ := tx.Query(ctx, `SELECT lot_id, pieces, book, $3::text FROM stocktake_count
		WHERE stocktake_id = $1 AND part_id = $2 AND pieces <> book AND booked_at IS NULL ORDER BY lot_id`, take, partID, why)
	taken, err := pgx.CollectRows(rows, pgx.RowToStructByPos[ledger.Taken])
	if err == nil && len(taken) == 0 {
		err = domain.ErrNotFound
	}
	return taken, err
}
