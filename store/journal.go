package store

import (
	"context"
	"encoding/json"
	"fmt"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain/docket"
)

const (
	entryColumns     = `docket_id, ` + entryOwn
	shopEntryColumns = `0::bigint, ` + entryOwn
	entryOwn         = `seq, at, by_kind, by_id, by_name, kind, summary, why, facts, rows, prev_hash, hash`
)

// toldColumn says how an entry of the journal j is shown where that is not as it was entered.
const (
	toldColumn     = `, (SELECT told FROM journal_told t WHERE t.docket_id = j.docket_id AND t.seq = j.seq)`
	shopToldColumn = `, (SELECT told FROM journal_told t WHERE t.docket_id = 0 AND t.seq = j.seq)`
)

// scanTold reads an entry as it is shown.
func scanTold(row pgx.CollectableRow) (docket.Entry, error) {
	e, told, err := scanBoth(row)
	return e.Told(told), err
}

// scanBoth reads an entry as it was entered, and how it is shown instead, nil where it is shown so.
func scanBoth(row pgx.CollectableRow) (docket.Entry, *docket.Telling, error) {
	var raw *string
	e, err := scanEntry(row, &raw)
	if err != nil || raw == nil {
		return e, nil, err
	}
	var told docket.Telling
	err = json.Unmarshal([]byte(*raw), &told)
	return e, &told, err
}

// scanEntry reads an entry, and behind its columns what more is wanted.
func scanEntry(row pgx.CollectableRow, more ...any) (docket.Entry, error) {
	var e docket.Entry
	var by *int64
	var rows *string
	var prev, hash []byte
	err := row.Scan(append([]any{&e.DocketID, &e.Seq, &e.At, &e.By.Kind, &by, &e.By.Name, &e.Kind, &e.Summary, &e.Why, &e.Facts,
		&rows, &prev, &hash}, more...)...)
	if err != nil {
		return docket.Entry{}, err
	}
	if by != nil {
		e.By.StaffID = *by
	}
	if rows != nil {
		e.Declares, e.Rows = true, []byte(*rows)
	}
	e.At = e.At.UTC()
	copy(e.PrevHash[:], prev)
	copy(e.Hash[:], hash)
	return e, nil
}

// JournalPage is how many entries a page of a journal shows.
const JournalPage = 50

// Journal returns entries of one docket below the sequence before, newest first, at most JournalPage;
// before 0 starts at the newest.
func (s *Store) Journal(ctx context.Context, id, before int64) ([]docket.Entry, error) {
	rows, _ := s.db.Query(ctx, `SELECT `+entryColumns+toldColumn+` FROM journal j
		WHERE docket_id = $1 AND ($2 = 0 OR seq < $2) ORDER BY seq DESC LIMIT $3`, id, before, JournalPage)
	entries, err := pgx.CollectRows(rows, scanTold)
	if err != nil {
		return nil, fmt.Errorf("journal of docket %d: %w", id, Translate(err))
	}
	return entries, nil
}

// ChangesSince returns what happened to the docket after the given version, oldest first: what the person
// who came second is shown. No more than JournalPage entries.
func (s *Store) ChangesSince(ctx context.Context, n docket.Number, version int64) ([]docket.Entry, error) {
	rows, _ := s.db.Query(ctx, `SELECT `+entryColumns+toldColumn+` FROM journal j
		WHERE docket_id = (SELECT id FROM docket WHERE number = $1) AND seq > $2 ORDER BY seq LIMIT $3`,
		n.String(), version, JournalPage)
	entries, err := pgx.CollectRows(rows, scanTold)
	if err != nil {
		return nil, fmt.Errorf("changes of docket %s: %w", n, Translate(err))
	}
	return entries, nil
}

// ShopJournal is a page of the shop's own journal.
type ShopJournal struct {
	Entries []docket.Entry // newest first
	Newest  int64          // the newest entry's sequence
}

// ShopJournal returns entries of the shop's own journal as Journal does of a docket's, in one round trip.
func (s *Store) ShopJournal(ctx context.Context, before int64) (ShopJournal, error) {
	var j ShopJournal
	var batch pgx.Batch
	batch.Queue(`SELECT seq FROM shop_head`).QueryRow(func(row pgx.Row) error { return row.Scan(&j.Newest) })
	batch.Queue(`SELECT `+shopEntryColumns+shopToldColumn+` FROM shop_journal j WHERE $1 = 0 OR seq < $1 ORDER BY seq DESC LIMIT $2`,
		before, JournalPage).Query(func(rows pgx.Rows) (err error) {
		j.Entries, err = pgx.CollectRows(rows, scanTold)
		return err
	})
	if err := s.db.SendBatch(ctx, &batch).Close(); err != nil {
		return ShopJournal{}, fmt.Errorf("journal of the shop: %w", Translate(err))
	}
	return j, nil
}

type journalHead struct {
	id     int64
	number docket.Number
	head   docket.Head
}

func scanJournalHead(row pgx.CollectableRow) (journalHead, error) {
	var h journalHead
	var hash []byte
	err := row.Scan(&h.id, &h.number.Year, &h.number.Seq, &h.head.Seq, &hash)
	copy(h.head.Hash[:], hash)
	return h, err
}
