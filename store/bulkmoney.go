package store

import (
	"maps"
	"slices"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/link"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/till"
)

// SaveDraft is Store.SaveDraft of a new draft.
func (d *BulkDocket) SaveDraft(c Change, content estimate.Revision) (number int, err error) {
	if err := d.open(); err != nil {
		return 0, err
	}
	content.Currency = d.Currency
	if err := domain.Invalid(content.DraftProblems()); err != nil {
		return 0, err
	}
	e, number, err := d.estimate.Begin(content)
	if err != nil {
		return 0, err
	}
	v := bulkRevision{madeBy: c.By.StaffID, madeAt: docket.Moment(c.At)}
	if v.id, err = d.bulk.id("estimate_revision"); err != nil {
		return 0, err
	}
	d.estimate, d.revisions = e, append(d.revisions, v)
	r, _ := e.Find(number)
	d.enter(c, revisionEvent(docket.EstimateDrafted, estimate.ToldDrafted, r, nil))
	return number, nil
}

// SendEstimate is Store.SendEstimate.
func (d *BulkDocket) SendEstimate(c Change, number int, today time.Time) error {
	if err := d.open(); err != nil {
		return err
	}
	next, err := d.estimate.Send(number, docket.Moment(c.At), today)
	if err != nil {
		return err
	}
	d.estimate = next
	d.revisions[number-1].sentBy = c.By.StaffID
	r, _ := next.Find(number)
	events := []event{revisionEvent(docket.EstimateWasSent, estimate.ToldSent, r, nil)}
	at, expires := docket.Moment(c.At), docket.Moment(link.Expiry(c.At))
	switch l := d.link; {
	case l != nil && at.Before(l.expires):
		l.expires = expires
	default:
		id, err := d.bulk.id("customer_link")
		if err != nil {
			return err
		}
		d.link = &bulkLink{id, c.By.StaffID, at, expires}
		events = append(events, linkMadeEvent(id, expires))
	}
	d.enter(c, events...)
	return nil
}

// Sent is the number of the revision that waits for the customer's answer, 0 for none.
func (d *BulkDocket) Sent() int {
	r, _ := d.estimate.Waiting()
	return r.Number
}

// AnswerEstimate is Store.AnswerEstimate at the counter.
func (d *BulkDocket) AnswerEstimate(c Change, a estimate.Answer, today time.Time) error {
	a.By, a.At = estimate.AtCounter, docket.Moment(c.At)
	if err := domain.Invalid(a.Problems()); err != nil {
		return err
	}
	if err := d.open(); err != nil {
		return err
	}
	next, err := d.estimate.Decide(a, today)
	if err != nil {
		return err
	}
	d.estimate = next
	d.revisions[a.Revision-1].takenBy = c.By.StaffID
	r, _ := next.Find(a.Revision)
	d.enter(c, revisionEvent(answerKind(a), a.Done(), r, &a))
	return nil
}

func (d *BulkDocket) estimateRows() {
	b := d.bulk
	for i, r := range d.estimate.Revisions {
		v := d.revisions[i]
		sum, _ := r.AgreedTotals() // what could not be summed was never kept
		var a estimate.Answer
		if r.Answer != nil {
			a = *r.Answer
		}
		var sentUnder *int64
		var tongue *string
		if v.sentBy != 0 {
			sentUnder, tongue = &b.shopVersion, nullText(string(d.Tongue))
		}
		b.row("estimate_revision", v.id, d.ID, r.Number, string(r.State), r.Currency, r.Rule.PricesIncludeTax, r.Note, r.ValidUntil, sum.NetMinor, sum.TaxMinor,
			sum.GrossMinor, v.madeBy, v.madeAt, nullTime(r.SentAt), nullTime(a.At), a.Name, string(a.By), a.Note, nullID(v.sentBy), nullID(v.takenBy),
			sentUnder, tongue)
		for n, l := range r.Lines {
			b.row("estimate_line", v.id, n+1, string(l.Kind), l.Description, l.QuantityMilli, l.UnitMinor, l.TaxBasisPoints, l.Optional, l.Declined)
		}
	}
	if l := d.link; l != nil {
		b.row("customer_link", l.id, d.ID, l.by, l.at, l.expires)
	}
}

// HandOver is Store.HandOver, without a warranty card: what is due is taken, the watch leaves, and its bill is issued.
func (d *BulkDocket) HandOver(c Change, l docket.Leaving, reason string) error {
	if err := d.open(); err != nil {
		return err
	}
	m, ok := docket.LeavingMove(d.Stage)
	if !ok {
		return domain.Invalid(map[string]string{"": docket.StayProblem(d.Stage)})
	}
	l = l.Tidied()
	paid, err := d.tendered(c, l, reason)
	if err != nil {
		return err
	}
	d.collectedBy, d.proof, d.collectedChecked, d.oldParts = l.CollectedBy, string(l.Proof), l.CheckedWords(), l.OldParts.Words()
	left := leavingEvents(l, nil, nil)
	f := d.Facts()
	act := docket.Act{Role: c.By.Role, Reason: reason, Place: docket.PlaceAt(docket.PlaceCustomer, "")}
	if err := m.Check(f, act); err != nil {
		return err
	}
	billed, err := d.saved(c, d.Apply(m, f, act, c.At), 0)
	if err != nil {
		return err
	}
	d.enter(c, slices.Concat(paid, billed, left, moveEvents(m, f, act, ""))...)
	return nil
}

// tendered is takeTender of a docket in memory.
func (d *BulkDocket) tendered(c Change, l docket.Leaving, reason string) ([]event, error) {
	due := d.Facts().DueMinor
	house := docket.House{Owner: staff.Can(c.By.Role, staff.Override), Customer: d.Customer.Name, NoTicket: d.bulk.shop.NoTicketAsks()}
	bad := l.Problems(d.Number, house)
	var s docket.Settlement
	if l.Pay.Way != "" || len(bad) > 0 && reason == "" {
		var unpaid map[string]string
		s, unpaid = l.Pay.Settle(due, d.Currency)
		maps.Copy(bad, unpaid)
	}
	if err := domain.Invalid(bad); err != nil || len(s.Payments) == 0 {
		return nil, err
	}
	day, later := d.bulk.tillDay(c.At)
	var events []event
	for _, p := range s.Payments {
		due -= p.Minor - p.RoundedMinor
		d.money.PaidMinor += p.Minor
		d.money.RoundedMinor += p.RoundedMinor
		d.payments = append(d.payments, bulkPayment{p, c.By.StaffID, docket.Moment(c.At), day})
		events = append(events, paidEvent(p, d.Currency, due, nil, later))
	}
	d.keepBilled()
	return events, nil
}

// keepBilled is keepBilled of a docket in memory.
func (d *BulkDocket) keepBilled() {
	if d.billedUnder == 0 {
		d.billedUnder = d.bulk.shopVersion
	}
}

// billLeaving is billLeaving of a docket in memory.
func (d *BulkDocket) billLeaving(c Change) ([]event, error) {
	series, err := d.bulk.seriesOf(c.At)
	if err != nil {
		return nil, err
	}
	b := billing{head: d.headNow(), shop: d.bulk.shop, estimate: estimateReader{estimate: d.estimate}, invoices: d.book(), tests: d.newestTest(), series: series,
		found: true, closedTo: d.bulk.closedTo}
	book, basis := BookOf(b.invoices), b.basis()
	if book.Billed() || basis.OwedMinor <= 0 && len(basis.Deposits) == 0 {
		return nil, nil
	}
	list, ev, err := b.bill(Billing{Issue: Issue{Change: c}})
	if err != nil {
		return nil, err
	}
	d.bulk.counted(series)
	for _, g := range list {
		v := bulkInvoice{given: g, by: c.By.StaffID, at: docket.Moment(c.At)}
		if v.id, err = d.bulk.id("invoice"); err != nil {
			return nil, err
		}
		d.invoices = append(d.invoices, v)
		d.money.Billed = true
		d.money.InvoicedMinor += g.totals.GrossMinor
	}
	d.keepBilled()
	return []event{ev}, nil
}

// newestTest is what a bill says of the final test.
func (d *BulkDocket) newestTest() []FinalTest {
	tests := d.finalTests()
	return tests[:min(1, len(tests))]
}

// counted carries how far the numbers went over to the other years that a series counts through.
func (b *Bulk) counted(series []heldSeries) {
	for _, s := range series {
		for _, list := range b.series {
			for i := range list {
				if list[i].ID == s.ID && list[i].year == s.year {
					list[i].last = max(list[i].last, s.last)
				}
			}
		}
	}
}

func (d *BulkDocket) moneyRows() {
	b := d.bulk
	for _, p := range d.payments {
		b.row("payment", d.ID, p.Minor, d.Currency, string(p.Method), p.Note, nullID(p.GivenMinor), p.by, p.at, p.day, nullID(p.RoundedMinor))
	}
	for _, v := range d.invoices {
		t := v.totals
		b.row("invoice", v.id, v.seriesID, v.year, v.n, v.Number, string(v.Kind), d.ID, nullID(v.answersID), v.IssuedOn, till.OpenDay(v.IssuedOn, b.closedTo), v.Currency,
			t.NetMinor, t.TaxMinor, t.GrossMinor, v.Document, nullID(v.by), v.at)
		for _, r := range t.ByRate {
			b.row("invoice_rate", v.id, int64(r.TaxBasisPoints), r.NetMinor, r.TaxMinor, r.GrossMinor)
		}
	}
}
