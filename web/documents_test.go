package web_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/chronometer"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/timing"
	"ledgerwheel/domain/trial"
	"ledgerwheel/store"
	"ledgerwheel/web/webtest"
)

// brin is another customer with another watch, as they are typed at the counter.
var brin = []string{"serial", "88-231", "name", "Brin Sollis", "email", "brin@example.org", "phone", "01632 960124"}

// tried runs a trial to its end on a docket, fifteen days read in the sixteen before the site's clock.
func tried(s *webtest.Site, change func() store.Change) {
	s.T.Helper()
	ctx := s.T.Context()
	sh, err := s.Store.Shop(ctx)
	if err != nil {
		s.T.Fatal(err)
	}
	p := trial.Plan{Category: chronometer.Category1, Method: trial.ByInstrument, ReadingMinute: 9 * 60,
		Instrument: "Bench 2", ClockPPM: 0.5, FirstDay: webtest.Now.Truncate(24*time.Hour).AddDate(0, 0, -16)}
	id, err := s.Store.BeginTrial(ctx, change(), p)
	if err != nil {
		s.T.Fatal(err)
	}
	for _, day := range chronometer.Programme() {
		temperature := day.TemperatureC
		if err := s.Store.NoteTrialDay(ctx, change(), id, store.TrialNote{Entry: trial.Entry{Day: day.Number,
			Rate: &timing.Figure{Value: 2, Step: 0.1}, Position: day.Position, TemperatureC: &temperature,
			ReadAt: p.DueAt(day.Number, sh.Location())}}); err != nil {
			s.T.Fatal(err)
		}
	}
	if _, err := s.Store.EndTrial(ctx, change(), id); err != nil {
		s.T.Fatal(err)
	}
}

// TestDocumentsKeepWhatTheyWereMadeOf makes every kind of document, changes every setting, and finds each document the
// same to the byte.
func TestDocumentsKeepWhatTheyWereMadeOf(t *testing.T) {
	t.Parallel()
	l := webtest.NewLeaving(t)
	seal := l.Seal()
	l.Pass(time.Hour)
	change := func() store.Change { return store.Change{Number: l.N, By: l.Actor(l.Watchmaker), At: l.Clock()} }
	tried(l.Site, change)
	l.Ready()
	l.Gone()
	l.Issue()
	waiting := l.Number(l.TakeIn(brin...))
	l.Send(waiting.String())

	before := l.Documents(l.N, waiting)
	for _, kind := range []string{"papers/claim-ticket", "papers/bag-label", "papers/estimate/1", "papers/invoice",
		"papers/bulletin", "papers/trial", "papers/warranty-card"} {
		for _, file := range []string{kind, kind + ".pdf"} {
			if !before.Has(l.Path + "/" + file) {
				t.Errorf("there is no %s to look at", file)
			}
		}
	}
	for _, kind := range []string{l.Path + "/estimate", l.Path + "/card", "/w/", "/c/"} {
		if !before.Has(kind) {
			t.Errorf("there is no %s to look at", kind)
		}
	}
	if t.Failed() {
		return
	}
	before.Kept(t, l.Documents(l.N, waiting)) // the clock stands still: nothing else may change them
	clerk := l.As(l.Clerk)
	for _, kind := range []string{"invoice", "bulletin", "trial"} {
		webtest.Contains(t, kind, webtest.TextOf(clerk.Get(l.Path+"/papers/"+kind).Want(http.StatusOK).Document), seal.Line())
	}
	l.Seal() // one that is younger than what the papers say
	before.Kept(t, l.Documents(l.N, waiting))
	l.ChangeEverySetting()
	before.Kept(t, l.Documents(l.N, waiting))
}

// TestPapersNotYetSaidShowTodaysSettings: what nobody has been given is made of the settings of today, and keeps to
// them once it is.
func TestPapersNotYetSaidShowTodaysSettings(t *testing.T) {
	t.Parallel()
	l := webtest.NewLeaving(t)
	number := l.TakeIn(brin...)
	l.As(l.Watchmaker).Post("/dockets/"+number+"/estimate", webtest.DraftForm(l.Version(number),
		webtest.ThreeLines...)).Want(http.StatusSeeOther)
	renamed := func(name, tax string) {
		t.Helper()
		l.As(l.Owner).Post("/settings", url.Values{"name": {name}, "tax_name": {tax}, "time_zone": {"Europe/Zurich"},
			"locale": {"en-GB"}, "phone_region": {"GB"}, "currency": {"EUR"}, "tax_rate": {"20"},
			"prices_include_tax": {"yes"}, "decision_rule": {"guarded"}, "instrument_ppm": {"50"}, "warranty_months": {"12"},
			"warranty_covers": {"The work."}, "estimate_days": {"30"}, "idle_minutes": {"720"}, "second_factor": {"nobody"}}).Want(http.StatusSeeOther)
	}
	clerk := l.As(l.Clerk)
	says := func(path string, words ...string) {
		t.Helper()
		webtest.Contains(t, path, webtest.TextOf(clerk.Get(path).Want(http.StatusOK).Document), words...)
	}
	renamed("Lobscouse & Daughter", "GST")
	says("/dockets/"+number+"/estimate", "GST 20 %")
	says("/dockets/"+number+"/papers/claim-ticket", "Tern Quay Watch Works")
	says(l.Path+"/papers/invoice", "Lobscouse & Daughter", "GST 20 %, included", "Draft: nothing has been billed yet.")
	says(l.Path+"/papers/estimate/1", "VAT 20 %, included")
	clerk.Post(l.Path+"/hand-over/payment", l.PayForm("20", "cash")).Want(http.StatusSeeOther)
	renamed("Third Name", "TVA")
	says("/dockets/"+number+"/estimate", "TVA 20 %")
	says(l.Path+"/papers/invoice", "Lobscouse & Daughter", "GST 20 %, included")
}

// TestAnAnswerIsLateByTheClockThatTheEstimateWasSentUnder: in Auckland it is the next day already.
func TestAnAnswerIsLateByTheClockThatTheEstimateWasSentUnder(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	atCounter, byLink := s.Sent(), s.TakeIn(brin...)
	s.Send(byLink)
	if _, err := s.Store.Pool().Exec(t.Context(), `UPDATE estimate_revision SET valid_until = '2026-11-24'`); err != nil {
		t.Fatal(err)
	}
	s.Pass(4 * time.Hour) // half past two in Zurich, half past two of the 25th in Auckland
	s.ChangeEverySetting()
	page := s.As(s.Clerk).Get("/dockets/" + atCounter + "/estimate").Want(http.StatusOK)
	if strings.Contains(page.Text("standing"), "over") {
		t.Errorf("the sheet says %q", page.Text("standing"))
	}
	answer := map[string][]string{"version": {s.Version(atCounter)}, "revision": {"1"}, "decision": {"approve"},
		"name": {"Ada Quillmarsh"}}
	s.As(s.Clerk).Post("/dockets/"+atCounter+"/estimate/answer", answer).Want(http.StatusSeeOther)
	path := s.LinkPath(byLink)
	delete(answer, "version")
	shown := s.Stranger().Get(path).Want(http.StatusOK)
	shown.One("answer-form")
	answer["agreed"], answer["take"] = []string{shown.Hidden("agreed")}, []string{"2"}
	s.Stranger().Post(path+"/answer", answer).Want(http.StatusSeeOther)
	sheet, err := s.Store.EstimateSheet(t.Context(), s.Number(byLink))
	if err != nil {
		t.Fatal(err)
	}
	if rev, _ := sheet.Estimate.Find(1); rev.State != estimate.Approved {
		t.Errorf("the estimate is %s", rev.State)
	}
}

// TestComebackIsOfferedAsSigned: the card was signed for 24 months, and the shop gives one today.
func TestComebackIsOfferedAsSigned(t *testing.T) {
	t.Parallel()
	l := webtest.NewLeaving(t)
	l.Ready()
	l.Gone()
	l.Issue()
	sh, err := l.Store.Shop(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	sh.WarrantyMonths = 1
	if err := l.Store.SaveShop(t.Context(), sh, l.Actor(l.Owner), l.Clock()); err != nil {
		t.Fatal(err)
	}
	h := l.Sheet(l.N.String()).Head
	for _, c := range []struct {
		months  int
		offered bool
	}{{0, true}, {22, true}, {3, false}} {
		l.Pass(time.Duration(c.months) * 31 * 24 * time.Hour)
		page := l.As(l.Clerk).Get("/intake?customer=" + webtest.Itoa(h.Customer.ID) + "&watch=" +
			webtest.Itoa(h.Watch.ID)).Want(http.StatusOK)
		offered := strings.Contains(webtest.TextOf(page.Document), "Yes, from docket "+l.N.String())
		if offered != c.offered {
			t.Errorf("on %s the comeback is offered: %v", l.Clock().Format(time.DateOnly), offered)
		}
	}
}
