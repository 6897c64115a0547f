package store

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/visit"
)

// Visit is the watches that one customer brought at once.
type Visit struct {
	ID      visit.Number
	BeganAt time.Time
	BeganBy string
	Dockets []VisitDocket // as they were taken in; at least one
	// Shop is the settings as they stood when the first was taken in, by which the one ticket is printed.
	Shop shop.Shop
}

// VisitDocket is one watch of a visit, with what ticket and label say of it.
type VisitDocket struct {
	Head  Head
	Sheet IntakeSheet // without photographs and notes of the shop's list
}

// Customer is whose visit it is.
func (v Visit) Customer() Head { return v.Dockets[0].Head }

// DueMinor is what is still to be paid for all of them, in minor units. Dockets of one visit have one currency, unless the
// shop's was changed that very day: ok is false then.
func (v Visit) DueMinor() (sum int64, ok bool) {
	for _, d := range v.Dockets {
		if d.Head.Docket.Currency != v.Dockets[0].Head.Docket.Currency {
			return 0, false
		}
		sum += d.Head.Facts.DueMinor
	}
	return sum, true
}

// VisitOf reads the visit of a docket. The error wraps domain.ErrNotFound where there is no such docket or it has none.
func (s *Store) VisitOf(ctx context.Context, n docket.Number) (Visit, error) {
	return s.visit(ctx, `(SELECT visit_id FROM docket WHERE number = $1)`, n.String())
}

// Visit reads a visit; the error wraps domain.ErrNotFound.
func (s *Store) Visit(ctx context.Context, n visit.Number) (Visit, error) {
	return s.visit(ctx, `$1`, int64(n))
}

// VisitKnown reports whether there is such a visit.
func (s *Store) VisitKnown(ctx context.Context, n visit.Number) (known bool, err error) {
	err = s.db.QueryRow(ctx, `SELECT EXISTS (SELECT FROM docket WHERE visit_id = $1)`, int64(n)).Scan(&known)
	return known, Translate(err)
}

// visit reads the visit that a query gives, in two round trips.
func (s *Store) visit(ctx context.Context, which string, key any) (Visit, error) {
	var v Visit
	var heads []Head
	var batch pgx.Batch
	stood := stoodShops{}
	of := `WHERE d.visit_id = ` + which
	first := `SELECT taken_in_under FROM docket d ` + of + ` ORDER BY d.id LIMIT 1`
	queueShops(&batch, stood, first, key)
	batch.Queue(`SELECT coalesce((`+first+`), 0)`, key).Query(stood.give(&v.Shop))
	batch.Queue(`SELECT v.id, v.began_at, s.name FROM visit v JOIN staff s ON s.id = v.began_by WHERE v.id = `+which, key).
		Query(func(rows pgx.Rows) error {
			_, err := pgx.ForEachRow(rows, []any{&v.ID, &v.BeganAt, &v.BeganBy}, func() error { return nil })
			v.BeganAt = v.BeganAt.UTC()
			return err
		})
	batch.Queue(headsSQL+of+` ORDER BY d.id`, key).Query(func(rows pgx.Rows) (err error) {
		heads, err = pgx.CollectRows(rows, scanHead)
		return err
	})
	err := s.db.SendBatch(ctx, &batch).Close()
	if err == nil && (v.ID == 0 || len(heads) == 0) {
		err = domain.ErrNotFound
	}
	if err == nil {
		err = s.fillVisit(ctx, &v, heads)
	}
	if err != nil {
		return Visit{}, fmt.Errorf("visit: %w", Translate(err))
	}
	return v, nil
}

// fillVisit reads what ticket and labels say of each watch.
func (s *Store) fillVisit(ctx context.Context, v *Visit, heads []Head) error {
	v.Dockets = make([]VisitDocket, len(heads))
	var batch pgx.Batch
	for i, h := range heads {
		d := &v.Dockets[i]
		d.Head, d.Sheet.Head, d.Sheet.Shop = h, h, v.Shop
		queueConditionOf(&batch, h.Docket.ID, &d.Sheet.Condition)
		queueHazardSlugs(&batch, h.Docket.Number, &d.Sheet.Hazards)
	}
	return s.db.SendBatch(ctx, &batch).Close()
}

// joinVisit has the watch be one of the visit of docket With.
func (t *taking) joinVisit(ctx context.Context, tx pgx.Tx) error {
	if t.With == (docket.Number{}) {
		return nil
	}
	j := visit.Joining{Customer: t.CustomerID, Today: t.ReceivedOn()}
	err := tx.QueryRow(ctx, `SELECT coalesce(visit_id, 0), customer_id, received_on FROM docket WHERE number = $1`,
		t.With.String()).Scan(&j.Visit, &j.OfCustomer, &j.BeganOn)
	if errors.Is(err, pgx.ErrNoRows) {
		return domain.Invalid(map[string]string{"with": "There is no docket " + t.With.String() + "."})
	}
	if err != nil {
		return err
	}
	j.BeganOn = j.BeganOn.UTC()
	t.visitID = j.Visit
	return domain.Invalid(j.Problems())
}

// ofVisit takes the ticket of several watches, by its number or its code, for that of each of them.
func ofVisit(ctx context.Context, db querier, number docket.Number, l docket.Leaving) (docket.Leaving, error) {
	n, err := visit.Parse(l.Ticket)
	if err != nil {
		return l, nil // no visit's: read as any other
	}
	var same bool
	if err := db.QueryRow(ctx, `SELECT coalesce(visit_id = $2, false) FROM docket WHERE number = $1`, number.String(), int64(n)).Scan(&same); err != nil {
		return l, err
	}
	if !same {
		return l, domain.Invalid(map[string]string{"ticket": "This is the ticket of other watches, visit " + n.String() +
			". Keep the watch until that is cleared up."})
	}
	l.Ticket = number.String()
	return l, nil
}
