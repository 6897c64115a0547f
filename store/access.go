package store

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"ledgerwheel/domain/staff"
)

// AccessEvent is one line of the log of sign-ins, or one that is to be written.
type AccessEvent struct {
	ID      int64
	At      time.Time // UTC; of the first, where there were several
	LastAt  time.Time // UTC
	Times   int
	StaffID int64  // 0 for nobody of the shop
	Name    string // theirs; "" for nobody
	ByID    int64  // who did it to them; 0 for themselves
	ByName  string
	Kind    staff.Access
	Detail  string
	From    From
}

type execer interface {
	Exec(ctx context.Context, sql string, args ...any) (pgconn.CommandTag, error)
}

// accessPage is how many lines of the log stand on a page.
const accessPage = 50

// NoteAccess writes a line of the log of sign-ins.
func (s *Store) NoteAccess(ctx context.Context, e AccessEvent) error {
	if err := insertAccess(ctx, s.db, e); err != nil {
		return fmt.Errorf("log of sign-ins: %w", Translate(err))
	}
	return nil
}

// insertAccess writes a line, or counts up the one that says the same: of refusals there is one line an hour for each
// kind, person and address, and one for all further addresses once there are many.
func insertAccess(ctx context.Context, q execer, e AccessEvent) error {
	var hour *time.Time
	if e.Kind.Refused() {
		h := e.At.UTC().Truncate(time.Hour)
		hour = &h
	}
	_, err := q.Exec(ctx, `INSERT INTO access_event (at, last_at, staff_id, by_id, kind, detail, address, device, hour)
		SELECT $1, $1, $2, $3, $4::text, $5, CASE WHEN apart THEN $6::text ELSE '' END, CASE WHEN apart THEN $7 ELSE '' END, $8::timestamptz
		FROM (SELECT $8::timestamptz IS NULL OR count(*) < $9 OR bool_or(address = $6) AS apart FROM access_event
			WHERE hour = $8 AND kind = $4 AND staff_id IS NOT DISTINCT FROM $2) known
		ON CONFLICT (hour, coalesce(staff_id, 0), kind, address) WHERE hour IS NOT NULL
			DO UPDATE SET times = access_event.times + 1, last_at = excluded.last_at`,
		e.At, nullID(e.StaffID), nullID(e.ByID), string(e.Kind), e.Detail, e.From.Address, e.From.Device, hour, staff.RefusalsApart)
	return err
}

func clearAccess(ctx context.Context, tx pgx.Tx, now time.Time) error {
	_, err := tx.Exec(ctx, `DELETE FROM access_event WHERE at < $1::timestamptz - make_interval(days => $2)
		OR hour < $1::timestamptz - make_interval(days => $3)`, now, staff.AccessDays, staff.RefusalDays)
	return err
}

const accessFields = `a.id, a.at, a.last_at, a.times, coalesce(a.staff_id, 0), coalesce(m.name, ''), coalesce(a.by_id, 0),
	coalesce(b.name, ''), a.kind, a.detail, a.address, a.device`

const accessTables = `access_event a LEFT JOIN staff m ON m.id = a.staff_id LEFT JOIN staff b ON b.id = a.by_id`

func collectAccess(rows pgx.Rows) ([]AccessEvent, error) {
	return pgx.CollectRows(rows, func(row pgx.CollectableRow) (e AccessEvent, err error) {
		err = row.Scan(&e.ID, &e.At, &e.LastAt, &e.Times, &e.StaffID, &e.Name, &e.ByID, &e.ByName, &e.Kind, &e.Detail,
			&e.From.Address, &e.From.Device)
		return e, err
	})
}

// Accesses are the lines of the log, the newest first, from before a line on; 0 begins with the newest. older names
// the line to go on from, 0 at the end.
func (s *Store) Accesses(ctx context.Context, before int64) (list []AccessEvent, older int64, err error) {
	rows, _ := s.db.Query(ctx, `SELECT `+accessFields+` FROM `+accessTables+` WHERE $1 = 0 OR a.id < $1
		ORDER BY a.id DESC LIMIT $2`, before, accessPage+1)
	if list, err = collectAccess(rows); err != nil {
		return nil, 0, fmt.Errorf("log of sign-ins: %w", Translate(err))
	}
	if len(list) > accessPage {
		list = list[:accessPage]
		older = list[accessPage-1].ID
	}
	return list, older, nil
}

// ownAccess is how many lines of the log a person's own page shows.
const ownAccess = 20

// queueAccess adds to a batch the reading of the newest lines about a person.
func queueAccess(batch *pgx.Batch, staffID int64, list *[]AccessEvent) {
	batch.Queue(`SELECT `+accessFields+` FROM `+accessTables+` WHERE a.staff_id = $1 ORDER BY a.id DESC LIMIT $2`,
		staffID, ownAccess).Query(func(rows pgx.Rows) (err error) {
		*list, err = collectAccess(rows)
		return err
	})
}
