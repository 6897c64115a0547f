package store

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/watch"
)

// ListedWatch is one entry of the watch list and who put it there.
type ListedWatch struct {
	watch.WatchListEntry
	AddedBy string
	AddedAt time.Time
	Twice   bool // another entry that stands has the same serial
}

// ListedPage is how many entries a page of the watch list shows.
const ListedPage = 50

// Listed returns entries that stand, newest first, below the id before (0 for the newest).
func (s *Store) Listed(ctx context.Context, before int64) ([]ListedWatch, error) {
	rows, _ := s.db.Query(ctx, `SELECT l.id, l.serial, l.maker, l.reported_on, l.source, l.note, m.name, l.added_at,
			coalesce((SELECT jsonb_agg(jsonb_build_object('Serial', o.serial, 'Maker', o.maker)) FROM watch_list o
				WHERE o.removed_at IS NULL AND o.serial_key = l.serial_key AND o.id <> l.id), '[]')
		FROM watch_list l JOIN staff m ON m.id = l.added_by
		WHERE l.removed_at IS NULL AND ($1 = 0 OR l.id < $1) ORDER BY l.id DESC LIMIT $2`, before, ListedPage)
	entries, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (ListedWatch, error) {
		var e ListedWatch
		var reported *time.Time
		var others []watch.WatchListEntry
		err := row.Scan(&e.ID, &e.Serial, &e.Maker, &reported, &e.Source, &e.Note, &e.AddedBy, &e.AddedAt, &others)
		_, e.Twice = e.Repeats(others)
		e.Reported, e.AddedAt = timeOr(reported), e.AddedAt.UTC()
		return e, err
	})
	if err != nil {
		return nil, fmt.Errorf("watch list: %w", Translate(err))
	}
	return entries, nil
}

// AddToWatchList adds an entry. The serial's key folds look-alike letters, as those of watches do. The error is a
// *domain.InvalidError of the field "serial" when the serial is on the list already.
func (s *Store) AddToWatchList(ctx context.Context, e watch.WatchListEntry, by Actor, at time.Time) error {
	added := note{kind: docket.WatchListChanged, by: by, at: at, summary: docket.WatchListedSummary(e.Serial)}
	err := s.changeShop(ctx, &added, func(tx pgx.Tx) error {
		// Nobody adds beside this until it is done; lookups of the list go on.
		if _, err := tx.Exec(ctx, `LOCK TABLE watch_list IN SHARE ROW EXCLUSIVE MODE`); err != nil {
			return err
		}
		rows, _ := tx.Query(ctx, `SELECT serial, maker, reported_on, source FROM watch_list
			WHERE removed_at IS NULL AND serial_key = $1 ORDER BY id`, watch.SerialLikeKey(e.Serial))
		listed, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (watch.WatchListEntry, error) {
			var l watch.WatchListEntry
			var reported *time.Time
			err := row.Scan(&l.Serial, &l.Maker, &reported, &l.Source)
			l.Reported = timeOr(reported)
			return l, err
		})
		if err != nil {
			return err
		}
		if first, found := e.Repeats(listed); found {
			return domain.Invalid(map[string]string{"serial": first.RepeatedWords()})
		}
		_, err = tx.Exec(ctx, `INSERT INTO watch_list (serial, serial_key, maker, reported_on, source, note, added_by, added_at)
			VALUES ($1, $2, $3, $4, $5, $6, $7, $8)`,
			e.Serial, watch.SerialLikeKey(e.Serial), e.Maker, nullTime(e.Reported), e.Source, e.Note, by.StaffID, at)
		return err
	})
	if err != nil {
		return fmt.Errorf("add to watch list: %w", Translate(err))
	}
	return nil
}

// RemoveFromWatchList withdraws an entry: it matches no more but stays on record. The error wraps
// domain.ErrNotFound when it does not stand.
func (s *Store) RemoveFromWatchList(ctx context.Context, id int64, by Actor, at time.Time) error {
	removed := note{kind: docket.WatchListChanged, by: by, at: at}
	err := s.changeShop(ctx, &removed, func(tx pgx.Tx) error {
		var serial string
		err := tx.QueryRow(ctx, `UPDATE watch_list SET removed_by = $2, removed_at = $3 WHERE id = $1 AND removed_at IS NULL
			RETURNING serial`, id, by.StaffID, at).Scan(&serial)
		removed.summary = docket.WatchUnlistedSummary(serial)
		return err
	})
	if err != nil {
		return fmt.Errorf("remove from watch list: %w", Translate(err))
	}
	return nil
}
