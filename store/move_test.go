package store_test

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
)

// bench is a shop with a docket taken in and people of each role. What the sheets would record is written to the
// tables directly, so that these tests stand on moves alone.
type bench struct {
	*counter
	n                 docket.Number
	watchmaker, owner store.Actor
}

func newBench(t *testing.T) *bench {
	t.Helper()
	c := newCounter(t)
	b := &bench{counter: c, owner: c.clerk}
	in := c.takingIn()
	in.Condition = noMarks
	b.n, _ = c.mustTakeIn(t, in)
	for _, p := range []struct {
		actor *store.Actor
		name  string
		role  staff.Role
	}{{&b.watchmaker, "Emrys Vale", staff.Watchmaker}, {&b.clerk, "Nuala Reed", staff.Clerk}} {
		id, err := c.AddMember(t.Context(), staff.Member{Name: p.name, Email: string(p.role) + "@example.org", Role: p.role},
			"", c.at)
		if err != nil {
			t.Fatal(err)
		}
		*p.actor = store.Actor{StaffID: id, Name: p.name, Role: p.role}
	}
	return b
}

// record writes to a table of the docket; d stands for its id.
func (b *bench) record(t *testing.T, sql string, args ...any) {
	t.Helper()
	sql = strings.ReplaceAll(sql, "{d}", "(SELECT id FROM docket WHERE number = '"+b.n.String()+"')")
	if _, err := b.Pool().Exec(t.Context(), sql, args...); err != nil {
		t.Fatal(err)
	}
}

func (b *bench) head(t *testing.T) store.Head {
	t.Helper()
	h, err := b.Head(t.Context(), b.n)
	if err != nil {
		t.Fatal(err)
	}
	return h
}

// move makes a move a minute after the last.
func (b *bench) move(t *testing.T, by store.Actor, to docket.Stage, kind docket.PlaceKind, detail, reason string,
	benchID int64) error {
	t.Helper()
	b.at = b.at.Add(time.Minute)
	return b.Move(t.Context(), store.Change{Number: b.n, Version: b.head(t).Docket.Version, By: by, At: b.at}, to,
		docket.Act{Reason: reason, Place: docket.PlaceAt(kind, detail)}, benchID)
}

func (b *bench) mustMove(t *testing.T, by store.Actor, to docket.Stage, kind docket.PlaceKind, detail, reason string) {
	t.Helper()
	if err := b.move(t, by, to, kind, detail, reason, b.watchmaker.StaffID); err != nil {
		t.Fatalf("to %s: %v", to, err)
	}
}

// toFinalTest takes the docket as far as final test, all needs met.
func (b *bench) toFinalTest(t *testing.T) {
	t.Helper()
	b.mustMove(t, b.clerk, docket.StageDiagnosis, docket.PlaceBench, "2", "")
	b.record(t, `INSERT INTO finding (docket_id, component, fault, severity, by_id, at) VALUES ({d}, 'mainspring', 'set', 'must', $1, $2)`, b.watchmaker.StaffID, b.at)
	b.record(t, `UPDATE hazard SET acknowledged_at = $1, acknowledged_by = $2 WHERE docket_id = {d}`, b.at,
		b.watchmaker.StaffID)
	b.mustMove(t, b.watchmaker, docket.StageEstimate, docket.PlaceSafe, "", "stops too soon for a run")
	b.record(t, `INSERT INTO estimate_revision (docket_id, number, state, currency, prices_include_tax, valid_until, net_minor, tax_minor, gross_minor, made_by, made_at)
		VALUES ({d}, 1, 'approved', 'EUR', true, '2027-01-01', 9000, 0, 9000, $1, $2)`, b.watchmaker.StaffID, b.at)
	b.mustMove(t, b.clerk, docket.StageService, docket.PlaceBench, "2", "")
	b.record(t, `WITH w AS (INSERT INTO bench_work (docket_id, by_id, at) VALUES ({d}, $1, $2) RETURNING id)
		INSERT INTO service_step (docket_id, step, by_id, at, work_id) SELECT {d}, 'cleaned', $1, $2, id FROM w`, b.watchmaker.StaffID, b.at)
	b.mustMove(t, b.watchmaker, docket.StageRegulation, docket.PlaceBench, "2", "")
	b.record(t, `INSERT INTO run (docket_id, kind, instrument_ppm, taken_at, by_id, outcome) VALUES ({d}, 'final', 1, $2, $1, 'pass')`, b.watchmaker.StaffID, b.at.Add(time.Second))
	b.mustMove(t, b.watchmaker, docket.StageFinalTest, docket.PlaceBench, "2", "")
}

func (b *bench) settle(t *testing.T) {
	t.Helper()
	b.record(t, `UPDATE docket SET collected_by = 'Ada Quillmarsh', old_parts = 'returned', charged_minor = 9000 WHERE id = {d}`)
	b.record(t, `INSERT INTO payment (docket_id, minor, currency, method, by_id, at) VALUES ({d}, 9000, 'EUR', 'cash', $1, $2)`, b.clerk.StaffID, b.at)
}

func TestMovesThroughAWholeLife(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	before := b.head(t)
	b.toFinalTest(t)
	h := b.head(t)
	if h.Docket.Stage != docket.StageFinalTest || h.Docket.Place.String() != "bench 2" ||
		h.BenchID != b.watchmaker.StaffID || !h.MovedAt.Equal(b.at) {
		t.Errorf("after the moves: stage %s, place %s, bench %d, moved %s", h.Docket.Stage, h.Docket.Place, h.BenchID,
			h.MovedAt)
	}
	if work, test := h.Docket.WorkSince, h.Docket.TestSince; !work.Equal(b.at.Add(-time.Minute)) || !test.Equal(b.at) {
		t.Errorf("work since %s, test since %s, last moved %s", work, test, b.at)
	}
	b.record(t, `INSERT INTO final_test (docket_id, results, verdict, by_id, at) VALUES ({d}, '[]', 'pass', $1, $2)`,
		b.watchmaker.StaffID, b.at.Add(time.Second))
	b.mustMove(t, b.watchmaker, docket.StageReady, docket.PlaceSafe, "", "")
	b.settle(t)
	b.mustMove(t, b.clerk, docket.StageHandedOver, docket.PlaceCustomer, "", "")
	h = b.head(t)
	if !h.Docket.Closed() || h.BenchID != 0 || h.Docket.HandedBackAt.IsZero() || !h.Docket.HandedBackAt.Equal(b.at) {
		t.Errorf("handed over: closed %v, bench %d, at %s", h.Docket.Closed(), h.BenchID, h.Docket.HandedBackAt)
	}
	want := []docket.Stage{"diagnosis", "estimate", "service", "regulation", "final-test", "ready", "handed-over"}
	if !slices.Equal(h.Entered, want) {
		t.Errorf("entered %v, want %v", h.Entered, want)
	}
	var open bool
	if err := b.Pool().QueryRow(t.Context(), `SELECT open FROM docket WHERE number = $1`,
		b.n.String()).Scan(&open); err != nil || open {
		t.Errorf("open %v, %v", open, err)
	}
	kinds := b.kinds(t, b.n)
	if got := len(kinds) - int(before.Docket.Version); got != 9 {
		t.Errorf("%d entries for seven moves, one invoice and one hand-over: %v", got, kinds)
	}
	if kinds[len(kinds)-1] != docket.HandedOver || kinds[len(kinds)-2] != docket.Moved {
		t.Errorf("the journal ends in %v", kinds)
	}
	if err := b.move(t, b.owner, docket.StageReady, docket.PlaceSafe, "", "why not", 0); !errors.Is(err,
		domain.ErrClosed) {
		t.Errorf("moving a closed docket: %v", err)
	}
	if err := b.MoveWatch(t.Context(), store.Change{Number: b.n, By: b.owner, At: b.at}, docket.PlaceAt(docket.PlaceSafe,
		"")); !errors.Is(err, domain.ErrClosed) {
		t.Errorf("moving the watch of a closed docket: %v", err)
	}
}

func TestMoveRefusedSavesNothing(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	before := b.head(t)
	for _, tt := range []struct {
		name  string
		by    store.Actor
		to    docket.Stage
		place docket.Place
		bench int64
		check func(error) bool
	}{
		{"need unmet", b.watchmaker, docket.StageEstimate, docket.PlaceAt(docket.PlaceSafe, ""), 0, func(err error) bool {
			var n *docket.NoMoveError
			return errors.As(err, &n)
		}},
		{"no bench named", b.watchmaker, docket.StageDiagnosis, docket.PlaceAt(docket.PlaceBench, " "), 0,
			func(err error) bool {
				var r *docket.Refusal
				return errors.As(err, &r) && r.Problems["place_detail"] != ""
			}},
		{"no reason to withdraw", b.clerk, docket.StageWithdrawn, docket.PlaceAt(docket.PlaceSafe, ""), 0,
			func(err error) bool {
				var r *docket.Refusal
				return errors.As(err, &r) && r.Problems["reason"] != ""
			}},
		{"role may not", b.watchmaker, docket.StageWithdrawn, docket.PlaceAt(docket.PlaceSafe, ""), 0, func(err error) bool {
			var r *docket.Refusal
			return errors.As(err, &r) && r.Forbidden
		}},
		{"a clerk does no bench work", b.clerk, docket.StageDiagnosis, docket.PlaceAt(docket.PlaceSafe, ""), b.clerk.StaffID,
			func(err error) bool {
				var invalid *domain.InvalidError
				return errors.As(err, &invalid) && invalid.Problems["bench"] != ""
			}},
		{"nobody's id", b.clerk, docket.StageDiagnosis, docket.PlaceAt(docket.PlaceSafe, ""), 99999, func(err error) bool {
			var invalid *domain.InvalidError
			return errors.As(err, &invalid) && invalid.Problems["bench"] != ""
		}},
	} {
		err := b.Move(t.Context(), store.Change{Number: b.n, By: tt.by, At: b.at.Add(time.Minute)}, tt.to,
			docket.Act{Place: tt.place}, tt.bench)
		if !tt.check(err) {
			t.Errorf("%s: got %v", tt.name, err)
		}
	}
	after := b.head(t)
	if after.Docket.Version != before.Docket.Version || after.Docket.Stage != before.Docket.Stage ||
		after.Docket.Place != before.Docket.Place {
		t.Errorf("a refused move changed the docket: %+v", after.Docket)
	}
}

func TestOwnersReasonIsJournalled(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	b.toFinalTest(t)
	if err := b.move(t, b.watchmaker, docket.StageReady, docket.PlaceSafe, "", "it runs well enough", 0); err == nil {
		t.Fatal("a watchmaker's reason let the watch out without a final test")
	}
	if err := b.move(t, b.owner, docket.StageReady, docket.PlaceSafe, "", "no gasket to be had; customer told",
		0); err != nil {
		t.Fatal(err)
	}
	h := b.head(t)
	if h.Docket.OwnerReason != "no gasket to be had; customer told" || !h.Facts.Cleared() {
		t.Errorf("owner's reason kept as %q", h.Docket.OwnerReason)
	}
	kinds := b.kinds(t, b.n)
	if tail := kinds[len(kinds)-2:]; !slices.Equal(tail, []docket.Kind{docket.OwnerAllowed, docket.Moved}) {
		t.Errorf("the journal ends in %v", tail)
	}
	entries, err := b.Journal(t.Context(), h.Docket.ID, 0)
	if err != nil {
		t.Fatal(err)
	}
	if entries[1].Why != "no gasket to be had; customer told" || !strings.Contains(string(entries[1].Facts),
		"final test") {
		t.Errorf("entry %q, facts %s", entries[1].Why, entries[1].Facts)
	}
	b.mustMove(t, b.owner, docket.StageFinalTest, docket.PlaceBench, "2", "gasket came after all")
	if h := b.head(t); h.Docket.OwnerReason != "" || h.Facts.Cleared() {
		t.Errorf("the owner's reason %q outlived the return to final test", h.Docket.OwnerReason)
	}
}

func TestWithdrawnIsHandedBack(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	b.mustMove(t, b.clerk, docket.StageWithdrawn, docket.PlaceCounter, "", "found another")
	b.settle(t)
	b.mustMove(t, b.clerk, docket.StageWithdrawn, docket.PlaceCustomer, "", "")
	h := b.head(t)
	if h.Docket.Stage != docket.StageWithdrawn || !h.Docket.Closed() {
		t.Errorf("stage %s, closed %v", h.Docket.Stage, h.Docket.Closed())
	}
	if kinds := b.kinds(t, b.n); kinds[len(kinds)-1] != docket.HandedBack {
		t.Errorf("the journal ends in %v", kinds)
	}
}

func TestMoveWatchAndAssign(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	change := func() store.Change {
		b.at = b.at.Add(time.Minute)
		return store.Change{Number: b.n, Version: b.head(t).Docket.Version, By: b.clerk, At: b.at}
	}
	if err := b.MoveWatch(t.Context(), change(), docket.PlaceAt(docket.PlaceSentOut, "Gannet Dialworks")); err != nil {
		t.Fatal(err)
	}
	h := b.head(t)
	if h.Docket.Place.String() != "sent out to Gannet Dialworks" || h.Docket.Stage != docket.StageIntake ||
		h.MovedAt.Equal(b.at) {
		t.Errorf("place %s, stage %s", h.Docket.Place, h.Docket.Stage)
	}
	version := h.Docket.Version
	if err := b.MoveWatch(t.Context(), change(), h.Docket.Place); err != nil || b.head(t).Docket.Version != version {
		t.Errorf("putting the watch where it is: %v, version %d after %d", err, b.head(t).Docket.Version, version)
	}
	if p := problemsOf(t, b.MoveWatch(t.Context(), change(), docket.PlaceAt(docket.PlaceCustomer, ""))); p["place"] == "" {
		t.Errorf("giving the watch to the customer without handing over: %v", p)
	}
	if err := b.Assign(t.Context(), change(), b.watchmaker.StaffID); err != nil {
		t.Fatal(err)
	}
	if h := b.head(t); h.Bench != "Emrys Vale" {
		t.Errorf("in the hands of %q", h.Bench)
	}
	if p := problemsOf(t, b.Assign(t.Context(), change(), b.clerk.StaffID)); p["bench"] == "" {
		t.Errorf("giving the work to a clerk: %v", p)
	}
	if err := b.Assign(t.Context(), change(), 0); err != nil || b.head(t).BenchID != 0 {
		t.Errorf("taking it away: %v", err)
	}
	if kinds := b.kinds(t, b.n); !slices.Equal(kinds[len(kinds)-3:], []docket.Kind{docket.PlaceChanged,
		docket.PlaceChanged, docket.PlaceChanged}) {
		t.Errorf("journal %v", kinds)
	}
}

// Of many who move the same docket at once on the same version, one succeeds and the others are told.
func TestOnlyOneOfManyMoves(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	version := b.head(t).Docket.Version
	const many = 6
	errs := make([]error, many)
	var wg sync.WaitGroup
	for i := range many {
		wg.Go(func() {
			errs[i] = b.Move(context.WithoutCancel(t.Context()), store.Change{Number: b.n, Version: version, By: b.owner,
				At: b.at.Add(time.Minute)},
				docket.StageDiagnosis, docket.Act{Place: docket.PlaceAt(docket.PlaceBench, fmt.Sprint(i))}, 0)
		})
	}
	wg.Wait()
	done := 0
	for _, err := range errs {
		switch {
		case err == nil:
			done++
		case !errors.Is(err, domain.ErrChanged):
			t.Errorf("got %v, want ErrChanged", err)
		}
	}
	if done != 1 {
		t.Errorf("%d moves were made, want 1", done)
	}
	if got := b.head(t).Docket.Version; got != version+1 {
		t.Errorf("version %d after %d", got, version)
	}
}
