package store

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain/promise"
	"ledgerwheel/domain/shop"
)

// proposedRead is how many of the newest proposals the owner's page looks at.
const proposedRead = 1000

// PromisesKept is how promised days were kept.
type PromisesKept struct {
	Promises
	// Proposed is what came of the days that were proposed, and Made of those that were promised, newest first.
	Proposed []promise.Said
	Made     []promise.Made
}

// PromisesKept reads, in one round trip, what came of promised days in the shop sh, at the moment now. A day is decided once it
// is over.
func (s *Store) PromisesKept(ctx context.Context, sh shop.Shop, now time.Time) (PromisesKept, error) {
	var k PromisesKept
	var list []promise.Watch
	var holidays []shop.Holiday
	today := civilDay(now, sh.Location())
	var batch pgx.Batch
	queueHistory(&batch, &list)
	queueHolidays(&batch, &holidays)
	batch.Queue(`SELECT p.day, p.promised_percent, o.first_promised_on,
			(SELECT min(since) FROM stay WHERE docket_id = p.docket_id AND stage = 'ready'),
			(SELECT min(since) FROM stay WHERE docket_id = p.docket_id AND stage IN ('declined', 'withdrawn'))
		FROM promise_proposed p LEFT JOIN outcome o USING (docket_id) ORDER BY p.docket_id DESC LIMIT $1`, proposedRead).Query(func(rows pgx.Rows) error {
		var day time.Time
		var percent *int
		var promised, ready, gone *time.Time
		_, err := pgx.ForEachRow(rows, []any{&day, &percent, &promised, &ready, &gone}, func() error {
			said := func(day time.Time) promise.Said {
				on := func(t *time.Time) bool { return t != nil && !civilDay(*t, sh.Location()).After(day) }
				kept := on(ready)
				return promise.Said{Day: day, Kept: kept, Decided: day.Before(today) && (kept || !on(gone))}
			}
			k.Proposed = append(k.Proposed, said(day.UTC()))
			if percent != nil && promised != nil {
				k.Made = append(k.Made, promise.Made{Percent: *percent, Said: said(promised.UTC())})
			}
			return nil
		})
		return err
	})
	if err := s.db.SendBatch(ctx, &batch).Close(); err != nil {
		return PromisesKept{}, fmt.Errorf("promises kept: %w", Translate(err))
	}
	k.Promises = s.promisesOf(list, holidays, sh, now)
	return k, nil
}
