package store

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/watch"
)

// Head is what every sheet of a docket shows: the docket, whose watch it is, and the facts on which its
// moves depend.
type Head struct {
	Docket       docket.Docket
	Facts        docket.Facts
	Customer     customer.Customer
	Watch        watch.Watch
	Calibre      watch.Calibre // zero when the watch's calibre is not in the shop's list
	Bench        string        // who has it on the bench, "" when nobody
	BenchID      int64
	MovedAt      time.Time
	Entered      []docket.Stage // where the docket's moves led, oldest first
	ReceivedBy   string
	ComebackOf   string // number of the docket this one returns from
	Comebacks    []string
	OldParts     string // what became of them, in words
	ChargedMinor *int64 // see column charged_minor
	PaidMinor    int64
	Money        docket.Money
	RateLimitsID int64
	// VisitID is that of the watches which were brought at once, 0 for none kept; With are the numbers of the others.
	VisitID  int64
	With     []string
	ParcelID int64 // in which the watch came; 0 for one that was brought
}

// docketFields are the docket's own columns, read by scanDocket in this order.
const docketFields = `d.id, d.year, d.seq, d.stage, d.place, d.place_detail, d.version, d.head_hash,
	d.customer_id, d.watch_id, d.complaint, d.wanted, d.currency, d.declared_minor, d.approval_limit_minor,
	d.received_on, d.promised_on, coalesce(d.comeback_of, 0), d.received_at, d.handed_back_at, d.owner_reason, d.work_since, d.test_since, coalesce(d.tongue, ''), coalesce(d.order_number, '')`

// docketTargets are where docketFields go. finish must be called once they are scanned.
func docketTargets(d *docket.Docket) (targets []any, finish func()) {
	var hash []byte
	var promised, back, work, test *time.Time
	targets = []any{&d.ID, &d.Number.Year, &d.Number.Seq, &d.Stage, &d.Place.Kind, &d.Place.Detail, &d.Version, &hash,
		&d.CustomerID, &d.WatchID, &d.Complaint, &d.Wanted, &d.Currency, &d.DeclaredValueMinor, &d.ApprovalLimitMinor,
		&d.ReceivedOn, &promised, &d.WarrantyOf, &d.ReceivedAt, &back, &d.OwnerReason, &work, &test, &d.Tongue, &d.OrderNumber}
	return targets, func() {
		copy(d.Head[:], hash)
		d.ReceivedAt = d.ReceivedAt.UTC()
		d.PromisedOn = timeOr(promised)
		d.HandedBackAt = timeOr(back)
		d.WorkSince, d.TestSince = timeOr(work), timeOr(test)
	}
}

func timeOr(t *time.Time) time.Time {
	if t == nil {
		return time.Time{}
	}
	return t.UTC()
}

// nullTime is the other way: a zero time is kept as null.
func nullTime(t time.Time) *time.Time {
	if t.IsZero() {
		return nil
	}
	return &t
}

// nullText is nil for no text.
func nullText(text string) *string {
	if text == "" {
		return nil
	}
	return &text
}

// nullID keeps the id of nothing as null.
func nullID(id int64) *int64 {
	if id == 0 {
		return nil
	}
	return &id
}

// lockDocket reads the docket and holds its row until the transaction ends, so that writers to one docket
// stand in line.
func lockDocket(ctx context.Context, tx pgx.Tx, n docket.Number) (docket.Docket, error) {
	var d docket.Docket
	targets, finish := docketTargets(&d)
	err := tx.QueryRow(ctx, `SELECT `+docketFields+` FROM docket d WHERE d.number = $1 FOR UPDATE`,
		n.String()).Scan(targets...)
	finish()
	return d, err
}

// factColumns gather in one query what a docket's moves depend on; each subquery rides on an index that
// begins with docket_id. They are read by factTargets in this order.
const factColumns = `
	cardinality(d.condition_clear) > 0
		OR EXISTS (SELECT FROM condition_mark WHERE docket_id = d.id)
		OR EXISTS (SELECT FROM photo WHERE docket_id = d.id AND about = 'condition' AND removed_at IS NULL),
	(SELECT count(*) FROM finding WHERE docket_id = d.id AND struck_at IS NULL),
	(SELECT count(*) FROM hazard WHERE docket_id = d.id AND acknowledged_at IS NULL),
	EXISTS (SELECT FROM run WHERE docket_id = d.id AND kind = 'as received'),
	coalesce((SELECT state FROM estimate_revision WHERE docket_id = d.id ORDER BY number DESC LIMIT 1), ''),
	coalesce((SELECT gross_minor FROM estimate_revision WHERE docket_id = d.id ORDER BY number DESC LIMIT 1), 0),
	coalesce((SELECT gross_minor FROM estimate_revision WHERE docket_id = d.id AND state = 'approved'), 0),
	(SELECT count(*) FROM part_line WHERE docket_id = d.id AND state IN ('needed', 'ordered')),
	(SELECT count(*) FROM service_step WHERE docket_id = d.id),
	EXISTS (SELECT FROM run WHERE docket_id = d.id AND kind = 'final' AND taken_at >= d.work_since),
	coalesce((SELECT outcome FROM run WHERE docket_id = d.id AND kind = 'final' AND taken_at >= d.work_since
		ORDER BY id DESC LIMIT 1), ''),
	coalesce((SELECT outcome FROM run WHERE docket_id = d.id AND kind <> 'run-down' AND taken_at >= d.work_since
		ORDER BY id DESC LIMIT 1), ''),
	coalesce((SELECT verdict FROM final_test WHERE docket_id = d.id AND at >= d.test_since ORDER BY id DESC LIMIT 1), ''),
	d.old_parts, d.collected_by, d.charged_minor,
	coalesce((SELECT sum(minor) FROM payment WHERE docket_id = d.id), 0),
	coalesce((SELECT sum(rounded_minor) FROM payment WHERE docket_id = d.id), 0),
	EXISTS (SELECT FROM invoice WHERE docket_id = d.id AND kind = 'invoice'),
	coalesce((SELECT sum(CASE kind WHEN 'credit-note' THEN -gross_minor ELSE gross_minor END) FROM invoice WHERE docket_id = d.id), 0),
	EXISTS (SELECT FROM loan WHERE docket_id = d.id AND back_at IS NULL AND kept_out_why = ''),
	` + coverSQL

// factRow holds what factColumns give until it is made into facts.
type factRow struct {
	facts    docket.Facts
	oldParts string
	docket.Money
}

func (r *factRow) targets() []any {
	f := &r.facts
	return []any{&f.Condition, &f.Findings, &f.HazardsOpen, &f.AsReceivedRun, &f.Estimate, &f.TotalMinor,
		&f.ApprovedMinor, &f.PartsOutstanding, &f.ServiceSteps, &f.RunAfterWork, &f.RunOutcome, &f.NewestRun, &f.FinalTest,
		&r.oldParts, &f.CollectedBy, &r.Charged, &r.PaidMinor, &r.RoundedMinor, &r.Billed, &r.InvoicedMinor, &f.LoanOut, &f.Cover}
}

// finish adds what the docket's own fields say.
func (r *factRow) finish(d docket.Docket) docket.Facts {
	f, own := r.facts, d.Facts()
	f.Place, f.Closed, f.ApprovalLimitMinor, f.OwnerReason = own.Place, own.Closed, own.ApprovalLimitMinor, own.OwnerReason
	f.OldPartsSettled = r.oldParts != ""
	f.DueMinor = r.DueMinor(d.Stage, f)
	return f
}

// headsSQL reads heads; what follows says of which dockets d.
var headsSQL = `SELECT ` + docketFields + `, ` + factColumns + `, ` + customerFields + `, ` + watchFields + `, ` +
	calibreFields + `,
	coalesce(b.name, ''), coalesce(d.bench_staff_id, 0), d.moved_at, r.name, coalesce(o.number, ''),
	ARRAY(SELECT number FROM docket WHERE comeback_of = d.id ORDER BY id), coalesce(d.rate_limits_id, 0),
	ARRAY(SELECT convert_from(facts, 'UTF8')::json ->> 'to' FROM journal
		WHERE docket_id = d.id AND kind = 'moved' AND facts IS NOT NULL ORDER BY seq),
	coalesce(d.visit_id, 0), ARRAY(SELECT number FROM docket WHERE visit_id = d.visit_id AND id <> d.id ORDER BY id), coalesce(d.parcel_id, 0)
	FROM docket d
	JOIN customer c ON c.id = d.customer_id
	JOIN watch w ON w.id = d.watch_id
	LEFT JOIN calibre k ON k.id = w.calibre_id
	LEFT JOIN staff b ON b.id = d.bench_staff_id
	JOIN staff r ON r.id = d.received_by
	LEFT JOIN docket o ON o.id = d.comeback_of
	`

var headSQL = headsSQL + `WHERE d.number = $1`

// queueHead adds the reading of a docket's head to a page's batch: the sheets of a docket are read in the
// same round trip as its head. *found stays false when there is no such docket.
func queueHead(batch *pgx.Batch, n docket.Number, h *Head, found *bool) {
	batch.Queue(headSQL, n.String()).Query(func(rows pgx.Rows) error {
		heads, err := pgx.CollectRows(rows, scanHead)
		if err == nil && len(heads) == 1 {
			*h, *found = heads[0], true
		}
		return err
	})
}

func scanHead(row pgx.CollectableRow) (Head, error) {
	var h Head
	var facts factRow
	own, finish := docketTargets(&h.Docket)
	targets := append(own, facts.targets()...)
	targets = append(targets, customerTargets(&h.Customer)...)
	targets = append(targets, watchTargets(&h.Watch)...)
	targets = append(targets, calibreTargets(&h.Calibre)...)
	targets = append(targets, &h.Bench, &h.BenchID, &h.MovedAt, &h.ReceivedBy, &h.ComebackOf, &h.Comebacks,
		&h.RateLimitsID, &h.Entered, &h.VisitID, &h.With, &h.ParcelID)
	if err := row.Scan(targets...); err != nil {
		return Head{}, err
	}
	finish()
	h.MovedAt = h.MovedAt.UTC()
	h.Facts = facts.finish(h.Docket)
	h.OldParts, h.ChargedMinor, h.PaidMinor = facts.oldParts, facts.Charged, facts.PaidMinor
	h.Money = facts.Money
	return h, nil
}

// Head reads one docket's head; the error wraps domain.ErrNotFound when there is none.
func (s *Store) Head(ctx context.Context, n docket.Number) (Head, error) {
	rows, _ := s.db.Query(ctx, headSQL, n.String())
	h, err := pgx.CollectExactlyOneRow(rows, scanHead)
	if err != nil {
		return Head{}, fmt.Errorf("docket %s: %w", n, Translate(err))
	}
	return h, nil
}

// factsOf gathers the facts of a locked docket inside the transaction that acts on them.
func factsOf(ctx context.Context, tx pgx.Tx, d docket.Docket) (docket.Facts, error) {
	var r factRow
	if err := tx.QueryRow(ctx, `SELECT `+factColumns+` FROM docket d WHERE d.id = $1`,
		d.ID).Scan(r.targets()...); err != nil {
		return docket.Facts{}, err
	}
	return r.finish(d), nil
}
