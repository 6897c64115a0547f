package store

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/timing"
)

// AddGrade adds a grade of the shop's own with its first version and returns its key, which is made from its name. The
// error is a *domain.InvalidError, also (field "name") where another grade has that name now, or wraps
// domain.ErrChanged when somebody else added one of the same key at once.
func (s *Store) AddGrade(ctx context.Context, l timing.RateLimits, by Actor, at time.Time) (key string, err error) {
	added := note{kind: docket.LimitsPublished, by: by, at: at, summary: docket.GradeAddedSummary(l.Name)}
	err = s.changeShop(ctx, &added, func(tx pgx.Tx) error {
		var keys []string
		var nameTaken bool
		var grade, name string
		rows, _ := tx.Query(ctx, `SELECT l.grade, l.name FROM rate_limits l WHERE `+newestLimits)
		if _, err := pgx.ForEachRow(rows, []any{&grade, &name}, func() error {
			keys, nameTaken = append(keys, grade), nameTaken || timing.SameGradeName(name, l.Name)
			return nil
		}); err != nil {
			return err
		}
		l.Grade, l.Version = timing.GradeKey(l.Name, keys), 1
		bad := l.Problems()
		if nameTaken {
			bad["name"] = timing.GradeNameTaken
		}
		if err := domain.Invalid(bad); err != nil {
			return err
		}
		raw, err := keepLimits(l)
		if err != nil {
			return err
		}
		_, err = tx.Exec(ctx, `INSERT INTO rate_limits (grade, version, name, limits, made_by, made_at) VALUES ($1, $2, $3, $4, $5, $6)`,
			l.Grade, l.Version, l.Name, raw, by.StaffID, at)
		if isUnique(err, "rate_limits_grade_version_key") {
			return domain.ErrChanged
		}
		return err
	})
	if err != nil {
		return "", fmt.Errorf("add a grade: %w", Translate(err))
	}
	return l.Grade, nil
}
