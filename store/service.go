package store

import (
	"context"
	"fmt"
	"reflect"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/service"
)

// ServiceSheet is everything the service sheet of a docket shows.
type ServiceSheet struct {
	Head    Head
	Works   []service.Work // in the order they were entered
	Hazards []HazardRow
}

// Work returns the stretch of work with the id.
func (s ServiceSheet) Work(id int64) (service.Work, bool) {
	for _, w := range s.Works {
		if w.ID == id {
			return w, true
		}
	}
	return service.Work{}, false
}

// ServiceSheet reads the sheet in one round trip; the error wraps domain.ErrNotFound.
func (s *Store) ServiceSheet(ctx context.Context, n docket.Number) (ServiceSheet, error) {
	var sheet ServiceSheet
	var found bool
	var batch pgx.Batch
	queueHead(&batch, n, &sheet.Head, &found)
	queueWorks(&batch, `(SELECT id FROM docket WHERE number = $1)`, n.String(), &sheet.Works)
	queueHazards(&batch, n, &sheet.Hazards)
	if err := s.sendSheet(ctx, &batch, &found); err != nil {
		return ServiceSheet{}, fmt.Errorf("service of docket %s: %w", n, err)
	}
	return sheet, nil
}

// queueWorks adds a docket's bench work to a batch; docketID is SQL that gives the docket's id from arg.
func queueWorks(batch *pgx.Batch, docketID string, arg any, works *[]service.Work) {
	find := func(id int64) *service.Work {
		for i := range *works {
			if (*works)[i].ID == id {
				return &(*works)[i]
			}
		}
		return &service.Work{} // there is none: a foreign key sees to that
	}
	batch.Queue(`SELECT b.id, b.minutes, b.note, m.name, b.by_id, b.at FROM bench_work b JOIN staff m ON m.id = b.by_id
		WHERE b.docket_id = `+docketID+` ORDER BY b.id`, arg).Query(func(rows pgx.Rows) (err error) {
		*works, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (service.Work, error) {
			var w service.Work
			err := row.Scan(&w.ID, &w.Minutes, &w.Note, &w.By, &w.ByID, &w.At)
			w.At = w.At.UTC()
			return w, err
		})
		return err
	})
	batch.Queue(`SELECT work_id, step, minutes FROM service_step WHERE docket_id = `+docketID+` ORDER BY id`,
		arg).Query(func(rows pgx.Rows) error {
		var id int64
		var step service.Step
		var minutes int
		_, err := pgx.ForEachRow(rows, []any{&id, &step, &minutes}, func() error {
			w := find(id)
			w.Steps = append(w.Steps, step)
			if minutes > 0 {
				if w.StepMinutes == nil {
					w.StepMinutes = map[service.Step]int{}
				}
				w.StepMinutes[step] = minutes
			}
			return nil
		})
		return err
	})
	batch.Queue(`SELECT work_id, place, lubricant, note FROM lubricant_use WHERE docket_id = `+docketID+` ORDER BY id`,
		arg).Query(func(rows pgx.Rows) error {
		var id int64
		var l service.Lubricant
		_, err := pgx.ForEachRow(rows, []any{&id, &l.Place, &l.Kind, &l.Note}, func() error {
			w := find(id)
			w.Lubricants = append(w.Lubricants, l)
			return nil
		})
		return err
	})
}

// AddWork adds a stretch of bench work. The error is a *domain.InvalidError, or as of the other changes of a docket.
func (s *Store) AddWork(ctx context.Context, c Change, w service.Work) (id int64, err error) {
	if err := domain.Invalid(w.Problems()); err != nil {
		return 0, err
	}
	err = s.change(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		err := tx.QueryRow(ctx, `INSERT INTO bench_work (docket_id, minutes, note, by_id, at) VALUES ($1, $2, $3, $4, $5) RETURNING id`,
			d.ID, w.Minutes, w.Note, c.By.StaffID, docket.Moment(c.At)).Scan(&id)
		if err != nil {
			return nil, err
		}
		if err := worked(ctx, tx, d, c.At); err != nil {
			return nil, err
		}
		w.ByID, w.At = c.By.StaffID, docket.Moment(c.At)
		return []event{{kind: docket.ServiceStepDone, summary: w.Summary(), facts: factsOfWork(w)}},
			insertWorkRows(ctx, tx, d.ID, id, w)
	})
	return id, err
}

// CorrectWork replaces what a stretch of bench work says; who did it and when stays. The journal keeps what it said
// before. A correction that changes nothing leaves no trace. The error is a *domain.InvalidError, wraps
// domain.ErrNotFound, or is as of the other changes of a docket.
func (s *Store) CorrectWork(ctx context.Context, c Change, id int64, w service.Work) error {
	if err := domain.Invalid(w.Problems()); err != nil {
		return err
	}
	return s.change(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		var works []service.Work
		var batch pgx.Batch
		queueWorks(&batch, `$1`, d.ID, &works)
		if err := tx.SendBatch(ctx, &batch).Close(); err != nil {
			return nil, err
		}
		was, ok := ServiceSheet{Works: works}.Work(id)
		if !ok {
			return nil, domain.ErrNotFound
		}
		before, after := factsOfWork(was), factsOfWork(w)
		if reflect.DeepEqual(before, after) {
			return nil, nil
		}
		w.ByID, w.At = was.ByID, was.At
		var clear pgx.Batch
		clear.Queue(`DELETE FROM service_step WHERE work_id = $1`, id)
		clear.Queue(`DELETE FROM lubricant_use WHERE work_id = $1`, id)
		clear.Queue(`UPDATE bench_work SET minutes = $2, note = $3 WHERE id = $1`, id, w.Minutes, w.Note)
		if err := tx.SendBatch(ctx, &clear).Close(); err != nil {
			return nil, err
		}
		return []event{{kind: docket.ServiceChanged, summary: w.CorrectedSummary(),
			facts: map[string]workFacts{"was": before, "now": after}}}, insertWorkRows(ctx, tx, d.ID, id, w)
	})
}

func insertWorkRows(ctx context.Context, tx pgx.Tx, docketID, workID int64, w service.Work) error {
	var batch pgx.Batch
	for _, step := range w.Steps {
		batch.Queue(`INSERT INTO service_step (docket_id, work_id, step, minutes, by_id, at) VALUES ($1, $2, $3, $4, $5, $6)`,
			docketID, workID, string(step), w.StepMinutes[step], w.ByID, w.At)
	}
	for _, l := range w.Lubricants {
		batch.Queue(`INSERT INTO lubricant_use (docket_id, work_id, place, lubricant, note, by_id, at) VALUES ($1, $2, $3, $4, $5, $6, $7)`,
			docketID, workID, string(l.Place), l.Kind, l.Note, w.ByID, w.At)
	}
	if batch.Len() == 0 {
		return nil
	}
	return tx.SendBatch(ctx, &batch).Close()
}

// workFacts is what the journal keeps of bench work.
type workFacts struct {
	Steps      []string `json:"steps,omitempty"`
	Lubricants []string `json:"lubricants,omitempty"`
	Time       string   `json:"time"`
	Note       string   `json:"note,omitempty"`
}

func factsOfWork(w service.Work) workFacts {
	f := workFacts{Time: service.FormatMinutes(w.TotalMinutes()), Note: w.Note}
	for _, step := range w.Steps {
		words := step.Words()
		if m := w.StepMinutes[step]; m > 0 {
			words += " (" + service.FormatMinutes(m) + ")"
		}
		f.Steps = append(f.Steps, words)
	}
	for _, l := range w.Lubricants {
		f.Lubricants = append(f.Lubricants, l.Place.Words()+": "+l.Kind)
	}
	return f
}
