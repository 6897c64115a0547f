package store

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain/warranty"
)

// ErrNotSigned reports that a statement can't be signed on this machine: no key is in use, or its private half is not
// here.
var ErrNotSigned = errors.New("nothing can be signed on this machine now")

// SignStatement signs what the shop says of a card now, with the key in use. The error wraps [ErrNotSigned] where that
// can't be done here.
func (s *Store) SignStatement(ctx context.Context, st warranty.Statement) (string, error) {
	var id warranty.KeyID
	err := s.db.QueryRow(ctx, `SELECT id FROM signing_key WHERE retired_at IS NULL`).Scan(&id)
	if errors.Is(err, pgx.ErrNoRows) {
		return "", ErrNotSigned
	}
	if err != nil {
		return "", fmt.Errorf("key in use: %w", Translate(err))
	}
	key, err := s.privateKey(id)
	if err != nil {
		return "", fmt.Errorf("%w: %w", ErrNotSigned, err)
	}
	return key.State(st)
}

// stateIn signs what becomes of a card in the transaction that does it; "" where that can't be done on this machine.
func (s *Store) stateIn(ctx context.Context, tx pgx.Tx, st warranty.Statement) (string, error) {
	id, err := lockedKey(ctx, tx)
	if errors.Is(err, pgx.ErrNoRows) {
		return "", nil
	}
	if err != nil {
		return "", err
	}
	key, err := s.privateKey(id)
	if err != nil {
		return "", nil
	}
	return key.State(st)
}

// PublicKeys are the public halves of all keys that cards were signed with, in the order in which they were made.
func (s *Store) PublicKeys(ctx context.Context) ([]warranty.PublicKey, error) {
	rows, _ := s.db.Query(ctx, `SELECT id, public, retired_at FROM signing_key ORDER BY made_at, id`)
	list, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (warranty.PublicKey, error) {
		var k warranty.PublicKey
		var public []byte
		var retired *time.Time
		err := row.Scan(&k.ID, &public, &retired)
		k.Public, k.RetiredAt = public, timeOr(retired)
		return k, err
	})
	if err != nil {
		return nil, fmt.Errorf("public keys: %w", Translate(err))
	}
	return list, nil
}
