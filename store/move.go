package store

import (
	"context"
	"errors"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/staff"
)

// Move takes a docket to another stage, or hands the watch of a declined or withdrawn one back. The role is
// that of c.By, whatever a says. benchID is who has the work in hand afterwards, 0 for nobody; a watch that
// leaves is in nobody's hands.
//
// The error is a [*docket.Refusal] where the move's needs are not met, a [*docket.NoMoveError] where the
// table has no such move, a [*domain.InvalidError] for somebody who does no bench work (field "bench"), or
// wraps domain.ErrNotFound, domain.ErrChanged or domain.ErrClosed.
func (s *Store) Move(ctx context.Context, c Change, to docket.Stage, a docket.Act, benchID int64) error {
	a.Role = c.By.Role
	return s.change(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		m, err := docket.FindMove(d.Stage, to)
		if err != nil {
			return nil, err
		}
		f, err := factsOf(ctx, tx, d)
		if err != nil {
			return nil, err
		}
		if err := m.Check(f, a); err != nil {
			return nil, err
		}
		if m.Closes {
			benchID = 0
		}
		bench, err := benchName(ctx, tx, benchID)
		if err != nil {
			return nil, err
		}
		after := d.Apply(m, f, a, c.At)
		events, err := saveMove(ctx, tx, c, d, after, benchID)
		if err != nil {
			return nil, err
		}
		events = append(events, moveEvents(m, f, a, bench)...)
		if after.Stage != docket.StageReady || c.Tell.Way == "" {
			return events, nil
		}
		w, err := readyWord(ctx, tx, after, c.At)
		if err != nil {
			return nil, err
		}
		told, err := s.tell(ctx, tx, after, c, w)
		return append(events, told...), err
	})
}

// saveMove writes what a move changes of the docket's row. As the watch leaves, the bill is issued where none was, and what the
// docket still held back in the drawers is free again. It returns what of that the journal is told.
func saveMove(ctx context.Context, tx pgx.Tx, c Change, before, after docket.Docket, benchID int64) (events []event, err error) {
	leaves, at := after.Closed() && !before.Closed(), c.At
	if leaves {
		if events, err = billLeaving(ctx, tx, c, before); err != nil {
			return nil, err
		}
	}
	_, err = tx.Exec(ctx, `UPDATE docket SET stage = $2, place = $3, place_detail = $4, moved_at = $5,
		placed_at = CASE WHEN $6 THEN $5 ELSE placed_at END,
		work_since = $7, test_since = $8,
		owner_reason = $9, open = $10, handed_back_at = $11, bench_staff_id = $12,
		left_under = CASE WHEN $10 THEN left_under ELSE `+newestShop+` END,
		billed_under = CASE WHEN $10 AND $2 <> '`+string(docket.StageReady)+`' THEN billed_under
			ELSE coalesce(billed_under, `+newestShop+`) END WHERE id = $1`,
		before.ID, string(after.Stage), string(after.Place.Kind), after.Place.Detail, docket.Moment(at),
		before.Place != after.Place, nullTime(after.WorkSince), nullTime(after.TestSince),
		after.OwnerReason, !after.Closed(), nullTime(after.HandedBackAt), nullID(benchID))
	if err == nil && leaves {
		err = letGo(ctx, tx, before, at)
	}
	return events, err
}

// worked notes that the watch was worked on, which opens its final run and test again.
func worked(ctx context.Context, tx pgx.Tx, d docket.Docket, at time.Time) error {
	after := d.Worked(at)
	if after == d {
		return nil
	}
	_, err := tx.Exec(ctx, `UPDATE docket SET work_since = $2, test_since = $3, owner_reason = $4 WHERE id = $1`, d.ID,
		nullTime(after.WorkSince), nullTime(after.TestSince), after.OwnerReason)
	return err
}

// movedFacts is what the journal keeps of a move.
type movedFacts struct {
	From  docket.Stage `json:"from"`
	To    docket.Stage `json:"to"`
	Place string       `json:"place"`
	Bench string       `json:"in_hand,omitempty"`
	// Without names the needs that were not met and for which the reason stands.
	Without []string `json:"without,omitempty"`
}

// moveEvents are the entries that a move makes: an owner's reason where the move leans on one, the move
// itself, and the watch's leaving.
func moveEvents(m docket.Move, f docket.Facts, a docket.Act, bench string) []event {
	var events []event
	facts := movedFacts{From: m.From, To: m.To, Place: a.Place.String(), Bench: bench}
	owner := false
	for _, n := range m.Unmet(f) {
		facts.Without = append(facts.Without, n.Words)
		owner = owner || n.Waiver == docket.ByOwnerReason
	}
	if owner {
		events = append(events, event{kind: docket.OwnerAllowed, why: a.Reason, facts: facts,
			summary: docket.OwnerAllowedSummary})
	}
	switch {
	case m.To == docket.StageHandedOver:
		events = append(events, moved(m, a, facts), leaving(docket.HandedOver, m, f, a))
	case m.Closes:
		events = append(events, leaving(docket.HandedBack, m, f, a))
	default:
		events = append(events, moved(m, a, facts))
	}
	return events
}

func moved(m docket.Move, a docket.Act, facts movedFacts) event {
	return event{kind: docket.Moved, summary: m.Summary(a.Place), why: a.Reason, facts: facts}
}

func leaving(kind docket.Kind, m docket.Move, f docket.Facts, a docket.Act) event {
	return event{kind: kind, summary: m.LeftSummary(f.CollectedBy), why: a.Reason, facts: struct {
		CollectedBy string `json:"collected_by"`
		DueMinor    int64  `json:"still_due_minor"`
	}{f.CollectedBy, f.DueMinor}}
}

// MoveWatch records that the watch is somewhere else without a change of stage. The error is a
// [*domain.InvalidError] (fields "place" and "place_detail"), or wraps domain.ErrNotFound, domain.ErrChanged
// or domain.ErrClosed. Putting a watch where it is changes nothing.
func (s *Store) MoveWatch(ctx context.Context, c Change, p docket.Place) error {
	return s.change(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		if err := domain.Invalid(d.RelocateProblems(p)); err != nil {
			return nil, err
		}
		if p == d.Place {
			return nil, nil
		}
		_, err := tx.Exec(ctx, `UPDATE docket SET place = $2, place_detail = $3, placed_at = $4 WHERE id = $1`,
			d.ID, string(p.Kind), p.Detail, docket.Moment(c.At))
		return []event{{kind: docket.PlaceChanged, summary: docket.PlacedSummary(d.Place, p),
			facts: struct {
				From string `json:"from"`
				To   string `json:"to"`
			}{d.Place.String(), p.String()}}}, err
	})
}

// Assign says who has the work in hand, 0 for nobody. The error is a [*domain.InvalidError] (field "bench") for
// somebody who does no bench work, or wraps domain.ErrNotFound, domain.ErrChanged or domain.ErrClosed.
func (s *Store) Assign(ctx context.Context, c Change, benchID int64) error {
	return s.change(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		bench, err := benchName(ctx, tx, benchID)
		if err != nil {
			return nil, err
		}
		var before int64
		err = tx.QueryRow(ctx, `UPDATE docket d SET bench_staff_id = $2 FROM docket o WHERE d.id = $1 AND o.id = d.id
			RETURNING coalesce(o.bench_staff_id, 0)`, d.ID, nullID(benchID)).Scan(&before)
		if err != nil || before == benchID {
			return nil, err
		}
		return []event{{kind: docket.PlaceChanged, summary: docket.InHandSummary(bench), facts: struct {
			Bench string `json:"in_hand"`
		}{bench}}}, nil
	})
}

// benchName is the name of somebody who can do bench work, or "" for id 0.
func benchName(ctx context.Context, tx pgx.Tx, id int64) (string, error) {
	if id == 0 {
		return "", nil
	}
	var m staff.Member
	err := tx.QueryRow(ctx, `SELECT `+memberFields+` FROM staff m WHERE m.id = $1`, id).Scan(memberTargets(&m)...)
	if errors.Is(err, pgx.ErrNoRows) || err == nil && !m.Can(staff.DoService) {
		return "", domain.Invalid(map[string]string{"bench": docket.NoBench})
	}
	return m.Name, err
}
