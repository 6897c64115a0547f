package store

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/warranty"
)

// KeyRow is a signing key without its private half.
type KeyRow struct {
	ID        warranty.KeyID
	Public    []byte
	MadeAt    time.Time
	MadeBy    string // "" for a key made before names were kept
	RetiredAt time.Time
	RetiredBy string
	LastUsed  time.Time // when the newest of its cards was issued; zero if it signed none
}

// keysShown is how many signing keys the owner's page shows.
const keysShown = 50

// SigningKeys lists the newest signing keys, the one in use first.
func (s *Store) SigningKeys(ctx context.Context) ([]KeyRow, error) {
	rows, _ := s.db.Query(ctx, `SELECT k.id, k.public, k.made_at, coalesce(m.name, ''), k.retired_at, coalesce(r.name, ''),
			(SELECT max(issued_at) FROM warranty_card WHERE key_id = k.id)
		FROM signing_key k LEFT JOIN staff m ON m.id = k.made_by LEFT JOIN staff r ON r.id = k.retired_by
		ORDER BY k.retired_at IS NOT NULL, k.made_at DESC LIMIT $1`, keysShown)
	list, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (KeyRow, error) {
		var k KeyRow
		var retired, used *time.Time
		err := row.Scan(&k.ID, &k.Public, &k.MadeAt, &k.MadeBy, &retired, &k.RetiredBy, &used)
		k.MadeAt, k.RetiredAt, k.LastUsed = k.MadeAt.UTC(), timeOr(retired), timeOr(used)
		return k, err
	})
	if err != nil {
		return nil, fmt.Errorf("signing keys: %w", Translate(err))
	}
	return list, nil
}

// RotateKey retires the key in use, if it is still the one named, and makes another. "" names none: it makes the first
// key. Cards signed before stay genuine. The error wraps domain.ErrChanged where another key is in use.
func (s *Store) RotateKey(ctx context.Context, current warranty.KeyID, by Actor, at time.Time) (warranty.KeyID, error) {
	var id warranty.KeyID
	err := s.inTx(ctx, func(tx pgx.Tx) error {
		var inUse warranty.KeyID
		err := tx.QueryRow(ctx, `SELECT id FROM signing_key WHERE retired_at IS NULL FOR UPDATE`).Scan(&inUse)
		if err != nil && !errors.Is(err, pgx.ErrNoRows) {
			return err
		}
		if inUse != current {
			return domain.ErrChanged
		}
		// A statement of its own, so that it sees the cards that were being signed while the key was waited for: none
		// may seem to be signed after its key was retired.
		if _, err := tx.Exec(ctx, `UPDATE signing_key SET retired_by = $3, retired_at = greatest($2,
			(SELECT max(issued_at) FROM warranty_card WHERE key_id = $1)) WHERE id = $1`, string(inUse), docket.Moment(at), by.StaffID); err != nil {
			return err
		}
		key, made, err := makeKey(ctx, tx, by, at)
		if err == nil && !made {
			return domain.ErrChanged
		}
		id = key.ID
		return err
	})
	if err != nil {
		return "", fmt.Errorf("rotate the signing key: %w", Translate(err))
	}
	return id, nil
}

// makeKey keeps a new signing key unless one is in use.
func makeKey(ctx context.Context, tx pgx.Tx, by Actor, at time.Time) (key warranty.SigningKey, made bool, err error) {
	if key, err = warranty.NewKey(rand.Reader); err != nil {
		return key, false, err
	}
	tag, err := tx.Exec(ctx, `INSERT INTO signing_key (id, seed, public, made_at, made_by) VALUES ($1, $2, $3, $4, $5)
		ON CONFLICT ((true)) WHERE retired_at IS NULL DO NOTHING`, string(key.ID), key.Seed(), []byte(key.Public), docket.Moment(at), nullID(by.StaffID))
	return key, tag.RowsAffected() == 1, err
}

// signingKey returns the key in use, making the first one when there is none, and keeps it from being retired until
// the transaction ends.
func signingKey(ctx context.Context, tx pgx.Tx, c Change) (warranty.SigningKey, error) {
	key, err := lockedKey(ctx, tx)
	if !errors.Is(err, pgx.ErrNoRows) {
		return key, err
	}
	if _, _, err := makeKey(ctx, tx, c.By, c.At); err != nil {
		return warranty.SigningKey{}, err
	}
	return lockedKey(ctx, tx)
}

func lockedKey(ctx context.Context, tx pgx.Tx) (warranty.SigningKey, error) {
	var seed []byte
	if err := tx.QueryRow(ctx, `SELECT seed FROM signing_key WHERE retired_at IS NULL FOR SHARE`).Scan(&seed); err != nil {
		return warranty.SigningKey{}, err
	}
	return warranty.KeyFromSeed(seed)
}
