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
	"ledgerwheel/domain/token"
)

// TokenRow is an access token with the people it names.
type TokenRow struct {
	token.Token
	MadeBy, For string
}

const tokenFields = `t.id, t.name, t.scopes, t.hint, coalesce(t.acts_for, 0), t.made_at, t.expires_at, t.ended_at,
	(SELECT used_at FROM access_token_use WHERE token_id = t.id)`

func tokenTargets(t *token.Token, expires, ended, used **time.Time) []any {
	return []any{&t.ID, &t.Name, &t.Scopes, &t.Hint, &t.ActsFor, &t.MadeAt, expires, ended, used}
}

func datedToken(t token.Token, expires, ended, used *time.Time) token.Token {
	t.MadeAt, t.ExpiresAt, t.EndedAt, t.UsedAt = t.MadeAt.UTC(), timeOr(expires), timeOr(ended), timeOr(used)
	return t
}

// tokensShown is how many tokens the list has: those that serve and then those that have ended, newest first.
const tokensShown = 200

// TokenSheet is the list of tokens, and who works at a bench.
type TokenSheet struct {
	Tokens []TokenRow
	Bench  []staff.Member
}

// Tokens reads the access tokens in one round trip.
func (s *Store) Tokens(ctx context.Context) (TokenSheet, error) {
	var sheet TokenSheet
	var batch pgx.Batch
	batch.Queue(`SELECT `+tokenFields+`, m.name, coalesce(f.name, '') FROM access_token t JOIN staff m ON m.id = t.made_by
		LEFT JOIN staff f ON f.id = t.acts_for ORDER BY t.ended_at IS NOT NULL, t.id DESC LIMIT $1`, tokensShown).
		Query(func(rows pgx.Rows) (err error) {
			sheet.Tokens, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (TokenRow, error) {
				var t TokenRow
				var expires, ended, used *time.Time
				err := row.Scan(append(tokenTargets(&t.Token, &expires, &ended, &used), &t.MadeBy, &t.For)...)
				t.Token = datedToken(t.Token, expires, ended, used)
				return t, err
			})
			return err
		})
	queueBench(&batch, &sheet.Bench)
	if err := s.db.SendBatch(ctx, &batch).Close(); err != nil {
		return sheet, fmt.Errorf("access tokens: %w", Translate(err))
	}
	return sheet, nil
}

// tokenFacts is what the shop's journal keeps of a token: nothing that opens anything.
type tokenFacts struct {
	Name    string `json:"name"`
	Ends    string `json:"token_ends_with"`
	Does    string `json:"token_may"`
	Expires string `json:"token_until,omitempty"`
}

func factsOfToken(t token.Token) tokenFacts {
	f := tokenFacts{Name: t.Name, Ends: t.Hint, Does: t.Does()}
	if !t.ExpiresAt.IsZero() {
		f.Expires = t.ExpiresAt.Format(time.RFC3339)
	}
	return f
}

// MakeToken keeps a new token and returns its secret, which is kept nowhere. The error is a *domain.InvalidError (see
// token.Token.Problems; "acts_for" also for somebody who takes no readings).
func (s *Store) MakeToken(ctx context.Context, t token.Token, by Actor) (secret string, err error) {
	t = t.Tidied()
	if !t.Has(token.Readings) {
		t.ActsFor = 0
	}
	if err := domain.Invalid(t.Problems()); err != nil {
		return "", err
	}
	secret = token.NewSecret()
	sum := token.Sum(secret)
	t.Hint = token.HintOf(secret)
	n := note{kind: docket.TokenChanged, by: by, at: t.MadeAt, summary: token.MadeSummary(t), facts: factsOfToken(t)}
	err = s.changeShop(ctx, &n, func(tx pgx.Tx) error {
		if t.ActsFor != 0 {
			if err := takesReadings(ctx, tx, t.ActsFor); err != nil {
				return err
			}
		}
		_, err := tx.Exec(ctx, `INSERT INTO access_token (name, scopes, secret_hash, hint, acts_for, made_by, made_at, expires_at)
			VALUES ($1, $2, $3, $4, $5, $6, $7, $8)`, t.Name, t.Scopes, sum[:], t.Hint, nullID(t.ActsFor), by.StaffID,
			docket.Moment(t.MadeAt), nullTime(t.ExpiresAt))
		return err
	})
	if err != nil {
		return "", fmt.Errorf("make access token: %w", Translate(err))
	}
	return secret, nil
}

// takesReadings is a *domain.InvalidError for somebody who may take no readings.
func takesReadings(ctx context.Context, tx pgx.Tx, staffID int64) error {
	var m staff.Member
	err := tx.QueryRow(ctx, `SELECT `+memberFields+` FROM staff m WHERE m.id = $1`, staffID).Scan(memberTargets(&m)...)
	if ignoreNone(err) != nil {
		return err
	}
	if err != nil || m.Disabled || !staff.Can(m.Role, staff.TakeReadings) {
		return domain.Invalid(map[string]string{"acts_for": "Choose somebody who takes readings."})
	}
	return nil
}

// EndToken ends a token; one that has ended already stays as it is. The error wraps domain.ErrNotFound.
func (s *Store) EndToken(ctx context.Context, id int64, by Actor, at time.Time) error {
	n := note{kind: docket.TokenChanged, by: by, at: at}
	err := s.changeShop(ctx, &n, func(tx pgx.Tx) error {
		var t token.Token
		var expires, ended, used *time.Time
		err := tx.QueryRow(ctx, `SELECT `+tokenFields+` FROM access_token t WHERE t.id = $1 FOR UPDATE OF t`, id).
			Scan(tokenTargets(&t, &expires, &ended, &used)...)
		if err != nil || ended != nil {
			return err
		}
		t = datedToken(t, expires, ended, used)
		n.summary, n.facts = token.EndedSummary(t), factsOfToken(t)
		_, err = tx.Exec(ctx, `UPDATE access_token SET ended_by = $2, ended_at = $3 WHERE id = $1`, id, by.StaffID, docket.Moment(at))
		return err
	})
	if err != nil {
		return fmt.Errorf("end access token %d: %w", id, Translate(err))
	}
	return nil
}

// Program is another program that asks, by a token that serves.
type Program struct {
	Token token.Token
	For   staff.Member // in whose name it sends readings; zero for nobody
	Shop  shop.Shop
}

// ProgramOf finds whose token a secret is, and has it written down now and then that it is in use. The error wraps
// domain.ErrNotFound where it is none that serves at that time.
func (s *Store) ProgramOf(ctx context.Context, secret string, at time.Time) (Program, error) {
	var p Program
	if !token.LooksLike(secret) {
		return p, fmt.Errorf("access token: %w", domain.ErrNotFound)
	}
	sum := token.Sum(secret)
	var expires, ended, used *time.Time
	targets := append(tokenTargets(&p.Token, &expires, &ended, &used), &p.For.ID, &p.For.Name, &p.For.Role, &p.For.Disabled)
	err := s.db.QueryRow(ctx, `SELECT `+tokenFields+`, coalesce(f.id, 0), coalesce(f.name, ''), coalesce(f.role, ''),
			f.disabled_at IS NOT NULL, `+shopFields+`
		FROM access_token t CROSS JOIN shop s LEFT JOIN staff f ON f.id = t.acts_for WHERE t.secret_hash = $1`, sum[:]).
		Scan(append(targets, shopTargets(&p.Shop)...)...)
	p.Token = datedToken(p.Token, expires, ended, used)
	if err == nil && !p.Token.Serves(at) {
		err = domain.ErrNotFound
	}
	if err == nil && at.Sub(p.Token.UsedAt) > token.UsedEvery {
		_, err = s.db.Exec(ctx, `INSERT INTO access_token_use (token_id, used_at) VALUES ($1, $2)
			ON CONFLICT (token_id) DO UPDATE SET used_at = greatest(access_token_use.used_at, EXCLUDED.used_at)`, p.Token.ID, at)
	}
	if err != nil {
		return Program{}, fmt.Errorf("access token: %w", Translate(err))
	}
	return p, nil
}
