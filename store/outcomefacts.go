package store

import (
	"context"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/figures"
	"ledgerwheel/domain/timing"
)

// factsFor reads what the outcomes of dockets follow from, in one batch, and the shop's time zone.
func factsFor(ctx context.Context, tx pgx.Tx, ids []int64) (map[int64]*figures.Facts, *time.Location, error) {
	of := map[int64]*figures.Facts{}
	zone := time.UTC
	q := factsQueue{of: of, zone: &zone}
	q.Queue(`SELECT time_zone FROM shop`).QueryRow(func(row pgx.Row) error {
		var name string
		if err := ignoreNone(row.Scan(&name)); err != nil {
			return err
		}
		if known, err := time.LoadLocation(name); err == nil {
			zone = known
		}
		return nil
	})
	q.dockets(ids)
	q.stays(ids)
	q.bench(ids)
	q.runs(ids)
	q.counter(ids)
	return of, zone, tx.SendBatch(ctx, &q.Batch).Close()
}

// factsQueue is a batch of questions whose rows begin with a docket's id.
type factsQueue struct {
	pgx.Batch
	of   map[int64]*figures.Facts
	zone **time.Location
}

// each asks a question of the dockets and gives each row to the facts of its docket. targets are what comes after the id.
func (q *factsQueue) each(ids []int64, sql string, targets []any, give func(f *figures.Facts)) {
	q.Queue(sql, ids).Query(func(rows pgx.Rows) error {
		var id int64
		_, err := pgx.ForEachRow(rows, append([]any{&id}, targets...), func() error {
			if f := q.of[id]; f != nil {
				give(f)
			}
			return nil
		})
		return err
	})
}

func (q *factsQueue) dockets(ids []int64) {
	q.Queue(`SELECT d.id, d.version, d.received_on, d.promised_on, d.handed_back_at, d.stage, d.wanted, d.currency,
			coalesce(w.calibre_id, 0), coalesce(d.comeback_of, 0), (SELECT min(received_on) FROM docket b WHERE b.comeback_of = d.id)
		FROM docket d JOIN watch w ON w.id = d.watch_id WHERE d.id = ANY ($1)`, ids).Query(func(rows pgx.Rows) error {
		for rows.Next() {
			f := &figures.Facts{}
			var promised, left, back *time.Time
			if err := rows.Scan(&f.DocketID, &f.Version, &f.ReceivedOn, &promised, &left, &f.Stage, &f.Work, &f.Currency,
				&f.CalibreID, &f.ComebackOf, &back); err != nil {
				return err
			}
			f.PromisedOn, f.LeftAt, f.CameBackOn = timeOr(promised), timeOr(left), timeOr(back)
			q.of[f.DocketID] = f
		}
		return rows.Err()
	})
}

// stayFields are read by scanStay after the docket's id.
const stayFields = `s.stage, s.since, s.until, coalesce(s.bench_staff_id, 0)`

func scanStay(row pgx.CollectableRow, id *int64) (s figures.Stay, err error) {
	var until *time.Time
	err = row.Scan(id, &s.Stage, &s.Since, &until, &s.BenchID)
	s.Since, s.Until = s.Since.UTC(), timeOr(until)
	return s, err
}

func (q *factsQueue) stays(ids []int64) {
	q.Queue(`SELECT s.docket_id, `+stayFields+` FROM stay s WHERE s.docket_id = ANY ($1) ORDER BY s.docket_id, s.seq`, ids).Query(func(rows pgx.Rows) error {
		_, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (s figures.Stay, err error) {
			var id int64
			s, err = scanStay(row, &id)
			if f := q.of[id]; f != nil {
				f.Stays = append(f.Stays, s)
			}
			return s, err
		})
		return err
	})
}

func (q *factsQueue) bench(ids []int64) {
	var at time.Time
	var passed bool
	q.each(ids, `SELECT docket_id, at, verdict = 'pass' FROM final_test WHERE docket_id = ANY ($1) AND verdict <> '' ORDER BY docket_id, id`,
		[]any{&at, &passed}, func(f *figures.Facts) { f.Tests = append(f.Tests, figures.Test{At: at.UTC(), Passed: passed}) })
	var pieces int
	var cost *int64
	q.each(ids, `SELECT p.docket_id, p.quantity, coalesce(o.cost_minor, c.cost_minor)
		FROM part_line p JOIN docket d ON d.id = p.docket_id
		LEFT JOIN part c ON c.id = p.part_id AND c.currency = d.currency
		LEFT JOIN LATERAL (SELECT l.cost_minor FROM order_line l JOIN purchase_order o ON o.id = l.order_id
			WHERE l.docket_id = p.docket_id AND l.part_line_id = p.id AND l.cost_minor IS NOT NULL AND o.currency = d.currency ORDER BY l.id DESC LIMIT 1) o ON true
		WHERE p.docket_id = ANY ($1) AND p.state = 'fitted' ORDER BY p.docket_id, p.id`, []any{&pieces, &cost}, func(f *figures.Facts) {
		part := figures.Part{Pieces: pieces}
		if cost != nil {
			minor := *cost
			part.CostMinor = &minor
		}
		f.Parts = append(f.Parts, part)
	})
}

// runs reads the rates and amplitudes of runs as received and final runs.
func (q *factsQueue) runs(ids []int64) {
	var run int64
	var r struct {
		kind       timing.Kind
		position   timing.Position
		hours      float64
		again      int
		rate, lift *float64
	}
	last := map[int64]int64{} // by docket: the run that its newest reading is of
	q.each(ids, `SELECT r.docket_id, r.id, r.kind, g.position, g.hours, g.again, g.rate_s_per_day, g.amplitude_deg
		FROM run r JOIN reading g ON g.run_id = r.id WHERE r.docket_id = ANY ($1) AND r.kind IN ('as received', 'final')
		ORDER BY r.docket_id, r.id, g.hours, g.position, g.again`,
		[]any{&run, &r.kind, &r.position, &r.hours, &r.again, &r.rate, &r.lift}, func(f *figures.Facts) {
			if last[f.DocketID] != run {
				f.Runs, last[f.DocketID] = append(f.Runs, timing.Run{Kind: r.kind}), run
			}
			to := &f.Runs[len(f.Runs)-1]
			to.Readings = append(to.Readings, timing.Reading{Position: r.position, HoursAfterWinding: r.hours, Repeat: r.again,
				RateSPerDay: figureOf(r.rate), AmplitudeDeg: figureOf(r.lift)})
		})
}

func figureOf(v *float64) *timing.Figure {
	if v == nil {
		return nil
	}
	return &timing.Figure{Value: *v}
}

// counter reads what was said and paid: promised days that moved, answers to estimates, payments and documents.
func (q *factsQueue) counter(ids []int64) {
	var at time.Time
	var from, to *string
	q.each(ids, `SELECT docket_id, at, convert_from(facts, 'UTF8')::json ->> 'from', convert_from(facts, 'UTF8')::json ->> 'to'
		FROM journal WHERE docket_id = ANY ($1) AND kind = '`+string(docket.Promised)+`' AND facts IS NOT NULL ORDER BY docket_id, seq`,
		[]any{&at, &from, &to}, func(f *figures.Facts) {
			if from == nil || to == nil {
				return
			}
			if m, ok := docket.PromiseMovedOf(*from, *to, at); ok {
				f.Promises = append(f.Promises, m)
			}
		})
	var revision int64
	var approved bool
	var kind *estimate.Kind
	var lines int
	last := map[int64]int64{}
	q.each(ids, `SELECT e.docket_id, e.id, e.decided_at, e.state = 'approved', l.kind, count(l.kind)
		FROM estimate_revision e LEFT JOIN estimate_line l ON l.revision_id = e.id AND (e.state = 'declined' OR l.declined) AND l.kind <> 'discount'
		WHERE e.docket_id = ANY ($1) AND e.state IN ('approved', 'declined') AND e.decided_at IS NOT NULL
		GROUP BY e.docket_id, e.number, e.id, e.decided_at, e.state, l.kind ORDER BY e.docket_id, e.number`,
		[]any{&revision, &at, &approved, &kind, &lines}, func(f *figures.Facts) {
			if last[f.DocketID] != revision {
				f.Answers, last[f.DocketID] = append(f.Answers, figures.Answer{At: at.UTC(), Approved: approved, Refused: map[estimate.Kind]int{}}), revision
			}
			if kind != nil {
				f.Answers[len(f.Answers)-1].Refused[*kind] = lines
			}
		})
	var day *time.Time
	var minor int64
	q.each(ids, `SELECT docket_id, day, at, minor FROM payment WHERE docket_id = ANY ($1) ORDER BY docket_id, id`, []any{&day, &at, &minor}, func(f *figures.Facts) {
		on := timeOr(day)
		if day == nil { // taken before days of the till were kept
			on = figures.CivilDay(at, *q.zone)
		}
		f.Payments = append(f.Payments, figures.Payment{Day: on, Minor: minor})
	})
	q.each(ids, `SELECT docket_id, sum(CASE kind WHEN 'credit-note' THEN -net_minor ELSE net_minor END)::bigint FROM invoice WHERE docket_id = ANY ($1) GROUP BY docket_id`,
		[]any{&minor}, func(f *figures.Facts) {
			billed := minor
			f.BilledMinor = &billed
		})
}
