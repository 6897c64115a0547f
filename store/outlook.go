package store

import (
	"context"
	"fmt"
	"strings"
	"sync"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/promise"
	"ledgerwheel/domain/shop"
)

// historyRead is how many of the newest dockets promised days are drawn from, and openHistoryRead how many older ones that are
// open still: enough for a shop of any size, since what came lately weighs most, and a bound all the same.
const (
	historyRead     = 450
	openHistoryRead = 300
)

// historySQL reads dockets with how long each stood where, the newest and what is open of older ones, on the primary key and on
// the index of open dockets.
const historySQL = `SELECT d.id, d.received_at, d.wanted, d.comeback_of IS NOT NULL, coalesce(d.bench_staff_id, 0),
		(SELECT max(o.due_on) FROM order_line_now o JOIN part_line p ON p.id = o.part_line_id WHERE p.docket_id = d.id AND o.to_come > 0 AND d.open),
		s.stages, s.sinces, s.untils
	FROM (SELECT id FROM (SELECT id FROM docket ORDER BY id DESC LIMIT $1) n
		UNION SELECT id FROM (SELECT id FROM docket WHERE open ORDER BY promised_on, id LIMIT $2) o) i
	JOIN docket d USING (id)
	CROSS JOIN LATERAL (SELECT array_agg(stage ORDER BY seq) AS stages, array_agg(since ORDER BY seq) AS sinces, array_agg(until ORDER BY seq) AS untils
		FROM stay WHERE docket_id = d.id) s
	WHERE s.stages IS NOT NULL ORDER BY d.id`

func queueHistory(batch *pgx.Batch, list *[]promise.Watch) {
	batch.Queue(historySQL, historyRead, openHistoryRead).Query(func(rows pgx.Rows) (err error) {
		*list, err = pgx.CollectRows(rows, scanHistory)
		return err
	})
}

func scanHistory(row pgx.CollectableRow) (promise.Watch, error) {
	var w promise.Watch
	var due *time.Time
	var stages []string
	var sinces []time.Time
	var untils []*time.Time
	if err := row.Scan(&w.ID, &w.Received, &w.Kind, &w.Comeback, &w.Bench, &due, &stages, &sinces, &untils); err != nil {
		return w, err
	}
	w.PartsDue = timeOr(due)
	w.Stays = make([]promise.Stay, len(stages))
	for i := range stages {
		w.Stays[i] = promise.Stay{Stage: docket.Stage(stages[i]), Since: sinces[i].UTC(), Until: timeOr(untils[i])}
	}
	return w, nil
}

// Promises is what promised days are worked out from, at a moment.
type Promises struct {
	Shop *promise.Shop
	// Tries is what would have been proposed through the past of those dockets, and Stretch what is corrected by it.
	Tries   []promise.Try
	Stretch float64
	Now     time.Time
}

// Propose is by when a watch that is taken in now will be ready.
func (p Promises) Propose(wanted docket.Wanted, comeback bool) promise.Forecast {
	return p.Shop.Propose(promise.Watch{ID: seedOf(p.Now), Kind: string(wanted), Comeback: comeback}, p.Now, p.Stretch)
}

// seedOf gives one draw a day, so that a page says the same when it is shown again.
func seedOf(now time.Time) int64 { return -now.Unix() / 86400 }

// Promises reads in one round trip what promised days are worked out from, in the shop sh at the moment now.
func (s *Store) Promises(ctx context.Context, sh shop.Shop, now time.Time) (Promises, error) {
	var list []promise.Watch
	var holidays []shop.Holiday
	var batch pgx.Batch
	queueHistory(&batch, &list)
	queueHolidays(&batch, &holidays)
	if err := s.db.SendBatch(ctx, &batch).Close(); err != nil {
		return Promises{}, fmt.Errorf("promised days: %w", Translate(err))
	}
	return s.promisesOf(list, holidays, sh, now), nil
}

func (s *Store) promisesOf(list []promise.Watch, holidays []shop.Holiday, sh shop.Shop, now time.Time) Promises {
	from := now
	for _, w := range list {
		if w.Received.Before(from) {
			from = w.Received
		}
	}
	p := Promises{Now: now}
	p.Shop = promise.NewShop(promise.NewCalendar(sh.Hours, holidays, sh.Location(), from, now), promise.UsualStart(), list, now)
	p.Tries, p.Stretch = s.tried.of(p.Shop, triedKey(holidays, sh, now))
	return p
}

// tried is what going through the past gave last. What is learned of it is learned at the end of a promised day, so that it
// holds for the day on which it was worked out; a page then waits for it once a day. It is worked out from the record and
// needs no place there.
type tried struct {
	mu      sync.Mutex
	key     string
	tries   []promise.Try
	stretch float64
}

// triedKey is of the day, the shop's hours and its holidays.
func triedKey(holidays []shop.Holiday, sh shop.Shop, now time.Time) string {
	var key strings.Builder
	fmt.Fprintf(&key, "%s %s %s", civilDay(now, sh.Location()).Format(time.DateOnly), sh.Location(), sh.Hours)
	for _, h := range holidays {
		fmt.Fprintf(&key, " %d", h.ID)
	}
	return key.String()
}

func (t *tried) of(s *promise.Shop, key string) ([]promise.Try, float64) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if t.key != key {
		t.tries, t.stretch = s.Backtest()
		t.key = key
	}
	return t.tries, t.stretch
}

// outlookLock is the advisory lock of whoever works outlooks out; any number that nothing else uses.
const outlookLock = 0x6f7573

// RefreshOutlooks works out again by when each watch in work will be ready, and how likely the promised days are kept, and
// returns how many of them changed. Every docket is worked out again, since one that moves also moves what stands before the
// others. Of several at once one does it and the others wait.
func (s *Store) RefreshOutlooks(ctx context.Context, now time.Time) (changed int64, err error) {
	err = pgx.BeginFunc(ctx, s.db, func(tx pgx.Tx) error {
		if _, err := tx.Exec(ctx, `SELECT pg_advisory_xact_lock($1)`, outlookLock); err != nil {
			return err
		}
		var list []promise.Watch
		var holidays []shop.Holiday
		var sh shop.Shop
		var founded bool
		promised := map[int64]time.Time{}
		var batch pgx.Batch
		queueHistory(&batch, &list)
		queueHolidays(&batch, &holidays)
		batch.Queue(`SELECT ` + shopFields + ` FROM shop s`).Query(func(rows pgx.Rows) error {
			founded = rows.Next()
			if founded {
				if err := rows.Scan(shopTargets(&sh)...); err != nil {
					return err
				}
			}
			rows.Close()
			return rows.Err()
		})
		batch.Queue(`SELECT id, promised_on FROM docket WHERE open ORDER BY promised_on, id LIMIT $1`, openHistoryRead).Query(func(rows pgx.Rows) error {
			var id int64
			var day *time.Time
			_, err := pgx.ForEachRow(rows, []any{&id, &day}, func() error {
				promised[id] = timeOr(day)
				return nil
			})
			return err
		})
		if err := tx.SendBatch(ctx, &batch).Close(); err != nil || !founded {
			return err
		}
		changed, err = writeOutlooks(ctx, tx, s.promisesOf(list, holidays, sh, now), promised)
		return err
	})
	if err != nil {
		return 0, fmt.Errorf("work out promised days: %w", Translate(err))
	}
	return changed, nil
}

// writeOutlooks keeps what is likely of each open docket that is in work, and leaves out the others.
func writeOutlooks(ctx context.Context, tx pgx.Tx, p Promises, promised map[int64]time.Time) (changed int64, err error) {
	ids := []int64{} // never null, which would keep them all
	var days, likely []*time.Time
	var chances []*int
	for id, day := range promised {
		f, ok := p.Shop.Outlook(id, p.Now, p.Stretch)
		if !ok {
			continue
		}
		var chance *int
		if !day.IsZero() {
			percent := promise.Percent(f.Chance(day))
			chance = &percent
		}
		on := f.Day(promise.Level)
		ids, days, chances, likely = append(ids, id), append(days, nullTime(day)), append(chances, chance), append(likely, &on)
	}
	gone, err := tx.Exec(ctx, `DELETE FROM promise_now WHERE docket_id <> ALL ($1)`, ids)
	if err != nil {
		return 0, err
	}
	kept, err := tx.Exec(ctx, `INSERT INTO promise_now AS p (docket_id, promised_on, chance_percent, likely_on)
		SELECT * FROM unnest($1::bigint[], $2::date[], $3::smallint[], $4::date[])
		ON CONFLICT (docket_id) DO UPDATE SET promised_on = EXCLUDED.promised_on, chance_percent = EXCLUDED.chance_percent, likely_on = EXCLUDED.likely_on
		WHERE (p.promised_on, p.chance_percent, p.likely_on) IS DISTINCT FROM (EXCLUDED.promised_on, EXCLUDED.chance_percent, EXCLUDED.likely_on)`,
		ids, days, chances, likely)
	return gone.RowsAffected() + kept.RowsAffected(), err
}
