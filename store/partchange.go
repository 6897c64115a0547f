package store

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/merge"
	"ledgerwheel/domain/stock"
)

// PartClash reports fields of a part that somebody else corrected otherwise since the writer's version; nothing was
// saved. It is a domain.ErrChanged.
type PartClash struct {
	stock.LineMerge
	Theirs  stock.PartLine // as it stands
	Version int64          // of the docket with Theirs
	Changed map[string]Author
}

func (e *PartClash) Error() string { return fmt.Sprintf("a part corrected by two: %v", e.Clashes) }

// Unwrap makes it a domain.ErrChanged.
func (e *PartClash) Unwrap() error { return domain.ErrChanged }

// partHistory is how a part stood from some version on, oldest first, and who made each state but the first.
type partHistory struct {
	states []stock.PartLine
	made   []Author // of states[i+1]
	since  time.Time
	docket docket.Docket
	tx     pgx.Tx
}

func (h partHistory) base() stock.PartLine { return h.states[0] }
func (h partHistory) now() stock.PartLine  { return h.states[len(h.states)-1] }

// authors names who last changed each field.
func (h partHistory) authors(fields []string) map[string]Author {
	by := map[string]Author{}
	for _, name := range fields {
		same := func(a, b stock.PartLine) bool { return a.FieldWords(name) == b.FieldWords(name) }
		if i := merge.LastChange(h.states, same); i > 0 {
			by[name] = h.made[i-1]
		}
	}
	return by
}

// partSince reads how a part of a locked docket stood at a version and after each change since; version 0 is as it
// stands.
func partSince(ctx context.Context, tx pgx.Tx, d docket.Docket, id, version int64) (partHistory, error) {
	h := partHistory{docket: d, tx: tx}
	rows, _ := tx.Query(ctx, `SELECT `+partFields+` FROM part_line p WHERE p.id = $1 AND p.docket_id = $2`, id, d.ID)
	now, err := pgx.CollectExactlyOneRow(rows, scanPart)
	if err != nil {
		return h, err
	}
	rows, _ = tx.Query(ctx, `SELECT p.part_id, p.description, p.reference, p.supplier, p.quantity, p.state, p.old_part,
		p.note, '', '', p.state_at, coalesce((SELECT part_id FROM part_line WHERE id = p.part_id), 0), j.by_kind, j.by_name, j.at FROM part_line_earlier p
		JOIN journal j ON j.docket_id = $1 AND j.seq = p.until_seq
		WHERE p.part_id = $2 AND $3 > 0 AND p.until_seq > $3 ORDER BY p.until_seq`, d.ID, id, version)
	_, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (struct{}, error) {
		var p PartRow
		var by docket.Author
		var at time.Time
		err := row.Scan(append(partTargets(&p), &by.Kind, &by.Name, &at)...)
		h.states, h.made = append(h.states, p.PartLine), append(h.made, Author{Name: by.String(), At: at.UTC()})
		return struct{}{}, err
	})
	h.states, h.since = append(h.states, now.PartLine), now.Since
	return h, err
}

// keepEarlierParts keeps how parts of a docket stand before they are changed, once a change: the one with the id, or those
// with the old part.
func keepEarlierParts(ctx context.Context, tx pgx.Tx, d docket.Docket, id int64, old stock.OldPart) error {
	_, err := tx.Exec(ctx, `INSERT INTO part_line_earlier (part_id, until_seq, description, reference, supplier, quantity,
			state, old_part, note, state_at)
		SELECT id, $2, description, reference, supplier, quantity, state, old_part, note, state_at FROM part_line
		WHERE docket_id = $1 AND (id = $3 OR $3 = 0 AND old_part = $4) ON CONFLICT DO NOTHING`, d.ID, d.Version+1, id, string(old))
	return err
}

// changePart runs do on a part of the docket, as it stood at the writer's version and as it stands, and keeps what it
// gives. A part that comes out as it was leaves no trace.
func (s *Store) changePart(ctx context.Context, c Change, id int64,
	do func(partHistory) (stock.PartLine, event, error)) error {
	seen := c.Version
	c.Version = 0 // the part decides, not the docket's version
	return s.changeAny(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		h, err := partSince(ctx, tx, d, id, seen)
		if err != nil {
			return nil, err
		}
		now, ev, err := do(h)
		if err == nil {
			err = domain.Invalid(now.Problems())
		}
		if err != nil || now == h.now() {
			return nil, err
		}
		since := h.since
		if now.State != h.now().State {
			since = docket.Moment(c.At)
		}
		if err := keepEarlierParts(ctx, tx, d, id, ""); err != nil {
			return nil, err
		}
		if err := moveLine(ctx, tx, d, id, c.By.StaffID, c.At, h.now(), now); err != nil {
			return nil, err
		}
		if h.now().State == stock.Ordered && now.State == stock.Arrived {
			if err := cameByHand(ctx, tx, id, c.By, c.At); err != nil {
				return nil, err
			}
		}
		_, err = tx.Exec(ctx, `UPDATE part_line SET description = $2, reference = $3, supplier = $4, quantity = $5, state = $6,
			old_part = $7, note = $8, state_at = $9, payer = $10, payer_why = $11 WHERE id = $1`, id, now.Description,
			now.Reference, now.Supplier, now.Quantity, string(now.State), string(now.OldPart), now.Note, since,
			string(now.Money.Payer), now.Money.Why)
		if err == nil && (now.State == stock.Fitted) != (h.now().State == stock.Fitted) { // put in, or taken out again
			err = worked(ctx, tx, d, c.At)
		}
		return []event{ev}, err
	})
}

// CorrectPart replaces what is said of a part, put together with what others said of it since; where it stands stays
// as it is. The error is a *PartClash, a *domain.InvalidError, or as of the other changes of a docket.
func (s *Store) CorrectPart(ctx context.Context, c Change, id int64, p stock.PartLine) error {
	return s.changePart(ctx, c, id, func(h partHistory) (stock.PartLine, event, error) {
		was := h.now()
		if h.docket.Closed() {
			return was, event{}, domain.ErrClosed
		}
		m := stock.MergeLines(h.base(), was, p)
		if len(m.Clashes) > 0 {
			return was, event{}, &PartClash{LineMerge: m, Theirs: was, Version: h.docket.Version,
				Changed: h.authors(m.Clashes)}
		}
		return m.Merged, event{kind: partKinds[was.State], summary: m.Merged.CorrectedSummary(),
			facts: map[string]partFacts{"was": factsOfPart(was), "now": factsOfPart(m.Merged)}}, nil
	})
}

// PartMove is where a part goes. Supplier and Reference replace what was known when they are not empty.
type PartMove struct {
	To                  stock.State
	Supplier, Reference string
	OldPart             *stock.OldPart // what becomes of the part it replaces; nil leaves that as it is
	Money               stock.Money    // who pays for a fitted part that no agreed estimate holds
}

// told puts together what m tells of a part with what others told of it since; changed reports what they told
// otherwise.
func (m PartMove) told(base, p stock.PartLine) (told stock.PartLine, changed bool) {
	mine := base
	if m.Supplier != "" {
		mine.Supplier = m.Supplier
	}
	if m.Reference != "" {
		mine.Reference = m.Reference
	}
	if m.OldPart != nil {
		mine.OldPart = *m.OldPart
	}
	merged := stock.MergeLines(base, p, mine)
	return merged.Merged, len(merged.Clashes) > 0
}

// MovePart has a part go to another state. One that somebody else took there meanwhile stands there once. Once the
// watch has left, what was on its way may still arrive or be cancelled. A part that no agreed estimate holds is fitted
// only with a word on who pays. The error is a *domain.InvalidError (stock.Money.Problems among its keys), wraps
// stock.ErrMove, wraps domain.ErrChanged when somebody else took the part elsewhere or told of it otherwise, or is as
// of the other changes of a docket.
func (s *Store) MovePart(ctx context.Context, c Change, id int64, m PartMove) error {
	return s.changePart(ctx, c, id, func(h partHistory) (stock.PartLine, event, error) {
		was := h.now()
		now, changed := m.told(h.base(), was)
		switch moved := was.State != h.base().State; {
		case changed, moved && was.State != m.To:
			return was, event{}, domain.ErrChanged
		case moved && h.docket.Closed():
			return was, event{}, nil
		case h.docket.Closed() && !stock.AfterLeaving(was.State, m.To):
			return was, event{}, domain.ErrClosed
		case !moved:
			var err error
			if now, err = now.Move(m.To); err != nil {
				return was, event{}, err
			}
			if now.Money, err = moneyOf(ctx, h.tx, h.docket, now, m.Money); err != nil {
				return was, event{}, err
			}
		}
		return now, event{kind: partKinds[m.To], summary: now.Summary(), facts: factsOfPart(now)}, nil
	})
}

// SetOldPart says what becomes of the part that a new one replaces. The error is a *domain.InvalidError, wraps
// domain.ErrChanged when somebody else said otherwise meanwhile, or is as of the other changes of a docket.
func (s *Store) SetOldPart(ctx context.Context, c Change, id int64, o stock.OldPart) error {
	return s.changePart(ctx, c, id, func(h partHistory) (stock.PartLine, event, error) {
		was := h.now()
		if h.docket.Closed() {
			return was, event{}, domain.ErrClosed
		}
		now := was
		var how merge.Outcome
		if now.OldPart, how = merge.Field(h.base().OldPart, was.OldPart, o); how == merge.Clash {
			return was, event{}, domain.ErrChanged
		}
		kind := docket.OldPartsDecided
		if o == stock.OldPartReturned {
			kind = docket.PartReturned
		}
		return now, event{kind: kind, summary: now.OldPartSummary(), facts: factsOfPart(now)}, nil
	})
}
