package store

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/figures"
)

// FigureSheet is what a page of figures is made of.
type FigureSheet struct {
	Counts figures.Counts
	Names  map[string]string // of the keys of a dimension: people and calibres; other keys are their own words
}

// Figures reads the cells of some measures in one dimension, from one month to another, both among them: as many rows as months
// and values, however many dockets were counted.
func (s *Store) Figures(ctx context.Context, measures []figures.Measure, by figures.Dimension, from, to figures.Month) (FigureSheet, error) {
	sheet := FigureSheet{Names: map[string]string{}}
	var batch pgx.Batch
	batch.Queue(`SELECT measure, dimension, key, month, currency, value, n FROM cell WHERE measure = ANY ($1) AND dimension = $2 AND month BETWEEN $3 AND $4
		ORDER BY measure, month, key, currency, value`, measures, string(by), from.First(), to.First()).Query(func(rows pgx.Rows) error {
		var c figures.Count
		var month time.Time
		_, err := pgx.ForEachRow(rows, []any{&c.Measure, &c.Dimension, &c.Key.Key, &month, &c.Currency, &c.Value, &c.N}, func() error {
			c.Month = figures.MonthOf(month)
			sheet.Counts = append(sheet.Counts, c)
			return nil
		})
		return err
	})
	queueFigureNames(&batch, by, sheet.Names)
	if err := s.db.SendBatch(ctx, &batch).Close(); err != nil {
		return FigureSheet{}, fmt.Errorf("figures: %w", Translate(err))
	}
	return sheet, nil
}

func queueFigureNames(batch *pgx.Batch, by figures.Dimension, names map[string]string) {
	sql := map[figures.Dimension]string{figures.ByBench: `SELECT id::text, name FROM staff`, figures.ByCalibre: `SELECT id::text, name FROM calibre`}[by]
	if sql == "" {
		return
	}
	batch.Queue(sql).Query(func(rows pgx.Rows) error {
		var key, name string
		_, err := pgx.ForEachRow(rows, []any{&key, &name}, func() error {
			names[key] = name
			return nil
		})
		return err
	})
}

// InProgress is how many dockets that were taken in on a day are in a stage now.
type InProgress struct {
	Stage      docket.Stage
	Key        string
	ReceivedOn time.Time
	N          int64
}

// keySQL is the key of a docket d in a dimension.
var keySQL = map[figures.Dimension]string{figures.ByAll: `''`, figures.ByBench: `coalesce(d.bench_staff_id, 0)::text`,
	figures.ByCalibre: `coalesce((SELECT calibre_id FROM watch WHERE id = d.watch_id), 0)::text`, figures.ByWork: `d.wanted`}

// WorkInProgress counts the dockets whose watches are in the shop: rows of what is open now, not of history.
func (s *Store) WorkInProgress(ctx context.Context, by figures.Dimension) (list []InProgress, names map[string]string, err error) {
	names = map[string]string{}
	var batch pgx.Batch
	batch.Queue(`SELECT d.stage, ` + keySQL[by] + `, d.received_on, count(*) FROM docket d WHERE d.open GROUP BY 1, 2, 3 ORDER BY 1, 2, 3`).Query(func(rows pgx.Rows) (err error) {
		list, err = pgx.CollectRows(rows, pgx.RowToStructByPos[InProgress])
		return err
	})
	queueFigureNames(&batch, by, names)
	if err = s.db.SendBatch(ctx, &batch).Close(); err != nil {
		return nil, nil, fmt.Errorf("work in progress: %w", Translate(err))
	}
	return list, names, nil
}

// FigureQuery asks for the dockets behind a figure.
type FigureQuery struct {
	Measure  figures.Measure
	By       figures.Dimension
	Key      string // of By; any where AnyKey
	AnyKey   bool
	From, To figures.Month
	Missed   bool // only those on the wrong side: late, failed, come back, declined
	// BeforeDay and BeforeID are the last of the page before; zero for the first.
	BeforeDay time.Time
	BeforeID  int64
}

// FigureDocket is a docket behind a figure.
type FigureDocket struct {
	Number  docket.Number
	Watch   string
	Day     time.Time // by which it is counted
	Outcome figures.Outcome
}

// behind says of a measure by which day an outcome is counted, which are, and which of them are on the wrong side.
var behind = map[figures.Measure]struct{ day, counted, missed string }{
	figures.Turnaround: {"o.ready_on", "true", "true"},
	figures.Promise: {"o.first_promised_on", "o.ended NOT IN ('declined', 'withdrawn') AND o.ready_on IS NOT NULL",
		"o.ready_on > o.first_promised_on"},
	figures.FirstPass:     {"o.tested_on", "true", "NOT o.first_passed"},
	figures.CameBack:      {"o.left_on", "o.ended = 'handed-over'", "o.came_back_on IS NOT NULL"},
	figures.Estimate:      {"o.answered_on", "true", "NOT o.approved"},
	figures.Margins:       {"o.left_on", "o.billed_minor IS NOT NULL", "o.parts_unknown > 0"},
	figures.Rate.After():  {"o.ready_on", "o.rate_before IS NOT NULL AND o.rate_after IS NOT NULL", "true"},
	figures.Delta.After(): {"o.ready_on", "o.delta_before IS NOT NULL AND o.delta_after IS NOT NULL", "true"},
}

// ofKey narrows outcomes to a key, which is $4, by the plain column, so that the planner knows how many there are.
func (q FigureQuery) ofKey() string {
	column := map[figures.Dimension]string{figures.ByBench: "o.bench_staff_id", figures.ByCalibre: "o.calibre_id"}[q.By]
	switch {
	case q.AnyKey || q.By == figures.ByAll:
		return "$4::text IS NOT NULL"
	case q.By == figures.ByWork:
		return "o.work = $4"
	case q.Key == "0":
		return "$4::text IS NOT NULL AND " + column + " IS NULL"
	}
	return column + " = $4::text::bigint"
}

// FigureDockets lists the dockets behind a figure, the newest first, ListedPage at a time; more says that there are older ones.
func (s *Store) FigureDockets(ctx context.Context, q FigureQuery) (list []FigureDocket, more bool, err error) {
	b, ok := behind[q.Measure]
	if !ok {
		return nil, false, fmt.Errorf("no dockets stand behind %s by themselves", q.Measure)
	}
	where := b.counted
	if q.Missed {
		where += " AND " + b.missed
	}
	last := q.To.First().AddDate(0, 1, -1)
	if !q.BeforeDay.IsZero() {
		last = q.BeforeDay
	}
	rows, _ := s.db.Query(ctx, `SELECT d.year, d.seq, w.maker || CASE WHEN w.model = '' THEN '' ELSE ' ' || w.model END, `+b.day+`, `+outcomeFields+`
		FROM outcome o JOIN docket d ON d.id = o.docket_id JOIN watch w ON w.id = d.watch_id
		WHERE `+b.day+` BETWEEN $1 AND $2 AND ($3 = 0 OR `+b.day+` < $2 OR o.docket_id < $3) AND `+q.ofKey()+` AND `+where+`
		ORDER BY `+b.day+` DESC, o.docket_id DESC LIMIT $5`, q.From.First(), last, q.BeforeID, q.Key, ListedPage+1)
	list, err = pgx.CollectRows(rows, scanFigureDocket)
	if err != nil {
		return nil, false, fmt.Errorf("dockets behind %s: %w", q.Measure, Translate(err))
	}
	if len(list) > ListedPage {
		return list[:ListedPage], true, nil
	}
	return list, false, nil
}

// scanFigureDocket reads what stands before the outcome, then the outcome.
func scanFigureDocket(row pgx.CollectableRow) (d FigureDocket, err error) {
	d.Outcome, err = scanOutcome(prefixed{row, []any{&d.Number.Year, &d.Number.Seq, &d.Watch, &d.Day}})
	d.Day = d.Day.UTC()
	return d, err
}

// prefixed is a row whose first columns go to targets of its own.
type prefixed struct {
	pgx.CollectableRow
	first []any
}

func (p prefixed) Scan(targets ...any) error {
	return p.CollectableRow.Scan(append(p.first, targets...)...)
}
