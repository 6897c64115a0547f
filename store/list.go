package store

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/staff"
)

// DocketRow is a docket in a list.
type DocketRow struct {
	// Docket holds what a list shows of it: ID, Number, Stage, Place, Version, ReceivedOn, PromisedOn,
	// HandedBackAt, and what its facts say.
	Docket docket.Docket
	// Facts holds those that [docket.WaitsFor] reads.
	Facts    docket.Facts
	Customer string
	// Phone is the customer's telephone as typed, PhoneE164 as it was read, empty where it was not.
	Phone, PhoneE164 string
	Watch            string // maker and model
	Comeback         bool   // it returned under warranty
	BenchID          int64  // who has the work in hand, 0 for nobody
	Bench            string
	MovedAt          time.Time // when it came to its stage
	PlacedAt         time.Time // when the watch came to its place
	// Trial is the one that runs on it; only Today reads it, and nil means none.
	Trial *RunningTrial
}

// WaitsFor says in a few words what the docket waits for.
func (r DocketRow) WaitsFor() string { return docket.WaitsFor(r.Docket.Stage, r.Facts) }

// rowColumns give a DocketRow of docket d. Each subquery is a look-up in an index that begins with what it is
// asked by, so a list costs what its rows cost, whatever else the planner thinks of.
const rowColumns = `d.id, d.year, d.seq, d.stage, d.place, d.place_detail, d.version, d.received_on, d.promised_on,
	d.handed_back_at, d.approval_limit_minor, d.owner_reason,
	(SELECT name FROM customer WHERE id = d.customer_id), (SELECT phone FROM customer WHERE id = d.customer_id),
	(SELECT phone_e164 FROM customer WHERE id = d.customer_id), d.comeback_of IS NOT NULL,
	(SELECT maker || CASE WHEN model = '' THEN '' ELSE ' ' || model END FROM watch WHERE id = d.watch_id),
	coalesce(d.bench_staff_id, 0), coalesce((SELECT name FROM staff WHERE id = d.bench_staff_id), ''),
	d.moved_at, coalesce(d.placed_at, d.received_at),
	coalesce((SELECT state FROM estimate_revision WHERE docket_id = d.id ORDER BY number DESC LIMIT 1), ''),
	coalesce((SELECT gross_minor FROM estimate_revision WHERE docket_id = d.id ORDER BY number DESC LIMIT 1), 0),
	(SELECT count(*) FROM part_line WHERE docket_id = d.id AND state IN ('needed', 'ordered')),
	EXISTS (SELECT FROM run WHERE docket_id = d.id AND kind = 'final' AND taken_at >= d.work_since),
	coalesce((SELECT verdict FROM final_test WHERE docket_id = d.id AND at >= d.test_since ORDER BY id DESC LIMIT 1), ''),
	` + coverSQL

func scanDocketRow(row pgx.CollectableRow) (DocketRow, error) { return scanRowAnd(row) }

// scanRowAnd reads rowColumns, and what follows them into more.
func scanRowAnd(row pgx.CollectableRow, more ...any) (DocketRow, error) {
	var r DocketRow
	d, f := &r.Docket, &r.Facts
	var promised, back *time.Time
	err := row.Scan(append([]any{&d.ID, &d.Number.Year, &d.Number.Seq, &d.Stage, &d.Place.Kind, &d.Place.Detail, &d.Version,
		&d.ReceivedOn, &promised, &back, &d.ApprovalLimitMinor, &d.OwnerReason, &r.Customer, &r.Phone,
		&r.PhoneE164, &r.Comeback, &r.Watch,
		&r.BenchID, &r.Bench, &r.MovedAt, &r.PlacedAt,
		&f.Estimate, &f.TotalMinor, &f.PartsOutstanding, &f.RunAfterWork, &f.FinalTest, &f.Cover}, more...)...)
	if err != nil {
		return DocketRow{}, err
	}
	d.PromisedOn, d.HandedBackAt = timeOr(promised), timeOr(back)
	r.MovedAt, r.PlacedAt = r.MovedAt.UTC(), r.PlacedAt.UTC()
	own := d.Facts()
	f.Place, f.Closed, f.ApprovalLimitMinor, f.OwnerReason = own.Place, own.Closed, own.ApprovalLimitMinor, own.OwnerReason
	return r, nil
}

// Keeping says which dockets a list is about.
type Keeping string

// The dockets whose watch the shop keeps, those whose watch has left, and both.
const (
	InShop Keeping = "open"
	Gone   Keeping = "closed"
	Either Keeping = "all"
)

// DocketFilter narrows a list of dockets. The zero value of each field but Today leaves its question open. Who has it,
// where it is, age and being overdue are asked only of dockets in the shop, so asking for one of them leaves out the
// closed.
type DocketFilter struct {
	Keeping        Keeping
	Stage          docket.Stage
	BenchID        int64
	Unassigned     bool // nobody has it in hand
	Overdue        bool
	Today          time.Time // civil day in the shop, midnight UTC; needed for Overdue
	ReceivedBefore time.Time // civil day
	Place          docket.PlaceKind
	CustomerID     int64
	WatchID        int64
	// Before and After are ids of dockets at which a further page begins; at most one is set.
	Before, After int64
}

// DocketsPage is how many dockets a page of the list shows.
const DocketsPage = 25

// DocketList is a page of the list, newest first.
type DocketList struct {
	Rows         []DocketRow
	Newer, Older bool // there are more on that side
	Bench        []staff.Member
}

// Dockets reads a page of the list of dockets, and who works at a bench, in one round trip.
func (s *Store) Dockets(ctx context.Context, f DocketFilter) (DocketList, error) {
	var list DocketList
	var batch pgx.Batch
	sql, args := f.query()
	batch.Queue(sql, args...).Query(func(rows pgx.Rows) (err error) {
		list.Rows, err = pgx.CollectRows(rows, scanDocketRow)
		return err
	})
	queueBench(&batch, &list.Bench)
	if err := s.db.SendBatch(ctx, &batch).Close(); err != nil {
		return DocketList{}, fmt.Errorf("list of dockets: %w", Translate(err))
	}
	more := len(list.Rows) > DocketsPage
	list.Rows = list.Rows[:min(len(list.Rows), DocketsPage)]
	list.Newer, list.Older = f.Before != 0, more
	if f.After != 0 {
		slices.Reverse(list.Rows)
		list.Newer, list.Older = more, true
	}
	return list, nil
}

// query writes only the conditions that are asked for, so that each combination has a plan of its own.
func (f DocketFilter) query() (string, []any) {
	var w where
	here := f.BenchID != 0 || f.Unassigned || f.Overdue || f.Place != "" || !f.ReceivedBefore.IsZero()
	switch {
	case here || f.Keeping == InShop:
		w.add("d.open")
	case f.Keeping == Gone:
		w.add("NOT d.open")
	}
	if f.Stage != "" {
		w.add("d.stage = ?", string(f.Stage))
	}
	if f.BenchID != 0 {
		w.add("d.bench_staff_id = ?", f.BenchID)
	}
	if f.Unassigned {
		w.add("d.bench_staff_id IS NULL")
	}
	if f.Overdue {
		w.add("d.promised_on < ? AND d.stage = ANY(?)", f.Today, overdueStages(f.Today))
	}
	if !f.ReceivedBefore.IsZero() {
		w.add("d.received_on < ?", f.ReceivedBefore)
	}
	if f.Place != "" {
		w.add("d.place = ?", string(f.Place))
	}
	if f.CustomerID != 0 {
		w.add("d.customer_id = ?", f.CustomerID)
	}
	if f.WatchID != 0 {
		w.add("d.watch_id = ?", f.WatchID)
	}
	order := "DESC"
	switch {
	case f.Before != 0:
		w.add("d.id < ?", f.Before)
	case f.After != 0:
		w.add("d.id > ?", f.After)
		order = "ASC"
	}
	// The page is picked before anything is looked up about its rows.
	sql := `WITH page AS MATERIALIZED (SELECT d.id FROM docket d ` + w.sql() + ` ORDER BY d.id ` + order +
		` LIMIT ` + strconv.Itoa(DocketsPage+1) + `)
		SELECT ` + rowColumns + ` FROM page JOIN docket d USING (id) ORDER BY d.id ` + order
	return sql, w.args
}

// overdueStages asks the domain in which stages a docket promised for yesterday is overdue.
func overdueStages(today time.Time) []string {
	var stages []string
	for _, st := range docket.Stages() {
		d := docket.Docket{Stage: st, Intake: docket.Intake{PromisedOn: today.AddDate(0, 0, -1)}}
		if d.Overdue(today) {
			stages = append(stages, string(st))
		}
	}
	return stages
}

// where gathers the conditions of a query and their arguments.
type where struct {
	conditions []string
	args       []any
}

// add takes a condition in which each ? stands for the next of args.
func (w *where) add(condition string, args ...any) {
	for _, a := range args {
		w.args = append(w.args, a)
		condition = strings.Replace(condition, "?", "$"+strconv.Itoa(len(w.args)), 1)
	}
	w.conditions = append(w.conditions, condition)
}

func (w *where) sql() string {
	if len(w.conditions) == 0 {
		return ""
	}
	return "WHERE " + strings.Join(w.conditions, " AND ")
}

// queueBench reads who works at a bench, those who left the shop too, since a docket may still be theirs.
func queueBench(batch *pgx.Batch, bench *[]staff.Member) {
	var roles []string
	for _, r := range staff.DoService.Holders() {
		roles = append(roles, string(r))
	}
	batch.Queue(`SELECT `+memberFields+` FROM staff m WHERE m.role = ANY($1) ORDER BY m.name, m.id LIMIT 200`, roles).
		Query(func(rows pgx.Rows) (err error) {
			*bench, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (staff.Member, error) {
				var m staff.Member
				err := row.Scan(memberTargets(&m)...)
				return m, err
			})
			return err
		})
}
