package store

import (
	"context"
	"fmt"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/shop"
)

// holidaysRead is how many holidays are read, those that end last: more than a shop writes down in thirty years.
const holidaysRead = 500

// queueHolidays adds the holidays that count to a page's batch, by their first day.
func queueHolidays(batch *pgx.Batch, list *[]shop.Holiday) {
	batch.Queue(`SELECT id, name, from_day, to_day, yearly FROM (SELECT * FROM holiday WHERE removed_at IS NULL ORDER BY to_day DESC LIMIT $1) h
		ORDER BY from_day, id`, holidaysRead).Query(func(rows pgx.Rows) (err error) {
		*list, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (h shop.Holiday, err error) {
			err = row.Scan(&h.ID, &h.Name, &h.From, &h.To, &h.Yearly)
			h.From, h.To = h.From.UTC(), h.To.UTC()
			return h, err
		})
		return err
	})
}

// Holidays are the days on which the shop is closed whatever its hours say, by their first day.
func (s *Store) Holidays(ctx context.Context) (list []shop.Holiday, err error) {
	var batch pgx.Batch
	queueHolidays(&batch, &list)
	if err := s.db.SendBatch(ctx, &batch).Close(); err != nil {
		return nil, fmt.Errorf("holidays: %w", Translate(err))
	}
	return list, nil
}

// AddHoliday writes a holiday down. The error is a *domain.InvalidError (see shop.Holiday.Problems; "from" also where it
// stands already).
func (s *Store) AddHoliday(ctx context.Context, h shop.Holiday, by Actor, at time.Time) error {
	h.Name = strings.TrimSpace(h.Name)
	if err := domain.Invalid(h.Problems()); err != nil {
		return err
	}
	n := note{kind: docket.HolidaysChanged, by: by, at: at, summary: h.AddedSummary(), facts: holidayFacts(h)}
	err := s.changeShop(ctx, &n, func(tx pgx.Tx) error {
		if _, err := tx.Exec(ctx, `LOCK TABLE holiday IN SHARE ROW EXCLUSIVE MODE`); err != nil {
			return err
		}
		var stands bool
		err := tx.QueryRow(ctx, `SELECT EXISTS (SELECT FROM holiday WHERE removed_at IS NULL AND lower(name) = lower($1) AND from_day = $2)`,
			h.Name, h.From).Scan(&stands)
		if err == nil && stands {
			err = domain.Invalid(map[string]string{"from": "This holiday is written down already."})
		}
		if err == nil {
			_, err = tx.Exec(ctx, `INSERT INTO holiday (name, from_day, to_day, yearly, kept_by, kept_at) VALUES ($1, $2, $3, $4, $5, $6)`,
				h.Name, h.From, h.To, h.Yearly, by.StaffID, docket.Moment(at))
		}
		return err
	})
	if err != nil {
		return fmt.Errorf("add a holiday: %w", Translate(err))
	}
	return nil
}

// RemoveHoliday takes a holiday out, so that the shop is open then by its hours. The error wraps domain.ErrNotFound where it
// is gone already.
func (s *Store) RemoveHoliday(ctx context.Context, id int64, by Actor, at time.Time) error {
	n := note{kind: docket.HolidaysChanged, by: by, at: at}
	err := s.changeShop(ctx, &n, func(tx pgx.Tx) error {
		var h shop.Holiday
		err := tx.QueryRow(ctx, `UPDATE holiday SET removed_at = $2 WHERE id = $1 AND removed_at IS NULL RETURNING name, from_day, to_day, yearly`,
			id, docket.Moment(at)).Scan(&h.Name, &h.From, &h.To, &h.Yearly)
		n.summary, n.facts = h.RemovedSummary(), holidayFacts(h)
		return err
	})
	if err != nil {
		return fmt.Errorf("remove holiday %d: %w", id, Translate(err))
	}
	return nil
}

func holidayFacts(h shop.Holiday) map[string]string {
	facts := map[string]string{"name": h.Name, "first day": docket.DayWords(h.From), "last day": docket.DayWords(h.To)}
	if h.Yearly {
		facts["every year"] = "yes"
	}
	return facts
}
