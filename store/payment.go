package store

import (
	"context"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/text"
)

// PaymentRow is money that passed over the counter.
type PaymentRow struct {
	ID     int64
	Minor  int64 // in the docket's currency; below nought when it went back
	Method docket.Method
	Note   string
	Given  int64 // cash counted over the counter, 0 where it was not said
	// Rounded is by how much it is over what was due, below zero for under it, because cash goes in steps.
	Rounded int64
	By      string
	At      time.Time
}

// queuePayments adds a docket's payments to a page's batch, in the order they were taken.
func queuePayments(batch *pgx.Batch, n docket.Number, list *[]PaymentRow) {
	batch.Queue(`SELECT p.id, p.minor, p.method, p.note, coalesce(p.given_minor, 0), coalesce(p.rounded_minor, 0), m.name, p.at FROM payment p JOIN staff m ON m.id = p.by_id
		WHERE p.docket_id = (SELECT id FROM docket WHERE number = $1) ORDER BY p.id`, n.String()).Query(func(rows pgx.Rows) (err error) {
		*list, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (PaymentRow, error) {
			var p PaymentRow
			err := row.Scan(&p.ID, &p.Minor, &p.Method, &p.Note, &p.Given, &p.Rounded, &p.By, &p.At)
			p.At = p.At.UTC()
			return p, err
		})
		return err
	})
}

// moneyFacts is what the journal keeps of money over the counter.
type moneyFacts struct {
	Minor    int64  `json:"minor"`
	Currency string `json:"currency"`
	Method   string `json:"method"`
	Note     string `json:"note,omitempty"`
	Given    int64  `json:"given_minor,omitempty"`
	Change   int64  `json:"change_minor,omitempty"`
	Rounded  int64  `json:"rounded_minor,omitempty"`
	DueMinor int64  `json:"still_due_minor"`
	// With are the dockets that were paid for at once.
	With []string `json:"paid_with,omitempty"`
	// TillDay is where the payment counts for a later day than that on which it was taken, as that was closed.
	TillDay string `json:"till_day,omitempty"`
}

// TakePayment records money taken or, below nought, given back; also after the watch has left, since what is owed then
// is paid later. The error is a *domain.InvalidError (see docket.Payment.Problems), or wraps domain.ErrNotFound or
// domain.ErrChanged: give c a version, so that a form sent twice takes no money twice.
func (s *Store) TakePayment(ctx context.Context, c Change, p docket.Payment) error {
	p.Note = text.Lines(p.Note)
	return s.changeAny(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		m, err := accountOf(ctx, tx, d)
		if err != nil {
			return nil, err
		}
		p := p.InCash(m.due, d.Currency)
		if err := domain.Invalid(p.Problems(m.PaidMinor, m.due)); err != nil {
			return nil, err
		}
		if err := byTheWayItCame(ctx, tx, d, c, p); err != nil {
			return nil, err
		}
		return takePayments(ctx, tx, d, c, []docket.Payment{p}, m.due, nil)
	})
}

// byTheWayItCame is a *domain.InvalidError where money would go back by another way than it came.
func byTheWayItCame(ctx context.Context, tx pgx.Tx, d docket.Docket, c Change, p docket.Payment) error {
	if p.Minor >= 0 {
		return nil
	}
	var came int64
	err := tx.QueryRow(ctx, `SELECT coalesce(sum(minor), 0) FROM payment WHERE docket_id = $1 AND method = $2`, d.ID, string(p.Method)).Scan(&came)
	if why := p.WayProblem(came, staff.Can(c.By.Role, staff.Override)); err == nil && why != "" {
		err = invalid("method", why)
	}
	return err
}

// takePayments keeps what is paid of dueMinor, and has the invoice keep to the settings, in two round trips. with are the dockets
// that were paid for at once. Nothing is kept where nothing is paid.
func takePayments(ctx context.Context, tx pgx.Tx, d docket.Docket, c Change, payments []docket.Payment, dueMinor int64, with []string) ([]event, error) {
	if len(payments) == 0 {
		return nil, nil
	}
	day, later, err := tillDay(ctx, tx, d.Currency, c.At)
	if err != nil {
		return nil, err
	}
	var batch pgx.Batch
	var events []event
	batch.Queue(keepBilledSQL, d.ID)
	for _, p := range payments {
		dueMinor -= p.Minor - p.RoundedMinor
		batch.Queue(`INSERT INTO payment (docket_id, minor, currency, method, note, given_minor, by_id, at, day, rounded_minor)
			VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)`,
			d.ID, p.Minor, d.Currency, string(p.Method), p.Note, nullID(p.GivenMinor), c.By.StaffID, docket.Moment(c.At), day, nullID(p.RoundedMinor))
		events = append(events, paidEvent(p, d.Currency, dueMinor, with, later))
	}
	return events, tx.SendBatch(ctx, &batch).Close()
}

// paidEvent tells of a payment after which dueMinor is still due.
func paidEvent(p docket.Payment, currency string, dueMinor int64, with []string, later string) event {
	kind, why := docket.Paid, ""
	if p.Minor < 0 {
		kind, why = docket.Refunded, p.Note
	}
	return event{kind: kind, summary: p.Summary(currency), why: why, facts: moneyFacts{p.Minor, currency, p.Method.Words(),
		p.Note, p.GivenMinor, p.ChangeMinor(), p.RoundedMinor, dueMinor, with, later}}
}

// keepBilled has a docket's invoice keep to the settings as they stand, unless it keeps to earlier ones: from the first
// money that was asked for or passed, somebody may hold a print of it. saveMove does the same for a watch that is ready.
func keepBilled(ctx context.Context, tx pgx.Tx, docketID int64) error {
	_, err := tx.Exec(ctx, keepBilledSQL, docketID)
	return err
}

const keepBilledSQL = `UPDATE docket SET billed_under = ` + newestShop + ` WHERE id = $1 AND billed_under IS NULL`

// account is what a docket's accounts come to, in minor units.
type account struct {
	docket.Money
	agreed  int64 // what the customer agreed to
	allowed int64 // up to which the shop may charge without asking
	due     int64
}

// accountOf reads the accounts of a locked docket.
func accountOf(ctx context.Context, tx pgx.Tx, d docket.Docket) (account, error) {
	var r factRow
	if err := tx.QueryRow(ctx, `SELECT `+factColumns+` FROM docket d WHERE d.id = $1`,
		d.ID).Scan(r.targets()...); err != nil {
		return account{}, err
	}
	facts := r.finish(d)
	return account{r.Money, docket.AgreedMinor(d.Stage, facts), docket.AllowedMinor(d.Stage, facts), facts.DueMinor}, nil
}

// Charge sets what the customer owes in all, or with a nil amount goes back to what the estimate says. c.By's role
// decides whether less than agreed may be charged, and more than the customer allowed without the customer's word.
// Setting what stands already leaves no trace. The error is a
// *domain.InvalidError (see docket.Charge.Problems), or wraps domain.ErrNotFound or domain.ErrChanged.
func (s *Store) Charge(ctx context.Context, c Change, ch docket.Charge) error {
	ch.Reason, ch.Word.By = text.Lines(ch.Reason), text.Line(ch.Word.By)
	return s.changeAny(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		m, err := accountOf(ctx, tx, d)
		if err != nil {
			return nil, err
		}
		if err := unbilled(ctx, tx, d, m); err != nil {
			return nil, err
		}
		if err := domain.Invalid(ch.Problems(m.agreed, m.allowed, c.By.Role, c.At)); err != nil {
			return nil, err
		}
		switch {
		case !ch.Above(m.allowed):
			ch.Word = docket.Word{}
		case ch.Word.How == docket.OwnerDecided:
			ch.Word.On, ch.Word.By = time.Time{}, c.By.Name
		}
		if sameAmount(m.Charged, ch.Minor) && ch.Word.How == "" {
			return nil, nil
		}
		owed := func() int64 {
			if m.Charged != nil {
				return *m.Charged
			}
			return m.agreed
		}
		was := owed()
		m.Charged = ch.Minor
		due := owed() - m.PaidMinor + m.RoundedMinor
		if m.Billed { // what was billed and credited is what is owed until another bill is issued
			due = m.due
		}
		reason := ch.Reason
		if ch.Minor == nil {
			reason = ""
		}
		if err := keepBilled(ctx, tx, d.ID); err != nil {
			return nil, err
		}
		_, err = tx.Exec(ctx, `UPDATE docket SET charged_minor = $2, charged_reason = $3, charged_word = $4,
			charged_word_on = $5, charged_word_by = $6 WHERE id = $1`, d.ID, ch.Minor, reason, string(ch.Word.How),
			nullTime(ch.Word.On), ch.Word.By)
		return []event{{kind: docket.Charged, summary: ch.Summary(d.Currency), why: ch.Reason, facts: struct {
			Was      int64  `json:"was_minor"`
			Now      int64  `json:"now_minor"`
			Currency string `json:"currency"`
			Due      int64  `json:"still_due_minor"`
			Allowed  int64  `json:"allowed_minor"`
			Word     string `json:"above_that,omitempty"`
		}{was, owed(), d.Currency, due, m.allowed, ch.Word.Sentence()}}}, err
	})
}

// unbilled is a *domain.InvalidError where an invoice stands: what is owed follows from it.
func unbilled(ctx context.Context, tx pgx.Tx, d docket.Docket, m account) error {
	if !m.Billed {
		return nil
	}
	var list []InvoiceRow
	var batch pgx.Batch
	queueInvoices(&batch, &list, `WHERE i.docket_id = $1`, d.ID)
	if err := tx.SendBatch(ctx, &batch).Close(); err != nil {
		return err
	}
	if bill, stands := BookOf(list).Standing(); stands {
		return invalid("charged", "Invoice "+bill.Number+" is issued and stays. A credit note answers it where something is wrong.")
	}
	return nil
}

func sameAmount(a, b *int64) bool {
	if a == nil || b == nil {
		return a == b
	}
	return *a == *b
}
