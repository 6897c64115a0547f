package store

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain/docket"
)

const entryColumns = `docket_id, seq, at, by_kind, by_id, by_name, kind, summary, why, facts, prev_hash, hash`

func scanEntry(row pgx.CollectableRow) (docket.Entry, error) {
	var e docket.Entry
	var by *int64
	var prev, hash []byte
	err := row.Scan(&e.DocketID, &e.Seq, &e.At, &e.By.Kind, &by, &e.By.Name, &e.Kind, &e.Summary, &e.Why, &e.Facts, &prev,
		&hash)
	if err != nil {
		return docket.Entry{}, err
	}
	if by != nil {
		e.By.StaffID = *by
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
	rows, _ := s.db.Query(ctx, `SELECT `+entryColumns+` FROM journal
		WHERE docket_id = $1 AND ($2 = 0 OR seq < $2) ORDER BY seq DESC LIMIT $3`, id, before, JournalPage)
	entries, err := pgx.CollectRows(rows, scanEntry)
	if err != nil {
		return nil, fmt.Errorf("journal of docket %d: %w", id, Translate(err))
	}
	return entries, nil
}

// ChangesSince returns what happened to the docket after the given version, oldest first: what the person
// who came second is shown. No more than JournalPage entries.
func (s *Store) ChangesSince(ctx context.Context, n docket.Number, version int64) ([]docket.Entry, error) {
	rows, _ := s.db.Query(ctx, `SELECT `+entryColumns+` FROM journal
		WHERE docket_id = (SELECT id FROM docket WHERE number = $1) AND seq > $2 ORDER BY seq LIMIT $3`,
		n.String(), version, JournalPage)
	entries, err := pgx.CollectRows(rows, scanEntry)
	if err != nil {
		return nil, fmt.Errorf("changes of docket %s: %w", n, Translate(err))
	}
	return entries, nil
}

// CheckJournals verifies every docket's journal against its head and calls broken for each that does not
// hold. It returns how many were checked. Memory is bounded by the longest single journal.
func (s *Store) CheckJournals(ctx context.Context, broken func(docket.Number, error)) (int, error) {
	checked, last := 0, int64(0)
	for {
		heads, err := s.journalHeads(ctx, last)
		if err != nil || len(heads) == 0 {
			return checked, err
		}
		for _, h := range heads {
			rows, _ := s.db.Query(ctx, `SELECT `+entryColumns+` FROM journal WHERE docket_id = $1 ORDER BY seq`, h.id)
			entries, err := pgx.CollectRows(rows, scanEntry)
			if err != nil {
				return checked, fmt.Errorf("journal of docket %s: %w", h.number, Translate(err))
			}
			if err := docket.VerifyHead(h.id, entries, h.head); err != nil {
				broken(h.number, err)
			}
			checked, last = checked+1, h.id
		}
	}
}

type journalHead struct {
	id     int64
	number docket.Number
	head   docket.Head
}

func (s *Store) journalHeads(ctx context.Context, after int64) ([]journalHead, error) {
	rows, _ := s.db.Query(ctx, `SELECT id, year, seq, version, head_hash FROM docket WHERE id > $1 ORDER BY id LIMIT 500`,
		after)
	heads, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (journalHead, error) {
		var h journalHead
		var hash []byte
		err := row.Scan(&h.id, &h.number.Year, &h.number.Seq, &h.head.Seq, &hash)
		copy(h.head.Hash[:], hash)
		return h, err
	})
	if err != nil {
		return nil, fmt.Errorf("heads of journals: %w", Translate(err))
	}
	return heads, nil
}
