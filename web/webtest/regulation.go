package web

import (
	"fmt"
	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/timing"
	"ledgerwheel/domain/watch"
	"ledgerwheel/store"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"
)

// regulation is a docket of a watch judged as modern, and who works on it.
type regulation struct {
	*site
	number docket.Number
	bench  *client
	path   string
}

// newRegulation takes in a watch and puts its docket into the stage a test wants.
func newRegulation(t testing.TB, stage docket.Stage) *regulation {
	t.Helper()
	s := newTestSite(t)
	ctx := t.Context()
	if err := s.store.EnsureRateLimits(ctx, testNow); err != nil {
		t.Fatal(err)
	}
	calibre, err := s.store.AddCalibre(ctx, store.CalibreChange{}, watch.Calibre{Name: "Gannet 40", BeatsPerHour: 21600, GradeKey: timing.GradeModern})
	if err != nil {
		t.Fatal(err)
	}
	sh, err := s.store.Shop(ctx)
	if err != nil {
		t.Fatal(err)
	}
	sh.Instrument, sh.InstrumentPPM = "Bench 2", 0.5
	if err := s.store.SaveShop(ctx, sh); err != nil {
		t.Fatal(err)
	}
	n, err := s.store.TakeIn(ctx, store.TakingIn{Shop: sh, Customer: customer.Customer{Name: "Ada Quillmarsh", Phone: "01632 960123"}.Tidied("GB"),
		Watch:     watch.Watch{Maker: "Gannet", Model: "Harbourmaster", Serial: "1047", CalibreID: calibre, CalibreName: "Gannet 40", Lume: watch.LumeNone, Winding: watch.WindingHand}.Tidied(),
		Condition: watch.Condition{NoMarksSeen: watch.Parts}, Place: docket.PlaceAt(docket.PlaceSafe, ""),
		Intake: docket.Intake{Complaint: "Gains a minute a day", Wanted: docket.WantedService},
		By:     store.Actor{StaffID: s.clerk.ID, Name: s.clerk.Name, Role: s.clerk.Role}, At: testNow})
	if err != nil {
		t.Fatal(err)
	}
	r := &regulation{site: s, number: n, bench: s.as(s.watchmaker), path: "/dockets/" + n.String() + "/regulation"}
	r.to(stage)
	return r
}

// to puts the docket into a stage; the moves themselves are tested elsewhere.
func (r *regulation) to(stage docket.Stage) {
	r.t.Helper()
	_, err := r.store.Pool().Exec(r.t.Context(), `UPDATE docket SET stage = $2,
		work_since = CASE WHEN $2 IN ('service', 'regulation', 'final-test', 'ready') THEN coalesce(work_since, $3::timestamptz) END WHERE number = $1`,
		r.number.String(), string(stage), r.clock())
	if err != nil {
		r.t.Fatal(err)
	}
}

func (r *regulation) sheet() store.RegulationSheet {
	r.t.Helper()
	sheet, err := r.store.RegulationSheet(r.t.Context(), r.number)
	if err != nil {
		r.t.Fatal(err)
	}
	return sheet
}

var ratesReceived = []string{"+34", "+29", "+8", "+12", "+41", "+22"}

var ratesFinal = []string{"+5", "+4", "+1", "+2", "+6", "+3"}

var ratesDayLater = []string{"+3", "+2", "-2", "0", "+4", "+1"}

var amplitudes = []string{"288", "284", "262", "266", "259", "264"}

var laterSwing = []string{"262", "259", "236", "241", "232", "238"}

var beatErrors = []string{"0.2", "0.1", "0.3", "0.2", "0.2", "0.1"}

// column sets the cells of one column of the grid.
func column(fields url.Values, q timing.Quantity, hours float64, texts []string) {
	for i, p := range timing.Positions() {
		fields.Set(timing.FieldName(q, p, hours), texts[i])
	}
}

// fullRun is the form of a run with every cell filled.
func fullRun(kind timing.Kind, rates []string) url.Values {
	f := url.Values{"kind": {string(kind)}, "instrument": {"Bench 2"}, "clock_ppm": {"0.5"}, "temperature": {"23"}, "states": {"0, 24"}, "columns": {"0, 24"},
		"grade": {timing.GradeModern}}
	column(f, timing.Rate, 0, rates)
	column(f, timing.Amplitude, 0, amplitudes)
	column(f, timing.BeatError, 0, beatErrors)
	column(f, timing.Rate, 24, ratesDayLater)
	column(f, timing.Amplitude, 24, laterSwing)
	column(f, timing.BeatError, 24, beatErrors)
	return f
}

// take records a run through the form and returns its id.
func (r *regulation) take(f url.Values) int64 {
	r.t.Helper()
	a := r.bench.post(r.path+"/new", f).want(http.StatusSeeOther)
	var id int64
	if _, err := fmt.Sscanf(a.location(), r.path+"?run=%d", &id); err != nil {
		r.t.Fatalf("led to %q: %v", a.location(), err)
	}
	r.pass(time.Hour)
	return id
}

// both records a run as received and a final one, and returns their ids.
func (r *regulation) both() (before, after int64) {
	r.t.Helper()
	r.to(docket.StageDiagnosis)
	before = r.take(fullRun(timing.AsReceived, ratesReceived))
	r.to(docket.StageRegulation)
	after = r.take(fullRun(timing.Final, ratesFinal))
	return before, after
}

// contains fails the test unless the text has each of the words.
func contains(t *testing.T, what, text string, words ...string) {
	t.Helper()
	for _, w := range words {
		if !strings.Contains(text, w) {
			t.Errorf("%s: %q is not in %q", what, w, text)
		}
	}
}

// actorOf is a person as the record knows who does something.
func actorOf(m staff.Member) store.Actor {
	return store.Actor{StaffID: m.ID, Name: m.Name, Role: m.Role}
}
