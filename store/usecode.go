package store

import (
	"context"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/staff"
)

// CodeAnswer is what came of a code that somebody typed.
type CodeAnswer int

const (
	CodeWrong     CodeAnswer = iota
	CodeOfApp                // right, and used up
	CodeRecovery             // a recovery code, and used up
	CodesTooMany             // not looked at: too many were wrong within the hour
	CodesCantRead            // not looked at: the app's secret can't be read on this machine
)

// UseCode takes a code of a person's app, or one of their recovery codes: each once. What is refused is logged.
func (s *Store) UseCode(ctx context.Context, staffID int64, typed string, e AccessEvent) (CodeAnswer, error) {
	answer := CodeWrong
	err := pgx.BeginFunc(ctx, s.db, func(tx pgx.Tx) (err error) {
		// Guesses that come at once stand in line, so that each is counted before the next is looked at.
		if err := lockMember(ctx, tx, staffID); err != nil {
			return err
		}
		if staff.LooksLikeCode(typed) {
			answer, err = s.useAppCode(ctx, tx, staffID, typed, e)
		} else {
			answer, err = useRecovery(ctx, tx, staffID, typed, e)
		}
		if err == nil && answer == CodeWrong {
			e.Kind = staff.WrongCode
			err = insertAccess(ctx, tx, e)
		}
		return err
	})
	if err != nil {
		return CodeWrong, fmt.Errorf("use a code: %w", Translate(err))
	}
	return answer, nil
}

func (s *Store) useAppCode(ctx context.Context, tx pgx.Tx, staffID int64, typed string, e AccessEvent) (CodeAnswer, error) {
	var id, last int64
	var sealed []byte
	var keyID string
	var wrong int
	err := tx.QueryRow(ctx, `SELECT id, sealed, key_id, last_step, (SELECT coalesce(sum(times), 0) FROM access_event
			WHERE staff_id = $1 AND kind = $2 AND last_at > $3::timestamptz - interval '1 hour' AND hour IS NOT NULL)
		FROM staff_app WHERE staff_id = $1 AND confirmed_at IS NOT NULL`, staffID, string(staff.WrongCode), e.At).
		Scan(&id, &sealed, &keyID, &last, &wrong)
	if errors.Is(Translate(err), domain.ErrNotFound) {
		return CodeWrong, nil
	}
	if err != nil {
		return CodeWrong, err
	}
	if wrong >= staff.CodesWrongMost {
		return CodesTooMany, nil
	}
	secret, err := s.unseal(staffID, sealed, keyID)
	if errors.Is(err, ErrSecretAway) {
		return CodesCantRead, nil
	}
	if err != nil {
		return CodeWrong, err
	}
	step, ok := staff.MatchCode(secret, typed, e.At, last)
	if !ok {
		return CodeWrong, nil
	}
	_, err = tx.Exec(ctx, `UPDATE staff_app SET last_step = $2, used_at = $3 WHERE id = $1`, id, step, e.At)
	return CodeOfApp, err
}

func useRecovery(ctx context.Context, tx pgx.Tx, staffID int64, typed string, e AccessEvent) (CodeAnswer, error) {
	hash := staff.RecoveryHash(staffID, typed)
	tag, err := tx.Exec(ctx, `UPDATE staff_recovery_code SET used_at = $3 WHERE staff_id = $1 AND hash = $2 AND used_at IS NULL`,
		staffID, hash[:], e.At)
	if err != nil || tag.RowsAffected() == 0 {
		return CodeWrong, err
	}
	e.Kind = staff.RecoveryUsed
	return CodeRecovery, insertAccess(ctx, tx, e)
}
