package store

import (
	"context"
	"crypto/rand"
	"fmt"
	"strings"
	"time"
	"unicode"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/message"
	"ledgerwheel/domain/shop"
)

// MessageRow is a word to the customer with who told it.
type MessageRow struct {
	message.Message
	Number docket.Number
	Tries  int       // of a mail so far
	NextAt time.Time // when a mail that waits is tried again; zero before the first try
	Said   string    // why it was not taken at the last try
	// Shop is the settings as they stood when it was written, by which a letter is printed; only a docket's own sheet reads it.
	Shop  shop.Shop
	under int64
}

// queueMessage keeps a word to the customer with the change that causes it, and returns what the journal is told. A mail
// waits from then on for the mail server.
func (s *Store) queueMessage(ctx context.Context, tx pgx.Tx, c Change, m *message.Message) (event, error) {
	if err := s.otherWay(ctx, tx, m); err != nil {
		return event{}, err
	}
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
			queued_at, settled_at, settled_by, why, other_body, instead_of, written_under)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, nullif($17, ''), nullif($18::bigint, 0), `+newestShop+`) RETURNING id`,
		m.DocketID, m.CustomerID, string(m.Topic), m.Occasion, string(m.Tongue.Or("en")), string(m.Way), m.To, m.Subject, m.Text, m.HTML,
		string(m.State), m.MailID, m.QueuedAt, settledAt, nullID(settledBy(c, m.State)), m.Why, m.Other, m.InsteadOf).Scan(&m.ID)
	if err == nil && m.Way == message.Mail && m.State == message.Queued {
		err = s.carry(ctx, tx, m.ID)
	}
	kind := docket.MessageWritten
	if m.State == message.Told {
		kind = docket.CustomerTold
	}
	return event{kind: kind, summary: docket.MessageSummary(m.Topic.Words(), m.Way.Words(), string(m.State)),
		facts: map[string]any{"message": m.ID, "sent_to": m.To}}, err
}

// WriteMessage keeps a word to the customer of a docket that nothing else causes, and returns its id.
func (s *Store) WriteMessage(ctx context.Context, c Change, m message.Message) (int64, error) {
	err := s.changeAny(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		m.DocketID, m.CustomerID = d.ID, d.CustomerID
		ev, err := s.queueMessage(ctx, tx, c, &m)
		return []event{ev}, err
	})
	return m.ID, err
}

// Messages are the words to the customer about a docket, newest first.
func (s *Store) Messages(ctx context.Context, n docket.Number) ([]MessageRow, error) {
	var list []MessageRow
	var batch pgx.Batch
	queueMessages(&batch, n, &list)
	if err := s.db.SendBatch(ctx, &batch).Close(); err != nil {
		return nil, fmt.Errorf("messages of docket %s: %w", n, Translate(err))
	}
	return list, nil
}

// otherWay has a message told by telephone whose customer may not be written to, and gives one by mail its Message-ID.
func (s *Store) otherWay(ctx context.Context, tx pgx.Tx, m *message.Message) error {
	if m.Way != message.Mail || m.State != message.Queued {
		return nil
	}
	rows, _ := tx.Query(ctx, `SELECT `+customerFields+` FROM customer c WHERE c.id = $1`, m.CustomerID)
	c, err := pgx.CollectExactlyOneRow(rows, scanCustomer)
	if err == nil && !c.Mail.Allowed() {
		reach := message.Reach{Customer: c}
		*m = m.By(reach.Way())
		m.To = reach.To(m.Way)
	}
	if err != nil || m.Way != message.Mail || m.MailID != "" {
		return err
	}
	var sender string
	err = tx.QueryRow(ctx, `SELECT coalesce((SELECT sender_address FROM mail_settings), '')`).Scan(&sender)
	m.MailID = NewMailID(sender)
	return err
}

// NewMailID makes a Message-ID (RFC 5322 section 3.6.4) without its brackets, of 130 bits of chance, in the domain of the
// sender's address or, without one that ASCII writes, in one that nobody can have (RFC 2606).
func NewMailID(sender string) string {
	domain := sender[strings.LastIndexByte(sender, '@')+1:]
	if domain == "" || strings.ContainsFunc(domain, func(r rune) bool { return r > unicode.MaxASCII }) {
		domain = "ledgerwheel.invalid"
	}
	return strings.ToLower(rand.Text()) + "@" + domain
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
	coalesce(m.instead_of, 0), coalesce(m.written_under, 0), d.year, d.seq, coalesce(t.tries, 0), t.next_at, coalesce(t.said, '')
	FROM message m JOIN docket d ON d.id = m.docket_id LEFT JOIN staff p ON p.id = m.settled_by
	LEFT JOIN message_delivery t ON t.message_id = m.id `

func scanMessage(row pgx.CollectableRow) (MessageRow, error) {
	var r MessageRow
	var settled, next *time.Time
	err := row.Scan(&r.ID, &r.DocketID, &r.CustomerID, &r.Topic, &r.Occasion, &r.Tongue, &r.Way, &r.To, &r.Subject, &r.Text, &r.HTML,
		&r.State, &r.MailID, &r.QueuedAt, &settled, &r.SettledBy, &r.Why, &r.Other, &r.InsteadOf, &r.under, &r.Number.Year, &r.Number.Seq,
		&r.Tries, &next, &r.Said)
	r.QueuedAt, r.SettledAt = r.QueuedAt.UTC(), timeOr(settled)
	r.NextAt = timeOr(next)
	return r, err
}

// queueMessages adds to a page's batch what was told about a docket, newest first.
func queueMessages(batch *pgx.Batch, n docket.Number, list *[]MessageRow) {
	batch.Queue(messageSQL+`WHERE d.number = $1 ORDER BY m.id DESC`, n.String()).Query(func(rows pgx.Rows) (err error) {
		*list, err = pgx.CollectRows(rows, scanMessage)
		return err
	})
}
