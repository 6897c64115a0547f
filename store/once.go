package store

import (
	"context"
	"fmt"
	"sync/atomic"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
)

// Sending is one request that may be sent again by mistake. Its transactions are counted as they are made, so that an
// equal request makes the same ones.
type Sending struct {
	Key   [32]byte // who sent what to where; see page.Sent
	steps atomic.Int32
}

// Done reports whether a transaction was made for it.
func (s *Sending) Done() bool { return s.steps.Load() > 0 }

type sendingKey struct{}

// WithSending returns a context in which what is written is written once for the sending's key.
func WithSending(ctx context.Context, s *Sending) context.Context {
	return context.WithValue(ctx, sendingKey{}, s)
}

// keptDays is how long it is known what was sent.
const keptDays = 2

// inTx runs do in a transaction. Within a sending it is the only one to be committed for its key and step: another
// waits for it, and the error then wraps domain.ErrSentTwice.
func (s *Store) inTx(ctx context.Context, do func(pgx.Tx) error) error {
	if s.fit != nil {
		if err := s.fit(); err != nil {
			return err
		}
	}
	err := pgx.BeginFunc(ctx, s.db, func(tx pgx.Tx) error {
		sending, _ := ctx.Value(sendingKey{}).(*Sending)
		if sending == nil || sending.Key == [32]byte{} {
			return s.declared(ctx, tx, do)
		}
		step := sending.steps.Load() + 1
		tag, err := tx.Exec(ctx, `WITH old AS (DELETE FROM sent_once WHERE at < now() - make_interval(days => $3))
			INSERT INTO sent_once (key, step) VALUES ($1, $2) ON CONFLICT DO NOTHING`, sending.Key[:], step, keptDays)
		if err != nil {
			return err
		}
		if tag.RowsAffected() == 0 {
			return domain.ErrSentTwice
		}
		if err := s.declared(ctx, tx, do); err != nil {
			return err
		}
		sending.steps.Store(step)
		return nil
	})
	if err == nil {
		select {
		case s.wrote <- struct{}{}:
		default:
		}
	}
	return err
}

// declared runs do and, where the store is guarded, refuses what it wrote of evidence without declaring it.
func (s *Store) declared(ctx context.Context, tx pgx.Tx, do func(pgx.Tx) error) error {
	if err := do(tx); err != nil || !s.guarded {
		return err
	}
	return undeclared(ctx, tx)
}

// SentBefore reports whether a key was done already, and where its answer led; "" where it did not lead anywhere yet.
func (s *Store) SentBefore(ctx context.Context, key [32]byte) (location string, done bool, err error) {
	err = s.db.QueryRow(ctx, `SELECT coalesce(max(location), ''), count(*) > 0 FROM sent_once WHERE key = $1`,
		key[:]).Scan(&location, &done)
	if err != nil {
		return "", false, fmt.Errorf("sent before: %w", Translate(err))
	}
	return location, done, nil
}

// Answered keeps where the answer to a sending led.
func (s *Store) Answered(ctx context.Context, key [32]byte, location string) error {
	if _, err := s.db.Exec(ctx, `UPDATE sent_once SET location = $2 WHERE key = $1`, key[:], location); err != nil {
		return fmt.Errorf("answer to what was sent: %w", Translate(err))
	}
	return nil
}
