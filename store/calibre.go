package store

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/watch"
)

const calibreFields = `coalesce(k.id, 0), coalesce(k.name, ''), coalesce(k.maker, ''), coalesce(k.beats_per_hour, 0),
	coalesce(k.lift_angle_deg, 0), coalesce(k.power_reserve_hours, 0), coalesce(k.grade, '')`

func calibreTargets(k *watch.Calibre) []any {
	return []any{&k.ID, &k.Name, &k.Maker, &k.BeatsPerHour, &k.LiftAngleDeg, &k.PowerReserveHours, &k.GradeKey}
}

func scanCalibre(row pgx.CollectableRow) (watch.Calibre, error) {
	var k watch.Calibre
	err := row.Scan(calibreTargets(&k)...)
	return k, err
}

// calibreKey is a calibre's name without the spaces, dashes and case in which people write it differently.
func calibreKey(name string) string { return watch.SerialKey(name) }

// calibresListed bounds what a form offers; a shop knows hundreds of calibres, not thousands.
const calibresListed = 1000

// Calibres returns the shop's list, by name.
func (s *Store) Calibres(ctx context.Context) ([]watch.Calibre, error) {
	rows, _ := s.db.Query(ctx, `SELECT `+calibreFields+` FROM calibre k ORDER BY k.name_key LIMIT $1`, calibresListed)
	list, err := pgx.CollectRows(rows, scanCalibre)
	if err != nil {
		return nil, fmt.Errorf("calibres: %w", Translate(err))
	}
	return list, nil
}

// queueCalibreNames adds the names of the shop's calibres to a page's batch.
func queueCalibreNames(batch *pgx.Batch, names *[]string) {
	batch.Queue(`SELECT name FROM calibre ORDER BY name_key LIMIT $1`, calibresListed).Query(func(rows pgx.Rows) (err error) {
		*names, err = pgx.CollectRows(rows, pgx.RowTo[string])
		return err
	})
}

// AddCalibre adds a calibre to the shop's list and returns its id. The error is a *domain.InvalidError when a rule is
// broken or the name is there already.
func (s *Store) AddCalibre(ctx context.Context, k watch.Calibre) (int64, error) {
	if err := domain.Invalid(k.Problems()); err != nil {
		return 0, err
	}
	var id int64
	err := s.db.QueryRow(ctx, `INSERT INTO calibre (name, name_key, maker, beats_per_hour, lift_angle_deg, power_reserve_hours, grade)
		VALUES ($1, $2, $3, $4, nullif($5::float8, 0), nullif($6::float8, 0), $7) RETURNING id`,
		k.Name, calibreKey(k.Name), k.Maker, k.BeatsPerHour, k.LiftAngleDeg, k.PowerReserveHours, k.GradeKey).Scan(&id)
	if err != nil {
		return 0, fmt.Errorf("add calibre: %w", calibreError(err))
	}
	return id, nil
}

// SaveCalibre replaces the particulars of k.ID if they still have the given version. The error is a
// *domain.InvalidError, or wraps domain.ErrChanged or domain.ErrNotFound.
func (s *Store) SaveCalibre(ctx context.Context, k watch.Calibre, version int64) error {
	if err := domain.Invalid(k.Problems()); err != nil {
		return err
	}
	var now int64
	err := s.db.QueryRow(ctx, `WITH saved AS (
			UPDATE calibre SET name = $3, name_key = $4, maker = $5, beats_per_hour = $6, lift_angle_deg = nullif($7::float8, 0),
				power_reserve_hours = nullif($8::float8, 0), grade = $9, version = version + 1
			WHERE id = $1 AND version = $2 RETURNING version)
		SELECT coalesce((SELECT version FROM saved), 0) FROM calibre WHERE id = $1`,
		k.ID, version, k.Name, calibreKey(k.Name), k.Maker, k.BeatsPerHour, k.LiftAngleDeg, k.PowerReserveHours, k.GradeKey).Scan(&now)
	if err == nil && now == 0 {
		err = domain.ErrChanged
	}
	if err != nil {
		return fmt.Errorf("save calibre %d: %w", k.ID, calibreError(err))
	}
	return nil
}

// Calibre reads one calibre and the version to change it by; the error wraps domain.ErrNotFound.
func (s *Store) Calibre(ctx context.Context, id int64) (k watch.Calibre, version int64, err error) {
	err = s.db.QueryRow(ctx, `SELECT `+calibreFields+`, k.version FROM calibre k WHERE k.id = $1`, id).
		Scan(append(calibreTargets(&k), &version)...)
	if err != nil {
		return k, 0, fmt.Errorf("calibre %d: %w", id, Translate(err))
	}
	return k, version, nil
}

func calibreError(err error) error {
	if isUnique(err, "calibre_name_key") {
		return domain.Invalid(map[string]string{"name": "The list has a calibre of this name already."})
	}
	return Translate(err)
}
