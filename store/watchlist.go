package store

import (
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/watch"
)

// watchListFields are read by scanWatchListEntry in this order. An entry is matched by the folded serial, in which
// look-alike letters don't hide a match: writers must fill serial_key by watch.SerialLikeKey.
const watchListFields = `l.id, l.serial, l.maker, l.reported_on, l.source, l.note`

func scanWatchListEntry(row pgx.CollectableRow) (watch.WatchListEntry, error) {
	var e watch.WatchListEntry
	var reported *time.Time
	err := row.Scan(&e.ID, &e.Serial, &e.Maker, &reported, &e.Source, &e.Note)
	e.Reported = timeOr(reported)
	return e, err
}

// WatchListMatch is an entry of the shop's watch list that may concern a watch, and how well the serials agree.
type WatchListMatch struct {
	Entry watch.WatchListEntry
	Match watch.SerialMatch
}

// listedLimit bounds how many entries of one folded serial are compared.
const listedLimit = 20

const listedSQL = `SELECT ` + watchListFields + ` FROM watch_list l
	WHERE l.removed_at IS NULL AND l.serial_key = ANY($1) ORDER BY l.id LIMIT $2`

// queueListed adds to a batch the search of the watch list for w, which must be Tidied.
func queueListed(batch *pgx.Batch, w watch.Watch, found *[]WatchListMatch) {
	keys := w.SerialLikeKeys()
	if len(keys) == 0 {
		return
	}
	batch.Queue(listedSQL, keys, listedLimit).Query(func(rows pgx.Rows) error {
		entries, err := pgx.CollectRows(rows, scanWatchListEntry)
		*found = concerning(entries, w)
		return err
	})
}

// queueListedOf does the same for the watch of a docket, whose serials the caller has yet to read.
func queueListedOf(batch *pgx.Batch, number string, entries *[]watch.WatchListEntry) {
	batch.Queue(`SELECT `+watchListFields+` FROM docket d JOIN watch w ON w.id = d.watch_id
		JOIN watch_list l ON l.removed_at IS NULL AND l.serial_key = ANY(ARRAY[w.serial_key, w.movement_serial_key])
		WHERE d.number = $1 ORDER BY l.id LIMIT $2`, number, listedLimit).Query(func(rows pgx.Rows) (err error) {
		*entries, err = pgx.CollectRows(rows, scanWatchListEntry)
		return err
	})
}

// concerning keeps the entries that the domain finds to concern w.
func concerning(entries []watch.WatchListEntry, w watch.Watch) []WatchListMatch {
	var found []WatchListMatch
	for _, e := range entries {
		if match := e.Concerns(w); match != watch.SerialDiffers {
			found = append(found, WatchListMatch{e, match})
		}
	}
	return found
}

// queueListedMatches adds to a batch, after the head, what of the watch list concerns the docket's watch.
func queueListedMatches(batch *pgx.Batch, n docket.Number, h *Head, found *[]WatchListMatch) {
	batch.Queue(`SELECT `+watchListFields+` FROM docket d JOIN watch w ON w.id = d.watch_id
		JOIN watch_list l ON l.removed_at IS NULL AND l.serial_key = ANY(ARRAY[w.serial_key, w.movement_serial_key])
		WHERE d.number = $1 ORDER BY l.id LIMIT $2`, n.String(), listedLimit).Query(func(rows pgx.Rows) error {
		entries, err := pgx.CollectRows(rows, scanWatchListEntry)
		*found = concerning(entries, h.Watch)
		return err
	})
}
