package store

import (
	"context"
	"crypto/sha256"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/staff"
)

// StaffRow is one person in the owner's list.
type StaffRow struct {
	Member      staff.Member
	HasPassword bool
	HasSecond   bool         // a second factor
	Invite      staff.Invite // the newest link; zero when none was made
}

// Staff lists everybody, the enabled first, by name.
func (s *Store) Staff(ctx context.Context) ([]StaffRow, error) {
	rows, _ := s.db.Query(ctx, `SELECT `+memberFields+`, m.password_hash IS NOT NULL, `+hasSecond+`,
		i.reset, i.made_by, i.made_at, i.used_at, i.revoked_at
		FROM staff m LEFT JOIN LATERAL (SELECT * FROM invite WHERE staff_id = m.id ORDER BY made_at DESC LIMIT 1) i ON true
		ORDER BY m.disabled_at IS NOT NULL, lower(m.name), m.id`)
	people, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (StaffRow, error) {
		var p StaffRow
		var reset *bool
		var by *int64
		var made, used, revoked *time.Time
		err := row.Scan(append(memberTargets(&p.Member), &p.HasPassword, &p.HasSecond, &reset, &by, &made, &used, &revoked)...)
		if made != nil {
			p.Invite = staff.Invite{MemberID: p.Member.ID, Reset: *reset, MadeBy: *by, MadeAt: made.UTC(),
				UsedAt: timeOr(used), RevokedAt: timeOr(revoked)}
		}
		return p, err
	})
	if err != nil {
		return nil, fmt.Errorf("staff: %w", Translate(err))
	}
	return people, nil
}

// Invite adds a person who may set a password through the link with the given secret. The error is a
// *domain.InvalidError when the address is taken.
func (s *Store) Invite(ctx context.Context, m staff.Member, secret string, by Actor, at time.Time) (int64, error) {
	var id int64
	invited := note{kind: docket.StaffChanged, by: by, at: at, summary: m.Summary(m.Role.InvitedWords())}
	err := s.changeShop(ctx, &invited, func(tx pgx.Tx) (err error) {
		if id, err = insertMember(ctx, tx, m, "", at); err != nil {
			return err
		}
		if err := insertInvite(ctx, tx, id, false, secret, by, at); err != nil {
			return err
		}
		return staffEvent(ctx, tx, id, by, at, m.Role.InvitedWords())
	})
	if err != nil {
		return 0, fmt.Errorf("invite: %w", Translate(err))
	}
	return id, nil
}

// Reset ends all sessions of a person, takes their password away and makes a link by which they set a new
// one. Earlier links are withdrawn.
func (s *Store) Reset(ctx context.Context, id int64, secret string, by Actor, at time.Time) error {
	return s.changeMember(ctx, id, by, at, func(tx pgx.Tx, m *staff.Member, _ int) (string, error) {
		return staff.LinkMade, takePassword(ctx, tx, id, secret, by.StaffID, at)
	})
}

// SetRole changes what a person is. The error is staff.ErrLastOwner when no owner would be left.
func (s *Store) SetRole(ctx context.Context, id int64, role staff.Role, by Actor, at time.Time) error {
	return s.changeMember(ctx, id, by, at, func(tx pgx.Tx, m *staff.Member, otherOwners int) (string, error) {
		after := *m
		after.Role = role
		if err := staff.CheckChange(*m, after, otherOwners); err != nil {
			return "", err
		}
		_, err := tx.Exec(ctx, `UPDATE staff SET role = $2 WHERE id = $1`, id, string(role))
		return role.MadeWords(), err
	})
}

// SetDisabled shuts a person out at once, or lets them in again. The error is staff.ErrLastOwner when no
// owner would be left.
func (s *Store) SetDisabled(ctx context.Context, id int64, disabled bool, by Actor, at time.Time) error {
	return s.changeMember(ctx, id, by, at, func(tx pgx.Tx, m *staff.Member, otherOwners int) (string, error) {
		after := *m
		after.Disabled = disabled
		if err := staff.CheckChange(*m, after, otherOwners); err != nil {
			return "", err
		}
		what, stamp := staff.LetIn, (*time.Time)(nil)
		if disabled {
			what, stamp = staff.ShutOut, &at
		}
		_, err := tx.Exec(ctx, `UPDATE staff SET disabled_at = $2, session_epoch = session_epoch + 1 WHERE id = $1`, id,
			stamp)
		return what, err
	})
}

// changeMember runs do on the locked person, tells it how many other owners there are, and notes what it did.
func (s *Store) changeMember(ctx context.Context, id int64, by Actor, at time.Time,
	do func(tx pgx.Tx, m *staff.Member, otherOwners int) (string, error)) error {
	changed := note{kind: docket.StaffChanged, by: by, at: at}
	err := s.changeShop(ctx, &changed, func(tx pgx.Tx) error {
		// All owners are locked, in order, so that two can't disable each other at once.
		if _, err := tx.Exec(ctx, `SELECT FROM staff WHERE role = 'owner' OR id = $1 ORDER BY id FOR UPDATE`,
			id); err != nil {
			return err
		}
		var m staff.Member
		var others int
		err := tx.QueryRow(ctx, `SELECT `+memberFields+`,
			(SELECT count(*) FROM staff WHERE role = 'owner' AND disabled_at IS NULL AND password_hash IS NOT NULL AND id <> m.id)
			FROM staff m WHERE m.id = $1`, id).Scan(append(memberTargets(&m), &others)...)
		if err != nil {
			return err
		}
		what, err := do(tx, &m, others)
		if err != nil {
			return err
		}
		changed.summary = m.Summary(what)
		return staffEvent(ctx, tx, id, by, at, what)
	})
	if err != nil {
		return fmt.Errorf("change staff %d: %w", id, Translate(err))
	}
	return nil
}

func insertInvite(ctx context.Context, tx pgx.Tx, id int64, reset bool, secret string, by Actor, at time.Time) error {
	if _, err := tx.Exec(ctx, `UPDATE invite SET revoked_at = $2 WHERE staff_id = $1 AND used_at IS NULL AND revoked_at IS NULL`, id, at); err != nil {
		return err
	}
	sum := sha256.Sum256([]byte(secret))
	_, err := tx.Exec(ctx, `INSERT INTO invite (token_hash, staff_id, reset, made_by, made_at) VALUES ($1, $2, $3, $4, $5)`,
		sum[:], id, reset, by.StaffID, at)
	return err
}

func staffEvent(ctx context.Context, tx pgx.Tx, who int64, by Actor, at time.Time, what string) error {
	_, err := tx.Exec(ctx, `INSERT INTO staff_event (at, by_id, who_id, what) VALUES ($1, $2, $3, $4)`, at,
		nullID(by.StaffID), who, what)
	return err
}

// InviteOf finds whom a link is for. The error wraps domain.ErrNotFound for an unknown secret; an expired,
// used or withdrawn link is found, and [staff.Invite.Check] says so.
func (s *Store) InviteOf(ctx context.Context, secret string) (staff.Member, staff.Invite, error) {
	m, inv, err := inviteOf(ctx, s.db, secret, "")
	if err != nil {
		return m, inv, fmt.Errorf("invitation: %w", Translate(err))
	}
	return m, inv, nil
}

type querier interface {
	Query(ctx context.Context, sql string, args ...any) (pgx.Rows, error)
	QueryRow(ctx context.Context, sql string, args ...any) pgx.Row
}

func inviteOf(ctx context.Context, q querier, secret, lock string) (staff.Member, staff.Invite, error) {
	var m staff.Member
	var inv staff.Invite
	var used, revoked *time.Time
	sum := sha256.Sum256([]byte(secret))
	err := q.QueryRow(ctx, `SELECT `+memberFields+`, i.reset, i.made_by, i.made_at, i.used_at, i.revoked_at
		FROM invite i JOIN staff m ON m.id = i.staff_id WHERE i.token_hash = $1 `+lock, sum[:]).
		Scan(append(memberTargets(&m), &inv.Reset, &inv.MadeBy, &inv.MadeAt, &used, &revoked)...)
	inv.MemberID, inv.MadeAt, inv.UsedAt, inv.RevokedAt = m.ID, inv.MadeAt.UTC(), timeOr(used), timeOr(revoked)
	return m, inv, err
}

// Join sets the password through a link, which is then used up, and returns the session epoch to begin with.
// The error is one of staff's invitation errors, or wraps domain.ErrNotFound.
func (s *Store) Join(ctx context.Context, secret, passwordHash string, at time.Time) (id int64, epoch int, err error) {
	joined := note{kind: docket.StaffChanged, at: at}
	err = s.changeShop(ctx, &joined, func(tx pgx.Tx) error {
		m, inv, err := inviteOf(ctx, tx, secret, "FOR UPDATE")
		if err != nil {
			return err
		}
		if err := inv.Check(at); err != nil {
			return err
		}
		if m.Disabled {
			return domain.ErrNotFound
		}
		sum := sha256.Sum256([]byte(secret))
		if _, err := tx.Exec(ctx, `UPDATE invite SET used_at = $2 WHERE token_hash = $1`, sum[:], at); err != nil {
			return err
		}
		id = m.ID
		joined.by, joined.summary = Actor{StaffID: m.ID, Name: m.Name}, m.Summary(staff.PasswordSet)
		err = tx.QueryRow(ctx, `UPDATE staff SET password_hash = $2, session_epoch = session_epoch + 1 WHERE id = $1 RETURNING session_epoch`,
			id, passwordHash).Scan(&epoch)
		if err != nil {
			return err
		}
		return staffEvent(ctx, tx, id, Actor{StaffID: id}, at, staff.PasswordSet)
	})
	if err != nil {
		return 0, 0, fmt.Errorf("join: %w", Translate(err))
	}
	return id, epoch, nil
}

// SetOwnPassword changes a person's own password and name, ends their other sessions and returns the new epoch.
func (s *Store) SetOwnPassword(ctx context.Context, id int64, passwordHash string, at time.Time) (epoch int,
	err error) {
	changed := note{kind: docket.StaffChanged, by: Actor{StaffID: id}, at: at}
	err = s.changeShop(ctx, &changed, func(tx pgx.Tx) error {
		var m staff.Member
		err := tx.QueryRow(ctx, `UPDATE staff SET password_hash = $2, session_epoch = session_epoch + 1 WHERE id = $1
			RETURNING session_epoch, name`, id, passwordHash).Scan(&epoch, &m.Name)
		if err != nil {
			return err
		}
		changed.summary = m.Summary(staff.PasswordChanged)
		return staffEvent(ctx, tx, id, Actor{StaffID: id}, at, staff.PasswordChanged)
	})
	if err != nil {
		return 0, fmt.Errorf("own password: %w", Translate(err))
	}
	return epoch, nil
}
