package store

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/till"
)

// TillMoveRow is cash that moved without a payment, with who wrote it down.
type TillMoveRow struct {
	till.Move
	ID    int64
	On    time.Time // the day it falls to
	Taken bool      // taken back by another
	Lent  bool      // a deposit for a watch that is lent
	By    string
	At    time.Time
}

// TillCloseRow is a closed day.
type TillCloseRow struct {
	Day         till.Day // without its moves
	Closing     till.Closing
	Currency    string
	DiffMinor   int64
	By          string
	At          time.Time
	PaymentRows []TillPayment
	MoveRows    []TillMoveRow
}

// TillPayment is a payment as a day's sheet lists it.
type TillPayment struct {
	Docket string
	Way    till.Way
	Minor  int64
	By     string
	At     time.Time
}

// tillRead is what is known of the till of a currency since its last closed day.
type tillRead struct {
	last till.Last
	days map[time.Time]*till.Day
}

func (r *tillRead) day(on time.Time) *till.Day {
	if r.days[on] == nil {
		r.days[on] = &till.Day{On: on}
	}
	return r.days[on]
}

// atHand is the day that is to be counted next.
func (r *tillRead) atHand(today time.Time) till.Day {
	var days []till.Day
	for _, d := range r.days {
		days = append(days, *d)
	}
	return till.AtHand(r.last, days, today)
}

const closedTo = `coalesce((SELECT max(day) FROM till_close WHERE currency = $1), '-infinity'::date)`

// queueTill adds to a batch what happened since the last closed day, with the moves as rows where rows is not nil.
func queueTill(batch *pgx.Batch, currency string, r *tillRead, moves *[]TillMoveRow) {
	r.days = map[time.Time]*till.Day{}
	batch.Queue(`SELECT day, counted_minor - since_minor FROM till_close WHERE currency = $1 ORDER BY day DESC LIMIT 1`, currency).Query(func(rows pgx.Rows) error {
		_, err := pgx.ForEachRow(rows, []any{&r.last.On, &r.last.EndMinor}, func() error { return nil })
		return err
	})
	batch.Queue(`SELECT day, method, sum(minor)::bigint FROM payment WHERE currency = $1 AND day > `+closedTo+` GROUP BY day, method`, currency).Query(func(rows pgx.Rows) error {
		var on time.Time
		var t till.Taking
		_, err := pgx.ForEachRow(rows, []any{&on, &t.Way, &t.Minor}, func() error {
			d := r.day(on)
			d.Takings = append(d.Takings, t)
			return nil
		})
		return err
	})
	batch.Queue(`SELECT `+tillMoveFields+` WHERE t.currency = $1 AND t.day > `+closedTo+` ORDER BY t.day, t.id`, currency).Query(func(rows pgx.Rows) error {
		list, err := pgx.CollectRows(rows, scanTillMove)
		for _, m := range list {
			d := r.day(m.On)
			d.Moves = append(d.Moves, m.Move)
		}
		if moves != nil {
			*moves = list
		}
		return err
	})
}

// A subquery of its own for each row, as the planner would read all moves for an EXISTS.
const tillMoveFields = `t.id, t.day, t.kind, t.minor, t.note, coalesce(t.takes_back, 0), (SELECT true FROM till_move b WHERE b.takes_back = t.id) IS NOT NULL, t.loan_id IS NOT NULL, m.name, t.at
	FROM till_move t JOIN staff m ON m.id = t.by_id`

func scanTillMove(row pgx.CollectableRow) (TillMoveRow, error) {
	var m TillMoveRow
	err := row.Scan(&m.ID, &m.On, &m.Kind, &m.Minor, &m.Note, &m.TakesBack, &m.Taken, &m.Lent, &m.By, &m.At)
	m.At = m.At.UTC()
	return m, err
}

// readTill reads what happened since the last closed day, in one round trip.
func readTill(ctx context.Context, tx pgx.Tx, currency string) (r tillRead, err error) {
	var batch pgx.Batch
	queueTill(&batch, currency, &r, nil)
	return r, tx.SendBatch(ctx, &batch).Close()
}

// Till is what the till's page shows.
type Till struct {
	Currency string
	Day      till.Day // that is to be counted next
	// ClosedTo is the last closed day, zero where none is.
	ClosedTo time.Time
	Moves    []TillMoveRow // of the days since, in order
	Closed   []TillCloseRow
	// Others are the other currencies that the shop took at some time.
	Others []string
}

// tillShown is how many closed days a page lists at once.
const tillShown = 31

// Till reads the till of a currency on the civil day today, with the closed days before the civil day before, all where
// that is zero, in one round trip.
func (s *Store) Till(ctx context.Context, currency string, today, before time.Time) (Till, error) {
	v := Till{Currency: currency}
	var r tillRead
	var batch pgx.Batch
	queueTill(&batch, currency, &r, &v.Moves)
	queueTillClosed(&batch, currency, before, &v.Closed)
	batch.Queue(`SELECT DISTINCT currency FROM shop_version WHERE currency <> $1 ORDER BY currency`, currency).Query(func(rows pgx.Rows) (err error) {
		v.Others, err = pgx.CollectRows(rows, pgx.RowTo[string])
		return err
	})
	if err := s.db.SendBatch(ctx, &batch).Close(); err != nil {
		return v, fmt.Errorf("till: %w", Translate(err))
	}
	v.Day, v.ClosedTo = r.atHand(today), r.last.On
	return v, nil
}

const tillCloseFields = `c.day, c.currency, c.opened_minor, c.since_minor, c.counted_minor, c.difference_minor, c.why, c.pieces, c.takings, m.name, c.at`

func scanTillClose(row pgx.CollectableRow) (TillCloseRow, error) {
	var c TillCloseRow
	var pieces, takings []byte
	err := row.Scan(&c.Day.On, &c.Currency, &c.Day.OpenedMinor, &c.Day.SinceMinor, &c.Closing.CountedMinor, &c.DiffMinor, &c.Closing.Why, &pieces, &takings, &c.By, &c.At)
	c.At = c.At.UTC()
	return c, errors.Join(err, json.Unmarshal(pieces, &c.Closing.Pieces), json.Unmarshal(takings, &c.Day.Takings))
}

// queueTillClosed adds to a batch the closed days before a civil day, the newest first.
func queueTillClosed(batch *pgx.Batch, currency string, before time.Time, list *[]TillCloseRow) {
	batch.Queue(`SELECT `+tillCloseFields+` FROM till_close c JOIN staff m ON m.id = c.by_id
		WHERE c.currency = $1 AND ($2::date IS NULL OR c.day < $2) ORDER BY c.day DESC LIMIT $3`, currency, nullTime(before), tillShown).Query(func(rows pgx.Rows) (err error) {
		*list, err = pgx.CollectRows(rows, scanTillClose)
		return err
	})
}

// TillMore reports whether there may be closed days before those that were read.
func (t Till) TillMore() bool { return len(t.Closed) == tillShown }

// ClosedDay reads a closed day with all that fell to it, in one round trip. The error wraps domain.ErrNotFound.
func (s *Store) ClosedDay(ctx context.Context, currency string, on time.Time) (TillCloseRow, error) {
	var list []TillCloseRow
	var c TillCloseRow
	var batch pgx.Batch
	batch.Queue(`SELECT `+tillCloseFields+` FROM till_close c JOIN staff m ON m.id = c.by_id WHERE c.currency = $1 AND c.day = $2`, currency, on).
		Query(func(rows pgx.Rows) (err error) {
			list, err = pgx.CollectRows(rows, scanTillClose)
			return err
		})
	var payments []TillPayment
	batch.Queue(`SELECT d.number, p.method, p.minor, m.name, p.at FROM payment p JOIN docket d ON d.id = p.docket_id JOIN staff m ON m.id = p.by_id
		WHERE p.currency = $1 AND p.day = $2 ORDER BY p.id`, currency, on).Query(func(rows pgx.Rows) (err error) {
		payments, err = pgx.CollectRows(rows, pgx.RowToStructByPos[TillPayment])
		return err
	})
	var moves []TillMoveRow
	batch.Queue(`SELECT `+tillMoveFields+` WHERE t.currency = $1 AND t.day = $2 ORDER BY t.id`, currency, on).Query(func(rows pgx.Rows) (err error) {
		moves, err = pgx.CollectRows(rows, scanTillMove)
		return err
	})
	if err := s.db.SendBatch(ctx, &batch).Close(); err != nil {
		return c, fmt.Errorf("closed day %s: %w", on.Format(time.DateOnly), Translate(err))
	}
	if len(list) == 0 {
		return c, fmt.Errorf("closed day %s: %w", on.Format(time.DateOnly), domain.ErrNotFound)
	}
	c = list[0]
	c.PaymentRows, c.MoveRows = payments, moves
	for _, m := range moves {
		c.Day.Moves = append(c.Day.Moves, m.Move)
	}
	return c, nil
}

// queueUncounted adds to a batch the first civil day, today's too, on which cash of the shop's currency moved and that nobody
// counted yet; zero for none.
func queueUncounted(batch *pgx.Batch, on *time.Time) {
	batch.Queue(`SELECT least(
		(SELECT min(p.day) FROM payment p WHERE p.currency = s.currency AND p.method = 'cash' AND p.day > coalesce(l.day, '-infinity')),
		(SELECT min(t.day) FROM till_move t WHERE t.currency = s.currency AND t.day > coalesce(l.day, '-infinity')))
		FROM shop s, LATERAL (SELECT max(day) AS day FROM till_close WHERE currency = s.currency) l`).Query(func(rows pgx.Rows) error {
		var day *time.Time
		_, err := pgx.ForEachRow(rows, []any{&day}, func() error {
			*on = timeOr(day)
			return nil
		})
		return err
	})
}
