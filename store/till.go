package store

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/loan"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/till"
)

// tillLock is the advisory lock of the till, one for each currency: whoever takes money holds it together with others,
// whoever counts and closes a day holds it alone. So a day is closed with all that falls to it, and nothing falls to it
// after. A docket is locked before the till, and the till before the
// counters of invoices and the shop's journal.
const tillLock = 18_003

// holdTill takes the lock to the end of the transaction, and reads the civil day of the moment at in the shop's zone and the last
// closed day, zero where none is, in one round trip.
func holdTill(ctx context.Context, tx pgx.Tx, currency string, alone bool, at time.Time) (today, closedTo time.Time, err error) {
	lock := `SELECT pg_advisory_xact_lock_shared($1, hashtext($2))`
	if alone {
		lock = `SELECT pg_advisory_xact_lock($1, hashtext($2))`
	}
	var zone string
	var last *time.Time
	var batch pgx.Batch
	batch.Queue(lock, tillLock, currency)
	batch.Queue(`SELECT coalesce((SELECT time_zone FROM shop), ''), (SELECT max(day) FROM till_close WHERE currency = $1)`, currency).
		QueryRow(func(row pgx.Row) error { return row.Scan(&zone, &last) })
	err = tx.SendBatch(ctx, &batch).Close()
	return civilDay(at, shop.LocationOf(zone)), timeOr(last), err
}

// tillDay is the day of the till that money falls to which passes at a moment; see till.OpenDay. Where that is later than its civil
// day, later says it in words. No day of that currency is closed until the transaction ends.
func tillDay(ctx context.Context, tx pgx.Tx, currency string, at time.Time) (day time.Time, later string, err error) {
	today, closedTo, err := holdTill(ctx, tx, currency, false, at)
	if day = till.OpenDay(today, closedTo); day.After(today) {
		later = day.Format(time.DateOnly)
	}
	return day, later, err
}

// queueHeldTill adds to a batch, after a docket is locked and before anything else is, the holding of the till of its currency
// together with others, and reads the last closed day.
func queueHeldTill(batch *pgx.Batch, n docket.Number, closedTo *time.Time) {
	batch.Queue(`SELECT pg_advisory_xact_lock_shared($1, hashtext(currency)) FROM docket WHERE number = $2`, tillLock, n.String())
	batch.Queue(`SELECT max(day) FROM till_close WHERE currency = (SELECT currency FROM docket WHERE number = $1)`, n.String()).QueryRow(func(row pgx.Row) error {
		var last *time.Time
		err := row.Scan(&last)
		*closedTo = timeOr(last)
		return err
	})
}

// tillFacts is what the shop's journal keeps of a day of the till.
type tillFacts struct {
	Day        string         `json:"till_day"`
	Currency   string         `json:"currency"`
	Move       string         `json:"move,omitempty"`
	Minor      int64          `json:"minor,omitempty"`
	Opened     *int64         `json:"opened_minor,omitempty"`
	Book       *int64         `json:"book_minor,omitempty"`
	Since      int64          `json:"since_minor,omitempty"`
	Counted    *int64         `json:"counted_minor,omitempty"`
	Difference *int64         `json:"difference_minor,omitempty"`
	Owed       *int64         `json:"owed_minor,omitempty"`
	Takings    []takingFacts  `json:"takings,omitempty"`
	Pieces     []till.Counted `json:"counted_pieces,omitempty"`
}

type takingFacts struct {
	Way   string `json:"method"`
	Minor int64  `json:"minor"`
}

// MoveTill writes cash that came into the till or left it, on the day that is open, which it returns. A move that takes another back
// has the other's id; the error is then domain.ErrNotFound where there is none, and domain.ErrChanged where it was taken back already.
// Else it is a *domain.InvalidError (see till.Move.Problems).
func (s *Store) MoveTill(ctx context.Context, currency string, m till.Move, by Actor, at time.Time) (on time.Time, err error) {
	n := note{kind: docket.TillMoved, by: by, at: at}
	err = s.changeShop(ctx, &n, func(tx pgx.Tx) (err error) {
		on, err = moveTill(ctx, tx, currency, m, 0, &n)
		return err
	})
	if err != nil {
		return on, fmt.Errorf("move of the till: %w", Translate(err))
	}
	return on, nil
}

// moveTill writes a move, for a loan where that is named, and notes what the shop's journal is told of it.
func moveTill(ctx context.Context, tx pgx.Tx, currency string, m till.Move, loanID int64, n *note) (on time.Time, err error) {
	today, _, err := holdTill(ctx, tx, currency, true, n.at)
	if err != nil {
		return on, err
	}
	if m.TakesBack != 0 {
		if m, err = takenBack(ctx, tx, currency, m.TakesBack); err != nil {
			return on, err
		}
	}
	r, err := readTill(ctx, tx, currency)
	if err != nil {
		return on, err
	}
	d := r.atHand(today)
	if err := domain.Invalid(m.Problems(d.HoldsMinor())); err != nil {
		return on, err
	}
	on = till.OpenDay(today, r.last.On)
	_, err = tx.Exec(ctx, `INSERT INTO till_move (day, currency, kind, minor, note, takes_back, by_id, at, loan_id) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)`,
		on, currency, string(m.Kind), m.Minor, m.Note, nullID(m.TakesBack), n.by.StaffID, docket.Moment(n.at), nullID(loanID))
	n.summary, n.why = m.Summary(on, currency), m.Note
	n.facts = tillFacts{Day: on.Format(time.DateOnly), Currency: currency, Move: m.Words(), Minor: m.Minor}
	return on, err
}

// moveForLoan puts the deposit of a loan into the till or, below zero, takes it out, and tells the shop's journal.
func (s *Store) moveForLoan(ctx context.Context, tx pgx.Tx, l Loan, kind till.MoveKind, minor int64, c Change) (on time.Time, err error) {
	n, currency, loanID := note{kind: docket.TillMoved, by: c.By, at: c.At}, l.Watch.Currency, l.ID
	m := till.Move{Kind: kind, Minor: minor, Note: loan.TillNote(c.Number.String())}
	if on, err = moveTill(ctx, tx, currency, m, loanID, &n); err != nil {
		return on, err
	}
	return on, s.enterShop(ctx, tx, n)
}

// takenBack is the move that takes another back.
func takenBack(ctx context.Context, tx pgx.Tx, currency string, id int64) (m till.Move, err error) {
	var taken, lent bool
	if err := tx.QueryRow(ctx, `SELECT kind, minor, note, takes_back IS NOT NULL OR EXISTS (SELECT FROM till_move b WHERE b.takes_back = t.id), loan_id IS NOT NULL
		FROM till_move t WHERE id = $1 AND currency = $2`, id, currency).Scan(&m.Kind, &m.Minor, &m.Note, &taken, &lent); err != nil {
		return m, err
	}
	if lent {
		return m, invalid("amount", "It goes with a watch that is lent: take that back on its docket.")
	}
	if taken {
		return m, domain.ErrChanged
	}
	return m.Back(id), nil
}

// TillClosing is the counting of a day as it was seen by whoever counted.
type TillClosing struct {
	till.Closing
	Currency string
	On       time.Time // the day that was counted
	// SeenMinor is what stood before them as the cash that should lie in the till.
	SeenMinor int64
}

// CloseTill closes a day of the till as it was counted. Where the till holds other cash than was seen, because some passed
// since, nothing is kept and the error wraps domain.ErrChanged. Else it is till.ErrClosed or till.ErrEarly where that day is not the
// one at hand, or a *domain.InvalidError (see till.Day.Problems).
func (s *Store) CloseTill(ctx context.Context, c TillClosing, by Actor, at time.Time) error {
	n := note{kind: docket.TillClosed, by: by, at: at, why: c.Why}
	err := s.changeShop(ctx, &n, func(tx pgx.Tx) error {
		today, closedTo, err := holdTill(ctx, tx, c.Currency, true, at)
		if err != nil {
			return err
		}
		r, err := readTill(ctx, tx, c.Currency)
		if err != nil {
			return err
		}
		d := r.atHand(today)
		switch {
		case !closedTo.IsZero() && !c.On.After(closedTo):
			return till.ErrClosed
		case !d.On.Equal(c.On) || d.Early(today):
			return till.ErrEarly
		case d.HoldsMinor() != c.SeenMinor:
			return domain.ErrChanged
		}
		if err := domain.Invalid(d.Problems(c.Closing)); err != nil {
			return err
		}
		owed, err := writeClosing(ctx, tx, d, c, by, at)
		n.summary, n.facts = d.Summary(c.Closing, c.Currency), factsOfClosing(d, c, owed)
		return err
	})
	if err != nil {
		return fmt.Errorf("close the till of %s: %w", c.On.Format(time.DateOnly), Translate(err))
	}
	return nil
}

func factsOfClosing(d till.Day, c TillClosing, owedMinor int64) tillFacts {
	book, difference := d.BookMinor(), d.DifferenceMinor(c.Closing)
	f := tillFacts{Day: d.On.Format(time.DateOnly), Currency: c.Currency, Opened: &d.OpenedMinor, Book: &book, Since: d.SinceMinor,
		Counted: &c.CountedMinor, Difference: &difference, Pieces: c.Pieces, Owed: &owedMinor}
	for _, t := range d.ByWay() {
		f.Takings = append(f.Takings, takingFacts{docket.Method(t.Way).Words(), t.Minor})
	}
	return f
}

// writeClosing writes a closed day, and returns what customers owed at its end.
func writeClosing(ctx context.Context, tx pgx.Tx, d till.Day, c TillClosing, by Actor, at time.Time) (owedMinor int64, err error) {
	pieces, err := json.Marshal(append([]till.Counted{}, c.Pieces...))
	takings, takingsErr := json.Marshal(append([]till.Taking{}, d.ByWay()...))
	if err := errors.Join(err, takingsErr); err != nil {
		return 0, err
	}
	err = tx.QueryRow(ctx, `INSERT INTO till_close (currency, day, owed_minor, opened_minor, book_minor, since_minor, counted_minor, difference_minor, why, pieces, takings, by_id, at)
		VALUES ($1, $2::date - 1, (`+owedBeforeSQL+`), $3, $4, $5, $6, $7, $8, $9, $10, $11, $12) RETURNING owed_minor`, c.Currency, d.On.AddDate(0, 0, 1), d.OpenedMinor,
		d.BookMinor(), d.SinceMinor, c.CountedMinor, d.DifferenceMinor(c.Closing), c.Why, pieces, takings, by.StaffID, docket.Moment(at)).Scan(&owedMinor)
	return owedMinor, err
}
