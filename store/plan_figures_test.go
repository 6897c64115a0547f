package store_test

import (
	"context"
	"fmt"
	"testing"
	"time"

	"ledgerwheel/domain/figures"
	"ledgerwheel/store"
)

// figureGrowth gives every docket an outcome, and every day of a year cells as a shop has them whose dockets are spread over every
// month and every value.
var figureGrowth = []string{
	`INSERT INTO outcome (docket_id, version, received_on, first_promised_on, ready_on, left_on, ended, work, bench_staff_id, tested_on, currency)
		SELECT id, 1, received_on, promised_on, received_on + (id % 40)::integer, handed_back_at::date, 'handed-over', wanted, 2 + id % 4, received_on + 9, currency FROM docket
		WHERE NOT open ON CONFLICT DO NOTHING`,
	`DELETE FROM cell`,
	`INSERT INTO cell (measure, dimension, month, key, currency, value, n)
		SELECT 'turnaround', d.dimension, date_trunc('month', o.ready_on), CASE d.dimension WHEN 'all' THEN '' ELSE o.bench_staff_id::text END, '', o.ready_on - o.received_on, count(*)
		FROM outcome o, (VALUES ('all'), ('bench')) d(dimension) GROUP BY 2, 3, 4, 6`,
	`DELETE FROM stay`,
	`INSERT INTO stay (docket_id, seq, stage, since, until) SELECT id, 1, stage, received_at, handed_back_at FROM docket`,
}

// A page of figures meets no more rows at a hundred thousand dockets than at ten thousand: months times values, not dockets; the list of
// the dockets behind it, a page of them.
func TestPlansOfTheFigures(t *testing.T) {
	t.Parallel()
	o := newOldShop(t)
	from, to := figures.MonthOf(time.Date(2002, 1, 1, 0, 0, 0, 0, time.UTC)), figures.MonthOf(time.Date(2002, 12, 1, 0, 0, 0, 0, time.UTC))
	counts := func(by figures.Dimension) func(context.Context) error {
		return func(ctx context.Context) error {
			sheet, err := o.Figures(ctx, []figures.Measure{figures.Turnaround}, by, from, to)
			if err == nil && len(sheet.Counts) < 400 {
				err = fmt.Errorf("%d counts", len(sheet.Counts))
			}
			return err
		}
	}
	behind := func(q store.FigureQuery) func(context.Context) error {
		q.Measure, q.From, q.To = figures.Turnaround, from, to
		return func(ctx context.Context) error {
			list, more, err := o.FigureDockets(ctx, q)
			if err == nil && (len(list) != store.ListedPage || !more) {
				err = fmt.Errorf("%d dockets, more %t", len(list), more)
			}
			return err
		}
	}
	questions := []struct {
		what string
		rows float64 // at most
		ask  func(context.Context) error
	}{
		{"the whole shop", 1500, counts(figures.ByAll)},
		{"by bench", 6000, counts(figures.ByBench)},
		{"in progress", 4000, func(ctx context.Context) error { _, _, err := o.WorkInProgress(ctx, figures.ByBench); return err }},
		{"dockets behind", 600, behind(store.FigureQuery{By: figures.ByAll, AnyKey: true})},
		{"a later page of them", 600, behind(store.FigureQuery{By: figures.ByAll, AnyKey: true, BeforeDay: time.Date(2002, 6, 1, 0, 0, 0, 0, time.UTC), BeforeID: 5000})},
		{"of a bench", 1500, behind(store.FigureQuery{By: figures.ByBench, Key: "3"})},
	}
	met := make([]float64, len(questions))
	for _, dockets := range []int{10_000, largeShop} {
		o.growTo(t, dockets)
		for _, sql := range append([]string{`SET session_replication_role = replica`}, append(figureGrowth, `RESET session_replication_role`, `VACUUM ANALYZE`)...) {
			if _, err := o.conn.Exec(t.Context(), sql); err != nil {
				t.Fatalf("%v\n%s", err, sql)
			}
		}
		for i, q := range questions {
			o.watch.take()
			if err := q.ask(t.Context()); err != nil {
				t.Errorf("%s: %v", q.what, err)
				continue
			}
			var sum cost
			for _, asked := range o.watch.take() {
				c := explain(t, o.conn, asked, q.what, false)
				sum.rows, sum.pages = sum.rows+c.rows, sum.pages+c.pages
			}
			t.Logf("%-24s at %6d dockets: rows %6.0f   pages %6d", q.what, dockets, sum.rows, sum.pages)
			if sum.rows > q.rows {
				t.Errorf("%s meets %.0f rows at %d dockets, at most %.0f are right", q.what, sum.rows, dockets, q.rows)
			}
			// Twice as many, since a bitmap of an index and what it leads to are two nodes of a plan.
			if met[i] > 0 && sum.rows > 2*met[i]+50 {
				t.Errorf("%s meets %.0f rows at %d dockets, %.0f before", q.what, sum.rows, dockets, met[i])
			}
			met[i] = sum.rows
		}
	}
}
