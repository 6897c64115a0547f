package store

import (
	"context"
	"fmt"
	"time"

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
	queueConditionWhere(batch, `number = $1`, n.String(), c)
}

// queueConditionOf is queueCondition for a docket whose id is known.
func queueConditionOf(batch *pgx.Batch, id int64, c *watch.Condition) {
	queueConditionWhere(batch, `id = $1`, id, c)
}

func queueConditionWhere(batch *pgx.Batch, which string, key any, c *watch.Condition) {
	batch.Queue(`SELECT m.id, m.part, m.kind, m.x, m.y, m.note FROM condition_mark m
		WHERE m.docket_id = (SELECT id FROM docket WHERE `+which+`) ORDER BY m.id`, key).Query(func(rows pgx.Rows) (err error) {
		c.Marks, err = pgx.CollectRows(rows, scanMark)
		return err
	})
	batch.Queue(`SELECT unnest(condition_clear) FROM docket WHERE `+which, key).Query(func(rows pgx.Rows) error {
		clear, err := pgx.CollectRows(rows, pgx.RowTo[string])
		for _, part := range clear {
			c.NoMarksSeen = append(c.NoMarksSeen, watch.Part(part))
		}
		return err
	})
}

// ConditionClash reports parts that somebody else left otherwise since the writer's version; nothing was saved. It is
// a domain.ErrChanged.
type ConditionClash struct {
	watch.ConditionMerge
	Theirs  watch.Condition // as it stands
	Version int64           // of the docket with Theirs
	Changed map[watch.Part]Author
}

// Author is who changed something, and when.
type Author struct {
	Name string
	At   time.Time
}

func (e *ConditionClash) Error() string { return fmt.Sprintf("parts noted by two: %v", e.Clashes) }

// Unwrap makes it a domain.ErrChanged.
func (e *ConditionClash) Unwrap() error { return domain.ErrChanged }

// ConditionTyped is the condition as somebody leaves it, with answers for the parts that clashed before.
type ConditionTyped struct {
	watch.Condition
	Answers map[watch.Part]watch.Answer
}

// NoteCondition puts together the condition noted at intake, part by part, with what others noted since the version
// that the writer saw, and returns the parts taken over from them. Where nothing comes of it, it leaves no trace. The
// error is a *ConditionClash, a *domain.InvalidError when a rule is broken or the time for it is over, or as of the
// other changes of a docket.
func (s *Store) NoteCondition(ctx context.Context, c Change, typed ConditionTyped) (taken []watch.Part, err error) {
	seen := c.Version
	c.Version = 0 // the parts decide, not the docket's version
	err = s.change(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		if !d.ConditionOpen() {
			return nil, domain.Invalid(map[string]string{"condition": docket.ConditionDone})
		}
		history, err := conditionsSince(ctx, tx, d.ID, seen)
		if err != nil {
			return nil, err
		}
		mine, problems := settle(typed, history.base())
		if err := domain.Invalid(problems); err != nil {
			return nil, err
		}
		m := watch.MergeConditions(history.base(), history.now(), mine)
		if len(m.Clashes) > 0 {
			return nil, &ConditionClash{ConditionMerge: m, Theirs: history.now(), Version: d.Version,
				Changed: history.authors(m.Clashes)}
		}
		taken = m.Taken
		if m.Merged.Same(history.now()) {
			return nil, nil
		}
		if err := domain.Invalid(m.Merged.Problems()); err != nil {
			return nil, err
		}
		return []event{conditionEvent(m.Merged)}, replaceCondition(ctx, tx, d, m.Merged)
	})
	return taken, err
}

// settle gives each part that was asked about its answer, and says what stops the rest being saved.
func settle(typed ConditionTyped, theirs watch.Condition) (watch.Condition, map[string]string) {
	mine, open := typed.Answered(theirs, typed.Answers)
	problems := mine.Problems()
	for _, p := range open {
		problems["no_marks."+string(p)] = "Say which is right."
	}
	return mine, problems
}

// replaceCondition writes the sheet anew and keeps how it stood.
func replaceCondition(ctx context.Context, tx pgx.Tx, d docket.Docket, c watch.Condition) error {
	_, err := tx.Exec(ctx, `INSERT INTO condition_earlier (docket_id, until_seq, clear, marks)
		SELECT d.id, $2, d.condition_clear, coalesce((SELECT jsonb_agg(jsonb_build_object('part', m.part, 'kind', m.kind,
			'x', m.x, 'y', m.y, 'note', m.note) ORDER BY m.id) FROM condition_mark m WHERE m.docket_id = d.id), '[]')
		FROM docket d WHERE d.id = $1`, d.ID, d.Version+1)
	if err != nil {
		return err
	}
	_, err = tx.Exec(ctx, `WITH gone AS (DELETE FROM condition_mark WHERE docket_id = $1)
		UPDATE docket SET condition_clear = $2 WHERE id = $1`, d.ID, partWords(c.NoMarksSeen))
	if err != nil {
		return err
	}
	return insertMarks(ctx, tx, d.ID, c.Marks)
}

func conditionEvent(c watch.Condition) event {
	return event{kind: docket.ConditionNoted, summary: docket.ConditionSummary(c), facts: docket.ConditionFacts(c)}
}
