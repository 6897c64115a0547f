package store

import (
	"context"
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
	// LeftAt is when its private half was taken out of the database, where older copies still have it; zero for a key
	// that never was in it.
	LeftAt time.Time
	// Away says, of the key in use, why its private half can't be used on this machine; nil where it can.
	Away error
}

// keysShown is how many signing keys the owner's page shows.
const keysShown = 50

// SigningKeys lists the newest signing keys, the one in use first.
func (s *Store) SigningKeys(ctx context.Context) ([]KeyRow, error) {
	rows, _ := s.db.Query(ctx, `SELECT k.id, k.public, k.made_at, coalesce(m.name, ''), k.retired_at, coalesce(r.name, ''),
			(SELECT max(issued_at) FROM warranty_card WHERE key_id = k.id), k.seed_left_at
		FROM signing_key k LEFT JOIN staff m ON m.id = k.made_by LEFT JOIN staff r ON r.id = k.retired_by
		ORDER BY k.retired_at IS NOT NULL, k.made_at DESC LIMIT $1`, keysShown)
	list, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (KeyRow, error) {
		var k KeyRow
		var retired, used, left *time.Time
		if err := row.Scan(&k.ID, &k.Public, &k.MadeAt, &k.MadeBy, &retired, &k.RetiredBy, &used, &left); err != nil {
			return k, err
		}
		k.MadeAt, k.RetiredAt, k.LastUsed, k.LeftAt = k.MadeAt.UTC(), timeOr(retired), timeOr(used), timeOr(left)
		if k.RetiredAt.IsZero() {
			_, k.Away = s.privateKey(k.ID)
		}
		return k, nil
	})
	if err != nil {
		return nil, fmt.Errorf("signing keys: %w", Translate(err))
	}
	return list, nil
}

// RotateKey retires the key in use, if it is still the one named, and makes another. "" names none: it makes the first
// key. Cards signed before stay genuine. The error wraps domain.ErrChanged where another key is in use, or
// warranty.ErrNoGivenKey.
func (s *Store) RotateKey(ctx context.Context, current warranty.KeyID, by Actor, at time.Time) (warranty.KeyID, error) {
	var id warranty.KeyID
	rotated := note{kind: docket.SigningKeyChosen, by: by, at: at}
	err := s.changeShop(ctx, &rotated, func(tx pgx.Tx) error {
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
		key, made, err := s.makeKey(ctx, tx, by, at)
		if err == nil && !made {
			return domain.ErrChanged
		}
		id, rotated.summary = key.ID, docket.SigningKeySummary(string(key.ID))
		return err
	})
	if err != nil {
		return "", fmt.Errorf("rotate the signing key: %w", Translate(err))
	}
	return id, nil
}
