package store

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/staff"
)

// From is where a request came from.
type From struct {
	Address string // network address
	Device  string // browser and system in words
}

// Session is one session of a person that has not ended.
type Session struct {
	ID                  string
	BegunAt, LastSeenAt time.Time // UTC
	From                From
}

// SessionNow is what the session of a request is found to be.
type SessionNow struct {
	ID     string
	Live   bool          // it was begun and nobody ended it
	Unseen time.Duration // since something was last asked for in it, to within staff.SeenEvery
}

// BeginSession keeps a session that somebody began in place of one that its browser had, and forgets what is too old. Its times are the database's
// own, as those of all sessions are.
func (s *Store) BeginSession(ctx context.Context, id, before string, staffID int64, epoch int, e AccessEvent) error {
	err := pgx.BeginFunc(ctx, s.db, func(tx pgx.Tx) error {
		if _, err := tx.Exec(ctx, `DELETE FROM staff_session WHERE begun_at < now() - $1::interval OR id = $2`,
			staff.SessionFor, before); err != nil {
			return err
		}
		if _, err := tx.Exec(ctx, `INSERT INTO staff_session (id, staff_id, epoch, address, device) VALUES ($1, $2, $3, $4, $5)`,
			id, staffID, epoch, e.From.Address, e.From.Device); err != nil {
			return err
		}
		if err := clearAccess(ctx, tx, e.At); err != nil {
			return err
		}
		return insertAccess(ctx, tx, e)
	})
	if err != nil {
		return fmt.Errorf("begin a session: %w", Translate(err))
	}
	return nil
}

// SessionSeen notes that something was asked for in a session just now.
func (s *Store) SessionSeen(ctx context.Context, id, address string) error {
	if _, err := s.db.Exec(ctx, `UPDATE staff_session SET last_seen_at = now(), address = $2 WHERE id = $1`, id,
		address); err != nil {
		return fmt.Errorf("session seen: %w", Translate(err))
	}
	return nil
}

// EndSession ends one session of a person; the error wraps domain.ErrNotFound where it is over already or another's.
func (s *Store) EndSession(ctx context.Context, staffID int64, id string, e AccessEvent) error {
	err := pgx.BeginFunc(ctx, s.db, func(tx pgx.Tx) error {
		tag, err := tx.Exec(ctx, `DELETE FROM staff_session WHERE staff_id = $1 AND id = $2`, staffID, id)
		if err != nil {
			return err
		}
		if tag.RowsAffected() == 0 {
			return domain.ErrNotFound
		}
		return insertAccess(ctx, tx, e)
	})
	if err != nil {
		return fmt.Errorf("end a session: %w", Translate(err))
	}
	return nil
}

// EndOtherSessions ends all sessions of a person but one.
func (s *Store) EndOtherSessions(ctx context.Context, staffID int64, keep string, e AccessEvent) error {
	err := pgx.BeginFunc(ctx, s.db, func(tx pgx.Tx) error {
		tag, err := tx.Exec(ctx, `DELETE FROM staff_session WHERE staff_id = $1 AND id <> $2`, staffID, keep)
		if err != nil || tag.RowsAffected() == 0 {
			return err
		}
		return insertAccess(ctx, tx, e)
	})
	if err != nil {
		return fmt.Errorf("end the other sessions: %w", Translate(err))
	}
	return nil
}

// SessionProved counts the wrong answers to who somebody is, and forgets them at a right one.
func (s *Store) SessionProved(ctx context.Context, id string, right bool) (wrong int, err error) {
	err = s.db.QueryRow(ctx, `UPDATE staff_session SET wrong = CASE WHEN $2 THEN 0 ELSE wrong + 1 END WHERE id = $1 RETURNING wrong`,
		id, right).Scan(&wrong)
	if err != nil {
		return 0, fmt.Errorf("answers of a session: %w", Translate(err))
	}
	return wrong, nil
}

// queueSessions adds to a batch the reading of a person's sessions that go on, the last seen first.
func queueSessions(batch *pgx.Batch, staffID int64, list *[]Session) {
	batch.Queue(`SELECT ss.id, ss.begun_at, ss.last_seen_at, ss.address, ss.device
		FROM staff_session ss JOIN staff m ON m.id = ss.staff_id CROSS JOIN shop s
		WHERE ss.staff_id = $1 AND ss.epoch = m.session_epoch AND ss.begun_at > now() - $2::interval
			AND ss.last_seen_at > now() - make_interval(mins => s.idle_minutes)
		ORDER BY ss.last_seen_at DESC, ss.id LIMIT 100`, staffID, staff.SessionFor).Query(func(rows pgx.Rows) (err error) {
		*list, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (n Session, err error) {
			err = row.Scan(&n.ID, &n.BegunAt, &n.LastSeenAt, &n.From.Address, &n.From.Device)
			return n, err
		})
		return err
	})
}
