package store

import (
	"context"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/watch"
)

func partWords(parts []watch.Part) []string {
	words := make([]string, len(parts))
	for i, p := range parts {
		words[i] = string(p)
	}
	return words
}

func insertMarks(ctx context.Context, tx pgx.Tx, docketID int64, marks []watch.ConditionMark) error {
	if len(marks) == 0 {
		return nil
	}
	var batch pgx.Batch
	for _, m := range marks {
		var x, y *float64
		if m.Placed {
			x, y = &m.X, &m.Y
		}
		batch.Queue(`INSERT INTO condition_mark (docket_id, part, kind, x, y, note) VALUES ($1, $2, $3, $4, $5, $6)`,
			docketID, string(m.Part), string(m.Kind), x, y, m.Note)
	}
	return tx.SendBatch(ctx, &batch).Close()
}

func scanMark(row pgx.CollectableRow) (watch.ConditionMark, error) {
	var m watch.ConditionMark
	var x, y *float64
	err := row.Scan(&m.ID, &m.Part, &m.Kind, &x, &y, &m.Note)
	if x != nil && y != nil {
		m.X, m.Y, m.Placed = *x, *y, true
	}
	return m, err
}

// queueCondition adds the condition of a docket to a page's batch.
func queueCondition(batch *pgx.Batch, n docket.Number, c *watch.Condition) {
	batch.Queue(`SELECT m.id, m.part, m.kind, m.x, m.y, m.note FROM condition_mark m
		WHERE m.docket_id = (SELECT id FROM docket WHERE number = $1) ORDER BY m.id`, n.String()).Query(func(rows pgx.Rows) (err error) {
		c.Marks, err = pgx.CollectRows(rows, scanMark)
		return err
	})
	batch.Queue(`SELECT unnest(condition_clear) FROM docket WHERE number = $1`,
		n.String()).Query(func(rows pgx.Rows) error {
		clear, err := pgx.CollectRows(rows, pgx.RowTo[string])
		for _, part := range clear {
			c.NoMarksSeen = append(c.NoMarksSeen, watch.Part(part))
		}
		return err
	})
}

// NoteCondition replaces the condition noted at intake. The error is a *domain.InvalidError when a rule is broken or
// the time for it is over, or as of the other changes of a docket.
func (s *Store) NoteCondition(ctx context.Context, c Change, condition watch.Condition) error {
	if err := domain.Invalid(condition.Problems()); err != nil {
		return err
	}
	return s.change(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		if !d.ConditionOpen() {
			return nil, domain.Invalid(map[string]string{"condition": docket.ConditionDone})
		}
		_, err := tx.Exec(ctx, `WITH gone AS (DELETE FROM condition_mark WHERE docket_id = $1)
			UPDATE docket SET condition_clear = $2 WHERE id = $1`, d.ID, partWords(condition.NoMarksSeen))
		if err != nil {
			return nil, err
		}
		if err := insertMarks(ctx, tx, d.ID, condition.Marks); err != nil {
			return nil, err
		}
		return []event{conditionEvent(condition)}, nil
	})
}

func conditionEvent(c watch.Condition) event {
	return event{kind: docket.ConditionNoted, summary: docket.ConditionSummary(c), facts: docket.ConditionFacts(c)}
}
