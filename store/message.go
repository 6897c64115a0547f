package store

import (
	"context"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/message"
)

// MessageRow is a word to the customer with who told it.
type MessageRow struct {
	message.Message
	Number docket.Number
}

// queueMessage keeps a word to the customer with the change that causes it, and returns what the journal is told. A mail
// waits from then on for the mail server.
func (s *Store) queueMessage(ctx context.Context, tx pgx.Tx, c Change, m *message.Message) (event, error) {
	if err := m.Problem(); err != nil {
		return event{}, err
	}
	m.QueuedAt = docket.Moment(c.At)
	var settledAt *time.Time
	if !m.State.Open() {
		m.SettledAt = m.QueuedAt
		settledAt = &m.SettledAt
	}
	err := tx.QueryRow(ctx, `INSERT INTO message (docket_id, customer_id, topic, occasion, tongue, way, sent_to, subject, body, html, state, mail_id,
			queued_at, settled_at, settled_by, why, other_body, instead_of)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, nullif($17, ''), nullif($18::bigint, 0)) RETURNING id`,
		m.DocketID, m.CustomerID, string(m.Topic), m.Occasion, string(m.Tongue.Or("en")), string(m.Way), m.To, m.Subject, m.Text, m.HTML,
		string(m.State), m.MailID, m.QueuedAt, settledAt, nullID(settledBy(c, m.State)), m.Why, m.Other, m.InsteadOf).Scan(&m.ID)
	kind := docket.MessageWritten
	if m.State == message.Told {
		kind = docket.CustomerTold
	}
	return event{kind: kind, summary: docket.MessageSummary(m.Topic.Words(), m.Way.Words(), string(m.State)),
		facts: map[string]any{"message": m.ID, "sent_to": m.To}}, err
}

// settledBy is who told a message that is told as it is kept.
func settledBy(c Change, state message.State) int64 {
	if state.Open() {
		return 0
	}
	return c.By.StaffID
}

const messageSQL = `SELECT m.id, m.docket_id, m.customer_id, m.topic, m.occasion, m.tongue, m.way, m.sent_to, m.subject, m.body, m.html, m.state,
	m.mail_id, m.queued_at, m.settled_at, coalesce(p.name, ''), m.why, coalesce(m.other_body, ''),
	coalesce(m.instead_of, 0), d.year, d.seq
	FROM message m JOIN docket d ON d.id = m.docket_id LEFT JOIN staff p ON p.id = m.settled_by `

func scanMessage(row pgx.CollectableRow) (MessageRow, error) {
	var r MessageRow
	var settled *time.Time
	err := row.Scan(&r.ID, &r.DocketID, &r.CustomerID, &r.Topic, &r.Occasion, &r.Tongue, &r.Way, &r.To, &r.Subject, &r.Text, &r.HTML,
		&r.State, &r.MailID, &r.QueuedAt, &settled, &r.SettledBy, &r.Why, &r.Other, &r.InsteadOf, &r.Number.Year, &r.Number.Seq)
	r.QueuedAt, r.SettledAt = r.QueuedAt.UTC(), timeOr(settled)
	return r, err
}

// queueMessages adds to a page's batch what was told about a docket, newest first.
func queueMessages(batch *pgx.Batch, n docket.Number, list *[]MessageRow) {
	batch.Queue(messageSQL+`WHERE d.number = $1 ORDER BY m.id DESC`, n.String()).Query(func(rows pgx.Rows) (err error) {
		*list, err = pgx.CollectRows(rows, scanMessage)
		return err
	})
}
