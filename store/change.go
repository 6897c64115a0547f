package store

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/staff"
)

// Actor is who does something: a member of staff, or the customer through a private link.
type Actor struct {
	StaffID  int64
	Name     string
	Role     staff.Role
	Customer bool
}

func (a Actor) author() docket.Author {
	switch {
	case a.Customer:
		return docket.Author{Kind: docket.ByCustomer, Name: a.Name}
	case a.StaffID == 0:
		return docket.Author{Kind: docket.BySystem}
	}
	return docket.Author{Kind: docket.ByStaff, StaffID: a.StaffID, Name: a.Name}
}

// Change is who changes which docket when, and on the strength of which version of it.
type Change struct {
	Number docket.Number
	// Version is that of the docket as the person saw it; when another was newer the change is refused
	// with domain.ErrChanged. 0 is for additions, which don't depend on what others did meanwhile.
	Version int64
	By      Actor
	At      time.Time
	// Why is the reason for it, of the corrections that ask for one.
	Why string
	// Tell is how the customer is told of it, of the changes that customers are told of.
	Tell Tell
}

// event is what one change tells the journal.
type event struct {
	kind    docket.Kind
	summary string
	why     string
	facts   any
}

// change runs do on the locked docket and adds its events to the journal, all in one transaction: either
// everything is kept or nothing. The error wraps domain.ErrNotFound, domain.ErrChanged, or, when the watch
// has left the shop, domain.ErrClosed.
func (s *Store) change(ctx context.Context, c Change, do func(pgx.Tx, docket.Docket) ([]event, error)) error {
	return s.changeAny(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		if d.Closed() {
			return nil, domain.ErrClosed
		}
		return do(tx, d)
	})
}

// changeAny is change for what may also happen to a closed docket, such as the voiding of a card.
func (s *Store) changeAny(ctx context.Context, c Change, do func(pgx.Tx, docket.Docket) ([]event, error)) error {
	err := s.inTx(ctx, func(tx pgx.Tx) error {
		d, err := lockDocket(ctx, tx, c.Number)
		if err != nil {
			return err
		}
		if c.Version != 0 && c.Version != d.Version {
			if err := onlyPassive(ctx, tx, d, c.Version); err != nil {
				return err
			}
		}
		events, err := do(tx, d)
		if err != nil {
			return err
		}
		return s.appendEvents(ctx, tx, d.ID, docket.Head{Seq: d.Version, Hash: d.Head}, c, events)
	})
	if err != nil {
		return fmt.Errorf("change docket %s: %w", c.Number, Translate(err))
	}
	return nil
}

// onlyPassive is domain.ErrChanged unless all that was entered since that version is what the program did by itself, such as
// sending a message: nobody's form is older for it.
func onlyPassive(ctx context.Context, tx pgx.Tx, d docket.Docket, version int64) error {
	var passive int64
	err := tx.QueryRow(ctx, `SELECT count(*) FROM journal WHERE docket_id = $1 AND seq > $2 AND kind = ANY ($3)`,
		d.ID, version, docket.PassiveKinds()).Scan(&passive)
	if err == nil && passive != d.Version-version {
		err = domain.ErrChanged
	}
	return err
}

// appendEvents writes the entries and moves the docket's head, in two round trips. The last entry declares the rows that
// the transaction wrote.
func (s *Store) appendEvents(ctx context.Context, tx pgx.Tx, id int64, head docket.Head, c Change, events []event) error {
	if len(events) == 0 {
		return nil
	}
	rows, err := writtenRows(ctx, tx)
	if err != nil {
		return err
	}
	return s.appendDeclaring(ctx, tx, id, head, c, events, rows)
}

// appendDeclaring is appendEvents where the rows that the transaction wrote are known: one round trip.
func (s *Store) appendDeclaring(ctx context.Context, tx pgx.Tx, id int64, head docket.Head, c Change, events []event, rows []byte) (err error) {
	var batch pgx.Batch
	if rows != nil {
		batch.Queue(forgetWritten)
	}
	for i, ev := range events {
		e := docket.Entry{DocketID: id, At: c.At, By: c.By.author(), Kind: ev.kind, Summary: ev.summary, Why: ev.why}
		if i == len(events)-1 {
			e.Rows = rows
		}
		if e, err = s.entry(head, e, ev.facts); err != nil {
			return err
		}
		head = e.Head()
		s.queueEntry(&batch, e)
	}
	batch.Queue(`UPDATE docket SET version = $2, head_hash = $3 WHERE id = $1`, id, head.Seq, head.Hash[:])
	return tx.SendBatch(ctx, &batch).Close()
}

// entry is the next one of a journal, marked where the clock was set back.
func (s *Store) entry(head docket.Head, e docket.Entry, facts any) (docket.Entry, error) {
	facts, err := s.dated(e.At, facts)
	if err != nil {
		return e, err
	}
	s.clock.saw(e.At)
	return docket.Append(head, e, facts)
}

// entryRowColumns are those of an entry in the journal, in the order of entryRow.
var entryRowColumns = []string{"seq", "at", "by_kind", "by_id", "by_name", "kind", "summary", "why", "facts", "rows", "mark", "prev_hash", "hash", "docket_id"}

// entryRow is an entry as a journal keeps it.
func (s *Store) entryRow(e docket.Entry) []any {
	var by *int64
	if e.By.StaffID != 0 {
		by = &e.By.StaffID
	}
	var mark []byte
	if s.secret != nil {
		mark = s.secret.Mark(e.Hash)
	}
	return []any{e.Seq, e.At, string(e.By.Kind), by, e.By.Name, string(e.Kind), e.Summary, e.Why, e.Facts, string(e.Rows),
		mark, e.PrevHash[:], e.Hash[:], e.DocketID}
}

// queueEntry adds to a batch the writing of an entry, which waits for the log from then on.
func (s *Store) queueEntry(batch *pgx.Batch, e docket.Entry) {
	args := s.entryRow(e)
	if e.DocketID == docket.ShopJournal {
		batch.Queue(`WITH entered AS (INSERT INTO shop_journal (seq, at, by_kind, by_id, by_name, kind, summary, why, facts, rows, mark, prev_hash, hash)
				VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13))
			INSERT INTO log_pending (docket_id, seq, hash) VALUES ($14, $1, $13)`, args...)
		return
	}
	batch.Queue(`WITH entered AS (INSERT INTO journal (seq, at, by_kind, by_id, by_name, kind, summary, why, facts, rows, mark, prev_hash, hash, docket_id)
			VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14))
		INSERT INTO log_pending (docket_id, seq, hash) VALUES ($14, $1, $13)`, args...)
}
