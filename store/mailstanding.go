package store

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/text"

	"ledgerwheel/domain/customer"
)

// StopMail keeps that a customer wants no mail; stop false that they may be written to again. What is so already is no change.
// The error wraps domain.ErrNotFound.
func (s *Store) StopMail(ctx context.Context, customerID int64, stop bool, by Actor, at time.Time) error {
	summary, sql := docket.MailBegunAgainSummary, `UPDATE customer SET no_mail_at = NULL WHERE id = $1 AND no_mail_at IS NOT NULL AND $2::timestamptz IS NOT NULL`
	if stop {
		summary, sql = docket.MailStoppedSummary, `UPDATE customer SET no_mail_at = $2 WHERE id = $1 AND no_mail_at IS NULL`
	}
	return s.mailStanding(ctx, customerID, summary, by, at, func(tx pgx.Tx) error {
		_, err := tx.Exec(ctx, sql, customerID, docket.Moment(at))
		return err
	})
}

// MailCameBack keeps that mail to a customer's present address came back, as somebody saw in the shop's inbox. The error is a
// *domain.InvalidError (field "why") or wraps domain.ErrNotFound.
func (s *Store) MailCameBack(ctx context.Context, customerID int64, why string, by Actor, at time.Time) error {
	if why = text.Line(why); text.TooLong(why, customer.MaxBackWhy) {
		return domain.Invalid(map[string]string{"why": "Keep it to at most 300 characters."})
	}
	return s.mailStanding(ctx, customerID, docket.MailCameBackSummary, by, at, func(tx pgx.Tx) error {
		_, err := tx.Exec(ctx, `UPDATE customer SET mail_back_to = email_key, mail_back_at = $2, mail_back_why = $3 WHERE id = $1 AND email_key <> ''`,
			customerID, docket.Moment(at), why)
		return err
	})
}

// MailAddressGood forgets that mail to a customer came back. The error wraps domain.ErrNotFound.
func (s *Store) MailAddressGood(ctx context.Context, customerID int64, by Actor, at time.Time) error {
	return s.mailStanding(ctx, customerID, docket.MailAddressGoodSummary, by, at, func(tx pgx.Tx) error {
		_, err := tx.Exec(ctx, `UPDATE customer SET mail_back_to = NULL, mail_back_at = NULL, mail_back_why = NULL
			WHERE id = $1 AND mail_back_to IS NOT NULL`, customerID)
		return err
	})
}

// mailStanding changes what stands against mail to a customer. Nobody's open form of the customer is older for it.
func (s *Store) mailStanding(ctx context.Context, customerID int64, summary string, by Actor, at time.Time, do func(pgx.Tx) error) error {
	n := note{kind: docket.CustomerKept, by: by, at: at, summary: summary}
	err := s.changeShop(ctx, &n, func(tx pgx.Tx) error {
		var found bool
		if err := tx.QueryRow(ctx, `SELECT true FROM customer WHERE id = $1 FOR UPDATE`, customerID).Scan(&found); err != nil {
			return err
		}
		return do(tx)
	})
	if err != nil {
		return fmt.Errorf("mail to customer %d: %w", customerID, Translate(err))
	}
	return nil
}
