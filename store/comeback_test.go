package store_test

import (
	"errors"
	"slices"
	"testing"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/comeback"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
	"ledgerwheel/store/storetest"
)

// comesBack takes a watch in, lets it leave, and takes it in again under its warranty.
func (c *counter) comesBack(t *testing.T) (earlier, back docket.Number) {
	t.Helper()
	in := c.takingIn()
	in.NewCustomer, in.NewWatch = true, true
	earlier, first := c.mustTakeIn(t, in)
	c.close(t, earlier, docket.StageHandedOver, c.at.Add(time.Hour))
	again := c.takingIn()
	again.CustomerID, again.WatchID = first.Head.Customer.ID, first.Head.Watch.ID
	again.Intake.WarrantyOf = first.Head.Docket.ID
	again.At = c.at.AddDate(0, 6, 0)
	back, _ = c.mustTakeIn(t, again)
	return earlier, back
}

// stands sets the stage, without the moves that lead there.
func (c *counter) stands(t *testing.T, n docket.Number, stage docket.Stage) {
	t.Helper()
	if _, err := c.Pool().Exec(t.Context(), `UPDATE docket SET stage = $2 WHERE number = $1`, n.String(), string(stage)); err != nil {
		t.Fatal(err)
	}
}

func TestSayComeback(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	earlier, back := c.comesBack(t)
	own := comeback.Said{Cause: comeback.Workmanship, Found: "The bridge lifts.", Cover: docket.Covered, Why: "It is our own work."}
	by := func(role staff.Role, why string) store.Change {
		return store.Change{Number: back, By: store.Actor{StaffID: c.clerk.StaffID, Name: c.clerk.Name, Role: role}, At: c.at.AddDate(0, 6, 1), Why: why}
	}
	if bad := problemsOf(t, c.SayComeback(t.Context(), by(staff.Watchmaker, ""), own)); bad["cause"] == "" {
		t.Errorf("said at intake: %v", bad)
	}
	c.stands(t, back, docket.StageDiagnosis)
	if err := c.SayComeback(t.Context(), store.Change{Number: earlier, By: c.clerk, At: c.at}, own); !errors.Is(err, domain.ErrNotFound) {
		t.Errorf("of a docket that is no comeback: %v", err)
	}
	refused := own
	refused.Cover = docket.NotCovered
	if bad := problemsOf(t, c.SayComeback(t.Context(), by(staff.Watchmaker, ""), refused)); bad["cover"] == "" {
		t.Errorf("refused our own work: %v", bad)
	}
	for range 2 { // said again as it stands, it leaves no trace
		if err := c.SayComeback(t.Context(), by(staff.Watchmaker, ""), own); err != nil {
			t.Fatal(err)
		}
	}
	ctx, count := storetest.CountRoundTrips(t.Context())
	sheet, err := c.ComebackSheet(ctx, back)
	if err != nil || sheet.Said.Said != own || sheet.Said.By == "" || sheet.Said.DecidedBy == "" || sheet.Earlier.Number != earlier ||
		sheet.Head.Facts.Cover != docket.Covered || !sheet.Head.Facts.Agreed() || count.Trips() > 1 {
		t.Errorf("the sheet has %+v of %s, cover %q, in %d round trips: %v", sheet.Said, sheet.Earlier.Number, sheet.Head.Facts.Cover, count.Trips(), err)
	}
	if _, err := c.ComebackSheet(t.Context(), earlier); !errors.Is(err, domain.ErrNotFound) {
		t.Errorf("the sheet of a docket that is no comeback: %v", err)
	}
	said := slices.DeleteFunc(c.kinds(t, back), func(k docket.Kind) bool { return k != docket.ComebackSaid })
	if len(said) != 1 {
		t.Errorf("said once, and entered %d times", len(said))
	}
	c.close(t, back, docket.StageHandedOver, c.at.AddDate(0, 7, 0))
	part := own
	part.Cause = comeback.Part
	if bad := problemsOf(t, c.SayComeback(t.Context(), by(staff.Watchmaker, ""), part)); bad["why"] == "" {
		t.Errorf("corrected without a reason: %v", bad)
	}
	if err := c.SayComeback(t.Context(), by(staff.Watchmaker, "Looked at again."), part); err != nil {
		t.Errorf("corrected with one: %v", err)
	}
}

// TestComebacksAreListedAndCosted: the list pages both ways, and its cost is what the docket took.
func TestComebacksAreListedAndCosted(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	var backs []docket.Number
	for range store.ComebacksPage + 3 {
		_, back := c.comesBack(t)
		backs = append(backs, back)
	}
	last := backs[len(backs)-1]
	c.close(t, backs[0], docket.StageHandedOver, c.at.AddDate(0, 7, 0))
	for _, sql := range []string{
		`UPDATE shop SET bench_hour_minor = 6000, currency = (SELECT currency FROM docket LIMIT 1)`,
		`INSERT INTO bench_work (docket_id, minutes, by_id, at) SELECT max(id), 25, 1, now() FROM docket`,
		`INSERT INTO service_step (docket_id, step, minutes, by_id, at, work_id) SELECT docket_id, 'cleaned', 10, 1, now(), id FROM bench_work`,
		`INSERT INTO part (number, name, unit, currency, cost_minor, includes_tax, tax_basis_points, kept_by, kept_at)
			SELECT 'S-1', 'screw', 'pc', currency, 120, true, 0, 1, now() FROM docket LIMIT 1`,
		`INSERT INTO part_line (docket_id, description, quantity, state, state_at, part_id) SELECT max(d.id), 'screw', 2, 'fitted', now(), max(p.id) FROM docket d, part p`,
		`INSERT INTO part_line (docket_id, description, quantity, state, state_at) SELECT max(id), 'washer', 1, 'fitted', now() FROM docket`,
	} {
		if _, err := c.Pool().Exec(t.Context(), sql); err != nil {
			t.Fatal(err)
		}
	}
	ctx, count := storetest.CountRoundTrips(t.Context())
	list, err := c.Comebacks(ctx, store.ComebackFilter{})
	if err != nil || len(list.Rows) != store.ComebacksPage || !list.Older || list.Newer || count.Trips() != 1 {
		t.Fatalf("%d rows, older %v, newer %v, %d trips, %v", len(list.Rows), list.Older, list.Newer, count.Trips(), err)
	}
	newest := list.Rows[0]
	cost := newest.Spent.Cost()
	if newest.Docket.Number != last || newest.Of.Seq == 0 || cost.TimeMinor == nil || *cost.TimeMinor != 3500 || cost.PartsMinor != 240 || cost.Unknown != 1 {
		t.Errorf("newest is %s of %s, cost %+v", newest.Docket.Number, newest.Of, cost)
	}
	older, err := c.Comebacks(t.Context(), store.ComebackFilter{Before: list.Rows[len(list.Rows)-1].Docket.ID})
	if err != nil || len(older.Rows) != 3 || older.Older || !older.Newer {
		t.Errorf("the older page: %d rows, %v", len(older.Rows), err)
	}
	newer, err := c.Comebacks(t.Context(), store.ComebackFilter{After: older.Rows[0].Docket.ID})
	if err != nil || len(newer.Rows) != store.ComebacksPage || newer.Rows[0].Docket.ID != newest.Docket.ID {
		t.Errorf("the newer page: %d rows, %v", len(newer.Rows), err)
	}
	open, err := c.Comebacks(t.Context(), store.ComebackFilter{Open: true, Before: older.Rows[0].Docket.ID + 1})
	if err != nil || len(open.Rows) != 2 {
		t.Errorf("in the shop: %d rows of the older page, %v", len(open.Rows), err)
	}
}
