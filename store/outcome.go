package store

import (
	"context"
	"fmt"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/figures"
)

const (
	// outcomeBatch is how many changes are worked out at a time.
	outcomeBatch = 500
	// outcomeLock is the advisory lock of whoever works outcomes out; any number that nothing else uses.
	outcomeLock = 0x6f7574
)

// RefreshOutcomes works out again what became of each docket that changed, and what all come to, and returns how many that
// were. Changes wait in a table of their own, written with them, so that no change waits for figures. Of several at once one
// does it and the others wait.
func (s *Store) RefreshOutcomes(ctx context.Context) (worked int, err error) {
	for {
		var due, dockets int
		err := pgx.BeginFunc(ctx, s.db, func(tx pgx.Tx) error {
			if _, err := tx.Exec(ctx, `SELECT pg_advisory_xact_lock($1)`, outcomeLock); err != nil {
				return err
			}
			rows, _ := tx.Query(ctx, `DELETE FROM outcome_due WHERE id IN (SELECT id FROM outcome_due ORDER BY id LIMIT $1) RETURNING docket_id`, outcomeBatch)
			ids, err := pgx.CollectRows(rows, pgx.RowTo[int64])
			if due = len(ids); err != nil || due == 0 {
				return err
			}
			slices.Sort(ids)
			ids = slices.Compact(ids)
			dockets = len(ids)
			return refreshOutcomes(ctx, tx, ids)
		})
		if err != nil {
			return worked, fmt.Errorf("work out what became of dockets: %w", Translate(err))
		}
		worked += dockets
		if due < outcomeBatch {
			return worked, nil
		}
	}
}

// RebuildFigures makes all that is worked out for figures again from the record. A program whose figures.Of or
// figures.Cells say something else than before calls figures_again() in a migration, which is the same.
func (s *Store) RebuildFigures(ctx context.Context) error {
	err := pgx.BeginFunc(ctx, s.db, func(tx pgx.Tx) error {
		_, err := tx.Exec(ctx, `SET LOCAL statement_timeout = 0`)
		if err == nil {
			_, err = tx.Exec(ctx, `SELECT pg_advisory_xact_lock($1)`, outcomeLock)
		}
		if err == nil {
			_, err = tx.Exec(ctx, `SELECT figures_again()`)
		}
		return err
	})
	if err != nil {
		return fmt.Errorf("make the figures again: %w", Translate(err))
	}
	_, err = s.RefreshOutcomes(ctx)
	return err
}

// refreshOutcomes works out the outcomes of dockets and moves what they add to the cells. The caller holds outcomeLock.
func refreshOutcomes(ctx context.Context, tx pgx.Tx, ids []int64) error {
	facts, zone, err := factsFor(ctx, tx, ids)
	if err != nil {
		return err
	}
	rows, _ := tx.Query(ctx, `SELECT `+outcomeFields+` FROM outcome o WHERE o.docket_id = ANY ($1)`, ids)
	before, err := pgx.CollectRows(rows, scanOutcome)
	if err != nil {
		return err
	}
	moved := map[figures.Key]int64{}
	for _, o := range before {
		for k, n := range figures.Cells(o) {
			moved[k] -= n
		}
	}
	var batch pgx.Batch
	for _, f := range facts {
		o := figures.Of(*f, zone)
		for k, n := range figures.Cells(o) {
			moved[k] += n
		}
		batch.Queue(outcomeUpsert, outcomeValues(o)...)
	}
	queueCells(&batch, moved)
	return tx.SendBatch(ctx, &batch).Close()
}

// queueCells adds to the cells what they moved by. A cell that comes to nothing goes.
func queueCells(batch *pgx.Batch, moved map[figures.Key]int64) {
	var measures, dimensions, keys, currencies []string
	var months []time.Time
	var values []int
	var ns []int64
	for k, n := range moved {
		if n == 0 {
			continue
		}
		measures, dimensions, keys = append(measures, string(k.Measure)), append(dimensions, string(k.Dimension)), append(keys, k.Key)
		currencies, months, values, ns = append(currencies, k.Currency), append(months, k.Month.First()), append(values, k.Value), append(ns, n)
	}
	if len(ns) == 0 {
		return
	}
	batch.Queue(`INSERT INTO cell (measure, dimension, month, key, currency, value, n)
		SELECT * FROM unnest($1::text[], $2::text[], $3::date[], $4::text[], $5::text[], $6::integer[], $7::bigint[])
		ON CONFLICT (measure, dimension, month, key, currency, value) DO UPDATE SET n = cell.n + EXCLUDED.n`,
		measures, dimensions, months, keys, currencies, values, ns)
	batch.Queue(`DELETE FROM cell c USING unnest($1::text[], $2::text[], $3::date[], $4::text[], $5::text[], $6::integer[]) AS m(measure, dimension, month, key, currency, value)
		WHERE (c.measure, c.dimension, c.month, c.key, c.currency, c.value) = (m.measure, m.dimension, m.month, m.key, m.currency, m.value) AND c.n = 0`,
		measures, dimensions, months, keys, currencies, values)
}

// outcomeFields are the columns of an outcome, read by scanOutcome in this order.
const outcomeFields = `o.docket_id, o.version, o.received_on, o.first_promised_on, o.promised_on, o.ready_on, o.left_on, o.ended, o.work,
	coalesce(o.calibre_id, 0), coalesce(o.bench_staff_id, 0), coalesce(o.comeback_of, 0), o.came_back_on, o.tested_on, o.first_passed, o.tests,
	o.answered_on, o.approved, o.refused, o.currency, o.billed_minor, o.parts_minor, o.parts_unknown, o.taken, o.seconds,
	o.rate_before, o.delta_before, o.lying_before, o.hanging_before, o.loss_before,
	o.rate_after, o.delta_after, o.lying_after, o.hanging_after, o.loss_after`

const outcomeUpsert = `INSERT INTO outcome (docket_id, version, received_on, first_promised_on, promised_on, ready_on, left_on, ended, work,
		calibre_id, bench_staff_id, comeback_of, came_back_on, tested_on, first_passed, tests,
		answered_on, approved, refused, currency, billed_minor, parts_minor, parts_unknown, taken, seconds,
		rate_before, delta_before, lying_before, hanging_before, loss_before, rate_after, delta_after, lying_after, hanging_after, loss_after)
	VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, nullif($10, 0::bigint), nullif($11, 0::bigint), nullif($12, 0::bigint), $13, $14, $15, $16, $17, $18, $19, $20, $21, $22, $23, $24, $25,
		$26, $27, $28, $29, $30, $31, $32, $33, $34, $35)
	ON CONFLICT (docket_id) DO UPDATE SET (version, received_on, first_promised_on, promised_on, ready_on, left_on, ended, work,
		calibre_id, bench_staff_id, comeback_of, came_back_on, tested_on, first_passed, tests,
		answered_on, approved, refused, currency, billed_minor, parts_minor, parts_unknown, taken, seconds,
		rate_before, delta_before, lying_before, hanging_before, loss_before, rate_after, delta_after, lying_after, hanging_after, loss_after) =
	(EXCLUDED.version, EXCLUDED.received_on, EXCLUDED.first_promised_on, EXCLUDED.promised_on, EXCLUDED.ready_on, EXCLUDED.left_on, EXCLUDED.ended, EXCLUDED.work,
		EXCLUDED.calibre_id, EXCLUDED.bench_staff_id, EXCLUDED.comeback_of, EXCLUDED.came_back_on, EXCLUDED.tested_on, EXCLUDED.first_passed, EXCLUDED.tests,
		EXCLUDED.answered_on, EXCLUDED.approved, EXCLUDED.refused, EXCLUDED.currency, EXCLUDED.billed_minor, EXCLUDED.parts_minor, EXCLUDED.parts_unknown, EXCLUDED.taken, EXCLUDED.seconds,
		EXCLUDED.rate_before, EXCLUDED.delta_before, EXCLUDED.lying_before, EXCLUDED.hanging_before, EXCLUDED.loss_before,
		EXCLUDED.rate_after, EXCLUDED.delta_after, EXCLUDED.lying_after, EXCLUDED.hanging_after, EXCLUDED.loss_after)`

func outcomeValues(o figures.Outcome) []any {
	measured := func(m figures.Measured) []any {
		return []any{m.RateSPerDay, m.DeltaSPerDay, m.LyingDeg, m.HangingDeg, m.LossDeg}
	}
	values := []any{o.DocketID, o.Version, o.ReceivedOn, nullTime(o.FirstPromisedOn), nullTime(o.PromisedOn), nullTime(o.ReadyOn), nullTime(o.LeftOn), string(o.Ended), string(o.Work),
		o.CalibreID, o.BenchID, o.ComebackOf, nullTime(o.CameBackOn), nullTime(o.TestedOn), o.FirstPassed, o.Tests,
		nullTime(o.AnsweredOn), o.Approved, someMap(o.Refused), o.Currency, o.BilledMinor, o.PartsMinor, o.PartsUnknown, someMap(o.Taken), someMap(o.Seconds)}
	return slices.Concat(values, measured(o.Before), measured(o.After))
}

// someMap is m, or an empty map for none: what is kept is an object in any case.
func someMap[K comparable, V any](m map[K]V) map[K]V {
	if m == nil {
		return map[K]V{}
	}
	return m
}

func scanOutcome(row pgx.CollectableRow) (o figures.Outcome, err error) {
	var first, promised, ready, left, back, tested, answered *time.Time
	targets := []any{&o.DocketID, &o.Version, &o.ReceivedOn, &first, &promised, &ready, &left, &o.Ended, &o.Work,
		&o.CalibreID, &o.BenchID, &o.ComebackOf, &back, &tested, &o.FirstPassed, &o.Tests,
		&answered, &o.Approved, &o.Refused, &o.Currency, &o.BilledMinor, &o.PartsMinor, &o.PartsUnknown, &o.Taken, &o.Seconds}
	for _, m := range []*figures.Measured{&o.Before, &o.After} {
		targets = append(targets, &m.RateSPerDay, &m.DeltaSPerDay, &m.LyingDeg, &m.HangingDeg, &m.LossDeg)
	}
	err = row.Scan(targets...)
	o.FirstPromisedOn, o.PromisedOn, o.ReadyOn, o.LeftOn = timeOr(first), timeOr(promised), timeOr(ready), timeOr(left)
	o.CameBackOn, o.TestedOn, o.AnsweredOn = timeOr(back), timeOr(tested), timeOr(answered)
	return o, err
}

// Outcome reads what became of a docket, as it was worked out last; the error wraps domain.ErrNotFound where it was not yet.
func (s *Store) Outcome(ctx context.Context, n docket.Number) (figures.Outcome, error) {
	rows, _ := s.db.Query(ctx, `SELECT `+outcomeFields+` FROM outcome o WHERE o.docket_id = (SELECT id FROM docket WHERE number = $1)`, n.String())
	o, err := pgx.CollectExactlyOneRow(rows, scanOutcome)
	if err != nil {
		return o, fmt.Errorf("outcome of %s: %w", n, Translate(err))
	}
	return o, nil
}

// Stays reads a docket's stays in its stages, in order.
func (s *Store) Stays(ctx context.Context, n docket.Number) ([]figures.Stay, error) {
	rows, _ := s.db.Query(ctx, `SELECT 0::bigint, `+stayFields+` FROM stay s WHERE s.docket_id = (SELECT id FROM docket WHERE number = $1) ORDER BY s.seq`, n.String())
	list, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (figures.Stay, error) {
		var id int64
		return scanStay(row, &id)
	})
	if err != nil {
		return nil, fmt.Errorf("stays of %s: %w", n, Translate(err))
	}
	return list, nil
}
