package store

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/riverqueue/river"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/message"
	"ledgerwheel/domain/record"
)

// CarrySeal is the job of mailing the seal of a day.
type CarrySeal struct {
	Day string `json:"day"` // as 2026-11-30
}

// Kind names the job in River's tables.
func (CarrySeal) Kind() string { return "carry-seal" }

// InsertOpts has the job tried until the rules in domain/message give it up.
func (CarrySeal) InsertOpts() river.InsertOpts { return river.InsertOpts{MaxAttempts: 30_000} }

// SealMail is the seal of a day on its way to an address outside the shop.
type SealMail struct {
	Day      string
	Note     string // the seal, signed
	To       string
	MailID   string
	QueuedAt time.Time
}

// QueueSealMail has a seal mailed to the address that the settings of mail name, as the seal of its day: the first that comes is
// it, whichever copy of the program brings it. It reports whether this one will be mailed.
func (s *Store) QueueSealMail(ctx context.Context, seal record.Seal, at time.Time) (bool, error) {
	queued := false
	at = docket.Moment(at)
	err := s.inTx(ctx, func(tx pgx.Tx) error {
		var to, sender string
		err := tx.QueryRow(ctx, `SELECT seals_to, sender_address FROM mail_settings`).Scan(&to, &sender)
		if errors.Is(err, pgx.ErrNoRows) || err == nil && to == "" {
			return nil
		}
		if err != nil {
			return err
		}
		day := at.UTC().Format(time.DateOnly)
		tag, err := tx.Exec(ctx, `INSERT INTO seal_mail (day, note, sent_to, mail_id, queued_at) VALUES ($1::text::date, $2, $3, $4, $5)
			ON CONFLICT DO NOTHING`, day, string(seal.Text), to, NewMailID(sender), at)
		if err != nil || tag.RowsAffected() == 0 {
			return err
		}
		queued = true
		_, err = s.jobs.InsertTx(ctx, tx, CarrySeal{Day: day}, nil)
		return err
	})
	if err != nil {
		return false, fmt.Errorf("mail with the day's seal: %w", Translate(err))
	}
	return queued, nil
}

// lockSealMail reads a day's seal and how far it has come, and keeps others from it to the end of the transaction.
func lockSealMail(ctx context.Context, tx pgx.Tx, day string) (m SealMail, d message.Delivery, err error) {
	var begun, next *time.Time
	err = tx.QueryRow(ctx, `SELECT day::text, note, sent_to, mail_id, queued_at, state, tries, begun_at, next_at, unsure, said
		FROM seal_mail WHERE day = $1::text::date FOR UPDATE`, day).
		Scan(&m.Day, &m.Note, &m.To, &m.MailID, &m.QueuedAt, &d.State, &d.Tries, &begun, &next, &d.Unsure, &d.Said)
	if errors.Is(err, pgx.ErrNoRows) {
		err = domain.ErrNotFound
	}
	d.QueuedAt, d.BegunAt, d.NextAt = m.QueuedAt, timeOr(begun), timeOr(next)
	return m, d, err
}

func saveSealMail(ctx context.Context, tx pgx.Tx, day string, d message.Delivery) error {
	_, err := tx.Exec(ctx, `UPDATE seal_mail SET state = $2, tries = $3, begun_at = $4, next_at = $5, unsure = $6, said = $7 WHERE day = $1::text::date`,
		day, string(d.State), d.Tries, nullTime(d.BegunAt), nullTime(d.NextAt), d.Unsure, d.Said)
	return err
}

// BeginSealMail decides what to do with the mail of a day's seal and, where it is to be tried, writes down that the try began.
// setUp says whether there is a server to ask.
func (s *Store) BeginSealMail(ctx context.Context, day string, setUp bool, now time.Time) (message.Decision, SealMail, error) {
	now = docket.Moment(now)
	var decision message.Decision
	var mail SealMail
	err := s.changeSealMail(ctx, day, now, func(m SealMail, d message.Delivery) (message.Delivery, string) {
		hold := message.Free
		if !setUp {
			hold = message.NotSetUp
		}
		mail, decision = m, d.Decide(now, hold)
		switch decision.Act {
		case message.Try:
			return d.Begin(now), ""
		case message.GiveUp:
			d.State = message.Refused
		}
		return d, decision.Why
	})
	return decision, mail, err
}

// EndSealMail writes down the answer to the try that was begun at that time, and returns how long to wait before the next; 0 for
// none.
func (s *Store) EndSealMail(ctx context.Context, day string, begun time.Time, a message.Answer, now time.Time) (time.Duration, error) {
	begun, now = docket.Moment(begun), docket.Moment(now)
	var pause time.Duration
	err := s.changeSealMail(ctx, day, now, func(_ SealMail, d message.Delivery) (message.Delivery, string) {
		after := d.Settle(begun, a, now)
		pause = 0
		if after.State == message.Queued {
			pause = max(time.Second, after.NextAt.Sub(now))
		}
		return after, a.Words()
	})
	return pause, err
}

// changeSealMail changes how far the mail of a day's seal has come and, where it is settled by that, tells the shop's journal.
func (s *Store) changeSealMail(ctx context.Context, day string, now time.Time, change func(SealMail, message.Delivery) (d message.Delivery, why string)) error {
	err := s.inTx(ctx, func(tx pgx.Tx) error {
		m, before, err := lockSealMail(ctx, tx, day)
		if err != nil {
			return err
		}
		d, why := change(m, before)
		if err := saveSealMail(ctx, tx, day, d); err != nil || d.State == before.State {
			return err
		}
		settled := note{kind: docket.SealMailed, at: now, summary: docket.SealMailedSummary(day, d.State == message.Sent), always: true,
			facts: map[string]any{"sent_to": m.To, "tries": d.Tries}}
		if d.State != message.Sent {
			settled.why = why
		}
		return s.enterShop(ctx, tx, settled)
	})
	if err != nil {
		return fmt.Errorf("mail with the seal of %s: %w", day, Translate(err))
	}
	return nil
}
