package store

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/staff"
)

// Passkey is one passkey of a person.
type Passkey struct {
	ID             int64
	Name           string
	RPID           string // host name for which it was made
	CredentialID   []byte
	Credential     []byte // the credential record as JSON
	MadeAt, UsedAt time.Time
}

// SecondFactors are what a person has besides the password.
type SecondFactors struct {
	AppMadeAt    time.Time // zero without an app
	AppUsedAt    time.Time // zero where its codes were not used yet
	Passkeys     []Passkey
	RecoveryLeft int // recovery codes that were not used
}

// Any reports whether signing in asks for one of them.
func (f SecondFactors) Any() bool { return !f.AppMadeAt.IsZero() || len(f.Passkeys) > 0 }

func queueFactors(batch *pgx.Batch, staffID int64, f *SecondFactors) {
	batch.Queue(`SELECT confirmed_at, used_at FROM staff_app WHERE staff_id = $1 AND confirmed_at IS NOT NULL`, staffID).
		Query(func(rows pgx.Rows) error {
			var made time.Time
			var used *time.Time
			_, err := pgx.ForEachRow(rows, []any{&made, &used}, func() error {
				f.AppMadeAt, f.AppUsedAt = made, timeOr(used)
				return nil
			})
			return err
		})
	batch.Queue(`SELECT id, name, rp_id, credential_id, credential, made_at, used_at FROM staff_passkey WHERE staff_id = $1
		ORDER BY id`, staffID).Query(func(rows pgx.Rows) (err error) {
		f.Passkeys, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (k Passkey, err error) {
			var used *time.Time
			err = row.Scan(&k.ID, &k.Name, &k.RPID, &k.CredentialID, &k.Credential, &k.MadeAt, &used)
			k.UsedAt = timeOr(used)
			return k, err
		})
		return err
	})
	batch.Queue(`SELECT count(*) FROM staff_recovery_code WHERE staff_id = $1 AND used_at IS NULL`, staffID).
		QueryRow(func(row pgx.Row) error { return row.Scan(&f.RecoveryLeft) })
}

// SecondFactors reads them in one round trip.
func (s *Store) SecondFactors(ctx context.Context, staffID int64) (SecondFactors, error) {
	var f SecondFactors
	var batch pgx.Batch
	queueFactors(&batch, staffID, &f)
	if err := s.db.SendBatch(ctx, &batch).Close(); err != nil {
		return SecondFactors{}, fmt.Errorf("second factors: %w", Translate(err))
	}
	return f, nil
}

// maxPasskeys bounds how many a person keeps.
const maxPasskeys = 20

// AddPasskey keeps a passkey, and recovery codes for somebody who has none. The error is a *domain.InvalidError for one
// that is kept already, and for too many.
func (s *Store) AddPasskey(ctx context.Context, staffID int64, k Passkey, recovery [][32]byte, e AccessEvent) (codesKept bool, err error) {
	err = s.inTx(ctx, func(tx pgx.Tx) error {
		if err := lockMember(ctx, tx, staffID); err != nil {
			return err
		}
		var n int
		if err := tx.QueryRow(ctx, `SELECT count(*) FROM staff_passkey WHERE staff_id = $1`, staffID).Scan(&n); err != nil {
			return err
		}
		if n >= maxPasskeys {
			return domain.Invalid(map[string]string{"name": "Twenty passkeys are kept already: remove one that is not used."})
		}
		_, err := tx.Exec(ctx, `INSERT INTO staff_passkey (staff_id, credential_id, credential, rp_id, name, made_at)
			VALUES ($1, $2, $3, $4, $5, $6)`, staffID, k.CredentialID, k.Credential, k.RPID, k.Name, e.At)
		if isUnique(err, "staff_passkey_credential_key") {
			return domain.Invalid(map[string]string{"name": "This passkey is kept already."})
		}
		if err != nil {
			return err
		}
		e.Kind, e.Detail = staff.PasskeyAdded, k.Name
		codesKept, err = factorAdded(ctx, tx, staffID, recovery, e)
		return err
	})
	if err != nil {
		return false, fmt.Errorf("add a passkey: %w", Translate(err))
	}
	return codesKept, nil
}

// PasskeyUsed keeps what a passkey's record is after it was used: its counter among it.
func (s *Store) PasskeyUsed(ctx context.Context, staffID int64, credentialID, credential []byte, at time.Time) error {
	_, err := s.db.Exec(ctx, `UPDATE staff_passkey SET credential = $3, used_at = $4 WHERE staff_id = $1 AND credential_id = $2`,
		staffID, credentialID, credential, at)
	if err != nil {
		return fmt.Errorf("passkey used: %w", Translate(err))
	}
	return nil
}

// RemovePasskey removes one passkey. The error is staff.ErrLastFactor, or wraps domain.ErrNotFound.
func (s *Store) RemovePasskey(ctx context.Context, staffID, id int64, e AccessEvent) error {
	e.Kind = staff.PasskeyRemoved
	return s.removeFactor(ctx, staffID, e, `DELETE FROM staff_passkey WHERE staff_id = $1 AND id = $2`, staffID, id)
}
