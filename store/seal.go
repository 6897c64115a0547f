package store

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"
	"golang.org/x/mod/sumdb/tlog"

	"ledgerwheel/domain/record"
)

// ErrRewritten reports a log that no longer holds what an earlier seal says: nothing is sealed over that.
var ErrRewritten = errors.New("the record no longer holds what an earlier seal says, so no new seal was made: run the record check")

// Seal takes what waits into the log and signs its state at the time at, if the log still holds what the earlier seals
// say. Where nothing was added since the newest seal in the record, it returns that one, unless always. The error wraps ErrRewritten.
func (s *Store) Seal(ctx context.Context, seed []byte, at time.Time, earlier []record.Seal, always bool) (record.Seal, error) {
	size, err := s.Integrate(ctx)
	if err != nil {
		return record.Seal{}, err
	}
	var made record.Seal
	err = pgx.BeginFunc(ctx, s.db, func(tx pgx.Tx) error {
		// Two copies of the program seal one after the other.
		if _, err := tx.Exec(ctx, `SELECT pg_advisory_xact_lock($1)`, logLock+1); err != nil {
			return err
		}
		if made, err = s.sealAt(ctx, tx, seed, size, at, earlier, always); err != nil {
			return err
		}
		return nil
	})
	if err != nil {
		return record.Seal{}, fmt.Errorf("seal: %w", Translate(err))
	}
	return made, nil
}

func (s *Store) sealAt(ctx context.Context, tx pgx.Tx, seed []byte, size int64, at time.Time, earlier []record.Seal, always bool) (record.Seal, error) {
	origin, err := originOf(ctx, tx)
	if err != nil {
		return record.Seal{}, err
	}
	signer, verifier, err := record.SealKey(origin, seed)
	if err != nil {
		return record.Seal{}, err
	}
	reader := logReader{ctx, tx}
	newest, found, err := newestSeal(ctx, tx)
	if err != nil {
		return record.Seal{}, err
	}
	if found {
		earlier = append(earlier, newest)
	}
	for _, e := range earlier {
		if e.Origin != origin || e.Size > size {
			return record.Seal{}, fmt.Errorf("%w (%s)", ErrRewritten, record.SealAt(e.At))
		}
		root, err := tlog.TreeHash(e.Size, reader)
		if err != nil {
			return record.Seal{}, err
		}
		if root != e.Root {
			return record.Seal{}, fmt.Errorf("%w (%s)", ErrRewritten, record.SealAt(e.At))
		}
	}
	if found && newest.Size == size && !always {
		return newest, nil
	}
	root, err := tlog.TreeHash(size, reader)
	if err != nil {
		return record.Seal{}, err
	}
	made, err := record.Sealed(record.Seal{Origin: origin, Size: size, Root: root, At: at}, signer)
	if err != nil {
		return record.Seal{}, err
	}
	var batch pgx.Batch
	batch.Queue(`UPDATE seal_key SET retired_at = $2 WHERE retired_at IS NULL AND verifier <> $1`, verifier, made.At)
	batch.Queue(`INSERT INTO seal_key (verifier, made_at) VALUES ($1, $2) ON CONFLICT (verifier) DO NOTHING`, verifier, made.At)
	batch.Queue(`INSERT INTO seal (size, made_at, note) VALUES ($1, $2, $3) ON CONFLICT DO NOTHING`, made.Size, made.At, string(made.Text))
	return made, tx.SendBatch(ctx, &batch).Close()
}

const newestSealSQL = `SELECT note FROM seal ORDER BY made_at DESC, size DESC LIMIT 1`

// newestSeal reads the seal that was kept in the record last.
func newestSeal(ctx context.Context, db querier) (seal record.Seal, found bool, err error) {
	var text string
	err = db.QueryRow(ctx, newestSealSQL).Scan(&text)
	if errors.Is(err, pgx.ErrNoRows) {
		return seal, false, nil
	}
	if err == nil {
		seal, err = record.PeekSeal([]byte(text))
		seal.Text = []byte(text)
	}
	return seal, err == nil, err
}

// NewestSeal returns the seal that was kept in the record last, if there is any.
func (s *Store) NewestSeal(ctx context.Context) (record.Seal, bool, error) {
	seal, found, err := newestSeal(ctx, s.db)
	if err != nil {
		return seal, false, fmt.Errorf("newest seal: %w", Translate(err))
	}
	return seal, found, nil
}

// SealKeys returns the public keys that seals were ever signed with, in the encoding of signed notes.
func (s *Store) SealKeys(ctx context.Context) ([]string, error) {
	rows, _ := s.db.Query(ctx, `SELECT verifier FROM seal_key ORDER BY made_at`)
	keys, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		return nil, fmt.Errorf("keys of the seals: %w", Translate(err))
	}
	return keys, nil
}

// docketSealSQL finds the seal that papers of the docket numbered $1 bear: the newest from a minute before the docket's newest
// entry, or before the watch left. A seal bears the time at which it was begun; by the minute none comes to be kept once a
// paper was printed without it.
const docketSealSQL = `SELECT note FROM seal WHERE made_at <= (SELECT least(d.handed_back_at, j.at) - interval '1 minute'
	FROM docket d JOIN journal j ON j.docket_id = d.id AND j.seq = d.version WHERE d.number = $1) ORDER BY made_at DESC, size DESC LIMIT 1`

// queueSeal adds to a batch the reading of a seal's note. Where there is none, or it is no seal, it stays zero: that is the
// record check's to tell.
func queueSeal(batch *pgx.Batch, into *record.Seal, sql string, args ...any) {
	batch.Queue(sql, args...).Query(func(rows pgx.Rows) error {
		notes, err := pgx.CollectRows(rows, pgx.RowTo[string])
		if err != nil || len(notes) == 0 {
			return err
		}
		if seal, err := record.PeekSeal([]byte(notes[0])); err == nil {
			seal.Text = []byte(notes[0])
			*into = seal
		}
		return nil
	})
}
