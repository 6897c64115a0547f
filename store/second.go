package store

import (
	"context"
	"crypto/aes"
	"crypto/cipher"
	"crypto/rand"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store/keyring"
)

// ErrSecretAway reports a secret of an app that can't be read on this machine, as its key is not here.
var ErrSecretAway = errors.New("the key that opens the secrets of apps is not on this machine")

// sealer opens and closes secrets under a key of the ring. The person's id is bound in, so that nobody's secret can be
// put in the place of another's.
func (s *Store) sealer(keyID string) (string, cipher.AEAD, error) {
	if s.keys == nil {
		return "", nil, ErrSecretAway
	}
	var key []byte
	var err error
	if keyID == "" {
		keyID, key, err = s.keys.Secret(keyring.SecondFactor)
	} else {
		key, err = s.keys.Seed(keyring.SecondFactor, keyID)
	}
	if err != nil {
		return "", nil, errors.Join(ErrSecretAway, err)
	}
	block, err := aes.NewCipher(key)
	if err != nil {
		return "", nil, err
	}
	aead, err := cipher.NewGCM(block)
	return keyID, aead, err
}

func sealedFor(staffID int64) []byte { return fmt.Appendf(nil, "app of %d", staffID) }

func (s *Store) seal(staffID int64, secret []byte) (sealed []byte, keyID string, err error) {
	keyID, aead, err := s.sealer("")
	if err != nil {
		return nil, "", err
	}
	nonce := make([]byte, aead.NonceSize())
	rand.Read(nonce) // never fails, as crypto/rand documents
	return aead.Seal(nonce, nonce, secret, sealedFor(staffID)), keyID, nil
}

func (s *Store) unseal(staffID int64, sealed []byte, keyID string) ([]byte, error) {
	_, aead, err := s.sealer(keyID)
	if err != nil {
		return nil, err
	}
	if len(sealed) < aead.NonceSize() {
		return nil, ErrSecretAway
	}
	secret, err := aead.Open(nil, sealed[:aead.NonceSize()], sealed[aead.NonceSize():], sealedFor(staffID))
	if err != nil {
		return nil, errors.Join(ErrSecretAway, err)
	}
	return secret, nil
}

// BeginApp keeps a secret for an app that is set up; it lets nobody in before [Store.ConfirmApp].
func (s *Store) BeginApp(ctx context.Context, staffID int64, secret []byte, at time.Time) error {
	sealed, keyID, err := s.seal(staffID, secret)
	if err == nil {
		_, err = s.db.Exec(ctx, `INSERT INTO staff_app (staff_id, sealed, key_id, made_at) VALUES ($1, $2, $3, $4)
			ON CONFLICT (staff_id) WHERE confirmed_at IS NULL DO UPDATE SET sealed = $2, key_id = $3, made_at = $4, last_step = 0`,
			staffID, sealed, keyID, at)
	}
	if err != nil {
		return fmt.Errorf("begin an app: %w", Translate(err))
	}
	return nil
}

// OpenApp is the secret of the app that a person sets up; the error wraps domain.ErrNotFound where there is none.
func (s *Store) OpenApp(ctx context.Context, staffID int64) ([]byte, error) {
	var sealed []byte
	var keyID string
	err := s.db.QueryRow(ctx, `SELECT sealed, key_id FROM staff_app WHERE staff_id = $1 AND confirmed_at IS NULL`,
		staffID).Scan(&sealed, &keyID)
	if err != nil {
		return nil, fmt.Errorf("app: %w", Translate(err))
	}
	return s.unseal(staffID, sealed, keyID)
}

// ConfirmApp takes the app that is set up into use, in place of one before, if the code is its own. It reports whether
// it was; the hashes are of recovery codes, kept where the person has none.
func (s *Store) ConfirmApp(ctx context.Context, staffID int64, code string, recovery [][32]byte, e AccessEvent) (ok, codesKept bool, err error) {
	err = s.inTx(ctx, func(tx pgx.Tx) error {
		var id int64
		var sealed []byte
		var keyID string
		if err := lockMember(ctx, tx, staffID); err != nil {
			return err
		}
		err := tx.QueryRow(ctx, `SELECT id, sealed, key_id FROM staff_app WHERE staff_id = $1 AND confirmed_at IS NULL`,
			staffID).Scan(&id, &sealed, &keyID)
		if err != nil {
			return err
		}
		secret, err := s.unseal(staffID, sealed, keyID)
		if err != nil {
			return err
		}
		var step int64
		if step, ok = staff.MatchCode(secret, code, e.At, 0); !ok {
			return nil
		}
		if _, err := tx.Exec(ctx, `DELETE FROM staff_app WHERE staff_id = $1 AND id <> $2`, staffID, id); err != nil {
			return err
		}
		if _, err := tx.Exec(ctx, `UPDATE staff_app SET confirmed_at = $2, last_step = $3 WHERE id = $1`, id, e.At, step); err != nil {
			return err
		}
		e.Kind = staff.AppAdded
		codesKept, err = factorAdded(ctx, tx, staffID, recovery, e)
		return err
	})
	if err != nil {
		return false, false, fmt.Errorf("confirm an app: %w", Translate(err))
	}
	return ok, codesKept, nil
}

// lockMember holds a person's row until the transaction ends, so that changes of their factors stand in line.
func lockMember(ctx context.Context, tx pgx.Tx, staffID int64) error {
	return tx.QueryRow(ctx, `SELECT id FROM staff WHERE id = $1 FOR UPDATE`, staffID).Scan(&staffID)
}

// factorAdded notes a new factor, and gives a person recovery codes who has none.
func factorAdded(ctx context.Context, tx pgx.Tx, staffID int64, recovery [][32]byte, e AccessEvent) (codesKept bool, err error) {
	if err := insertAccess(ctx, tx, e); err != nil {
		return false, err
	}
	var has bool
	if err := tx.QueryRow(ctx, `SELECT EXISTS(SELECT FROM staff_recovery_code WHERE staff_id = $1 AND used_at IS NULL)`,
		staffID).Scan(&has); err != nil || has {
		return false, err
	}
	return true, keepRecovery(ctx, tx, staffID, recovery, e)
}

func keepRecovery(ctx context.Context, tx pgx.Tx, staffID int64, recovery [][32]byte, e AccessEvent) error {
	if _, err := tx.Exec(ctx, `DELETE FROM staff_recovery_code WHERE staff_id = $1`, staffID); err != nil {
		return err
	}
	hashes := make([][]byte, len(recovery))
	for i := range recovery {
		hashes[i] = recovery[i][:]
	}
	if _, err := tx.Exec(ctx, `INSERT INTO staff_recovery_code (staff_id, hash, made_at) SELECT $1, unnest($2::bytea[]), $3`,
		staffID, hashes, e.At); err != nil {
		return err
	}
	e.Kind, e.Detail = staff.RecoveryMade, ""
	return insertAccess(ctx, tx, e)
}

// RenewRecovery puts new recovery codes in the place of all that a person has. The error wraps domain.ErrNotFound for
// somebody without a second factor.
func (s *Store) RenewRecovery(ctx context.Context, staffID int64, recovery [][32]byte, e AccessEvent) error {
	err := s.inTx(ctx, func(tx pgx.Tx) error {
		if err := lockMember(ctx, tx, staffID); err != nil {
			return err
		}
		if n, err := countFactors(ctx, tx, staffID); err != nil || n == 0 {
			return errors.Join(err, domain.ErrNotFound)
		}
		return keepRecovery(ctx, tx, staffID, recovery, e)
	})
	if err != nil {
		return fmt.Errorf("new recovery codes: %w", Translate(err))
	}
	return nil
}

func countFactors(ctx context.Context, tx pgx.Tx, staffID int64) (n int, err error) {
	err = tx.QueryRow(ctx, `SELECT (SELECT count(*) FROM staff_app WHERE staff_id = $1 AND confirmed_at IS NOT NULL)
		+ (SELECT count(*) FROM staff_passkey WHERE staff_id = $1)`, staffID).Scan(&n)
	return n, err
}

// RemoveApp removes a person's app. The error is staff.ErrLastFactor, or wraps domain.ErrNotFound.
func (s *Store) RemoveApp(ctx context.Context, staffID int64, e AccessEvent) error {
	e.Kind = staff.AppRemoved
	return s.removeFactor(ctx, staffID, e, `DELETE FROM staff_app WHERE staff_id = $1 AND confirmed_at IS NOT NULL`, staffID)
}

// removeFactor removes one factor, unless it is the last of somebody who must have one; with the last one the recovery
// codes go too.
func (s *Store) removeFactor(ctx context.Context, staffID int64, e AccessEvent, sql string, args ...any) error {
	err := s.inTx(ctx, func(tx pgx.Tx) error {
		var asked string
		var role staff.Role
		err := tx.QueryRow(ctx, `SELECT s.second_factor, m.role FROM staff m CROSS JOIN shop s WHERE m.id = $1 FOR UPDATE OF m`,
			staffID).Scan(&asked, &role)
		if err != nil {
			return err
		}
		tag, err := tx.Exec(ctx, sql, args...)
		if err != nil {
			return err
		}
		if tag.RowsAffected() == 0 {
			return domain.ErrNotFound
		}
		left, err := countFactors(ctx, tx, staffID)
		if err != nil {
			return err
		}
		if left == 0 && staff.SecondAsked(asked, role) {
			return staff.ErrLastFactor
		}
		if left == 0 {
			if _, err := tx.Exec(ctx, `DELETE FROM staff_recovery_code WHERE staff_id = $1`, staffID); err != nil {
				return err
			}
		}
		return insertAccess(ctx, tx, e)
	})
	if err != nil {
		return fmt.Errorf("remove a second factor: %w", Translate(err))
	}
	return nil
}

// TakeOffFactors removes all second factors of somebody who lost them.
func (s *Store) TakeOffFactors(ctx context.Context, id int64, by Actor, e AccessEvent) error {
	return s.changeMember(ctx, id, by, e.At, func(tx pgx.Tx, _ *staff.Member, _ int) (string, error) {
		if err := takeFactors(ctx, tx, id); err != nil {
			return "", err
		}
		e.StaffID, e.ByID, e.Kind = id, by.StaffID, staff.FactorsTakenOff
		return staff.FactorsGone, insertAccess(ctx, tx, e)
	})
}
