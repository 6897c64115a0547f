package store

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
)

// keepSent writes down of which sending a run is, with the run; nil for none. Of two of one sending the second waits for the
// first, and the error then wraps domain.ErrSentTwice.
func keepSent(ctx context.Context, tx pgx.Tx, sent *RunSent, runID int64) error {
	if sent == nil {
		return nil
	}
	tag, err := tx.Exec(ctx, `INSERT INTO run_sent (token_id, key, sum, run_id) VALUES ($1, $2, $3, $4) ON CONFLICT DO NOTHING`,
		sent.TokenID, sent.Key[:], sent.Sum[:], runID)
	if err == nil && tag.RowsAffected() == 0 {
		err = domain.ErrSentTwice
	}
	return err
}

// SentRun finds the run that was recorded of a sending, 0 for none; same reports whether the same was sent then.
func (s *Store) SentRun(ctx context.Context, sent RunSent) (runID int64, same bool, err error) {
	err = s.db.QueryRow(ctx, `SELECT run_id, sum = $3 FROM run_sent WHERE token_id = $1 AND key = $2`, sent.TokenID, sent.Key[:], sent.Sum[:]).
		Scan(&runID, &same)
	if err = ignoreNone(err); err != nil {
		return 0, false, fmt.Errorf("run of a sending: %w", Translate(err))
	}
	return runID, same, nil
}
