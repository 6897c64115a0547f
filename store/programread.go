package store

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/docket"
)

// ProgramDocket is a docket as other programs read it.
type ProgramDocket struct {
	DocketRow
	ID                                                int64
	CustomerID, WatchID                               int64
	ComebackOf                                        string // number of the docket that it returns from, "" for none
	Maker, Model, Reference, Serial, Calibre, WatchBy string
}

const programDocketSQL = `SELECT d.id, d.customer_id, d.watch_id, coalesce((SELECT number FROM docket c WHERE c.id = d.comeback_of), ''),
	w.maker, w.model, w.reference, w.serial, coalesce(k.name, ''), coalesce(k.maker, ''), ` + rowColumns + `
	FROM docket d JOIN watch w ON w.id = d.watch_id LEFT JOIN calibre k ON k.id = w.calibre_id `

// extraTargets scans more columns before those of a row.
type extraTargets struct {
	pgx.CollectableRow
	extra []any
}

func (r extraTargets) Scan(targets ...any) error {
	return r.CollectableRow.Scan(append(r.extra, targets...)...)
}

func scanProgramDocket(row pgx.CollectableRow) (ProgramDocket, error) {
	var p ProgramDocket
	list, err := scanDocketRow(extraTargets{row, []any{&p.ID, &p.CustomerID, &p.WatchID, &p.ComebackOf, &p.Maker, &p.Model, &p.Reference,
		&p.Serial, &p.Calibre, &p.WatchBy}})
	p.DocketRow = list
	return p, err
}

// ProgramFilter narrows what another program reads of the dockets. They come in the order of their ids.
type ProgramFilter struct {
	Keeping Keeping
	Stage   docket.Stage
	After   int64 // the id of the last one read, 0 for none
	Limit   int
}

// ProgramDockets reads dockets for another program, in one round trip; more says that there are others.
func (s *Store) ProgramDockets(ctx context.Context, f ProgramFilter) (list []ProgramDocket, more bool, err error) {
	var w where
	switch f.Keeping {
	case InShop:
		w.add("d.open")
	case Gone:
		w.add("NOT d.open")
	}
	if f.Stage != "" {
		w.add("d.stage = ?", string(f.Stage))
	}
	w.add("d.id > ?", f.After)
	rows, _ := s.db.Query(ctx, fmt.Sprintf(`%s%s ORDER BY d.id LIMIT %d`, programDocketSQL, w.sql(), f.Limit+1), w.args...)
	list, err = pgx.CollectRows(rows, scanProgramDocket)
	if err != nil {
		return nil, false, fmt.Errorf("dockets for a program: %w", Translate(err))
	}
	more = len(list) > f.Limit
	return list[:min(len(list), f.Limit)], more, nil
}

// ProgramDocket reads one docket for another program. The error wraps domain.ErrNotFound.
func (s *Store) ProgramDocket(ctx context.Context, n docket.Number) (ProgramDocket, error) {
	rows, _ := s.db.Query(ctx, programDocketSQL+`WHERE d.number = $1`, n.String())
	p, err := pgx.CollectExactlyOneRow(rows, scanProgramDocket)
	if err != nil {
		return p, fmt.Errorf("docket %s for a program: %w", n, Translate(err))
	}
	return p, nil
}

// ProgramCustomers reads customers for another program, in the order of their ids, without those that were merged into others
// or erased; more says that there are others.
func (s *Store) ProgramCustomers(ctx context.Context, after int64, limit int) (list []customer.Customer, more bool, err error) {
	rows, _ := s.db.Query(ctx, `SELECT `+customerFields+` FROM customer c WHERE c.merged_into IS NULL AND c.id > $1
		AND NOT EXISTS (SELECT FROM customer_erasure e WHERE e.customer_id = c.id) ORDER BY c.id LIMIT $2`, after, limit+1)
	list, err = pgx.CollectRows(rows, scanCustomer)
	if err != nil {
		return nil, false, fmt.Errorf("customers for a program: %w", Translate(err))
	}
	more = len(list) > limit
	return list[:min(len(list), limit)], more, nil
}

// ProgramParts reads the catalogue for another program, by numbers, after one; more says that there are others.
func (s *Store) ProgramParts(ctx context.Context, after string, limit int) (list []CatalogueRow, more bool, err error) {
	rows, _ := s.db.Query(ctx, catalogueSQL(0, false), after, limit+1)
	list, err = pgx.CollectRows(rows, scanCatalogue)
	if err != nil {
		return nil, false, fmt.Errorf("parts for a program: %w", Translate(err))
	}
	more = len(list) > limit
	return list[:min(len(list), limit)], more, nil
}

// PromisedWatch is a docket with a promised day, as a calendar has it: without a word about the customer.
type PromisedWatch struct {
	Number     string
	Watch      string
	Stage      docket.Stage
	PromisedOn time.Time // civil day
	ReceivedAt time.Time
	ChangedAt  time.Time // when it last moved
	Version    int64
}

// promisedShown is how many promised days a calendar has: the soonest, and those that went by.
const promisedShown = 1000

// PromisedDays are the watches in the shop that are promised for a day, the soonest first.
func (s *Store) PromisedDays(ctx context.Context) ([]PromisedWatch, error) {
	rows, _ := s.db.Query(ctx, `SELECT d.number, (SELECT maker || CASE WHEN model = '' THEN '' ELSE ' ' || model END FROM watch WHERE id = d.watch_id),
			d.stage, d.promised_on, d.received_at, d.moved_at, d.version
		FROM docket d WHERE d.open AND d.promised_on IS NOT NULL ORDER BY d.promised_on, d.id LIMIT $1`, promisedShown)
	list, err := pgx.CollectRows(rows, pgx.RowToStructByPos[PromisedWatch])
	if err != nil {
		return nil, fmt.Errorf("promised days: %w", Translate(err))
	}
	return list, nil
}
