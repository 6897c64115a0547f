package store

import (
	"context"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain/staff"
)

// ResetOwner does at the machine itself what [Store.Reset] does for another person; the journal says so. Second factors go
// too, unless they are to be kept.
func (s *Store) ResetOwner(ctx context.Context, id int64, secret string, keepSecond bool, at time.Time) error {
	return s.changeMember(ctx, id, Actor{}, at, func(tx pgx.Tx, _ *staff.Member, _ int) (string, error) {
		if err := takePassword(ctx, tx, id, secret, id, at); err != nil {
			return "", err
		}
		if err := insertAccess(ctx, tx, AccessEvent{At: at, StaffID: id, Kind: staff.ResetOnMachine}); err != nil || keepSecond {
			return staff.ResetHere, err
		}
		return staff.ResetHereSecond, takeFactors(ctx, tx, id)
	})
}

// takePassword ends all sessions of a person, takes their password away and makes a link to set a new one, in the name of
// whoever does it.
func takePassword(ctx context.Context, tx pgx.Tx, id int64, secret string, byID int64, at time.Time) error {
	var had bool
	err := tx.QueryRow(ctx, `UPDATE staff SET password_hash = NULL, session_epoch = session_epoch + 1
		FROM (SELECT password_hash IS NOT NULL AS had FROM staff WHERE id = $1) old WHERE id = $1 RETURNING old.had`, id).Scan(&had)
	if err != nil {
		return err
	}
	return insertInvite(ctx, tx, id, had, secret, Actor{StaffID: byID}, at)
}

func takeFactors(ctx context.Context, tx pgx.Tx, id int64) error {
	for _, table := range []string{"staff_app", "staff_passkey", "staff_recovery_code"} {
		if _, err := tx.Exec(ctx, `DELETE FROM `+table+` WHERE staff_id = $1`, id); err != nil {
			return err
		}
	}
	return nil
}
