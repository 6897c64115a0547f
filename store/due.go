package store

import (
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/loan"
	"ledgerwheel/domain/uncollected"
	"ledgerwheel/domain/watch"
)

// waitingRead is how many watches that wait to be collected are looked at, those that wait longest, and how many that are lent.
const waitingRead = 200

// Due is what the shop must look after though no docket of its work asks for it: watches that nobody collects, and watches that it
// lent.
type Due struct {
	profile ConfirmedProfile
	waiting []waitingWatch
	lent    []Loan
	orders  []time.Time // days on which lines of orders are expected, the earliest first
}

// waitingWatch is a finished watch that waits for its customer.
type waitingWatch struct {
	docket.Docket
	movedAt  time.Time
	dueMinor int64
	notices  []uncollected.Notice
	blocks   []uncollected.BlockKind
}

// DueStep is a watch that waits to be collected, and what can be done about it now.
type DueStep struct {
	DocketID int64
	Number   docket.Number
	uncollected.Standing
}

// Steps are the watches that nobody collects and about which something can be done now, those that wait longest first. today is
// the civil day in the shop, whose zone is given.
func (d Due) Steps(today time.Time, zone *time.Location) []DueStep {
	var steps []DueStep
	for _, w := range d.waiting {
		f := uncollected.Facts{ReadyOn: civilDay(w.movedAt, zone), Today: today, OwedMinor: max(0, w.dueMinor),
			Value: w.DeclaredValueMinor, Currency: w.Currency, Notices: w.notices, Blocks: w.blocks}
		if st := uncollected.Stand(d.profile.Profile, d.profile.Confirmed(), f); st.Late() {
			steps = append(steps, DueStep{DocketID: w.ID, Number: w.Number, Standing: st})
		}
	}
	return steps
}

// OrdersLate counts the lines of orders that should have come, to LateShown of them.
func (d Due) OrdersLate(today time.Time) int {
	n := 0
	for _, day := range d.orders {
		if today.After(day) {
			n++
		}
	}
	return n
}

// LoansOverdue are the lent watches that should be back, the longest out first.
func (d Due) LoansOverdue(today time.Time) []Loan {
	return slices.DeleteFunc(slices.Clone(d.lent), func(l Loan) bool { return !loan.Overdue(l.DueOn, today, l.Gone) })
}

// waitingStages are those from which a watch leaves.
func waitingStages() []string {
	var stages []string
	for _, st := range docket.Stages() {
		if (docket.Docket{Stage: st}).Waits() {
			stages = append(stages, string(st))
		}
	}
	return stages
}

// queueDue adds to a page's batch the reading of what is due.
func queueDue(batch *pgx.Batch, d *Due) {
	queueProfile(batch, &d.profile)
	batch.Queue(`SELECT `+docketFields+`, `+factColumns+`, d.moved_at,
		ARRAY(SELECT kind FROM collect_notice WHERE docket_id = d.id ORDER BY id),
		ARRAY(SELECT posted_on FROM collect_notice WHERE docket_id = d.id ORDER BY id),
		ARRAY(SELECT kind FROM collect_block WHERE docket_id = d.id AND lifted_at IS NULL ORDER BY id)
		FROM docket d WHERE d.id = ANY (ARRAY(SELECT id FROM docket WHERE open AND stage = ANY ($1) ORDER BY moved_at, id LIMIT $2))
		ORDER BY d.moved_at, d.id`, waitingStages(), waitingRead).Query(func(rows pgx.Rows) (err error) {
		d.waiting, err = pgx.CollectRows(rows, scanWaiting)
		return err
	})
	batch.Queue(`SELECT d.id, `+watchFields+`, `+watchListFields+` FROM docket d JOIN watch w ON w.id = d.watch_id
		JOIN watch_list l ON l.removed_at IS NULL AND l.serial_key = ANY(ARRAY[w.serial_key, w.movement_serial_key])
		WHERE d.id = ANY (ARRAY(SELECT id FROM docket WHERE open AND stage = ANY ($1) ORDER BY moved_at, id LIMIT $2))`, waitingStages(), waitingRead).
		Query(d.block)
	batch.Queue(loanSQL+`WHERE l.back_at IS NULL ORDER BY l.id LIMIT $1`, waitingRead).Query(func(rows pgx.Rows) (err error) {
		d.lent, err = pgx.CollectRows(rows, scanLoan)
		return err
	})
	batch.Queue(`SELECT due_on FROM order_line_now WHERE to_come > 0 AND sent AND due_on IS NOT NULL ORDER BY due_on LIMIT $1`, LateShown).Query(func(rows pgx.Rows) (err error) {
		d.orders, err = pgx.CollectRows(rows, pgx.RowTo[time.Time])
		return err
	})
}

func scanWaiting(row pgx.CollectableRow) (waitingWatch, error) {
	var w waitingWatch
	var facts factRow
	var kinds []uncollected.NoticeKind
	var posted []*time.Time
	own, finish := docketTargets(&w.Docket)
	err := row.Scan(append(append(own, facts.targets()...), &w.movedAt, &kinds, &posted, &w.blocks)...)
	if err != nil {
		return w, err
	}
	finish()
	w.dueMinor = facts.finish(w.Docket).DueMinor
	for i, kind := range kinds {
		w.notices = append(w.notices, uncollected.Notice{Kind: kind, PostedOn: timeOr(posted[i])})
	}
	return w, nil
}

// block adds to the watches that wait what the watch list says of them.
func (d *Due) block(rows pgx.Rows) error {
	listed := map[int64]bool{}
	var id int64
	var w watch.Watch
	var e watch.WatchListEntry
	var reported *time.Time
	targets := append([]any{&id}, watchTargets(&w)...)
	targets = append(targets, &e.ID, &e.Serial, &e.Maker, &reported, &e.Source, &e.Note)
	_, err := pgx.ForEachRow(rows, targets, func() error {
		if e.Concerns(w) != watch.SerialDiffers {
			listed[id] = true
		}
		return nil
	})
	for i := range d.waiting {
		if listed[d.waiting[i].ID] {
			d.waiting[i].blocks = append(d.waiting[i].blocks, uncollected.Listed)
		}
	}
	return err
}
