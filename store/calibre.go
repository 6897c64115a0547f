package store

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/watch"
)

const calibreFields = `coalesce(k.id, 0), coalesce(k.name, ''), coalesce(k.maker, ''), coalesce(k.beats_per_hour, 0),
	coalesce(k.lift_angle_deg, 0), coalesce(k.power_reserve_hours, 0), coalesce(k.grade, ''),
	coalesce(k.balance_inertia_mg_cm2, 0), coalesce(k.balance_diameter_mm, 0), coalesce(k.impulse_jewel_hour, 0), coalesce(k.stud_radius_mm, 0),
	coalesce(k.regulator_step_s_per_day, 0), coalesce(k.screw_count, 0), coalesce(k.screw_first_deg, 0), coalesce(k.screw_radius_mm, 0),
	coalesce(k.screw_mass_ug, 0), coalesce(k.screw_travel_mm, 0)`

func calibreTargets(k *watch.Calibre) []any {
	b := &k.Balance
	return []any{&k.ID, &k.Name, &k.Maker, &k.BeatsPerHour, &k.LiftAngleDeg, &k.PowerReserveHours, &k.GradeKey,
		&b.InertiaMgCm2, &b.DiameterMm, &b.ImpulseJewelHour, &b.StudRadiusMm, &b.RegulatorStepSPerDay,
		&b.ScrewCount, &b.ScrewFirstDeg, &b.ScrewRadiusMm, &b.ScrewMassMicrogram, &b.ScrewTravelMm}
}

// calibreColumns are the columns of calibreValues, in order.
const calibreColumns = `name, name_key, maker, beats_per_hour, lift_angle_deg, power_reserve_hours, grade, balance_inertia_mg_cm2,
	balance_diameter_mm, impulse_jewel_hour, stud_radius_mm, regulator_step_s_per_day, screw_count, screw_first_deg, screw_radius_mm,
	screw_mass_ug, screw_travel_mm`

// calibreParameters are $1 to $17 as calibreColumns take them: a figure that is not known is null.
const calibreParameters = `$1, $2, $3, $4, nullif($5::float8, 0), nullif($6::float8, 0), $7, nullif($8::float8, 0), nullif($9::float8, 0),
	nullif($10::float8, 0), nullif($11::float8, 0), nullif($12::float8, 0), nullif($13::int2, 0),
	CASE WHEN $13::int2 <> 0 THEN $14::float8 END, nullif($15::float8, 0), nullif($16::float8, 0), nullif($17::float8, 0)`

func calibreValues(k watch.Calibre) []any {
	b := k.Balance
	return []any{k.Name, calibreKey(k.Name), k.Maker, k.BeatsPerHour, k.LiftAngleDeg, k.PowerReserveHours, k.GradeKey,
		b.InertiaMgCm2, b.DiameterMm, b.ImpulseJewelHour, b.StudRadiusMm, b.RegulatorStepSPerDay,
		b.ScrewCount, b.ScrewFirstDeg, b.ScrewRadiusMm, b.ScrewMassMicrogram, b.ScrewTravelMm}
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
	err := s.db.QueryRow(ctx, `INSERT INTO calibre (`+calibreColumns+`) VALUES (`+calibreParameters+`) RETURNING id`, calibreValues(k)...).Scan(&id)
	if err != nil {
		return 0, fmt.Errorf("add calibre: %w", calibreError(err))
	}
	return id, nil
}

// SaveCalibre replaces the particulars of k.ID if they still have the given version. The error is a
// *domain.InvalidError, or wraps domain.ErrChanged or domain.ErrNotFound.
func (s *Store) SaveCalibre(ctx context.Context, k watch.Calibre, version int64) error {
	return saveCalibre(ctx, s.db, k, version)
}

// saveCalibre is SaveCalibre in the pool or in a transaction that does more.
func saveCalibre(ctx context.Context, db interface {
	QueryRow(ctx context.Context, sql string, args ...any) pgx.Row
}, k watch.Calibre, version int64) error {
	if err := domain.Invalid(k.Problems()); err != nil {
		return err
	}
	var now int64
	err := db.QueryRow(ctx, `WITH saved AS (
			UPDATE calibre SET (`+calibreColumns+`, version) = ROW (`+calibreParameters+`, version + 1)
			WHERE id = $18 AND version = $19 RETURNING version)
		SELECT coalesce((SELECT version FROM saved), 0) FROM calibre WHERE id = $18`, append(calibreValues(k), k.ID, version)...).Scan(&now)
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
