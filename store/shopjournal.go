package store

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/record"
)

// note is what the shop's own journal is told of a change that belongs to no docket.
type note struct {
	kind    docket.Kind
	by      Actor
	at      time.Time
	summary string
	why     string
	facts   any
	always  bool // also where no evidence was written
}

// changeShop runs do in a transaction and enters in the shop's journal what it wrote; where it wrote no evidence nothing
// is entered. What n says may be set within do.
func (s *Store) changeShop(ctx context.Context, n *note, do func(pgx.Tx) error) error {
	return s.inTx(ctx, func(tx pgx.Tx) error {
		if err := do(tx); err != nil {
			return err
		}
		return s.enterShop(ctx, tx, *n)
	})
}

// enterShop appends an entry to the shop's journal, which is held from here to the end of the transaction, with the
// rows that the transaction wrote.
func (s *Store) enterShop(ctx context.Context, tx pgx.Tx, n note) error {
	rows, err := writtenRows(ctx, tx)
	if err != nil || len(rows) == 0 && !n.always {
		return err
	}
	var head docket.Head
	var hash []byte
	name := n.by.Name
	err = tx.QueryRow(ctx, `SELECT h.seq, h.hash, coalesce(nullif($1, ''), (SELECT name FROM staff WHERE id = $2), '')
		FROM shop_head h FOR UPDATE OF h`, name, n.by.StaffID).Scan(&head.Seq, &hash, &name)
	if err != nil {
		return err
	}
	copy(head.Hash[:], hash)
	n.by.Name = name
	e, err := s.entry(head, docket.Entry{DocketID: docket.ShopJournal, At: n.at, By: n.by.author(), Kind: n.kind,
		Summary: n.summary, Why: n.why, Rows: rows}, n.facts)
	if err != nil {
		return err
	}
	var batch pgx.Batch
	batch.Queue(forgetWritten)
	s.queueEntry(&batch, e)
	batch.Queue(`UPDATE shop_head SET seq = $1, hash = $2`, e.Seq, e.Hash[:])
	return tx.SendBatch(ctx, &batch).Close()
}

// forgetWritten clears what the triggers noted, with the writing of the entry that declares it.
const forgetWritten = `SELECT set_config('ledgerwheel.written', '', true)`

const notedSQL = `SELECT coalesce(current_setting('ledgerwheel.written', true), '')`

// writtenRows reads what the triggers noted of the rows of evidence that the transaction wrote, in one round trip.
func writtenRows(ctx context.Context, tx pgx.Tx) ([]byte, error) {
	var noted string
	err := tx.QueryRow(ctx, notedSQL).Scan(&noted)
	if err != nil {
		return nil, err
	}
	return declared(noted)
}

// declared is what an entry says of the rows that the triggers noted.
func declared(noted string) ([]byte, error) {
	if noted == "" {
		return nil, nil
	}
	if noted == tooMany {
		return nil, errTooMany
	}
	lines, err := record.Parse(noted)
	if err != nil {
		return nil, fmt.Errorf("rows written: %w", err)
	}
	return record.Format(record.Compact(lines)), nil
}

// tooMany is what the trigger notes where so many rows were written that no entry can declare them.
const tooMany = "too many"

var errTooMany = errors.New("one change wrote more rows than an entry of a journal can declare: make it in parts")

// undeclared is an error where the transaction wrote evidence that no entry declares. Tests run with it.
func undeclared(ctx context.Context, tx pgx.Tx) error {
	// Not counted among the round trips of the page under test.
	rows, err := writtenRows(context.WithoutCancel(context.Background()), tx)
	if err != nil || len(rows) == 0 {
		return err
	}
	first, _, _ := strings.Cut(string(rows), "\n")
	return fmt.Errorf("rows of evidence were written that no entry of a journal declares, such as %q", first)
}
