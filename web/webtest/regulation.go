package webtest

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/timing"
	"ledgerwheel/domain/watch"
	"ledgerwheel/store"
)

// Regulation is a docket of a watch judged as modern, and who works on it.
type Regulation struct {
	*Site
	Number docket.Number
	Bench  *Client
	Path   string
}

// NewRegulation takes in a watch and puts its docket into the stage a test wants.
func NewRegulation(t testing.TB, stage docket.Stage) *Regulation {
	t.Helper()
	s := NewSite(t)
	ctx := t.Context()
	if err := s.Store.EnsureRateLimits(ctx, Now); err != nil {
		t.Fatal(err)
	}
	calibre, err := s.Store.AddCalibre(ctx, store.CalibreChange{At: Now}, watch.Calibre{Name: "Gannet 40", BeatsPerHour: 21600,
		GradeKey: timing.GradeModern})
	if err != nil {
		t.Fatal(err)
	}
	sh, err := s.Store.Shop(ctx)
	if err != nil {
		t.Fatal(err)
	}
	sh.Instrument, sh.InstrumentPPM = "Bench 2", 0.5
	if err := s.Store.SaveShop(ctx, sh, s.Actor(s.Owner), Now); err != nil {
		t.Fatal(err)
	}
	n, err := s.Store.TakeIn(ctx, store.TakingIn{Shop: sh, Customer: customer.Customer{Name: "Ada Quillmarsh",
		Phone: "01632 960123"}.Tidied("GB"),
		Watch: watch.Watch{Maker: "Gannet", Model: "Harbourmaster", Serial: "1047", CalibreID: calibre,
			CalibreName: "Gannet 40", Lume: watch.LumeNone, Winding: watch.WindingHand}.Tidied(),
		Condition: watch.Condition{NoMarksSeen: watch.Parts}, Place: docket.PlaceAt(docket.PlaceSafe, ""),
		Intake: docket.Intake{Complaint: "Gains a minute a day", Wanted: docket.WantedService},
		By:     store.Actor{StaffID: s.Clerk.ID, Name: s.Clerk.Name, Role: s.Clerk.Role}, At: Now})
	if err != nil {
		t.Fatal(err)
	}
	r := &Regulation{Site: s, Number: n, Bench: s.As(s.Watchmaker), Path: "/dockets/" + n.String() + "/regulation"}
	r.To(stage)
	return r
}

// To puts the docket into a stage; the moves themselves are tested elsewhere.
func (r *Regulation) To(stage docket.Stage) {
	r.T.Helper()
	_, err := r.Store.Pool().Exec(r.T.Context(), `UPDATE docket SET stage = $2,
		work_since = CASE WHEN $2 IN ('service', 'regulation', 'final-test', 'ready') THEN coalesce(work_since, $3::timestamptz) END WHERE number = $1`,
		r.Number.String(), string(stage), r.Clock())
	if err != nil {
		r.T.Fatal(err)
	}
}

func (r *Regulation) Sheet() store.RegulationSheet {
	r.T.Helper()
	sheet, err := r.Store.RegulationSheet(r.T.Context(), r.Number)
	if err != nil {
		r.T.Fatal(err)
	}
	return sheet
}

var RatesReceived = []string{"+34", "+29", "+8", "+12", "+41", "+22"}

var RatesFinal = []string{"+5", "+4", "+1", "+2", "+6", "+3"}

var RatesDayLater = []string{"+3", "+2", "-2", "0", "+4", "+1"}

var Amplitudes = []string{"288", "284", "262", "266", "259", "264"}

var LaterSwing = []string{"262", "259", "236", "241", "232", "238"}

var beatErrors = []string{"0.2", "0.1", "0.3", "0.2", "0.2", "0.1"}

// Column sets the cells of one column of the grid.
func Column(fields url.Values, q timing.Quantity, hours float64, texts []string) {
	for i, p := range timing.Positions() {
		fields.Set(timing.FieldName(q, p, hours), texts[i])
	}
}

// FullRun is the form of a run with every cell filled.
func FullRun(kind timing.Kind, rates []string) url.Values {
	f := url.Values{"kind": {string(kind)}, "instrument": {"Bench 2"}, "clock_ppm": {"0.5"}, "temperature": {"23"},
		"states": {"0, 24"}, "columns": {"0, 24"},
		"grade": {timing.GradeModern}}
	Column(f, timing.Rate, 0, rates)
	Column(f, timing.Amplitude, 0, Amplitudes)
	Column(f, timing.BeatError, 0, beatErrors)
	Column(f, timing.Rate, 24, RatesDayLater)
	Column(f, timing.Amplitude, 24, LaterSwing)
	Column(f, timing.BeatError, 24, beatErrors)
	return f
}

// Take records a run through the form and returns its id.
func (r *Regulation) Take(f url.Values) int64 {
	r.T.Helper()
	a := r.Bench.Post(r.Path+"/new", f).Want(http.StatusSeeOther)
	var id int64
	if _, err := fmt.Sscanf(a.Location(), r.Path+"?run=%d", &id); err != nil {
		r.T.Fatalf("led to %q: %v", a.Location(), err)
	}
	r.Pass(time.Hour)
	return id
}

// Both records a run as received and a final one, and returns their ids.
func (r *Regulation) Both() (before, after int64) {
	r.T.Helper()
	r.To(docket.StageDiagnosis)
	before = r.Take(FullRun(timing.AsReceived, RatesReceived))
	r.To(docket.StageRegulation)
	after = r.Take(FullRun(timing.Final, RatesFinal))
	return before, after
}

// Contains fails the test unless the text has each of the words.
func Contains(t *testing.T, what, text string, words ...string) {
	t.Helper()
	for _, w := range words {
		if !strings.Contains(text, w) {
			t.Errorf("%s: %q is not in %q", what, w, text)
		}
	}
}

// ActorOf is a person as the record knows who does something.
func ActorOf(m staff.Member) store.Actor {
	return store.Actor{StaffID: m.ID, Name: m.Name, Role: m.Role}
}
