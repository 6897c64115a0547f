package store

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/staff"
)

// Viewer is who looks at a page, and the shop they work in: what every page needs.
type Viewer struct {
	Member  staff.Member
	Session SessionNow
	Shop    shop.Shop
}

const memberFields = `m.id, m.name, m.email, m.role, m.disabled_at IS NOT NULL`

func memberTargets(m *staff.Member) []any {
	return []any{&m.ID, &m.Name, &m.Email, &m.Role, &m.Disabled}
}

// Viewer reads the person, their session and the shop in one round trip; the error wraps domain.ErrNotFound.
func (s *Store) Viewer(ctx context.Context, id int64, session string) (Viewer, error) {
	v := Viewer{Session: SessionNow{ID: session}}
	targets := append(memberTargets(&v.Member), &v.Session.Live, &v.Session.Unseen)
	targets = append(targets, shopTargets(&v.Shop)...)
	err := s.db.QueryRow(ctx, `SELECT `+memberFields+`, ss.id IS NOT NULL,
			coalesce(now() - ss.last_seen_at, '0'), `+shopFields+`
		FROM staff m CROSS JOIN shop s LEFT JOIN staff_session ss
			ON ss.id = $2 AND ss.staff_id = m.id AND ss.epoch = m.session_epoch
		WHERE m.id = $1`, id, session).Scan(targets...)
	if err != nil {
		return Viewer{}, fmt.Errorf("viewer %d: %w", id, Translate(err))
	}
	return v, nil
}

// Credentials are what signing in is checked against.
type Credentials struct {
	Member       staff.Member
	PasswordHash string // argon2id in PHC form; empty until the invitation is taken up
	SessionEpoch int
	HasSecond    bool // a second factor is asked for after the password
	SecondAsked  bool // the shop asks for one, whether or not there is one
}

// hasSecond is of a person m.
const hasSecond = `(EXISTS(SELECT FROM staff_app a WHERE a.staff_id = m.id AND a.confirmed_at IS NOT NULL)
	OR EXISTS(SELECT FROM staff_passkey k WHERE k.staff_id = m.id))`

// CredentialsOf looks a person up by normalised e-mail; the error wraps domain.ErrNotFound.
func (s *Store) CredentialsOf(ctx context.Context, email string) (Credentials, error) {
	return s.credentials(ctx, `m.email_key = $1`, email)
}

// CredentialsByID looks a person up; the error wraps domain.ErrNotFound.
func (s *Store) CredentialsByID(ctx context.Context, id int64) (Credentials, error) {
	return s.credentials(ctx, `m.id = $1`, id)
}

func (s *Store) credentials(ctx context.Context, which string, arg any) (Credentials, error) {
	var c Credentials
	var asked string
	err := s.db.QueryRow(ctx, `SELECT `+memberFields+`, coalesce(m.password_hash, ''), m.session_epoch, `+hasSecond+`,
			coalesce((SELECT second_factor FROM shop), '')
		FROM staff m WHERE `+which, arg).
		Scan(append(memberTargets(&c.Member), &c.PasswordHash, &c.SessionEpoch, &c.HasSecond, &asked)...)
	if err != nil {
		return Credentials{}, fmt.Errorf("credentials: %w", Translate(err))
	}
	c.SecondAsked = staff.SecondAsked(asked, c.Member.Role)
	return c, nil
}

func insertMember(ctx context.Context, tx pgx.Tx, m staff.Member, passwordHash string, at time.Time) (int64, error) {
	var id int64
	var hash *string
	if passwordHash != "" {
		hash = &passwordHash
	}
	err := tx.QueryRow(ctx, `INSERT INTO staff (name, email, email_key, role, password_hash, created_at)
		VALUES ($1, $2, $3, $4, $5, $6) RETURNING id`,
		m.Name, m.Email, staff.NormalEmail(m.Email), string(m.Role), hash, at).Scan(&id)
	if isUnique(err, "staff_email_key") {
		return 0, domain.Invalid(map[string]string{"email": staff.EmailTaken})
	}
	return id, err
}

// AddMember adds a person who has a password already, as the demo shop's people do. The error is a
// *domain.InvalidError when the address is taken.
func (s *Store) AddMember(ctx context.Context, m staff.Member, passwordHash string, at time.Time) (int64, error) {
	var id int64
	added := note{kind: docket.StaffChanged, at: at, summary: m.AddedSummary()}
	err := s.changeShop(ctx, &added, func(tx pgx.Tx) (err error) {
		id, err = insertMember(ctx, tx, m, passwordHash, at)
		return err
	})
	if err != nil {
		return 0, fmt.Errorf("add member: %w", Translate(err))
	}
	return id, nil
}
