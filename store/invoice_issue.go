package store

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/invoice"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/till"
)

// Issue is what whoever issues a document says besides what is in it.
type Issue struct {
	Change
	SeriesID int64 // 0 for the usual one
}

// Billing issues the bill of a docket.
type Billing struct {
	Issue
	Choices invoice.Choices
	// Reason and Word let the bill come to another sum than is owed; see docket.Charge.
	Reason string
	Word   docket.Word
}

// IssueBill issues the bill of a docket, which takes off the deposits that were invoiced; what of a deposit is more than the
// bill comes to is credited at once. It returns the bill's number. The error is a *domain.InvalidError: the fields of
// invoice.Document.Problems, invoice.Choices.Problems and docket.Charge.Problems, "series", and "" where there is nothing
// to bill or a bill stands already; or as of the other changes of a docket.
func (s *Store) IssueBill(ctx context.Context, v Billing) (number string, err error) {
	err = s.issueDocuments(ctx, v.Issue, func(b *billing) ([]given, event, error) {
		list, ev, err := b.bill(v)
		if err == nil {
			number = list[0].Number
		}
		return list, ev, err
	})
	return number, err
}

// IssueDeposit issues a deposit invoice over grossMinor of what was agreed. It returns its number. The error is as of
// IssueBill, with "amount" for a sum beyond what was agreed and not yet invoiced.
func (s *Store) IssueDeposit(ctx context.Context, v Billing, grossMinor int64) (number string, err error) {
	err = s.issueDocuments(ctx, v.Issue, func(b *billing) ([]given, event, error) {
		if _, stands := BookOf(b.invoices).Standing(); stands || b.head.Docket.Closed() {
			return nil, event{}, invalid("", "The bill is issued, or the watch has left: a deposit is asked for before.")
		}
		d, err := b.basis().DepositInvoice(grossMinor, v.Choices, b.day(v.At))
		if errors.Is(err, invoice.ErrDeposit) {
			return nil, event{}, invalid("amount", "Give an amount above zero and no more than was agreed and not yet invoiced.")
		}
		if err != nil {
			return nil, event{}, err
		}
		if err := domain.Invalid(d.Problems()); err != nil {
			return nil, event{}, err
		}
		g, err := b.number(d, v.SeriesID, 0)
		number = g.Number
		return []given{g}, b.told(docket.DepositInvoiced, []given{g}, ""), err
	})
	return number, err
}

// IssueCredit issues the credit note that answers a document of the docket. It returns its number. The error is as of
// IssueBill, with "amount" or "lines" for more than is left of it, and "why"; it wraps domain.ErrNotFound where the docket has
// no such document.
func (s *Store) IssueCredit(ctx context.Context, v Issue, answers string, c invoice.Crediting) (number string, err error) {
	err = s.issueDocuments(ctx, v, func(b *billing) ([]given, event, error) {
		g, err := b.credit(v, answers, c)
		number = g.Number
		return []given{g}, b.told(docket.CreditIssued, []given{g}, c.Why), err
	})
	return number, err
}

// invalid is one field's problem.
func invalid(field, why string) error { return domain.Invalid(map[string]string{field: why}) }

// issueDocuments does what make says in one transaction of six round trips at most: it reads everything with the docket and the
// counters held, numbers and writes the documents, and appends the journal's entry.
func (s *Store) issueDocuments(ctx context.Context, v Issue, make func(*billing) ([]given, event, error)) error {
	err := s.inTx(ctx, func(tx pgx.Tx) error {
		var b billing
		var batch pgx.Batch
		// What follows in the batch sees the docket as it stands once it is held.
		batch.Queue(`SELECT FROM docket WHERE number = $1 FOR UPDATE`, v.Number.String())
		b.queue(&batch, v.Number, v.SeriesID, v.At)
		if err := tx.SendBatch(ctx, &batch).Close(); err != nil {
			return err
		}
		d := b.head.Docket
		switch {
		case !b.found:
			return domain.ErrNotFound
		case v.Version != 0 && v.Version != d.Version:
			if err := onlyPassive(ctx, tx, d, v.Version); err != nil {
				return err
			}
		}
		list, ev, err := make(&b)
		if err != nil {
			return err
		}
		rows, err := b.write(ctx, tx, v.Change, list)
		if err != nil {
			return err
		}
		return s.appendDeclaring(ctx, tx, d.ID, docket.Head{Seq: d.Version, Hash: d.Head}, v.Change, []event{ev}, rows)
	})
	if err != nil {
		return fmt.Errorf("issue on docket %s: %w", v.Number, Translate(err))
	}
	return nil
}

// billLeaving issues the bill of a locked docket whose watch leaves, where none was issued and there is something to bill, in
// two round trips, and gives back what of a deposit nothing was done for. It returns what the journal is told.
func billLeaving(ctx context.Context, tx pgx.Tx, c Change, d docket.Docket) ([]event, error) {
	var b billing
	var batch pgx.Batch
	b.queue(&batch, d.Number, 0, c.At)
	if err := tx.SendBatch(ctx, &batch).Close(); err != nil {
		return nil, err
	}
	book, basis := BookOf(b.invoices), b.basis()
	if book.Billed() || basis.OwedMinor <= 0 && len(basis.Deposits) == 0 {
		return nil, nil
	}
	list, ev, err := b.bill(Billing{Issue: Issue{Change: c}})
	if err != nil {
		return nil, err
	}
	var write pgx.Batch
	b.queueIssued(&write, c, list)
	return []event{ev}, tx.SendBatch(ctx, &write).Close()
}

// day is the civil day in the shop.
func (b *billing) day(at time.Time) time.Time { return civilDay(at, b.shop.Location()) }

// bill makes the bill and the credit notes that go with it.
func (b *billing) bill(v Billing) ([]given, event, error) {
	book := BookOf(b.invoices)
	if bill, stands := book.Standing(); stands {
		return nil, event{}, invalid("", "Invoice "+bill.Number+" is issued. A credit note answers it where something is wrong.")
	}
	basis, today := b.basis(), b.day(v.At)
	d, left, err := basis.Bill(v.Choices, today)
	if err != nil {
		return nil, event{}, err
	}
	if len(d.Lines) == 0 && len(left) == 0 {
		return nil, event{}, invalid("", "There is nothing to bill.")
	}
	differs, bad, err := b.differs(v, basis, d)
	if err != nil {
		return nil, event{}, err
	}
	maps.Copy(bad, v.Choices.Problems(today))
	if len(d.Lines) > 0 {
		maps.Copy(bad, d.Problems())
	}
	if err := domain.Invalid(bad); err != nil {
		return nil, event{}, err
	}
	var list []given
	if len(d.Lines) > 0 {
		g, err := b.number(d, v.SeriesID, 0)
		if err != nil {
			return nil, event{}, err
		}
		list = append(list, g)
	}
	for _, over := range left {
		g, err := b.credit(Issue{Change: v.Change}, over.Number, invoice.Crediting{GrossMinor: over.Totals.GrossMinor, Why: basis.Tongue.Say("paper.deposit_over")})
		if err != nil {
			return nil, event{}, err
		}
		list = append(list, g)
	}
	ev := b.told(docket.InvoiceIssued, list, v.Reason)
	f := ev.facts.(documentFacts)
	f.Was, f.Now, f.Word = differs.was, differs.now, differs.word
	ev.facts = f
	return list, ev, nil
}

// difference is a bill that comes to another sum than was owed.
type difference struct {
	was, now *int64
	word     string
}

// differs holds what the bill comes to, each line at its rate of tax, against what is owed: what differs takes what a charge
// takes.
func (b *billing) differs(v Billing, basis invoice.Basis, d invoice.Document) (difference, map[string]string, error) {
	d.Treatment = invoice.Standard
	whole, err := d.Whole()
	if err != nil || whole.GrossMinor == basis.OwedMinor {
		return difference{}, map[string]string{}, err
	}
	docketNow := b.head.Docket
	agreed, allowed := docket.AgreedMinor(docketNow.Stage, b.head.Facts), docket.AllowedMinor(docketNow.Stage, b.head.Facts)
	if b.head.Money.Charged != nil {
		// Who charged that sum had the word for it.
		agreed, allowed = min(agreed, *b.head.Money.Charged), max(allowed, *b.head.Money.Charged)
	}
	ch := docket.Charge{Minor: &whole.GrossMinor, Reason: text.Lines(v.Reason), Word: v.Word}
	ch.Word.By = text.Line(ch.Word.By)
	bad := ch.Problems(agreed, allowed, v.By.Role, v.At)
	if why := bad["charged"]; why != "" {
		delete(bad, "charged")
		bad["off"] = why
	}
	switch {
	case !ch.Above(allowed):
		ch.Word = docket.Word{}
	case ch.Word.How == docket.OwnerDecided:
		ch.Word.On, ch.Word.By = time.Time{}, v.By.Name
	}
	return difference{&basis.OwedMinor, &whole.GrossMinor, ch.Word.Sentence()}, bad, nil
}

// credit makes a credit note.
func (b *billing) credit(v Issue, answers string, c invoice.Crediting) (given, error) {
	book := BookOf(b.invoices)
	for _, of := range book {
		if of.Number != answers || of.Kind == invoice.Credit {
			continue
		}
		d, err := invoice.Credited(of.Document, book.Left(answers), c, b.day(v.At))
		switch {
		case errors.Is(err, invoice.ErrNothingCredited):
			return given{}, invalid("amount", "Say what is credited.")
		case errors.Is(err, invoice.ErrOverCredited):
			field := "amount"
			if len(c.Lines) > 0 {
				field = "lines"
			}
			return given{}, invalid(field, "That is more than is left of "+answers+".")
		case err != nil:
			return given{}, err
		}
		if err := domain.Invalid(d.Problems()); err != nil {
			return given{}, err
		}
		return b.number(d, v.SeriesID, of.ID)
	}
	return given{}, domain.ErrNotFound
}

// given is a document that has its number and is to be written.
type given struct {
	invoice.Document
	seriesID, answersID int64
	year, n             int
	totals              estimate.Totals
}

// number gives a document the next number of the series that was chosen, or of the usual one.
func (b *billing) number(d invoice.Document, series, answersID int64) (given, error) {
	g := given{Document: d, answersID: answersID}
	for i := range b.series {
		s := &b.series[i]
		if s.ID != series && (series != 0 || d.Kind == invoice.Credit && !s.credit || d.Kind != invoice.Credit && !s.usual) {
			continue
		}
		s.last++
		g.seriesID, g.year, g.n = s.ID, s.year, s.last
		g.Number = s.Number(d.IssuedOn.Year(), s.last)
		var err error
		g.totals, err = d.Totals()
		return g, err
	}
	return g, invalid("series", "Choose a series of numbers that is still used.")
}

// write writes the documents in one round trip and returns what the transaction has to declare.
func (b *billing) write(ctx context.Context, tx pgx.Tx, c Change, list []given) ([]byte, error) {
	var batch pgx.Batch
	b.queueIssued(&batch, c, list)
	var noted string
	batch.Queue(notedSQL).QueryRow(func(row pgx.Row) error { return row.Scan(&noted) })
	if err := tx.SendBatch(ctx, &batch).Close(); err != nil {
		return nil, err
	}
	return declared(noted)
}

// queueIssued adds to a batch the writing of documents, and has the docket's papers keep to the settings.
func (b *billing) queueIssued(batch *pgx.Batch, c Change, list []given) {
	batch.Queue(keepBilledSQL, b.head.Docket.ID)
	for _, g := range list {
		t := g.totals
		batch.Queue(`UPDATE invoice_number SET last = $3 WHERE series_id = $1 AND year = $2`, g.seriesID, g.year, g.n)
		var rates, net, tax, gross []int64
		for _, r := range t.ByRate {
			rates, net, tax, gross = append(rates, int64(r.TaxBasisPoints)), append(net, r.NetMinor), append(tax, r.TaxMinor), append(gross, r.GrossMinor)
		}
		batch.Queue(`WITH i AS (INSERT INTO invoice (series_id, year, n, number, kind, docket_id, answers_id, issued_on, booked_on, currency,
				net_minor, tax_minor, gross_minor, body, by_id, at)
				VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16) RETURNING id)
			INSERT INTO invoice_rate (invoice_id, tax_basis_points, net_minor, tax_minor, gross_minor)
			SELECT i.id, r.* FROM i, unnest($17::bigint[], $18::bigint[], $19::bigint[], $20::bigint[]) r`,
			g.seriesID, g.year, g.n, g.Number, string(g.Kind), b.head.Docket.ID, nullID(g.answersID), g.IssuedOn, till.OpenDay(g.IssuedOn, b.closedTo), g.Currency,
			t.NetMinor, t.TaxMinor, t.GrossMinor, g.Document, nullID(c.By.StaffID), docket.Moment(c.At), rates, net, tax, gross)
	}
}

// documentFacts is what the journal keeps of a document.
type documentFacts struct {
	Invoice   string   `json:"invoice"`
	Answers   string   `json:"answers,omitempty"`
	Currency  string   `json:"currency"`
	Net       int64    `json:"net_minor"`
	Tax       int64    `json:"tax_minor"`
	Gross     int64    `json:"gross_minor"`
	Treatment string   `json:"treatment,omitempty"`
	SetOff    []string `json:"set_off,omitempty"`
	Was       *int64   `json:"was_minor,omitempty"`
	Now       *int64   `json:"now_minor,omitempty"`
	Word      string   `json:"above_that,omitempty"`
	Due       int64    `json:"still_due_minor"`
}

// told is what the journal is told of documents: the first in its facts, all of them in its sentence.
func (b *billing) told(kind docket.Kind, list []given, why string) event {
	if len(list) == 0 {
		return event{}
	}
	g := list[0]
	f := documentFacts{Invoice: g.Number, Answers: g.Answers, Currency: g.Currency, Net: g.totals.NetMinor, Tax: g.totals.TaxMinor, Gross: g.totals.GrossMinor,
		Due: b.dueAfter(list)}
	if g.Treatment != invoice.Standard {
		f.Treatment = g.Treatment.Words()
	}
	for _, s := range g.SetOffs {
		f.SetOff = append(f.SetOff, s.Number)
	}
	ev := event{kind: kind, why: text.Lines(why), facts: f}
	if g.Kind == invoice.Credit {
		ev.kind = docket.CreditIssued
	}
	for _, g := range list {
		ev.summary += " " + docket.IssuedSummary(g.Kind.Words(), g.Number, g.totals.GrossMinor, g.Currency)
	}
	ev.summary = ev.summary[1:]
	return ev
}

// dueAfter is what is still to pay once the documents are written.
func (b *billing) dueAfter(list []given) int64 {
	m := b.head.Money
	for _, g := range list {
		m.Billed = m.Billed || g.Kind == invoice.Bill
		if g.Kind == invoice.Credit {
			m.InvoicedMinor -= g.totals.GrossMinor
		} else {
			m.InvoicedMinor += g.totals.GrossMinor
		}
	}
	return m.DueMinor(b.head.Docket.Stage, b.head.Facts)
}
