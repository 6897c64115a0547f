package store

import (
	"bytes"
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/warranty"
	"ledgerwheel/store/keyring"
)

// UseKeys has the store sign with the private keys of ring. It is called once, before the store is used.
func (s *Store) UseKeys(ring *keyring.Ring) { s.keys = ring }

// Keys is the ring that the store signs with; nil where it signs nothing.
func (s *Store) Keys() *keyring.Ring { return s.keys }

// errNoRing reports a store that was opened to read only.
var errNoRing = errors.New("the program has no keys to sign with")

// TakeOutSeeds moves the private halves that the database still holds to the ring: each is written to its file, synced
// and read back before it is taken out, so that a kill between leaves it in one place at least, and the next start goes
// on. Of several copies of the program over one database, the first gets them. It returns how many it moved.
func (s *Store) TakeOutSeeds(ctx context.Context, at time.Time) (moved int, err error) {
	left := note{kind: docket.SigningKeyChosen, at: at, summary: docket.SeedsLeftSummary}
	err = s.changeShop(ctx, &left, func(tx pgx.Tx) error {
		rows, _ := tx.Query(ctx, `SELECT id, seed FROM signing_key WHERE seed IS NOT NULL ORDER BY made_at, id FOR UPDATE`)
		type held struct {
			ID   warranty.KeyID
			Seed []byte
		}
		list, err := pgx.CollectRows(rows, pgx.RowToStructByPos[held])
		if err != nil {
			return err
		}
		for _, k := range list {
			if err := s.keepSeed(k.ID, k.Seed); err != nil {
				return err
			}
			if _, err := tx.Exec(ctx, `UPDATE signing_key SET seed = NULL, seed_left_at = $2 WHERE id = $1`, string(k.ID),
				docket.Moment(at)); err != nil {
				return err
			}
		}
		moved = len(list)
		return nil
	})
	if err != nil {
		return 0, fmt.Errorf("take the signing keys out of the database: %w", Translate(err))
	}
	if moved > 0 {
		// What was taken out still lies in the table's file; this writes the table anew, without it.
		if _, err := s.db.Exec(ctx, `VACUUM FULL signing_key`); err != nil {
			return moved, fmt.Errorf("clear the table of signing keys: %w", Translate(err))
		}
	}
	return moved, nil
}

// keepSeed writes a card key's private half to the ring and reads it back.
func (s *Store) keepSeed(id warranty.KeyID, seed []byte) error {
	if s.keys == nil {
		return errNoRing
	}
	if err := s.keys.Keep(keyring.Card, string(id), seed); err != nil {
		return err
	}
	back, err := s.keys.Seed(keyring.Card, string(id))
	if err == nil && !bytes.Equal(back, seed) {
		err = fmt.Errorf("%w: %s", keyring.ErrDamaged, id)
	}
	return err
}

// privateKey returns a whole card key from the ring; the error says why that can't be done on this machine.
func (s *Store) privateKey(id warranty.KeyID) (warranty.SigningKey, error) {
	if s.keys == nil {
		return warranty.SigningKey{}, errNoRing
	}
	seed, err := s.keys.Seed(keyring.Card, string(id))
	if err != nil {
		return warranty.SigningKey{}, err
	}
	key, err := warranty.KeyFromSeed(seed)
	if err == nil && key.ID != id {
		err = fmt.Errorf("%w: the seed named card/%s is that of key %s", keyring.ErrDamaged, id, key.ID)
	}
	return key, err
}

// makeKey keeps a new signing key unless one is in use: its private half is on the disk before the database names it.
func (s *Store) makeKey(ctx context.Context, tx pgx.Tx, by Actor, at time.Time) (key warranty.SigningKey, made bool, err error) {
	if s.keys == nil {
		return key, false, errNoRing
	}
	if s.keys.Given(keyring.Card) {
		key, err = s.givenKey(ctx, tx)
	} else if key, err = warranty.NewKey(rand.Reader); err == nil {
		err = s.keepSeed(key.ID, key.Seed())
	}
	if err != nil {
		return key, false, err
	}
	tag, err := tx.Exec(ctx, `INSERT INTO signing_key (id, public, made_at, made_by) VALUES ($1, $2, $3, $4)
		ON CONFLICT ((true)) WHERE retired_at IS NULL DO NOTHING`, string(key.ID), []byte(key.Public), docket.Moment(at), nullID(by.StaffID))
	return key, tag.RowsAffected() == 1, err
}

// givenKey is the newest key given by the environment that the record has never used.
func (s *Store) givenKey(ctx context.Context, tx pgx.Tx) (warranty.SigningKey, error) {
	rows, _ := tx.Query(ctx, `SELECT id FROM signing_key`)
	used, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		return warranty.SigningKey{}, err
	}
	list, err := s.keys.List(keyring.Card)
	if err != nil {
		return warranty.SigningKey{}, err
	}
	for _, k := range slices.Backward(list) {
		if k.Given && !slices.Contains(used, k.ID) {
			return s.privateKey(warranty.KeyID(k.ID))
		}
	}
	return warranty.SigningKey{}, warranty.ErrNoGivenKey
}

// signingKey returns the key in use, making the first one when there is none, and keeps it from being retired until
// the transaction ends. The error is a *domain.InvalidError (field "") where its private half can't be used here.
func (s *Store) signingKey(ctx context.Context, tx pgx.Tx, c Change) (warranty.SigningKey, error) {
	id, err := lockedKey(ctx, tx)
	if errors.Is(err, pgx.ErrNoRows) {
		if _, _, err := s.makeKey(ctx, tx, c.By, c.At); errors.Is(err, warranty.ErrNoGivenKey) {
			return warranty.SigningKey{}, domain.Invalid(map[string]string{"": warranty.NoGivenKey})
		} else if err != nil {
			return warranty.SigningKey{}, err
		}
		id, err = lockedKey(ctx, tx)
	}
	if err != nil {
		return warranty.SigningKey{}, err
	}
	key, err := s.privateKey(id)
	if err != nil {
		return key, errors.Join(domain.Invalid(map[string]string{"": warranty.KeyAway(id)}), err)
	}
	return key, nil
}

func lockedKey(ctx context.Context, tx pgx.Tx) (id warranty.KeyID, err error) {
	err = tx.QueryRow(ctx, `SELECT id FROM signing_key WHERE retired_at IS NULL FOR SHARE`).Scan(&id)
	return id, err
}
