package store

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain/ledger"
)

// StockSum is what lies in the drawers in one currency, at what the catalogue says that a piece costs.
type StockSum struct {
	Currency   string
	Parts      int
	Pieces     int64
	Minor      int64 // of the parts whose cost is known
	Unpriced   int   // parts whose cost is not
	DeadParts  int
	DeadPieces int64
	DeadMinor  int64
}

// StockValue is what lies in the drawers, and what of it lies dead.
type StockValue struct {
	Sums []StockSum
	// Dead are the parts that lie dead, the dearest first, those without a cost last; More says that there are others.
	Dead []DeadPart
	More bool
}

// DeadPart is a part that lies in the drawer and was not wanted for long.
type DeadPart struct {
	ID                             int64
	Number, Name, Drawer, Currency string
	Pieces                         int
	CostMinor                      *int64    // of one piece
	WantedAt                       time.Time // zero for never
}

// deadShown is how many parts that lie dead are listed.
const deadShown = 200

const deadSQL = `s.on_hand > 0 AND coalesce(s.wanted_at, '-infinity') < $1`

// StockValue adds up the drawers as they stand, in one round trip. It reads a row for each part of the catalogue, none of their moves.
func (s *Store) StockValue(ctx context.Context, now time.Time) (StockValue, error) {
	var v StockValue
	before := ledger.DeadBefore(now)
	var batch pgx.Batch
	batch.Queue(`SELECT p.currency, count(*), sum(s.on_hand), coalesce(sum(s.on_hand * p.cost_minor), 0), count(*) FILTER (WHERE p.cost_minor IS NULL),
			count(*) FILTER (WHERE `+deadSQL+`), coalesce(sum(s.on_hand) FILTER (WHERE `+deadSQL+`), 0),
			coalesce(sum(s.on_hand * p.cost_minor) FILTER (WHERE `+deadSQL+`), 0)
		FROM stock s JOIN part p ON p.id = s.part_id WHERE s.on_hand > 0 GROUP BY 1 ORDER BY 1`, before).Query(func(rows pgx.Rows) (err error) {
		v.Sums, err = pgx.CollectRows(rows, pgx.RowToStructByPos[StockSum])
		return err
	})
	batch.Queue(`SELECT p.id, p.number, p.name, p.drawer, p.currency, s.on_hand, p.cost_minor, s.wanted_at
		FROM stock s JOIN part p ON p.id = s.part_id WHERE `+deadSQL+` ORDER BY s.on_hand * p.cost_minor DESC NULLS LAST, p.number LIMIT $2`,
		before, deadShown+1).Query(func(rows pgx.Rows) (err error) {
		v.Dead, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (DeadPart, error) {
			var d DeadPart
			var wanted *time.Time
			err := row.Scan(&d.ID, &d.Number, &d.Name, &d.Drawer, &d.Currency, &d.Pieces, &d.CostMinor, &wanted)
			d.WantedAt = timeOr(wanted)
			return d, err
		})
		return err
	})
	if err := s.db.SendBatch(ctx, &batch).Close(); err != nil {
		return v, fmt.Errorf("stock value: %w", Translate(err))
	}
	v.More = len(v.Dead) > deadShown
	v.Dead = v.Dead[:min(len(v.Dead), deadShown)]
	return v, nil
}
