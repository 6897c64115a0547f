package store

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"
)

// openRead is how many open dockets Today looks at: more than any shop has in hand, and a bound all the same.
const openRead = 1000

// OpenDockets returns the dockets whose watch the shop keeps, those promised soonest first and those promised for
// no day last, at most openRead of them, with the trials that run on them; more says that there are others. What is
// shown of them, and under which heading, is decided by the rules of the domain.
func (s *Store) OpenDockets(ctx context.Context) (list []DocketRow, more bool, err error) {
	var trials map[int64]*RunningTrial
	var batch pgx.Batch
	batch.Queue(`SELECT `+rowColumns+` FROM docket d WHERE d.open ORDER BY d.promised_on, d.id LIMIT $1`, openRead+1).
		Query(func(rows pgx.Rows) (err error) {
			list, err = pgx.CollectRows(rows, scanDocketRow)
			return err
		})
	queueRunningTrials(&batch, &trials)
	if err := s.db.SendBatch(ctx, &batch).Close(); err != nil {
		return nil, false, fmt.Errorf("open dockets: %w", Translate(err))
	}
	for i := range list {
		list[i].Trial = trials[list[i].Docket.ID]
	}
	more = len(list) > openRead
	return list[:min(len(list), openRead)], more, nil
}
