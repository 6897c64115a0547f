package store

import (
	"context"
	"fmt"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/watch"
)

// CalibreChange is who changes a calibre when, and why; Docket is the work in which the reason was found, if any.
type CalibreChange struct {
	By     Actor
	At     time.Time
	Why    string
	Docket docket.Number // zero for none
}

// calibreKey is a calibre's name without the spaces, dashes and case in which people write it differently.
func calibreKey(name string) string { return watch.SerialKey(name) }

// calibresListed bounds what a form offers; a shop knows hundreds of calibres, not thousands.
const calibresListed = 1000

const calibresSQL = ` FROM calibre k ORDER BY k.name_key LIMIT $1`

// Calibres returns the shop's list, by name.
func (s *Store) Calibres(ctx context.Context) ([]watch.Calibre, error) {
	rows, _ := s.db.Query(ctx, `SELECT `+calibreFields+calibresSQL, calibresListed)
	list, err := pgx.CollectRows(rows, scanCalibre)
	if err != nil {
		return nil, fmt.Errorf("calibres: %w", Translate(err))
	}
	return list, nil
}

// queueCalibreNames adds the names of the shop's calibres to a page's batch.
func queueCalibreNames(batch *pgx.Batch, names *[]string) {
	batch.Queue(`SELECT name FROM calibre ORDER BY name_key LIMIT $1`,
		calibresListed).Query(func(rows pgx.Rows) (err error) {
		*names, err = pgx.CollectRows(rows, pgx.RowTo[string])
		return err
	})
}

// AddCalibre adds a calibre to the shop's list and returns its id. The error is a *domain.InvalidError when a rule is
// broken or the name is there already.
func (s *Store) AddCalibre(ctx context.Context, c CalibreChange, k watch.Calibre) (id int64, err error) {
	n := c.note(docket.CalibreSummary(k.Name, "added"))
	err = s.changeShop(ctx, &n, func(tx pgx.Tx) error {
		id, err = addCalibre(ctx, tx, c, k)
		return err
	})
	if err != nil {
		return 0, fmt.Errorf("add calibre: %w", calibreError(err))
	}
	return id, nil
}

// note is what the shop's journal is told of a change of calibres.
func (c CalibreChange) note(summary string) note {
	return note{kind: docket.CalibreChanged, by: c.By, at: c.At, why: text.Line(c.Why), summary: summary}
}

func addCalibre(ctx context.Context, tx pgx.Tx, c CalibreChange, k watch.Calibre) (id int64, err error) {
	if err := domain.Invalid(k.Problems()); err != nil {
		return 0, err
	}
	err = tx.QueryRow(ctx, `INSERT INTO calibre (`+calibreColumns+`) VALUES (`+calibreParameters+`) RETURNING id`,
		calibreValues(k)...).Scan(&id)
	if err != nil {
		return 0, err
	}
	return id, noteCalibre(ctx, tx, c, id, 1, watch.CalibreDifferences(watch.Calibre{}, k))
}

// SaveCalibre replaces the particulars of k.ID if they still have the given version. What doesn't change anything is
// kept as no version. Once a run was taken with the calibre a correction asks for c.Why. The error is a *domain.InvalidError, or wraps domain.ErrChanged or domain.ErrNotFound.
func (s *Store) SaveCalibre(ctx context.Context, c CalibreChange, k watch.Calibre, version int64) error {
	n := c.note(docket.CalibreSummary(k.Name, "corrected"))
	err := s.changeShop(ctx, &n, func(tx pgx.Tx) error { return saveCalibre(ctx, tx, c, k, version) })
	if err != nil {
		return fmt.Errorf("save calibre %d: %w", k.ID, calibreError(err))
	}
	return nil
}

// saveCalibre is SaveCalibre within the transaction of something larger, such as a change of a docket.
func saveCalibre(ctx context.Context, tx pgx.Tx, c CalibreChange, k watch.Calibre, version int64) error {
	old, now, err := lockCalibre(ctx, tx, k.ID)
	if err != nil {
		return err
	}
	if now != version {
		return domain.ErrChanged
	}
	_, err = replaceCalibre(ctx, tx, c, old, k, now)
	return err
}

// CorrectCalibre changes some fields of a calibre, named and typed as on its form, and leaves the others as they are;
// it returns what that changed, nothing when all stood so already. The error is a *domain.InvalidError, keyed by the
// same names, or wraps domain.ErrNotFound.
func (s *Store) CorrectCalibre(ctx context.Context, c CalibreChange, id int64,
	fields map[string]string) (changed []watch.CalibreDifference, err error) {
	n := c.note(docket.CalibreCorrectedSummary)
	err = s.changeShop(ctx, &n, func(tx pgx.Tx) error {
		changed, err = correctCalibre(ctx, tx, c, id, fields)
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("correct calibre %d: %w", id, calibreError(err))
	}
	return changed, nil
}

// correctCalibre is CorrectCalibre within the transaction of something larger, such as a change of a docket.
func correctCalibre(ctx context.Context, tx pgx.Tx, c CalibreChange, id int64,
	fields map[string]string) ([]watch.CalibreDifference, error) {
	old, version, err := lockCalibre(ctx, tx, id)
	if err != nil {
		return nil, err
	}
	next, bad := old.Correct(fields)
	if err := domain.Invalid(bad); err != nil {
		return nil, err
	}
	return replaceCalibre(ctx, tx, c, old, next, version)
}

// lockCalibre reads a calibre and holds its row until the transaction ends.
func lockCalibre(ctx context.Context, tx pgx.Tx, id int64) (k watch.Calibre, version int64, err error) {
	err = tx.QueryRow(ctx, `SELECT `+calibreFields+`, k.version FROM calibre k WHERE k.id = $1 FOR UPDATE`, id).
		Scan(append(calibreTargets(&k), &version)...)
	return k, version, err
}

func replaceCalibre(ctx context.Context, tx pgx.Tx, c CalibreChange, old, k watch.Calibre,
	version int64) ([]watch.CalibreDifference, error) {
	if err := domain.Invalid(k.Problems()); err != nil {
		return nil, err
	}
	changes := watch.CalibreDifferences(old, k)
	if len(changes) == 0 {
		return nil, nil
	}
	if err := askCalibreReason(ctx, tx, c, old.ID); err != nil {
		return nil, err
	}
	values := calibreValues(k)
	_, err := tx.Exec(ctx, fmt.Sprintf(`UPDATE calibre SET (%s, version) = ROW (%s, version + 1) WHERE id = $%d`,
		calibreColumns, calibreParameters, len(values)+1), append(values, old.ID)...)
	if err != nil {
		return nil, calibreError(err)
	}
	return changes, noteCalibre(ctx, tx, c, old.ID, version+1, changes)
}

// askCalibreReason asks for a reason to correct a calibre that runs were taken with: their figures rest on it. The error
// is a *domain.InvalidError under "why".
func askCalibreReason(ctx context.Context, tx pgx.Tx, c CalibreChange, id int64) error {
	if text.Line(c.Why) != "" {
		return nil
	}
	var used bool
	err := tx.QueryRow(ctx, `SELECT EXISTS (SELECT FROM watch w JOIN docket d ON d.watch_id = w.id JOIN run r ON r.docket_id = d.id
		WHERE w.calibre_id = $1)`, id).Scan(&used)
	if err == nil && used {
		err = domain.Invalid(map[string]string{"why": watch.NoCalibreReason})
	}
	return err
}

// noteCalibre adds to the history of a calibre.
func noteCalibre(ctx context.Context, tx pgx.Tx, c CalibreChange, id, version int64,
	changes []watch.CalibreDifference) error {
	number := ""
	if c.Docket != (docket.Number{}) {
		number = c.Docket.String()
	}
	_, err := tx.Exec(ctx, `INSERT INTO calibre_change (calibre_id, version, at, by_id, by_name, why, docket_id, changes)
		VALUES ($1, $2, $3, $4, $5, $6, (SELECT id FROM docket WHERE number = $7), $8)`,
		id, version, docket.Moment(c.At), nullID(c.By.StaffID), c.By.Name, text.Line(c.Why), number, changes)
	return err
}

// ImportCalibres gives the whole list to decide and keeps what it returns, all or nothing: a calibre with an ID
// replaces that one, one without is added. It returns how many were added and how many changed. The error is decide's
// own, a *domain.InvalidError, or wraps domain.ErrNotFound.
func (s *Store) ImportCalibres(ctx context.Context, c CalibreChange,
	decide func(known []watch.Calibre) ([]watch.Calibre, error)) (added, changed int, err error) {
	n := c.note(docket.CalibresImportedSummary)
	err = s.changeShop(ctx, &n, func(tx pgx.Tx) error {
		// Nobody else may change the list between its being read and written.
		if _, err := tx.Exec(ctx, `LOCK TABLE calibre IN SHARE ROW EXCLUSIVE MODE`); err != nil {
			return err
		}
		known, versions, err := calibreList(ctx, tx)
		if err != nil {
			return err
		}
		next, err := decide(known)
		if err != nil {
			return err
		}
		added, changed, err = importEach(ctx, tx, c, known, versions, next)
		return err
	})
	if err != nil {
		return 0, 0, fmt.Errorf("import calibres: %w", calibreError(err))
	}
	return added, changed, nil
}

func importEach(ctx context.Context, tx pgx.Tx, c CalibreChange, known []watch.Calibre, versions []int64,
	next []watch.Calibre) (added, changed int, err error) {
	for _, k := range next {
		if k.ID == 0 {
			if _, err := addCalibre(ctx, tx, c, k); err != nil {
				return 0, 0, err
			}
			added++
			continue
		}
		i := slices.IndexFunc(known, func(old watch.Calibre) bool { return old.ID == k.ID })
		if i < 0 {
			return 0, 0, domain.ErrNotFound
		}
		differences, err := replaceCalibre(ctx, tx, c, known[i], k, versions[i])
		if err != nil {
			return 0, 0, err
		}
		if len(differences) > 0 {
			changed++
		}
	}
	return added, changed, nil
}

func calibreList(ctx context.Context, tx pgx.Tx) (known []watch.Calibre, versions []int64, err error) {
	rows, _ := tx.Query(ctx, `SELECT `+calibreFields+`, k.version FROM calibre k ORDER BY k.name_key`)
	defer rows.Close()
	for rows.Next() {
		var k watch.Calibre
		var version int64
		if err := rows.Scan(append(calibreTargets(&k), &version)...); err != nil {
			return nil, nil, err
		}
		known, versions = append(known, k), append(versions, version)
	}
	return known, versions, rows.Err()
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
		return domain.Invalid(map[string]string{"name": watch.NameTaken})
	}
	return Translate(err)
}
