package store

import (
	"context"
	"encoding/json"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
)

// LimitsVersion is one version of a grade's rate limits, as published.
type LimitsVersion struct {
	ID     int64
	Limits timing.RateLimits
	MadeBy string // "" for a version that came with the program
	MadeAt time.Time
}

// keptLimits is the form in which column limits holds them.
type keptLimits struct {
	Reasons   string            `json:"reasons"`
	Positions []timing.Position `json:"positions,omitempty"`
	Limits    []keptLimit       `json:"limits"`
}

type keptLimit struct {
	Key    timing.Key `json:"key"`
	Lower  *float64   `json:"lower,omitempty"`
	Upper  *float64   `json:"upper,omitempty"`
	Reason string     `json:"reason"`
}

func keepLimits(l timing.RateLimits) ([]byte, error) {
	k := keptLimits{Reasons: l.Reasons, Positions: l.Positions}
	for _, limit := range l.Limits {
		k.Limits = append(k.Limits, keptLimit{limit.Key, limit.Limits.Lower, limit.Limits.Upper, limit.Reason})
	}
	return json.Marshal(k)
}

const limitsFields = `l.id, l.grade, l.version, l.name, l.limits, coalesce(m.name, ''), l.made_at`

const limitsFrom = ` FROM rate_limits l LEFT JOIN staff m ON m.id = l.made_by `

// newestLimits keeps the newest version of each grade.
const newestLimits = `NOT EXISTS (SELECT FROM rate_limits n WHERE n.grade = l.grade AND n.version > l.version)`

func scanLimits(row pgx.CollectableRow) (LimitsVersion, error) {
	var v LimitsVersion
	var raw []byte
	err := row.Scan(&v.ID, &v.Limits.Grade, &v.Limits.Version, &v.Limits.Name, &raw, &v.MadeBy, &v.MadeAt)
	if err != nil {
		return v, err
	}
	var k keptLimits
	if err := json.Unmarshal(raw, &k); err != nil {
		return v, fmt.Errorf("rate limits %s, version %d: %w", v.Limits.Grade, v.Limits.Version, err)
	}
	v.MadeAt = v.MadeAt.UTC()
	v.Limits.Reasons, v.Limits.Positions = k.Reasons, k.Positions
	for _, limit := range k.Limits {
		v.Limits.Limits = append(v.Limits.Limits, timing.Limit{Key: limit.Key, Reason: limit.Reason,
			Limits: metrology.Limits{Lower: limit.Lower, Upper: limit.Upper}})
	}
	return v, nil
}

// EnsureRateLimits gives the shop the grades that come with the program. A grade that has any version already is left
// alone, so it may be called at every start.
func (s *Store) EnsureRateLimits(ctx context.Context, at time.Time) error {
	var batch pgx.Batch
	for _, l := range timing.ShippedGrades() {
		raw, err := keepLimits(l)
		if err != nil {
			return fmt.Errorf("rate limits: %w", err)
		}
		batch.Queue(`INSERT INTO rate_limits (grade, version, name, limits, made_at)
			SELECT $1, $2, $3, $4, $5 WHERE NOT EXISTS (SELECT FROM rate_limits WHERE grade = $1)
			ON CONFLICT (grade, version) DO NOTHING`, l.Grade, l.Version, l.Name, raw, at)
	}
	given := note{kind: docket.LimitsPublished, at: at, summary: docket.GradesGivenSummary}
	if err := s.changeShop(ctx, &given, func(tx pgx.Tx) error { return tx.SendBatch(ctx, &batch).Close() }); err != nil {
		return fmt.Errorf("rate limits: %w", Translate(err))
	}
	return nil
}

// NewestLimits returns the newest version of each grade, by name.
func (s *Store) NewestLimits(ctx context.Context) ([]LimitsVersion, error) {
	rows, _ := s.db.Query(ctx, `SELECT `+limitsFields+limitsFrom+`WHERE `+newestLimits+` ORDER BY l.name, l.grade`)
	list, err := pgx.CollectRows(rows, scanLimits)
	if err != nil {
		return nil, fmt.Errorf("rate limits: %w", Translate(err))
	}
	return list, nil
}

// limitsListed bounds the history that a page shows; a grade is revised a few times in a shop's life.
const limitsListed = 200

// GradeLimits returns the versions of one grade, newest first. The error wraps domain.ErrNotFound when there is no such
// grade.
func (s *Store) GradeLimits(ctx context.Context, grade string) ([]LimitsVersion, error) {
	rows, _ := s.db.Query(ctx, `SELECT `+limitsFields+limitsFrom+`WHERE l.grade = $1 ORDER BY l.version DESC LIMIT $2`,
		grade, limitsListed)
	list, err := pgx.CollectRows(rows, scanLimits)
	if err == nil && len(list) == 0 {
		err = domain.ErrNotFound
	}
	if err != nil {
		return nil, fmt.Errorf("rate limits %q: %w", grade, Translate(err))
	}
	return list, nil
}

// PublishLimits adds the next version of a grade. l.Version says which it is to be: one above the newest its writer
// saw. Nothing judged before changes. The error is a *domain.InvalidError, also (field "") where nothing differs from
// the newest version, or wraps domain.ErrChanged when somebody else published meanwhile and domain.ErrNotFound when
// there is no such grade.
func (s *Store) PublishLimits(ctx context.Context, l timing.RateLimits, by Actor, at time.Time) error {
	if err := domain.Invalid(l.Problems()); err != nil {
		return err
	}
	raw, err := keepLimits(l)
	if err != nil {
		return fmt.Errorf("publish rate limits: %w", err)
	}
	published := note{kind: docket.LimitsPublished, by: by, at: at, summary: docket.LimitsPublishedSummary(l.Name, l.Version)}
	err = s.changeShop(ctx, &published, func(tx pgx.Tx) error {
		newest, err := newestOf(ctx, tx, l.Grade)
		if err != nil {
			return err
		}
		if l.Version != newest.Limits.Version+1 {
			return domain.ErrChanged
		}
		if l.SameAs(newest.Limits) {
			return domain.Invalid(map[string]string{"": fmt.Sprintf("Nothing differs from version %d, so there is nothing to "+
				"publish.", newest.Limits.Version)})
		}
		_, err = tx.Exec(ctx, `INSERT INTO rate_limits (grade, version, name, limits, made_by, made_at) VALUES ($1, $2, $3, $4, $5, $6)`,
			l.Grade, l.Version, l.Name, raw, by.StaffID, at)
		if isUnique(err, "rate_limits_grade_version_key") {
			return domain.ErrChanged
		}
		return err
	})
	if err != nil {
		return fmt.Errorf("publish rate limits %q, version %d: %w", l.Grade, l.Version, Translate(err))
	}
	return nil
}

// newestOf reads the newest version of a grade inside a transaction; the error is pgx.ErrNoRows when there is none.
func newestOf(ctx context.Context, tx pgx.Tx, grade string) (LimitsVersion, error) {
	rows, _ := tx.Query(ctx, `SELECT `+limitsFields+limitsFrom+`WHERE l.grade = $1 ORDER BY l.version DESC LIMIT 1`, grade)
	return pgx.CollectExactlyOneRow(rows, scanLimits)
}

// limitsOf reads one version inside a transaction.
func limitsOf(ctx context.Context, tx pgx.Tx, id int64) (LimitsVersion, error) {
	rows, _ := tx.Query(ctx, `SELECT `+limitsFields+limitsFrom+`WHERE l.id = $1`, id)
	return pgx.CollectExactlyOneRow(rows, scanLimits)
}
