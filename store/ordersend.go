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
	"ledgerwheel/domain/purchase"
	"ledgerwheel/domain/stock"
)

// OrderLetter is the mail that an order goes out with.
type OrderLetter struct {
	Subject, Body string
	Name          string // of the files, without their endings
	PDF, CSV      []byte
}

// SendOrder has a draft go out, and takes the parts of its dockets to ordered. letter goes with it by mail, and is left aside
// otherwise. The error is a *domain.InvalidError (purchase.WayProblems, purchase.Order.Problems, and "lines.i.description" of what
// a docket needs no more), or as of the other changes of an order.
func (s *Store) SendOrder(ctx context.Context, c OrderChange, way purchase.Way, letter OrderLetter) error {
	n := note{kind: docket.OrderSent}
	return s.changeOrder(ctx, c, &n, func(tx pgx.Tx, o Order, dockets map[int64]docket.Docket) error {
		bad := purchase.WayProblems(way, o.Supplier.Email)
		if bad == nil {
			bad = o.Problems()
		}
		for i, l := range o.Lines {
			if p := o.Parts[l.ID]; l.PartLineID != 0 && p.State != stock.Needed {
				bad[fmt.Sprintf("lines.%d.description", i)] = purchase.NeededNoMore(p.Docket.String(), p.State.Words())
			}
		}
		if err := domain.Invalid(bad); err != nil {
			return err
		}
		e := purchase.Event{Kind: purchase.Sent, DueOn: o.Supplier.UsuallyOn(c.Today)}
		next, err := o.After(e)
		if err != nil {
			return domain.Invalid(purchase.Refusal(err))
		}
		o.Order = next
		if err := s.orderParts(ctx, tx, o, dockets, c); err != nil {
			return err
		}
		var batch pgx.Batch
		to := o.Supplier.Supplier
		batch.Queue(`UPDATE purchase_order SET way = $2, to_name = $3, to_email = $4, to_address = $5, to_account = $6, sent_on = $7, sent_under = `+newestShop+`
			WHERE id = $1`, o.ID, string(way), to.Name, to.Email, to.Address, to.Account, c.Today)
		queueHappened(&batch, o.ID, []purchase.Event{e}, c.By, c.At)
		queueStanding(&batch, o)
		if err := tx.SendBatch(ctx, &batch).Close(); err != nil {
			return err
		}
		f := o.facts()
		f.Way = way.Words()
		if way == purchase.ByMail {
			f.SentTo = to.Email
			err = s.queueOrderLetter(ctx, tx, o.ID, to.Email, letter, c.At)
		}
		n.summary, n.facts = purchase.SentSummary(o.Number, to.Name, way, o.Lines), f
		return err
	})
}

// orderParts takes the dockets' parts of an order that goes out to ordered.
func (s *Store) orderParts(ctx context.Context, tx pgx.Tx, o Order, dockets map[int64]docket.Docket, c OrderChange) error {
	var ids []int64
	numbers := map[int64]string{}
	for _, l := range o.Lines {
		if l.PartLineID != 0 {
			ids = append(ids, l.PartLineID)
			numbers[l.PartLineID] = l.Number
		}
	}
	if len(ids) == 0 {
		return nil
	}
	rows, _ := tx.Query(ctx, `SELECT `+partFields+`, p.docket_id FROM part_line p WHERE p.id = ANY ($1) ORDER BY p.id`, ids)
	type found struct {
		PartRow
		docketID int64
	}
	parts, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (f found, err error) {
		return f, row.Scan(append(partTargets(&f.PartRow), &f.docketID)...)
	})
	if err != nil {
		return err
	}
	told := map[int64][]event{}
	for _, p := range parts {
		p.State, p.Supplier, p.Since = stock.Ordered, o.Supplier.Name, docket.Moment(c.At)
		if n := numbers[p.ID]; n != "" {
			p.Reference = n
		}
		if err := keepPart(ctx, tx, dockets[p.docketID], p.PartRow); err != nil {
			return err
		}
		told[p.docketID] = append(told[p.docketID], event{kind: docket.PartOrdered, summary: p.OrderedSummary(o.Number), facts: factsOfPart(p.PartLine)})
	}
	return tellDockets(ctx, tx, s, dockets, told, c)
}

// CarryOrder is the job of mailing an order.
type CarryOrder struct {
	Order int64 `json:"sent_order"`
}

// Kind names the job in River's tables.
func (CarryOrder) Kind() string { return "carry-order" }

// InsertOpts has the job tried until the rules in domain/message give it up.
func (CarryOrder) InsertOpts() river.InsertOpts { return river.InsertOpts{MaxAttempts: 30_000} }

// OrderMail is an order on its way by mail.
type OrderMail struct {
	Order  int64
	Number string
	To     string
	OrderLetter
	MailID   string
	QueuedAt time.Time
	message.Delivery
}

// queueOrderLetter has an order mailed from the moment on at which its transaction is committed.
func (s *Store) queueOrderLetter(ctx context.Context, tx pgx.Tx, id int64, to string, l OrderLetter, at time.Time) error {
	var sender string
	if err := tx.QueryRow(ctx, `SELECT coalesce((SELECT sender_address FROM mail_settings), '')`).Scan(&sender); err != nil {
		return err
	}
	_, err := tx.Exec(ctx, `INSERT INTO order_mail (order_id, sent_to, subject, body, name, pdf, csv, mail_id, queued_at) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)`,
		id, to, l.Subject, l.Body, l.Name, l.PDF, l.CSV, NewMailID(sender), docket.Moment(at))
	if err == nil {
		_, err = s.jobs.InsertTx(ctx, tx, CarryOrder{Order: id}, nil)
	}
	return err
}

// SendOrderAgain has an order whose mail was refused go out once more, by mail to the address that the supplier has by now,
// with letter, or by another way. The error is a *domain.InvalidError (purchase.WayProblems; "" where no mail was refused), or as
// of the other changes of an order.
func (s *Store) SendOrderAgain(ctx context.Context, c OrderChange, way purchase.Way, letter OrderLetter) error {
	n := note{kind: docket.OrderSent}
	return s.changeOrder(ctx, c, &n, func(tx pgx.Tx, o Order, _ map[int64]docket.Docket) error {
		bad := purchase.WayProblems(way, o.Supplier.Email)
		tag, err := tx.Exec(ctx, `DELETE FROM order_mail WHERE order_id = $1 AND state = 'refused'`, o.ID)
		if err == nil && tag.RowsAffected() == 0 {
			bad = map[string]string{"": purchase.NothingRefused}
		}
		if err == nil {
			err = domain.Invalid(bad)
		}
		if err != nil {
			return err
		}
		f := orderFacts{Order: o.Number, Supplier: o.Supplier.Name, Way: way.Words()}
		if way == purchase.ByMail {
			f.SentTo = o.Supplier.Email
			err = s.queueOrderLetter(ctx, tx, o.ID, o.Supplier.Email, letter, c.At)
		}
		if err == nil {
			_, err = tx.Exec(ctx, `UPDATE purchase_order SET way = $2, to_email = $3, version = version + 1 WHERE id = $1`, o.ID, string(way), o.Supplier.Email)
		}
		n.summary, n.facts = purchase.SentAgainSummary(o.Number, o.Supplier.Name, way), f
		return err
	})
}

const orderMailFields = `m.order_id, o.number, m.sent_to, m.subject, m.body, m.name, m.mail_id, m.queued_at, m.state, m.tries, m.begun_at, m.next_at, m.unsure, m.said`

func orderMailTargets(m *OrderMail) (targets []any, finish func()) {
	var begun, next *time.Time
	return []any{&m.Order, &m.Number, &m.To, &m.Subject, &m.Body, &m.Name, &m.MailID, &m.QueuedAt, &m.State, &m.Tries, &begun, &next, &m.Unsure, &m.Said}, func() {
		m.QueuedAt = m.QueuedAt.UTC()
		m.Delivery.QueuedAt, m.BegunAt, m.NextAt = m.QueuedAt, timeOr(begun), timeOr(next)
	}
}

// queueOrderMail adds to a page's batch how far the mail with an order has come, without its files.
func queueOrderMail(batch *pgx.Batch, id int64, mail **OrderMail) {
	batch.Queue(`SELECT `+orderMailFields+` FROM order_mail m JOIN purchase_order o ON o.id = m.order_id WHERE m.order_id = $1`, id).Query(func(rows pgx.Rows) error {
		for rows.Next() {
			var m OrderMail
			targets, finish := orderMailTargets(&m)
			if err := rows.Scan(targets...); err != nil {
				return err
			}
			finish()
			*mail = &m
		}
		return rows.Err()
	})
}

// changeOrderMail changes how far the mail with an order has come and, where it is settled by that, tells the shop's journal.
func (s *Store) changeOrderMail(ctx context.Context, id int64, now time.Time, change func(OrderMail) (d message.Delivery, why string)) error {
	err := s.inTx(ctx, func(tx pgx.Tx) error {
		var m OrderMail
		targets, finish := orderMailTargets(&m)
		err := tx.QueryRow(ctx, `SELECT `+orderMailFields+`, m.pdf, m.csv FROM order_mail m JOIN purchase_order o ON o.id = m.order_id
			WHERE m.order_id = $1 FOR UPDATE OF m`, id).Scan(append(targets, &m.PDF, &m.CSV)...)
		if errors.Is(err, pgx.ErrNoRows) {
			return domain.ErrNotFound
		}
		if err != nil {
			return err
		}
		finish()
		d, why := change(m)
		settled := d.State != m.State
		_, err = tx.Exec(ctx, `UPDATE order_mail SET state = $2, tries = $3, begun_at = $4, next_at = $5, unsure = $6, said = $7,
			pdf = CASE WHEN $8 THEN NULL ELSE pdf END, csv = CASE WHEN $8 THEN NULL ELSE csv END WHERE order_id = $1`,
			id, string(d.State), d.Tries, nullTime(d.BegunAt), nullTime(d.NextAt), d.Unsure, d.Said, settled)
		if err != nil || !settled {
			return err
		}
		n := note{kind: docket.OrderMailed, at: now, summary: purchase.MailedSummary(m.Number, m.To, d.State == message.Sent), always: true,
			facts: map[string]any{"sent_to": m.To, "tries": d.Tries}}
		if d.State != message.Sent {
			n.why = why
		}
		return s.enterShop(ctx, tx, n)
	})
	if err != nil {
		return fmt.Errorf("mail with order %d: %w", id, Translate(err))
	}
	return nil
}

// BeginOrderMail decides what to do with the mail of an order and, where it is to be tried, writes down that the try began. setUp
// says whether there is a server to ask.
func (s *Store) BeginOrderMail(ctx context.Context, id int64, setUp bool, now time.Time) (message.Decision, OrderMail, error) {
	now = docket.Moment(now)
	var decision message.Decision
	var mail OrderMail
	err := s.changeOrderMail(ctx, id, now, func(m OrderMail) (message.Delivery, string) {
		hold := message.Free
		if !setUp {
			hold = message.NotSetUp
		}
		mail, decision = m, m.Decide(now, hold)
		d := m.Delivery
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

// EndOrderMail writes down the answer to the try that was begun at that time, and returns how long to wait before the next; 0 for
// none.
func (s *Store) EndOrderMail(ctx context.Context, id int64, begun time.Time, a message.Answer, now time.Time) (time.Duration, error) {
	begun, now = docket.Moment(begun), docket.Moment(now)
	var pause time.Duration
	err := s.changeOrderMail(ctx, id, now, func(m OrderMail) (message.Delivery, string) {
		after := m.Settle(begun, a, now)
		pause = 0
		if after.State == message.Queued {
			pause = max(time.Second, after.NextAt.Sub(now))
		}
		return after, a.Words()
	})
	return pause, err
}
