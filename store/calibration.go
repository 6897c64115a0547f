package store

import (
	"context"
	"errors"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/recorder"
	"ledgerwheel/domain/timing"
)

// KeepCalibration adds a calibration to a recorder and returns its id: c.ByID keeps it, at c.KeptAt (zero takes c.At).
// Earlier ones stay as they are; the one made last counts from now on. The error is a *domain.InvalidError when a rule
// is broken or the recorder is out of use, or wraps domain.ErrNotFound.
func (s *Store) KeepCalibration(ctx context.Context, recorderID int64, c recorder.Calibration) (int64, error) {
	if c.KeptAt.IsZero() {
		c.KeptAt = c.At
	}
	c.At, c.KeptAt = docket.Moment(c.At), docket.Moment(c.KeptAt)
	if c.RedoBy.IsZero() {
		c.RedoBy = recorder.DefaultRedoBy(c.At)
	}
	if err := domain.Invalid(c.Problems()); err != nil {
		return 0, err
	}
	var id int64
	err := s.changeRecorder(ctx, recorderID, Actor{StaffID: c.ByID}, c.KeptAt,
		func(tx pgx.Tx, r recorder.Recorder) (string, error) {
			if r.Retired() {
				return "", domain.Invalid(map[string]string{"": recorder.OutOfUse})
			}
			err := tx.QueryRow(ctx, `INSERT INTO recorder_calibration (recorder_id, ppm, std_ppm, method, made_at, redo_by, note, kept_at, by_id,
				duration_s, rate_hz, used, missed, scatter_us, reference_rate_s_per_day, reference_u95_s_per_day, asked)
			VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17) RETURNING id`,
				recorderID, c.PPM, c.StdPPM, string(c.Method), c.At, c.RedoBy, c.Note, c.KeptAt, c.ByID,
				c.DurationS, c.RateHz, c.Used, c.Missed, c.ScatterUs, c.ReferenceRate, c.ReferenceU95, c.Asked).Scan(&id)
			return c.KeptWords(), err
		})
	return id, err
}

// RetireCalibration has a calibration no longer count, from now on; readings taken before keep what they were given.
// The error is a *domain.InvalidError (field "why") or wraps domain.ErrNotFound.
func (s *Store) RetireCalibration(ctx context.Context, recorderID, id int64, why string, by Actor, at time.Time) error {
	if problem := recorder.RetireProblem(why); problem != "" {
		return domain.Invalid(map[string]string{"why": problem})
	}
	return s.changeRecorder(ctx, recorderID, by, at, func(tx pgx.Tx, _ recorder.Recorder) (string, error) {
		rows, _ := tx.Query(ctx, `SELECT `+calibrationFields+calibrationFrom+`WHERE c.recorder_id = $1 AND c.id = $2`,
			recorderID, id)
		c, err := pgx.CollectExactlyOneRow(rows, scanCalibration)
		if errors.Is(err, pgx.ErrNoRows) {
			return "", domain.ErrNotFound
		}
		if err != nil || !c.RetiredAt.IsZero() {
			return "", err
		}
		_, err = tx.Exec(ctx, `INSERT INTO recorder_calibration_retired (calibration_id, at, by_id, why) VALUES ($1, $2, $3, $4)`,
			id, docket.Moment(at), by.StaffID, why)
		return c.RetiredWords(why), err
	})
}

// recorderClocks are all recorders' calibrations, for what readings name as their instrument.
type recorderClocks map[string][]recorder.Calibration

// queueClocks adds the clocks of the recorders to a batch. A shop has a few recorders, each calibrated about once a
// year, so all are read.
func queueClocks(batch *pgx.Batch, clocks *recorderClocks) {
	batch.Queue(`SELECT r.name, coalesce(c.id, 0), coalesce(c.ppm, 0), coalesce(c.std_ppm, 0), c.made_at, c.kept_at, o.at
		FROM recorder r LEFT JOIN recorder_calibration c ON c.recorder_id = r.id
		LEFT JOIN recorder_calibration_retired o ON o.calibration_id = c.id`).Query(func(rows pgx.Rows) error {
		*clocks = recorderClocks{}
		var name string
		var c recorder.Calibration
		var made, kept, retired *time.Time
		_, err := pgx.ForEachRow(rows, []any{&name, &c.ID, &c.PPM, &c.StdPPM, &made, &kept, &retired}, func() error {
			list := (*clocks)[name]
			if c.ID != 0 {
				c.At, c.KeptAt, c.RetiredAt = timeOr(made), timeOr(kept), timeOr(retired)
				list = append(list, c)
			}
			(*clocks)[name] = list
			return nil
		})
		return err
	})
}

// clocksOf reads the recorders' clocks inside a transaction.
func clocksOf(ctx context.Context, tx pgx.Tx) (recorderClocks, error) {
	var clocks recorderClocks
	var batch pgx.Batch
	queueClocks(&batch, &clocks)
	err := tx.SendBatch(ctx, &batch).Close()
	return clocks, err
}

// give tells a sheet how well the clocks of the recorders are known that its readings name: for each the calibration in
// force when the reading was taken, and of several readings the one known worst. A reading without a time of its own
// was taken at the one given, and one without an instrument by the sheet's.
func (clocks recorderClocks) give(sh *timing.Sheet, at time.Time) {
	sh.ClockStdPPM, sh.Run.Readings = nil, slices.Clone(sh.Run.Readings)
	for i := range sh.Run.Readings {
		r := &sh.Run.Readings[i]
		if r.Instrument == "" {
			r.Instrument = sh.Instrument
		}
		calibrations, known := clocks[r.Instrument]
		if !known {
			continue
		}
		taken := r.TakenAt
		if taken.IsZero() {
			taken = at
		}
		then := recorder.Recorder{Calibration: recorder.InForce(calibrations, taken)}
		if sh.ClockStdPPM == nil {
			sh.ClockStdPPM = map[string]float64{}
		}
		sh.ClockStdPPM[r.Instrument] = max(sh.ClockStdPPM[r.Instrument], then.Clock(taken).StdPPM)
	}
}
