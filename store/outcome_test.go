package store_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/figures"
	"ledgerwheel/domain/finaltest"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/timing"
	"ledgerwheel/domain/watch"
	"ledgerwheel/store"
)

// workshop is a shop in which things happen by chance to several dockets.
type workshop struct {
	*bench
	random  *rand.Rand
	dockets []docket.Number
	second  store.Actor
	calibre int64
}

// benches are who may have work in hand, 0 for nobody.
func (w *workshop) benches() []int64 { return []int64{0, w.watchmaker.StaffID, w.second.StaffID} }

func newWorkshop(t *testing.T, dockets int, seed uint64) *workshop {
	w := &workshop{bench: newBench(t), random: rand.New(rand.NewPCG(seed, 7))}
	second, err := w.AddMember(t.Context(), staff.Member{Name: "Orla Fenn", Email: "orla@example.org", Role: staff.Watchmaker}, "", w.at)
	if err != nil {
		t.Fatal(err)
	}
	w.second = store.Actor{StaffID: second, Name: "Orla Fenn"}
	calibre, err := w.AddCalibre(t.Context(), store.CalibreChange{At: w.at}, watch.Calibre{Name: "Gannet 40", BeatsPerHour: 21600, GradeKey: timing.GradeModern})
	if err != nil {
		t.Fatal(err)
	}
	w.calibre = calibre
	w.dockets = []docket.Number{w.n}
	for i := range dockets - 1 {
		w.at = w.at.Add(time.Duration(w.random.IntN(40)) * time.Hour)
		in := w.takingIn()
		in.Customer = customer.Customer{Name: fmt.Sprintf("Wren Abara %d", i), Phone: fmt.Sprintf("01632 96020%d", i)}.Tidied("GB")
		in.Watch.Serial, in.At = fmt.Sprintf("88110%d", i), w.at
		in.Intake.PromisedOn = w.day(w.random.IntN(20))
		n, _ := w.mustTakeIn(t, in)
		w.dockets = append(w.dockets, n)
	}
	// What moves ask for and this test is not about.
	w.record(t, `INSERT INTO finding (docket_id, component, fault, severity, by_id, at) SELECT id, 'mainspring', 'set', 'must', $1, $2 FROM docket`, w.owner.StaffID, w.at)
	w.record(t, `UPDATE hazard SET acknowledged_at = $1, acknowledged_by = $2`, w.at, w.owner.StaffID)
	w.record(t, `INSERT INTO bench_work (docket_id, by_id, at) SELECT id, $1, $2 FROM docket`, w.owner.StaffID, w.at)
	w.record(t, `UPDATE watch SET calibre_id = $1 WHERE id % 2 = 0`, w.calibre)
	w.record(t, `INSERT INTO service_step (docket_id, step, by_id, at, work_id) SELECT docket_id, 'cleaned', by_id, at, id FROM bench_work`)
	return w
}

func (w *workshop) day(after int) time.Time {
	return civil(w.at, w.shop.Location()).AddDate(0, 0, after)
}

// act does one thing by chance to one docket; what the record refuses is no fault.
func (w *workshop) act(t *testing.T) {
	t.Helper()
	w.n = w.dockets[w.random.IntN(len(w.dockets))]
	w.at = w.at.Add(time.Duration(w.random.IntN(400)) * time.Minute)
	ctx, h := t.Context(), w.head(t)
	c := store.Change{Number: w.n, Version: h.Docket.Version, By: w.owner, At: w.at}
	var err error
	act := w.random.IntN(14)
	switch likely := w.random.IntN(2) == 0; { // what the stage is for
	case likely && h.Docket.Stage == docket.StageRegulation:
		act = 2
	case likely && h.Docket.Stage == docket.StageFinalTest:
		act = 3
	}
	switch act {
	case 0:
		err = w.Assign(ctx, c, w.benches()[w.random.IntN(3)])
	case 1:
		if day := w.day(w.random.IntN(20)); w.random.IntN(4) > 0 {
			err = w.Promise(ctx, c, day)
		} else {
			err = w.Promise(ctx, c, time.Time{})
		}
	case 2:
		kind := []timing.Kind{timing.AsReceived, timing.Final}[w.random.IntN(2)]
		_, err = w.RecordRun(ctx, c, store.RunEntry{Sheet: runSheet(kind, float64(w.random.IntN(30)-10))})
	case 3:
		sheet := passed()
		if w.random.IntN(3) == 0 {
			sheet = failedReserve()
		}
		_, err = w.RecordFinalTest(ctx, c, sheet, "")
	case 4:
		err = w.TakePayment(ctx, c, docket.Payment{Minor: int64(100 + w.random.IntN(900)), Method: docket.Card, Note: "x", Beyond: true})
	case 5:
		err = w.answered(t)
	default:
		err = w.step(t, c, h.Docket.Stage)
	}
	var invalid *domain.InvalidError
	var refusal *docket.Refusal
	var none *docket.NoMoveError
	if err != nil && !errors.As(err, &invalid) && !errors.As(err, &refusal) && !errors.As(err, &none) && !errors.Is(err, domain.ErrClosed) {
		t.Fatal(err)
	}
}

// answered has the customer answer an estimate, of which something may be left out.
func (w *workshop) answered(t *testing.T) error {
	today := w.day(0)
	r := priced()
	r.ValidUntil = today.AddDate(0, 1, 0)
	number, err := w.SaveAndSend(t.Context(), w.seen(t, w.owner), r, today)
	if err != nil || w.random.IntN(5) == 0 {
		return err
	}
	a := estimate.Answer{Revision: number, Approve: w.random.IntN(3) > 0, Name: "Ada", By: estimate.AtCounter, At: w.at}
	if a.Approve && w.random.IntN(2) == 0 {
		a.DeclinedLines = []int{2}
	}
	return w.AnswerEstimate(t.Context(), w.seen(t, w.owner), a, today)
}

// step moves the docket, mostly on; a watch that is ready may be handed over.
func (w *workshop) step(t *testing.T, c store.Change, from docket.Stage) error {
	rail := docket.Rail()
	to := docket.Stages()[w.random.IntN(len(docket.Stages()))]
	if at := from.Order(); at >= 0 && at+1 < len(rail) && w.random.IntN(10) > 0 {
		to = rail[at+1]
	}
	if from == docket.StageReady && to == docket.StageHandedOver {
		w.mustPay(t, max(w.head(t).Facts.DueMinor, 1))
		return w.HandOver(t.Context(), w.change(t, w.owner), w.leaving(), "the owner knows her")
	}
	place := docket.PlaceAt(docket.PlaceBench, "2")
	if to == from || to == docket.StageReady || to.Exit() {
		place = docket.PlaceAt(docket.PlaceSafe, "")
	}
	if to == from {
		place = docket.PlaceAt(docket.PlaceCustomer, "")
	}
	return w.Move(t.Context(), c, to, docket.Act{Reason: "as it came", Place: place}, w.benches()[w.random.IntN(3)])
}

// told is what a docket's journal says of stages and promised days, read entry by entry with no rule of the program's but the
// words of the facts.
func (w *workshop) told(t *testing.T, n docket.Number) (stays []figures.Stay, promises [][2]string, promisedAt []time.Time) {
	t.Helper()
	rows, _ := w.Pool().Query(t.Context(), `SELECT kind, at, coalesce(convert_from(facts, 'UTF8'), '{}') FROM journal
		WHERE docket_id = (SELECT id FROM docket WHERE number = $1) ORDER BY seq`, n.String())
	ids := map[string]int64{"": 0, w.watchmaker.Name: w.watchmaker.StaffID, w.second.Name: w.second.StaffID}
	var kind, facts string
	var at time.Time
	_, err := pgx.ForEachRow(rows, []any{&kind, &at, &facts}, func() error {
		var said struct {
			To     string
			From   string
			InHand *string `json:"in_hand"`
		}
		if err := json.Unmarshal([]byte(facts), &said); err != nil && (kind == "moved" || kind == "promised") {
			return err
		}
		last := len(stays) - 1
		switch kind {
		case "received":
			stays = append(stays, figures.Stay{Stage: docket.StageIntake, Since: at.UTC()})
		case "moved":
			stays[last].Until = at.UTC()
			next := figures.Stay{Stage: docket.Stage(said.To), Since: at.UTC()}
			if said.InHand != nil {
				next.BenchID = ids[*said.InHand]
			}
			if next.Stage != docket.StageHandedOver {
				stays = append(stays, next)
			}
		case "place changed":
			if said.InHand != nil {
				stays[last].BenchID = ids[*said.InHand]
			}
		case "handed back":
			stays[last].Until = at.UTC()
		case "promised":
			promises, promisedAt = append(promises, [2]string{said.From, said.To}), append(promisedAt, at)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return stays, promises, promisedAt
}

// slow is what became of a docket, worked out by other means than the program's: from the journal and from single rows.
func (w *workshop) slow(t *testing.T, n docket.Number) (o figures.Outcome) {
	t.Helper()
	stays, _, _ := w.told(t, n)
	h := headOf(t, w, n)
	d := h.Docket
	o = figures.Outcome{DocketID: d.ID, Version: d.Version, ReceivedOn: d.ReceivedOn, PromisedOn: d.PromisedOn, Work: d.Wanted, Currency: d.Currency}
	if h.Watch.ID%2 == 0 {
		o.CalibreID = w.calibre
	}
	zone := w.shop.Location()
	if !d.HandedBackAt.IsZero() {
		o.LeftOn, o.Ended = civil(d.HandedBackAt, zone), figures.Ended(d.Stage)
	}
	tests, _ := w.Pool().Query(t.Context(), `SELECT at, verdict FROM final_test WHERE docket_id = $1 AND verdict <> '' ORDER BY id`, d.ID)
	type test struct {
		At      time.Time
		Verdict finaltest.Outcome
	}
	tested, err := pgx.CollectRows(tests, pgx.RowToStructByPos[test])
	if err != nil {
		t.Fatal(err)
	}
	working := map[docket.Stage]bool{docket.StageService: true, docket.StageRegulation: true, docket.StageFinalTest: true}
	var anybody int64
	for i, s := range stays {
		if !s.Until.IsZero() {
			if o.Seconds == nil {
				o.Seconds = map[docket.Stage]int64{}
			}
			o.Seconds[s.Stage] += int64(s.Until.Sub(s.Since).Seconds())
		}
		if s.Stage == docket.StageReady && i == len(stays)-1 {
			o.ReadyOn = civil(s.Since, zone)
		}
		if s.BenchID != 0 {
			if anybody = s.BenchID; working[s.Stage] {
				o.BenchID = s.BenchID
			}
		}
		var verdict finaltest.Outcome
		var at time.Time
		for _, v := range tested {
			if s.Stage == docket.StageFinalTest && !v.At.Before(s.Since) && (s.Until.IsZero() || !v.At.After(s.Until)) {
				verdict, at = v.Verdict, v.At
			}
		}
		if verdict != "" {
			if o.Tests++; o.Tests == 1 {
				o.TestedOn, o.FirstPassed = civil(at, zone), verdict == finaltest.OutcomePass
			}
		}
	}
	if o.BenchID == 0 {
		o.BenchID = anybody
	}
	return o
}

func headOf(t *testing.T, w *workshop, n docket.Number) store.Head {
	w.n = n
	return w.head(t)
}

// recomputed holds every docket's stays and outcome to a slow recomputation, and every cell to the outcomes.
func (w *workshop) recomputed(t *testing.T) (left int, all []figures.Outcome) {
	t.Helper()
	want := map[figures.Key]int64{}
	for _, n := range w.dockets {
		stays, promises, promisedAt := w.told(t, n)
		kept, err := w.Stays(t.Context(), n)
		if err != nil || !reflect.DeepEqual(kept, stays) {
			t.Errorf("%s: stays %+v, %v; the journal says %+v", n, kept, err, stays)
		}
		o, err := w.Outcome(t.Context(), n)
		if err != nil {
			t.Error(err)
			continue
		}
		s := w.slow(t, n)
		got := figures.Outcome{DocketID: o.DocketID, Version: o.Version, ReceivedOn: o.ReceivedOn, PromisedOn: o.PromisedOn, Work: o.Work, Currency: o.Currency,
			LeftOn: o.LeftOn, Ended: o.Ended, ReadyOn: o.ReadyOn, BenchID: o.BenchID, CalibreID: o.CalibreID, Tests: o.Tests, TestedOn: o.TestedOn, FirstPassed: o.FirstPassed}
		if len(o.Seconds) > 0 {
			got.Seconds = o.Seconds
		}
		if !reflect.DeepEqual(got, s) {
			t.Errorf("%s: kept\n%+v, by hand\n%+v", n, got, s)
		}
		w.holdsMoney(t, o)
		w.holdsRuns(t, o)
		w.holdsPromise(t, o, promises, promisedAt)
		if o.Ended != figures.InShop {
			left++
		}
		all = append(all, o)
		for k, n := range figures.Cells(o) {
			want[k] += n
		}
	}
	w.holdsCells(t, want)
	return left, all
}

func (w *workshop) holdsMoney(t *testing.T, o figures.Outcome) {
	t.Helper()
	var paid, billed, refused int64
	var answered int
	if err := w.Pool().QueryRow(t.Context(), `SELECT coalesce((SELECT sum(minor) FROM payment WHERE docket_id = $1), 0),
		coalesce((SELECT sum(CASE kind WHEN 'credit-note' THEN -1 ELSE 1 END * net_minor) FROM invoice WHERE docket_id = $1), 0),
		(SELECT count(*) FROM estimate_revision WHERE docket_id = $1 AND state IN ('approved', 'declined') AND decided_at IS NOT NULL),
		(SELECT count(*) FROM estimate_line l JOIN estimate_revision e ON e.id = l.revision_id WHERE e.docket_id = $1 AND e.decided_at IS NOT NULL
			AND (e.state = 'declined' OR e.state = 'approved' AND l.declined))`, o.DocketID).Scan(&paid, &billed, &answered, &refused); err != nil {
		t.Fatal(err)
	}
	var taken, kept int64
	for _, minor := range o.Taken {
		taken += minor
	}
	for _, n := range o.Refused {
		kept += int64(n)
	}
	if o.BilledMinor != nil && *o.BilledMinor != billed || o.BilledMinor == nil && billed != 0 || taken != paid || kept != refused || (answered > 0) == o.AnsweredOn.IsZero() {
		t.Errorf("docket %d: taken %d of %d, billed %v of %d, refused %d of %d, %d answers, newest on %v", o.DocketID, taken, paid, o.BilledMinor, billed, kept, refused, answered, o.AnsweredOn)
	}
}

// holdsRuns works a mean rate and amplitudes out from the readings of the newest runs: every run here has all six positions.
func (w *workshop) holdsRuns(t *testing.T, o figures.Outcome) {
	t.Helper()
	for kind, m := range map[string]figures.Measured{"as received": o.Before, "final": o.After} {
		var rate, delta, lying, hanging *float64
		err := w.Pool().QueryRow(t.Context(), `SELECT avg(rate_s_per_day), max(rate_s_per_day) - min(rate_s_per_day), avg(amplitude_deg) FILTER (WHERE position IN ('CH', 'FH')),
			avg(amplitude_deg) FILTER (WHERE position NOT IN ('CH', 'FH')) FROM reading WHERE hours = 0 AND run_id = (SELECT max(id) FROM run WHERE docket_id = $1 AND kind = $2)`,
			o.DocketID, kind).Scan(&rate, &delta, &lying, &hanging)
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range [][2]*float64{{m.RateSPerDay, rate}, {m.DeltaSPerDay, delta}, {m.LyingDeg, lying}, {m.HangingDeg, hanging}} {
			if (p[0] == nil) != (p[1] == nil) || p[0] != nil && math.Abs(*p[0]-*p[1]) > 1e-9 {
				t.Errorf("docket %d, %s: kept %v, from the readings %v", o.DocketID, kind, p[0], p[1])
			}
		}
		if m.LossDeg != nil && math.Abs(*m.LossDeg-24) > 1e-9 { // runSheet takes a degree an hour
			t.Errorf("docket %d lost %v° over 24 h", o.DocketID, *m.LossDeg)
		}
	}
}

// holdsPromise looks for the first promised day in what the journal says; changes within the hour are left to the domain's test.
func (w *workshop) holdsPromise(t *testing.T, o figures.Outcome, promises [][2]string, at []time.Time) {
	t.Helper()
	for i := 1; i < len(at); i++ {
		if at[i].Sub(at[i-1]) < time.Hour {
			return
		}
	}
	want := docket.DayWords(o.PromisedOn)
	for _, p := range promises {
		if p[0] != docket.DayWords(time.Time{}) {
			want = p[0]
			break
		}
	}
	if got := docket.DayWords(o.FirstPromisedOn); got != want {
		t.Errorf("docket %d was promised first for %s, the journal says %s", o.DocketID, got, want)
	}
}

func (w *workshop) holdsCells(t *testing.T, want map[figures.Key]int64) {
	t.Helper()
	rows, _ := w.Pool().Query(t.Context(), `SELECT measure, dimension, key, month, currency, value, n FROM cell`)
	got := map[figures.Key]int64{}
	var k figures.Key
	var month time.Time
	var n int64
	if _, err := pgx.ForEachRow(rows, []any{&k.Measure, &k.Dimension, &k.Key, &month, &k.Currency, &k.Value, &n}, func() error {
		k.Month = figures.MonthOf(month)
		got[k] = n
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	for k, n := range want {
		if n == 0 {
			delete(want, k)
		}
	}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("%d cells are kept, the outcomes come to %d", len(got), len(want))
		for k, n := range want {
			if got[k] != n {
				t.Errorf("%+v: kept %d, by the outcomes %d", k, got[k], n)
			}
		}
	}
}

// Random histories, with the figures refreshed now and then, come to what a slow recomputation from the journal and the rows says;
// so do the same figures made again from the record.
func TestOutcomesOfRandomHistories(t *testing.T) {
	t.Parallel()
	var left, ready, tested, answered, measured int
	for _, seed := range []uint64{1, 2, 3} {
		w := newWorkshop(t, 5, seed)
		for range 400 {
			w.act(t)
			if w.random.IntN(40) == 0 {
				if _, err := w.RefreshOutcomes(t.Context()); err != nil {
					t.Fatal(err)
				}
			}
		}
		if _, err := w.RefreshOutcomes(t.Context()); err != nil {
			t.Fatal(err)
		}
		gone, before := w.recomputed(t)
		w.holdsSpans(t, before)
		left += gone
		for _, o := range before {
			ready, tested, answered = ready+count(!o.ReadyOn.IsZero()), tested+count(o.Tests > 0), answered+count(!o.AnsweredOn.IsZero())
			measured += count(o.Before.RateSPerDay != nil && o.After.RateSPerDay != nil)
		}
		if err := w.RebuildFigures(t.Context()); err != nil {
			t.Fatal(err)
		}
		if _, again := w.recomputed(t); !reflect.DeepEqual(again, before) {
			t.Errorf("made again: %+v\nkept before: %+v", again, before)
		}
		if n, err := w.RefreshOutcomes(t.Context()); n != 0 || err != nil {
			t.Errorf("worked out %d more, %v", n, err)
		}
		w.comesBack(t)
	}
	t.Logf("%d dockets left, %d are or were ready, %d tested, %d answered, %d measured before and after", left, ready, tested, answered, measured)
	if left == 0 || ready == 0 || tested == 0 || answered == 0 || measured == 0 {
		t.Error("the histories say nothing of some figures")
	}
}

// comesBack makes one docket the comeback of another, which says so.
func (w *workshop) comesBack(t *testing.T) {
	t.Helper()
	first, second := headOf(t, w, w.dockets[0]).Docket, headOf(t, w, w.dockets[1]).Docket
	w.record(t, `UPDATE docket SET comeback_of = $1 WHERE id = $2`, first.ID, second.ID)
	if err := w.RebuildFigures(t.Context()); err != nil {
		t.Fatal(err)
	}
	a, err := w.Outcome(t.Context(), first.Number)
	b, err2 := w.Outcome(t.Context(), second.Number)
	if err != nil || err2 != nil || !a.CameBackOn.Equal(second.ReceivedOn) || b.ComebackOf != first.ID || !b.CameBackOn.IsZero() {
		t.Errorf("%+v came back as %+v, %v, %v", a, b, err, err2)
	}
}

// holdsSpans asks some figures of the cells of all months together, and counts the same over the outcomes one by one.
func (w *workshop) holdsSpans(t *testing.T, all []figures.Outcome) {
	t.Helper()
	asked := func(measure, dimension, key string, value int) (n int) {
		if err := w.Pool().QueryRow(t.Context(), `SELECT coalesce(sum(n), 0)::integer FROM cell WHERE measure = $1 AND dimension = $2 AND key = $3 AND value = $4`,
			measure, dimension, key, value).Scan(&n); err != nil {
			t.Fatal(err)
		}
		return n
	}
	of := func(holds func(figures.Outcome) bool) (n int) {
		for _, o := range all {
			n += count(holds(o))
		}
		return n
	}
	bench := w.watchmaker.StaffID
	for days := range 200 {
		want := of(func(o figures.Outcome) bool {
			return !o.ReadyOn.IsZero() && o.ReadyOn.Equal(o.ReceivedOn.AddDate(0, 0, days))
		})
		if got := asked("turnaround", "all", "", days); got != want {
			t.Errorf("%d were ready after %d days, by hand %d", got, days, want)
		}
		late := of(func(o figures.Outcome) bool {
			return !o.ReadyOn.IsZero() && o.Ended != figures.Declined && !o.FirstPromisedOn.IsZero() && o.FirstPromisedOn.AddDate(0, 0, days).Equal(o.ReadyOn)
		})
		if got := asked("promise", "all", "", days); got != late {
			t.Errorf("%d were %d days late, by hand %d", got, days, late)
		}
	}
	for value, passed := range []bool{false, true} {
		want := of(func(o figures.Outcome) bool { return o.Tests > 0 && o.FirstPassed == passed && o.BenchID == bench })
		if got := asked("first-pass", "bench", fmt.Sprint(bench), value); got != want {
			t.Errorf("first tests of the bench that passed (%t): %d, by hand %d", passed, got, want)
		}
		want = of(func(o figures.Outcome) bool { return !o.AnsweredOn.IsZero() && o.Approved == passed })
		if got := asked("estimate", "all", "", value); got != want {
			t.Errorf("estimates approved (%t): %d, by hand %d", passed, got, want)
		}
	}
}

func count(yes bool) int {
	if yes {
		return 1
	}
	return 0
}
