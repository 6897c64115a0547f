package store

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/message"
)

// lockDelivery reads how far a mail has come, and what stands in its way, and keeps others from it to the end of the
// transaction. The error wraps domain.ErrNotFound.
func lockDelivery(ctx context.Context, tx pgx.Tx, messageID int64, setUp bool) (message.Delivery, message.Hold, error) {
	var d message.Delivery
	var begun, next *time.Time
	var to, back string
	var unwanted bool
	err := tx.QueryRow(ctx, `SELECT tries, begun_at, next_at, unsure, said FROM message_delivery WHERE message_id = $1 FOR UPDATE`, messageID).
		Scan(&d.Tries, &begun, &next, &d.Unsure, &d.Said)
	if err == nil {
		// Only now, as who waited for the lock must see what was done under it.
		err = tx.QueryRow(ctx, `SELECT m.state, m.queued_at, m.sent_to, c.no_mail_at IS NOT NULL, coalesce(c.mail_back_to, '')
			FROM message m JOIN customer c ON c.id = m.customer_id WHERE m.id = $1`, messageID).Scan(&d.State, &d.QueuedAt, &to, &unwanted, &back)
	}
	if errors.Is(err, pgx.ErrNoRows) {
		err = domain.ErrNotFound
	}
	d.BegunAt, d.NextAt = timeOr(begun), timeOr(next)
	switch {
	case unwanted:
		return d, message.Unwanted, err
	case back != "" && back == customer.FoldEmail(to):
		return d, message.CameBack, err
	case !setUp:
		return d, message.NotSetUp, err
	}
	return d, message.Free, err
}

func saveDelivery(ctx context.Context, tx pgx.Tx, messageID int64, d message.Delivery, stranded bool) error {
	_, err := tx.Exec(ctx, `UPDATE message_delivery SET tries = $2, begun_at = $3, next_at = $4, unsure = $5, said = $6, stranded = $7
		WHERE message_id = $1`, messageID, d.Tries, nullTime(d.BegunAt), nullTime(d.NextAt), d.Unsure, d.Said, stranded)
	return err
}

// BeginDelivery decides what to do with a mail and, where it is to be tried, writes down that the try began: the server may be
// asked only once this has returned. A mail that is given up is settled. setUp says whether there is a server to ask.
func (s *Store) BeginDelivery(ctx context.Context, messageID int64, setUp bool, now time.Time) (message.Decision, MessageRow, error) {
	now = docket.Moment(now)
	var decision message.Decision
	row, err := s.message(ctx, messageID)
	if err == nil {
		err = s.inTx(ctx, func(tx pgx.Tx) error {
			d, hold, err := lockDelivery(ctx, tx, messageID, setUp)
			if err != nil {
				return err
			}
			if decision = d.Decide(now, hold); decision.Act != message.Try {
				return nil
			}
			return saveDelivery(ctx, tx, messageID, d.Begin(now), false)
		})
	}
	if err == nil && decision.Act == message.GiveUp {
		err = s.settleMail(ctx, row, now, func(d message.Delivery, hold message.Hold) (message.Delivery, string) {
			again := d.Decide(now, hold)
			if again.Act == message.GiveUp {
				d.State = message.Refused
			}
			return d, again.Why
		}, message.Answer{}, setUp)
	}
	if err != nil {
		return message.Decision{}, MessageRow{}, fmt.Errorf("begin with message %d: %w", messageID, Translate(err))
	}
	return decision, row, nil
}

// EndDelivery writes down the answer to the try that was begun at that time, in the journal of its docket too where the mail is
// settled by it, and returns how long to wait before the next; 0 for none.
func (s *Store) EndDelivery(ctx context.Context, row MessageRow, begun time.Time, a message.Answer, now time.Time) (time.Duration, error) {
	begun, now = docket.Moment(begun), docket.Moment(now)
	var pause time.Duration
	err := s.settleMail(ctx, row, now, func(d message.Delivery, _ message.Hold) (message.Delivery, string) {
		after := d.Settle(begun, a, now)
		why := ""
		switch after.State {
		case message.Queued:
			pause = max(time.Second, after.NextAt.Sub(now))
		case message.Refused:
			why = a.Words()
		}
		return after, why
	}, a, true)
	if err != nil {
		return 0, fmt.Errorf("answer to message %d: %w", row.ID, Translate(err))
	}
	return pause, nil
}

// settleMail changes how far a mail has come and, where it is settled by that, tells the docket's journal.
func (s *Store) settleMail(ctx context.Context, row MessageRow, now time.Time,
	change func(message.Delivery, message.Hold) (d message.Delivery, why string), a message.Answer, setUp bool) error {
	return s.changeAny(ctx, Change{Number: row.Number, At: now}, func(tx pgx.Tx, _ docket.Docket) ([]event, error) {
		before, hold, err := lockDelivery(ctx, tx, row.ID, setUp)
		if err != nil {
			return nil, err
		}
		d, why := change(before, hold)
		if err := saveDelivery(ctx, tx, row.ID, d, d.State == message.Queued && a.Outcome() == message.Strand); err != nil {
			return nil, err
		}
		if d.State == before.State {
			return nil, nil
		}
		if _, err := tx.Exec(ctx, `UPDATE message SET state = $2, settled_at = $3, settled_by = NULL, why = $4 WHERE id = $1`, row.ID,
			string(d.State), now, why); err != nil {
			return nil, err
		}
		kind := docket.MessageSent
		if d.State == message.Refused {
			kind = docket.MessageRefused
		}
		if d.State == message.Refused && a.AddressRefused() {
			if err := mailCameBack(ctx, tx, row.CustomerID, row.To, why, now); err != nil {
				return nil, err
			}
		}
		return []event{{kind: kind, summary: docket.MessageSummary(row.Topic.Words(), row.Way.Words(), string(d.State)), why: why,
			facts: map[string]any{"message": row.ID, "sent_to": row.To, "tries": d.Tries}}}, nil
	})
}

// message reads one word to a customer. The error wraps domain.ErrNotFound.
func (s *Store) message(ctx context.Context, id int64) (MessageRow, error) {
	rows, _ := s.db.Query(ctx, messageSQL+`WHERE m.id = $1`, id)
	r, err := pgx.CollectExactlyOneRow(rows, scanMessage)
	if errors.Is(err, pgx.ErrNoRows) {
		err = domain.ErrNotFound
	}
	return r, err
}

// mayWithdraw returns why a mail that waits can't be withdrawn now; it is kept from the server to the end of the transaction.
func mayWithdraw(ctx context.Context, tx pgx.Tx, c Change, messageID int64) error {
	d, _, err := lockDelivery(ctx, tx, messageID, true)
	if err == nil {
		err = d.Withdraw(c.At)
	}
	return err
}

// mailCameBack notes on a customer that mail to an address came back, if it is theirs.
func mailCameBack(ctx context.Context, tx pgx.Tx, customerID int64, to, why string, at time.Time) error {
	_, err := tx.Exec(ctx, `UPDATE customer SET mail_back_to = $2, mail_back_at = $3, mail_back_why = $4 WHERE id = $1 AND email_key = $2`,
		customerID, customer.FoldEmail(to), docket.Moment(at), why)
	return err
}
