package store

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"
)

// OpenRead is how many open dockets Today looks at: more than any shop has in hand, and a bound all the same.
const OpenRead = 1000

// OpenDockets returns the dockets whose watch the shop keeps, those promised soonest first and those promised for
// no day last, at most OpenRead of them; more says that there are others. What is shown of them, and under which
// heading, is decided by the rules of the domain.
func (s *Store) OpenDockets(ctx context.Context) (list []DocketRow, more bool, err error) {
	rows, _ := s.db.Query(ctx, `SELECT `+rowColumns+` FROM docket d WHERE d.open ORDER BY d.promised_on, d.id LIMIT $1`, OpenRead+1)
	list, err = pgx.CollectRows(rows, scanDocketRow)
	if err != nil {
		return nil, false, fmt.Errorf("open dockets: %w", Translate(err))
	}
	more = len(list) > OpenRead
	return list[:min(len(list), OpenRead)], more, nil
}
