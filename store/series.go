package store

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/invoice"
	"ledgerwheel/domain/text"
)

// SeriesRow is a series of invoice numbers with how it is used and the version that a form states.
type SeriesRow struct {
	invoice.Series
	Usual, UsualCredit bool // of invoices and deposit invoices, and of credit notes, where nobody chose another
	Ended              bool // used no longer
	Given              int  // how many numbers were given
	Newest             string
	Version            int64
}

func queueSeries(batch *pgx.Batch, list *[]SeriesRow) {
	batch.Queue(`SELECT s.id, s.name, s.before, s.digits, s.yearly, s.usual, s.usual_credit, s.ended, s.version,
		coalesce((SELECT sum(last) FROM invoice_number n WHERE n.series_id = s.id), 0),
		coalesce((SELECT i.number FROM invoice i WHERE i.series_id = s.id ORDER BY i.year DESC, i.n DESC LIMIT 1), '')
		FROM invoice_series s ORDER BY s.ended, s.id`).Query(func(rows pgx.Rows) (err error) {
		*list, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (s SeriesRow, err error) {
			return s, row.Scan(&s.ID, &s.Name, &s.Before, &s.Digits, &s.Yearly, &s.Usual, &s.UsualCredit, &s.Ended, &s.Version, &s.Given, &s.Newest)
		})
		return err
	})
}

// SeriesList lists the series, those used no longer last.
func (s *Store) SeriesList(ctx context.Context) ([]SeriesRow, error) {
	var list []SeriesRow
	var batch pgx.Batch
	queueSeries(&batch, &list)
	if err := s.db.SendBatch(ctx, &batch).Close(); err != nil {
		return nil, fmt.Errorf("series of invoices: %w", Translate(err))
	}
	return list, nil
}

// seriesFacts is what the shop's journal keeps of a series.
type seriesFacts struct {
	Name   string `json:"name"`
	Before string `json:"before_number"`
	Digits int    `json:"digits"`
	Yearly bool   `json:"yearly,omitempty"`
	Usual  bool   `json:"usual,omitempty"`
	Credit bool   `json:"usual_for_credit_notes,omitempty"`
	Ended  bool   `json:"used_no_longer,omitempty"`
}

// SaveSeries keeps a series, adding it where its ID is 0, and returns its id. Being the usual one goes over from another.
// What stands before the number stays once a number was given. The error is a *domain.InvalidError (see
// invoice.Series.Problems, "usual" where none would be usual, "ended"), or wraps domain.ErrNotFound or domain.ErrChanged.
func (s *Store) SaveSeries(ctx context.Context, v SeriesRow, by Actor, at time.Time) (int64, error) {
	v.Name = text.Line(v.Name)
	n := note{kind: docket.SeriesChanged, by: by, at: at}
	err := s.changeShop(ctx, &n, func(tx pgx.Tx) error {
		// One owner at a time: what is usual is looked at in all of them.
		if _, err := tx.Exec(ctx, `LOCK TABLE invoice_series IN SHARE ROW EXCLUSIVE MODE`); err != nil {
			return err
		}
		var list []SeriesRow
		var batch pgx.Batch
		queueSeries(&batch, &list)
		if err := tx.SendBatch(ctx, &batch).Close(); err != nil {
			return err
		}
		if err := v.held(list); err != nil {
			return err
		}
		n.summary = v.KeptSummary()
		n.facts = seriesFacts{v.Name, v.Before, v.Digits, v.Yearly, v.Usual, v.UsualCredit, v.Ended}
		if _, err := tx.Exec(ctx, `UPDATE invoice_series SET usual = usual AND NOT $1, usual_credit = usual_credit AND NOT $2, version = version + 1
			WHERE id <> $3 AND (usual AND $1 OR usual_credit AND $2)`, v.Usual, v.UsualCredit, v.ID); err != nil {
			return err
		}
		args := []any{v.Name, v.Before, v.Digits, v.Yearly, v.Usual, v.UsualCredit, v.Ended, nullID(by.StaffID), docket.Moment(at)}
		if v.ID == 0 {
			return tx.QueryRow(ctx, `INSERT INTO invoice_series (name, before, digits, yearly, usual, usual_credit, ended, kept_by, kept_at)
				VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9) RETURNING id`, args...).Scan(&v.ID)
		}
		_, err := tx.Exec(ctx, `UPDATE invoice_series SET name = $1, before = $2, digits = $3, yearly = $4, usual = $5, usual_credit = $6, ended = $7,
			kept_by = $8, kept_at = $9, version = version + 1 WHERE id = $10`, append(args, v.ID)...)
		return err
	})
	if err != nil {
		return 0, fmt.Errorf("save series %s: %w", v.Name, Translate(err))
	}
	return v.ID, nil
}

// held holds a series against those that there are.
func (v SeriesRow) held(list []SeriesRow) error {
	bad := map[string]string{}
	var others []invoice.Series
	was, usual, credit := SeriesRow{}, v.Usual, v.UsualCredit
	for _, o := range list {
		if o.ID == v.ID {
			was = o
			continue
		}
		others = append(others, o.Series)
		usual, credit = usual || o.Usual, credit || o.UsualCredit
	}
	switch {
	case v.ID != 0 && was.ID == 0:
		return domain.ErrNotFound
	case v.ID != 0 && was.Version != v.Version:
		return domain.ErrChanged
	}
	for field, why := range v.Problems(others) {
		bad[field] = why
	}
	if was.Given > 0 && (was.Before != v.Before || was.Yearly != v.Yearly || was.Digits != v.Digits) {
		bad["before"] = "Numbers were given in this series, so it stays as it is. End it and begin another."
	}
	switch {
	case v.Ended && (v.Usual || v.UsualCredit):
		bad["ended"] = "Make another series the usual one first."
	case !usual || !credit:
		bad["usual"] = "One series has to be the usual one. Make another the usual one instead."
	}
	return domain.Invalid(bad)
}
