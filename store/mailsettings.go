package store

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/message"
)

// MailSettings reads the settings of mail and the version to save them by; 0 where nobody saved any.
func (s *Store) MailSettings(ctx context.Context) (m message.Settings, version int64, err error) {
	err = s.db.QueryRow(ctx, `SELECT version, host, port, security, username, sender_name, sender_address, reply_to, seals_to FROM mail_settings`).
		Scan(&version, &m.Host, &m.Port, &m.Security, &m.User, &m.SenderName, &m.SenderAddress, &m.ReplyTo, &m.SealsTo)
	if errors.Is(err, pgx.ErrNoRows) {
		return message.Settings{Server: message.Server{Security: message.StartTLS}}, 0, nil
	}
	if err != nil {
		return m, 0, fmt.Errorf("settings of mail: %w", Translate(err))
	}
	return m, version, nil
}

// SaveMailSettings keeps the settings of mail, which must be Tidied, if they still have the given version. The error is a
// *domain.InvalidError or wraps domain.ErrChanged.
func (s *Store) SaveMailSettings(ctx context.Context, m message.Settings, version int64, by Actor, at time.Time) error {
	if err := domain.Invalid(m.Problems()); err != nil {
		return err
	}
	saved := note{kind: docket.SettingsSaved, by: by, at: at, summary: docket.MailSettingsSavedSummary}
	err := s.changeShop(ctx, &saved, func(tx pgx.Tx) error {
		tag, err := tx.Exec(ctx, `INSERT INTO mail_settings (version, host, port, security, username, sender_name, sender_address, reply_to, seals_to)
				SELECT 1, $2, $3, $4, $5, $6, $7, $8, $9 WHERE $1 = 0 OR EXISTS (SELECT FROM mail_settings)
			ON CONFLICT (id) DO UPDATE SET version = mail_settings.version + 1, host = $2, port = $3, security = $4, username = $5,
				sender_name = $6, sender_address = $7, reply_to = $8, seals_to = $9 WHERE mail_settings.version = $1`,
			version, m.Host, m.Port, string(m.Security), m.User, m.SenderName, m.SenderAddress, m.ReplyTo, m.SealsTo)
		if err == nil && tag.RowsAffected() == 0 {
			err = domain.ErrChanged
		}
		return err
	})
	if err != nil {
		return fmt.Errorf("save the settings of mail: %w", Translate(err))
	}
	return nil
}

// MailWaiting is what waits for the mail server.
type MailWaiting struct {
	Waiting  int
	Oldest   time.Time // when the oldest was written; zero for none
	Stranded int       // that the shop's own settings keep from being sent
	Said     string    // what stood against the newest try of those that wait; "" for nothing

	Refused      int       // that were refused and not told another way since
	RefusedSince time.Time // when the oldest of them was refused; zero for none
}

// queueMailWaiting adds to a page's batch the count of the messages that wait for the mail server, and of those that were refused.
func queueMailWaiting(batch *pgx.Batch, w *MailWaiting) {
	batch.Queue(`SELECT count(*), min(m.queued_at), count(*) FILTER (WHERE t.stranded),
			coalesce((array_agg(t.said ORDER BY t.next_at DESC NULLS LAST) FILTER (WHERE t.said <> ''))[1], '')
		FROM message m JOIN message_delivery t ON t.message_id = m.id WHERE m.state = 'queued'`).QueryRow(func(row pgx.Row) error {
		var oldest *time.Time
		err := row.Scan(&w.Waiting, &oldest, &w.Stranded, &w.Said)
		w.Oldest = timeOr(oldest)
		return err
	})
	batch.Queue(`SELECT count(*), min(m.settled_at) FROM message m WHERE m.state = 'refused'
		AND NOT EXISTS (SELECT FROM message n WHERE n.instead_of = m.id)`).QueryRow(func(row pgx.Row) error {
		var since *time.Time
		err := row.Scan(&w.Refused, &since)
		w.RefusedSince = timeOr(since)
		return err
	})
}

// MailWaiting counts the messages that wait for the mail server, and those that it refused.
func (s *Store) MailWaiting(ctx context.Context) (MailWaiting, error) {
	var w MailWaiting
	var batch pgx.Batch
	queueMailWaiting(&batch, &w)
	if err := s.db.SendBatch(ctx, &batch).Close(); err != nil {
		return w, fmt.Errorf("messages that wait: %w", Translate(err))
	}
	return w, nil
}
