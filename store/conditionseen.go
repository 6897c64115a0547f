package store

import (
	"context"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/watch"
)

// conditionHistory is how the condition sheet of a docket stood from some version on, oldest first, and who made each
// state but the first.
type conditionHistory struct {
	states []watch.Condition
	made   []Author // of states[i+1]
}

func (h conditionHistory) base() watch.Condition { return h.states[0] }
func (h conditionHistory) now() watch.Condition  { return h.states[len(h.states)-1] }

// authors names who last changed each part.
func (h conditionHistory) authors(parts []watch.Part) map[watch.Part]Author {
	by := map[watch.Part]Author{}
	for _, p := range parts {
		if i := watch.LastChange(h.states, p); i > 0 {
			by[p] = h.made[i-1]
		}
	}
	return by
}

// earlierCondition is a state that the sheet no longer has, and who changed it.
type earlierCondition struct {
	condition watch.Condition
	changed   Author
}

// keptMark is a mark as condition_earlier keeps it.
type keptMark struct {
	Part watch.Part
	Kind watch.MarkKind
	X, Y *float64
	Note string
}

func scanEarlierCondition(row pgx.CollectableRow) (earlierCondition, error) {
	var e earlierCondition
	var clear []string
	var marks []keptMark
	var by docket.Author
	var at time.Time
	if err := row.Scan(&clear, &marks, &by.Kind, &by.Name, &at); err != nil {
		return e, err
	}
	for _, p := range clear {
		e.condition.NoMarksSeen = append(e.condition.NoMarksSeen, watch.Part(p))
	}
	for _, k := range marks {
		m := watch.ConditionMark{Part: k.Part, Kind: k.Kind, Note: k.Note}
		if k.X != nil && k.Y != nil {
			m.X, m.Y, m.Placed = *k.X, *k.Y, true
		}
		e.condition.Marks = append(e.condition.Marks, m)
	}
	e.changed = Author{Name: by.String(), At: at.UTC()}
	return e, nil
}

// conditionsSince reads how the sheet stood at a version and after each change since; version 0 is as it stands.
func conditionsSince(ctx context.Context, tx pgx.Tx, id, version int64) (conditionHistory, error) {
	var h conditionHistory
	var now watch.Condition
	var batch pgx.Batch
	batch.Queue(`SELECT e.clear, e.marks, j.by_kind, j.by_name, j.at FROM condition_earlier e
		JOIN journal j ON j.docket_id = e.docket_id AND j.seq = e.until_seq
		WHERE e.docket_id = $1 AND $2 > 0 AND e.until_seq > $2 ORDER BY e.until_seq`, id, version).
		Query(func(rows pgx.Rows) error {
			earlier, err := pgx.CollectRows(rows, scanEarlierCondition)
			for _, e := range earlier {
				h.states, h.made = append(h.states, e.condition), append(h.made, e.changed)
			}
			return err
		})
	queueConditionOf(&batch, id, &now)
	err := tx.SendBatch(ctx, &batch).Close()
	h.states = append(h.states, now)
	return h, err
}
