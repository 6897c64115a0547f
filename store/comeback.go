package store

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/comeback"
	"ledgerwheel/domain/docket"
)

// Comeback is what was said last of a comeback, and by whom.
type Comeback struct {
	comeback.Said
	By        string
	At        time.Time // UTC; zero where nothing was said
	DecidedBy string    // who decided on the cover, "" where nobody did
	docketID  int64
}

// coverSQL is the docket.Cover of docket d.
const coverSQL = `CASE WHEN d.comeback_of IS NULL THEN '' ELSE coalesce((SELECT cover FROM comeback WHERE docket_id = d.id), 'open') END`

const comebackSQL = `SELECT k.cause, k.found, k.cover, k.cover_why, m.name, k.said_at, coalesce(x.name, ''), k.docket_id
	FROM comeback k JOIN staff m ON m.id = k.said_by LEFT JOIN staff x ON x.id = k.decided_by `

func scanComeback(row pgx.CollectableRow) (Comeback, error) {
	var k Comeback
	err := row.Scan(&k.Cause, &k.Found, &k.Cover, &k.Why, &k.By, &k.At, &k.DecidedBy, &k.docketID)
	k.At = k.At.UTC()
	return k, err
}

// queueComeback adds to a batch what was said of a comeback; docketID is SQL that gives its docket's id from arg.
func queueComeback(batch *pgx.Batch, docketID string, arg any, said *Comeback) {
	batch.Queue(comebackSQL+`WHERE k.docket_id = `+docketID, arg).Query(func(rows pgx.Rows) error {
		list, err := pgx.CollectRows(rows, scanComeback)
		if len(list) == 1 {
			*said = list[0]
		}
		return err
	})
}

// ComebackSheet is everything the comeback's sheet of a docket shows.
type ComebackSheet struct {
	Head    Head
	Said    Comeback
	Earlier Earlier
	Spent   comeback.Spent // by the settings and the catalogue as they stand today
}

// ComebackSheet reads the sheet in one round trip. The error wraps domain.ErrNotFound, for a docket that is no comeback too.
func (s *Store) ComebackSheet(ctx context.Context, n docket.Number) (ComebackSheet, error) {
	var sheet ComebackSheet
	var found bool
	var spent []comebackSpent
	var earlier earlierReader
	var batch pgx.Batch
	queueHead(&batch, n, &sheet.Head, &found)
	queueComeback(&batch, `(SELECT id FROM docket WHERE number = $1)`, n.String(), &sheet.Said)
	queueSpent(&batch, `d.number = $1`, &spent, n.String())
	earlier.queue(&batch, n)
	queueClocks(&batch, &earlier.clocks)
	err := s.sendSheet(ctx, &batch, &found)
	if err == nil && sheet.Head.ComebackOf == "" {
		err = domain.ErrNotFound
	}
	if err != nil {
		return ComebackSheet{}, fmt.Errorf("comeback of docket %s: %w", n, err)
	}
	sheet.Earlier = earlier.give(sheet.Head.Watch)
	for _, p := range spent {
		sheet.Spent = p.Spent
	}
	return sheet, nil
}

// SayComeback keeps what brought a watch back and whether the warranty covers it; what is said as it stands leaves no trace.
// Once the watch has left it is a correction, whose reason is c.Why. The error is a *domain.InvalidError, wraps
// domain.ErrNotFound for a docket that is no comeback, or is as of the other changes of a docket.
func (s *Store) SayComeback(ctx context.Context, c Change, said comeback.Said) error {
	said = said.Tidied()
	return s.changeAny(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		if !d.Comeback() {
			return nil, domain.ErrNotFound
		}
		if why := comeback.TooEarly(d.Stage); why != "" {
			return nil, domain.Invalid(map[string]string{"cause": why})
		}
		var was comeback.Said
		var decided *int64
		err := tx.QueryRow(ctx, `SELECT cause, found, cover, cover_why, decided_by FROM comeback WHERE docket_id = $1`, d.ID).
			Scan(&was.Cause, &was.Found, &was.Cover, &was.Why, &decided)
		if err != nil && !errors.Is(err, pgx.ErrNoRows) {
			return nil, err
		}
		if was == said {
			return nil, nil
		}
		if err := domain.Invalid(said.Problems(was, c.By.Role, d.Closed(), c.Why)); err != nil {
			return nil, err
		}
		switch {
		case said.Cover == docket.CoverOpen:
			decided = nil
		case decided == nil || said.Cover != was.Cover || said.Cause != was.Cause:
			decided = &c.By.StaffID
		}
		_, err = tx.Exec(ctx, `INSERT INTO comeback (docket_id, cause, found, cover, cover_why, said_by, said_at, decided_by)
			VALUES ($1, $2, $3, $4, $5, $6, $7, $8) ON CONFLICT (docket_id) DO UPDATE SET cause = excluded.cause, found = excluded.found,
			cover = excluded.cover, cover_why = excluded.cover_why, said_by = excluded.said_by, said_at = excluded.said_at,
			decided_by = excluded.decided_by`, d.ID, string(said.Cause), said.Found, string(said.Cover), said.Why, c.By.StaffID,
			docket.Moment(c.At), decided)
		return []event{{kind: docket.ComebackSaid, summary: said.Summary(), why: c.Why, facts: said.Facts()}}, err
	})
}

// comebackSpent is what a comeback's docket took.
type comebackSpent struct {
	docketID int64
	comeback.Spent
}

// queueSpent adds to a batch what the dockets d took that where selects by args. Parts in another currency than the docket's are
// of unknown cost.
func queueSpent(batch *pgx.Batch, where string, spent *[]comebackSpent, args ...any) {
	batch.Queue(`SELECT d.id,
		coalesce((SELECT sum(minutes) FROM bench_work WHERE docket_id = d.id), 0) + coalesce((SELECT sum(minutes) FROM service_step WHERE docket_id = d.id), 0),
		coalesce((SELECT bench_hour_minor FROM shop WHERE currency = d.currency), 0),
		ARRAY(SELECT p.quantity FROM part_line p WHERE p.docket_id = d.id AND p.state = 'fitted' ORDER BY p.id),
		ARRAY(SELECT (SELECT c.cost_minor FROM part c WHERE c.id = p.part_id AND c.currency = d.currency) FROM part_line p
			WHERE p.docket_id = d.id AND p.state = 'fitted' ORDER BY p.id)
		FROM docket d WHERE `+where, args...).Query(func(rows pgx.Rows) (err error) {
		*spent, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (comebackSpent, error) {
			var s comebackSpent
			var quantities []int
			var costs []*int64
			err := row.Scan(&s.docketID, &s.Minutes, &s.HourMinor, &quantities, &costs)
			for i, q := range quantities {
				s.Parts = append(s.Parts, comeback.SpentPart{Quantity: q, CostMinor: costs[i]})
			}
			return s, err
		})
		return err
	})
}
