package store

import (
	"time"

	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/diagnosis"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/finaltest"
	"ledgerwheel/domain/invoice"
	"ledgerwheel/domain/record"
	"ledgerwheel/domain/service"
	"ledgerwheel/domain/till"
	"ledgerwheel/domain/watch"
)

// BulkDocket is a docket whose history is lived in memory. Its methods are those of the store of the same names; the changes
// they are given name who and when, and need neither number nor version.
type BulkDocket struct {
	docket.Docket // Version and Head stand as they were before; see version
	Customer      customer.Customer
	Watch         watch.Watch

	bulk    *Bulk
	calibre watch.Calibre
	brought []record.Row // customer, watch and visit that came with it
	lines   []record.Line
	entered []bulkEntry
	version int64
	head    docket.Head

	condition               watch.Condition
	visitID, rateLimitsID   int64
	receivedBy, benchID     int64
	movedAt, placedAt       time.Time
	billedUnder, leftUnder  int64
	collectedBy, oldParts   string
	proof, collectedChecked string

	hazards   []bulkHazard
	findings  []bulkFinding
	estimate  estimate.Estimate
	revisions []bulkRevision // beside the estimate's
	link      *bulkLink
	works     []service.Work
	runs      []bulkRun
	tests     []bulkTest
	payments  []bulkPayment
	invoices  []bulkInvoice
	money     docket.Money
	stays     []bulkStay
}

type (
	bulkEntry struct {
		change Change
		event  event
	}
	bulkHazard struct {
		hazard  diagnosis.Hazard
		foundAt time.Time
		readBy  int64
		readAt  time.Time
	}
	bulkFinding struct {
		diagnosis.Finding
		by int64
		at time.Time
	}
	bulkRevision struct {
		id, madeBy, sentBy, takenBy int64
		madeAt                      time.Time
	}
	bulkLink struct {
		id, by      int64
		at, expires time.Time
	}
	bulkRun struct {
		RunRecord
		by int64
	}
	bulkTest struct {
		sheet   finaltest.Sheet
		verdict finaltest.Outcome
		kept    []byte
		note    string
		by      int64
		byName  string
		at      time.Time
	}
	bulkPayment struct {
		docket.Payment
		by  int64
		at  time.Time
		day time.Time
	}
	bulkInvoice struct {
		given
		id, by int64
		at     time.Time
	}
	bulkStay struct {
		stage        docket.Stage
		since, until time.Time
		benchID      int64
	}
)

// enter has the journal tell of a change.
func (d *BulkDocket) enter(c Change, events ...event) {
	for _, ev := range events {
		d.entered = append(d.entered, bulkEntry{c, ev})
		d.version++
	}
}

// journal makes the entries, of which the last declares the rows.
func (d *BulkDocket) journal() ([]docket.Entry, error) {
	list := make([]docket.Entry, len(d.entered))
	for i, t := range d.entered {
		e := docket.Entry{DocketID: d.ID, At: t.change.At, By: t.change.By.author(), Kind: t.event.kind, Summary: t.event.summary, Why: t.event.why}
		if i == len(d.entered)-1 && len(d.lines) > 0 {
			e.Rows = record.Format(d.lines)
		}
		e, err := d.bulk.store.entry(d.head, e, t.event.facts)
		if err != nil {
			return nil, err
		}
		list[i], d.head = e, e.Head()
	}
	return list, nil
}

// Facts are what the docket's moves depend on, as factColumns gather them of one that is kept.
func (d *BulkDocket) Facts() docket.Facts {
	f := d.Docket.Facts()
	f.Condition = len(d.condition.NoMarksSeen)+len(d.condition.Marks) > 0
	f.Findings, f.CollectedBy, f.OldPartsSettled = len(d.findings), d.collectedBy, d.oldParts != ""
	for _, h := range d.hazards {
		if h.readAt.IsZero() {
			f.HazardsOpen++
		}
	}
	for _, r := range d.estimate.Revisions {
		sum, _ := r.AgreedTotals() // what could not be summed was never kept
		f.Estimate, f.TotalMinor = docket.EstimateState(r.State), sum.GrossMinor
		if r.State == estimate.Approved {
			f.ApprovedMinor = sum.GrossMinor
		}
	}
	for _, w := range d.works {
		f.ServiceSteps += len(w.Steps)
	}
	d.runFacts(&f)
	for _, t := range d.tests {
		if !d.TestSince.IsZero() && !t.at.Before(d.TestSince) {
			f.FinalTest = docket.Outcome(t.verdict)
		}
	}
	f.DueMinor = d.money.DueMinor(d.Stage, f)
	return f
}

// Head is the docket as its sheets and its bill read it.
func (d *BulkDocket) headNow() Head {
	return Head{Docket: d.Docket, Facts: d.Facts(), Customer: d.Customer, Watch: d.Watch, Calibre: d.calibre, Money: d.money}
}

// finalTests are the tests as a sheet reads them, newest first.
func (d *BulkDocket) finalTests() []FinalTest {
	var list []FinalTest
	for _, t := range d.tests {
		since := func(from time.Time) bool { return !from.IsZero() && !t.at.Before(from) }
		list = append([]FinalTest{{Sheet: t.sheet, Note: t.note, By: t.byName, At: t.at, Counts: since(d.TestSince), SinceWork: since(d.WorkSince)}}, list...)
	}
	return list
}

// book is the documents that were issued.
func (d *BulkDocket) book() []InvoiceRow {
	var list []InvoiceRow
	for _, v := range d.invoices {
		list = append(list, InvoiceRow{Settled: invoice.Settled{ID: v.id, Document: v.Document, Totals: v.totals}, At: v.at})
	}
	return list
}

// saved is saveMove of a docket in memory.
func (d *BulkDocket) saved(c Change, after docket.Docket, benchID int64) ([]event, error) {
	leaves, at := after.Closed() && !d.Closed(), docket.Moment(c.At)
	var events []event
	if leaves {
		var err error
		if events, err = d.billLeaving(c); err != nil {
			return nil, err
		}
	}
	if d.Place != after.Place {
		d.placedAt = at
	}
	if after.Closed() {
		d.leftUnder = d.bulk.shopVersion
	}
	if (after.Closed() || after.Stage == docket.StageReady) && d.billedUnder == 0 {
		d.billedUnder = d.bulk.shopVersion
	}
	d.stayed(after, at, benchID)
	d.Docket, d.movedAt, d.benchID = after, at, benchID
	return events, nil
}

// stayed notes the stay in a stage, as the trigger docket_stays does.
func (d *BulkDocket) stayed(after docket.Docket, at time.Time, benchID int64) {
	now := &d.stays[len(d.stays)-1]
	if after.Stage == d.Stage && !after.Closed() {
		now.benchID = benchID
		return
	}
	if now.until = at; at.Before(now.since) {
		now.until = now.since
	}
	if !after.Closed() {
		d.stays = append(d.stays, bulkStay{stage: after.Stage, since: now.until, benchID: benchID})
	}
}

// worked is worked of a docket in memory.
func (d *BulkDocket) worked(at time.Time) { d.Docket = d.Docket.Worked(at) }

// tillDay is tillDay, of the till that the transaction holds.
func (b *Bulk) tillDay(at time.Time) (day time.Time, later string) {
	today := civilDay(at, b.shop.Location())
	if day = till.OpenDay(today, b.closedTo); day.After(today) {
		later = day.Format(time.DateOnly)
	}
	return day, later
}

// rows copies all that stands of the docket.
func (d *BulkDocket) rows() {
	b := d.bulk
	b.row("docket", d.ID, d.Number.Year, d.Number.Seq, d.Number.String(), string(d.Stage), !d.Closed(), string(d.Place.Kind), d.Place.Detail, d.version,
		d.CustomerID, d.WatchID, d.Complaint, string(d.Wanted), d.Currency, d.DeclaredValueMinor, d.ApprovalLimitMinor, d.ReceivedOn, nullTime(d.PromisedOn),
		d.ReceivedAt, d.receivedBy, nullID(d.benchID), nullID(d.WarrantyOf), nullID(d.rateLimitsID), partWords(d.condition.NoMarksSeen), d.OwnerReason, d.movedAt,
		nullTime(d.WorkSince), nullTime(d.TestSince), nullTime(d.HandedBackAt), d.collectedBy, d.oldParts, nullTime(d.placedAt), d.proof, d.collectedChecked,
		b.shopVersion, nullID(d.billedUnder), nullID(d.leftUnder), nullText(string(d.Tongue)), d.visitID, nullText(d.OrderNumber))
	for _, h := range d.hazards {
		b.row("hazard", d.ID, string(h.hazard), h.foundAt, nullID(h.readBy), nullTime(h.readAt))
	}
	for _, m := range d.condition.Marks {
		var x, y *float64
		if m.Placed {
			x, y = &m.X, &m.Y
		}
		b.row("condition_mark", d.ID, string(m.Part), string(m.Kind), x, y, m.Note)
	}
	for _, f := range d.findings {
		b.row("finding", d.ID, string(f.Component), f.Fault, string(f.Severity), f.Note, f.by, f.at)
	}
	d.estimateRows()
	for _, w := range d.works {
		b.row("bench_work", w.ID, d.ID, w.Minutes, w.Note, w.ByID, w.At)
		for _, step := range w.Steps {
			b.row("service_step", d.ID, w.ID, string(step), w.StepMinutes[step], w.ByID, w.At)
		}
		for _, l := range w.Lubricants {
			b.row("lubricant_use", d.ID, w.ID, string(l.Place), l.Kind, l.Note, w.ByID, w.At)
		}
	}
	for _, r := range d.runs {
		d.runRows(r)
	}
	for _, t := range d.tests {
		b.row("final_test", d.ID, t.kept, string(t.verdict), t.note, t.by, t.at)
	}
	d.moneyRows()
	for i, s := range d.stays {
		b.row("stay", d.ID, i+1, string(s.stage), s.since, nullTime(s.until), nullID(s.benchID))
	}
}
