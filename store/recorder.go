package store

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/recorder"
)

// recordersListed and calibrationsListed bound what a page shows; a shop has a few recorders, each calibrated about
// once a year.
const (
	recordersListed    = 200
	calibrationsListed = 200
)

const recorderFields = `r.id, r.name, r.note, r.usual_rate_hz, r.added_at, a.name, r.retired_at, coalesce(x.name, ''), r.retired_why`

const recorderFrom = ` FROM recorder r JOIN staff a ON a.id = r.added_by LEFT JOIN staff x ON x.id = r.retired_by `

func scanRecorder(row pgx.CollectableRow) (recorder.Recorder, error) {
	var r recorder.Recorder
	var retired *time.Time
	err := row.Scan(&r.ID, &r.Name, &r.Note, &r.UsualRateHz, &r.AddedAt, &r.AddedBy, &retired, &r.RetiredBy, &r.RetiredWhy)
	r.RetiredAt = timeOr(retired)
	return r, err
}

const calibrationFields = `c.id, c.recorder_id, c.ppm, c.std_ppm, c.method, c.made_at, c.redo_by, c.note, c.kept_at, c.by_id, b.name,
	c.duration_s, c.rate_hz, c.used, c.missed, c.scatter_us, c.reference_rate_s_per_day, c.reference_u95_s_per_day, c.asked,
	o.at, coalesce(p.name, ''), coalesce(o.why, '')`

const calibrationFrom = ` FROM recorder_calibration c JOIN staff b ON b.id = c.by_id
	LEFT JOIN recorder_calibration_retired o ON o.calibration_id = c.id LEFT JOIN staff p ON p.id = o.by_id `

func scanCalibration(row pgx.CollectableRow) (recorder.Calibration, error) {
	var c recorder.Calibration
	var retired *time.Time
	err := row.Scan(&c.ID, &c.RecorderID, &c.PPM, &c.StdPPM, &c.Method, &c.At, &c.RedoBy, &c.Note, &c.KeptAt, &c.ByID,
		&c.By,
		&c.DurationS, &c.RateHz, &c.Used, &c.Missed, &c.ScatterUs, &c.ReferenceRate, &c.ReferenceU95, &c.Asked,
		&retired, &c.RetiredBy, &c.RetiredWhy)
	c.RetiredAt = timeOr(retired)
	return c, err
}

// newestCalibrations keeps, of each recorder, the calibration made last that was not retired.
const newestCalibrations = `c.id IN (SELECT DISTINCT ON (n.recorder_id) n.id FROM recorder_calibration n
	WHERE NOT EXISTS (SELECT FROM recorder_calibration_retired q WHERE q.calibration_id = n.id)
	ORDER BY n.recorder_id, n.made_at DESC, n.id DESC)`

// Recorders returns the shop's recorders, those in use first, by name, each with the calibration in force.
func (s *Store) Recorders(ctx context.Context) ([]recorder.Recorder, error) {
	var list []recorder.Recorder
	var calibrations []recorder.Calibration
	var batch pgx.Batch
	batch.Queue(`SELECT `+recorderFields+recorderFrom+`ORDER BY r.retired_at IS NOT NULL, r.name_key LIMIT $1`,
		recordersListed).
		Query(func(rows pgx.Rows) (err error) {
			list, err = pgx.CollectRows(rows, scanRecorder)
			return err
		})
	batch.Queue(`SELECT ` + calibrationFields + calibrationFrom + `WHERE ` + newestCalibrations).
		Query(func(rows pgx.Rows) (err error) {
			calibrations, err = pgx.CollectRows(rows, scanCalibration)
			return err
		})
	if err := s.db.SendBatch(ctx, &batch).Close(); err != nil {
		return nil, fmt.Errorf("recorders: %w", Translate(err))
	}
	for i := range list {
		for j := range calibrations {
			if calibrations[j].RecorderID == list[i].ID {
				list[i].Calibration = &calibrations[j]
			}
		}
	}
	return list, nil
}

// Recorder reads one recorder with the calibration in force; the error wraps domain.ErrNotFound.
func (s *Store) Recorder(ctx context.Context, id int64) (recorder.Recorder, error) {
	record, err := s.RecorderRecord(ctx, id)
	return record.Recorder, err
}

// RecorderRecord is a recorder with all that happened to it.
type RecorderRecord struct {
	Recorder     recorder.Recorder
	Calibrations []recorder.Calibration // made last first, retired ones too
	History      []RecorderEvent        // newest first
}

// RecorderEvent is one line of a recorder's history.
type RecorderEvent struct {
	At    time.Time
	By    string
	Words string
}

// RecorderRecord reads a recorder with its calibrations and its history; the error wraps domain.ErrNotFound.
func (s *Store) RecorderRecord(ctx context.Context, id int64) (RecorderRecord, error) {
	var record RecorderRecord
	var batch pgx.Batch
	batch.Queue(`SELECT `+recorderFields+recorderFrom+`WHERE r.id = $1`, id).Query(func(rows pgx.Rows) (err error) {
		record.Recorder, err = pgx.CollectExactlyOneRow(rows, scanRecorder)
		return err
	})
	batch.Queue(`SELECT `+calibrationFields+calibrationFrom+`WHERE c.recorder_id = $1 ORDER BY c.made_at DESC, c.id DESC LIMIT $2`, id, calibrationsListed).
		Query(func(rows pgx.Rows) (err error) {
			record.Calibrations, err = pgx.CollectRows(rows, scanCalibration)
			return err
		})
	batch.Queue(`SELECT h.at, b.name, h.words FROM recorder_history h JOIN staff b ON b.id = h.by_id
		WHERE h.recorder_id = $1 ORDER BY h.id DESC LIMIT $2`, id, calibrationsListed).Query(func(rows pgx.Rows) (err error) {
		record.History, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (e RecorderEvent, err error) {
			err = row.Scan(&e.At, &e.By, &e.Words)
			return e, err
		})
		return err
	})
	if err := s.db.SendBatch(ctx, &batch).Close(); err != nil {
		return RecorderRecord{}, fmt.Errorf("recorder %d: %w", id, Translate(err))
	}
	for i := range record.Calibrations {
		if c := &record.Calibrations[i]; c.RetiredAt.IsZero() {
			record.Recorder.Calibration = c
			break
		}
	}
	return record, nil
}

// AddRecorder adds a recorder and returns its id. The error is a *domain.InvalidError when a rule is broken or the name
// is another's.
func (s *Store) AddRecorder(ctx context.Context, r recorder.Recorder, by Actor, at time.Time) (int64, error) {
	if err := domain.Invalid(r.Problems()); err != nil {
		return 0, err
	}
	var id int64
	added := note{kind: docket.RecorderChanged, by: by, at: at, summary: docket.RecorderSummary(r.Name, r.AddedWords())}
	err := s.changeShop(ctx, &added, func(tx pgx.Tx) error {
		err := tx.QueryRow(ctx, `INSERT INTO recorder (name, name_key, note, usual_rate_hz, added_at, added_by)
			VALUES ($1, $2, $3, $4, $5, $6) RETURNING id`, r.Name, recorder.NameKey(r.Name), r.Note, r.UsualRateHz, docket.Moment(at), by.StaffID).Scan(&id)
		if err != nil {
			return err
		}
		return tell(ctx, tx, id, by, at, r.AddedWords())
	})
	if isUnique(err, "recorder_name_key") {
		return 0, domain.Invalid(map[string]string{"name": recorder.NameTaken})
	}
	if err != nil {
		return 0, fmt.Errorf("add recorder: %w", Translate(err))
	}
	return id, nil
}

// tell adds a sentence to a recorder's history.
func tell(ctx context.Context, tx pgx.Tx, id int64, by Actor, at time.Time, words string) error {
	_, err := tx.Exec(ctx, `INSERT INTO recorder_history (recorder_id, at, by_id, words) VALUES ($1, $2, $3, $4)`,
		id, docket.Moment(at), by.StaffID, words)
	return err
}

// changeRecorder runs do on the locked recorder and adds the sentence it returns to its history, in one transaction; no
// sentence means that nothing changed.
func (s *Store) changeRecorder(ctx context.Context, id int64, by Actor, at time.Time,
	do func(pgx.Tx, recorder.Recorder) (string, error)) error {
	changed := note{kind: docket.RecorderChanged, by: by, at: at}
	err := s.changeShop(ctx, &changed, func(tx pgx.Tx) error {
		rows, _ := tx.Query(ctx, `SELECT `+recorderFields+recorderFrom+`WHERE r.id = $1 FOR UPDATE OF r`, id)
		r, err := pgx.CollectExactlyOneRow(rows, scanRecorder)
		if err != nil {
			return err
		}
		words, err := do(tx, r)
		changed.summary = docket.RecorderSummary(r.Name, words)
		if err != nil || words == "" {
			return err
		}
		return tell(ctx, tx, id, by, at, words)
	})
	if err != nil {
		return fmt.Errorf("change recorder %d: %w", id, Translate(err))
	}
	return nil
}

// DescribeRecorder replaces a recorder's note and usual rate; its name stays. The error is a *domain.InvalidError or
// wraps domain.ErrNotFound.
func (s *Store) DescribeRecorder(ctx context.Context, id int64, note string, usualRateHz int, by Actor,
	at time.Time) error {
	return s.changeRecorder(ctx, id, by, at, func(tx pgx.Tx, r recorder.Recorder) (string, error) {
		before := r
		r.Note, r.UsualRateHz = note, usualRateHz
		if err := domain.Invalid(r.Problems()); err != nil {
			return "", err
		}
		if r.Note == before.Note && r.UsualRateHz == before.UsualRateHz {
			return "", nil
		}
		_, err := tx.Exec(ctx, `UPDATE recorder SET note = $2, usual_rate_hz = $3 WHERE id = $1`, id, r.Note, r.UsualRateHz)
		return r.DescribedWords(before), err
	})
}

// RetireRecorder takes a recorder out of use; what it heard stays. The error is a *domain.InvalidError (field "why") or
// wraps domain.ErrNotFound.
func (s *Store) RetireRecorder(ctx context.Context, id int64, why string, by Actor, at time.Time) error {
	if problem := recorder.RetireProblem(why); problem != "" {
		return domain.Invalid(map[string]string{"why": problem})
	}
	return s.changeRecorder(ctx, id, by, at, func(tx pgx.Tx, r recorder.Recorder) (string, error) {
		if r.Retired() {
			return "", nil
		}
		_, err := tx.Exec(ctx, `UPDATE recorder SET retired_at = $2, retired_by = $3, retired_why = $4 WHERE id = $1`,
			id, docket.Moment(at), by.StaffID, why)
		return recorder.RetiredWords(why), err
	})
}

// UseRecorder puts a retired recorder back in use. The error wraps domain.ErrNotFound.
func (s *Store) UseRecorder(ctx context.Context, id int64, by Actor, at time.Time) error {
	return s.changeRecorder(ctx, id, by, at, func(tx pgx.Tx, r recorder.Recorder) (string, error) {
		if !r.Retired() {
			return "", nil
		}
		_, err := tx.Exec(ctx, `UPDATE recorder SET retired_at = NULL, retired_by = NULL, retired_why = '' WHERE id = $1`, id)
		return recorder.UsedWords, err
	})
}
