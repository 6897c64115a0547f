package bench_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/service"
	"ledgerwheel/web/webtest"
)

func TestBenchWorkIsEntered(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.TakeIn("winding", "automatic")
	path := "/dockets/" + number + "/service"
	bench := s.As(s.Watchmaker)
	page := bench.Get(path).Want(http.StatusOK)
	for _, step := range service.Steps {
		page.One("step-" + string(step))
	}
	if got := webtest.TextOf(page.One("work-form")); !strings.Contains(got, "Usual: braking grease") {
		t.Error("the usual lubricant of an automatic's barrel is not offered")
	}
	if len(page.All("unread-cautions")) != 1 || len(page.All("not-agreed")) != 1 {
		t.Error("the page does not warn of unread cautions and work not agreed")
	}
	bench.Post(path, url.Values{"step": {"let-down", "clean"}, "minutes.clean": {"0:25"},
		"lubricant.train-pivots": {"medium oil"}, "minutes": {"40"}, "note": {"Öl hart, حبر"}}).Want(http.StatusSeeOther)
	s.As(s.Owner).Post(path, url.Values{"minutes": {"5"}}).Want(http.StatusSeeOther)
	page = bench.Get(path).Want(http.StatusOK)
	if got := page.Text("total-time"); !strings.Contains(got, "1 h 10 min") {
		t.Errorf("time in all %q", got)
	}
	if got := page.Text("steps-done"); !strings.Contains(got, "2") || !strings.Contains(page.Text("so-far"),
		"medium oil") {
		t.Errorf("steps %q", got)
	}
	if got := webtest.TextOf(page.All("work")[1]); !strings.Contains(got, "cleaned and rinsed (25 min)") ||
		!strings.Contains(got, "Emrys Vale") || !strings.Contains(got, "Öl hart, حبر") {
		t.Errorf("entry shown as %q", got)
	}
	if trips := s.Trips(bench, path); trips > 4 {
		t.Errorf("%d round trips", trips)
	}
}

// TestOilsOfTheCalibre: what the docket's own calibre asks for stands beside what is usual.
func TestOilsOfTheCalibre(t *testing.T) {
	t.Parallel()
	r := webtest.NewRegulation(t, docket.StageService)
	if _, err := r.Store.Pool().Exec(t.Context(), `UPDATE calibre SET lubrication =
		'[{"Place": "Balance jewels", "Oil": "thin oil", "Note": "a third of the cup"}, {"Place": "Lever", "Oil": "none"}]'`); err != nil {
		t.Fatal(err)
	}
	page := r.Bench.Get("/dockets/" + r.Number.String() + "/service").Want(http.StatusOK)
	webtest.Contains(t, "form", webtest.TextOf(page.One("work-form")), "This calibre: thin oil. Usual: thin synthetic oil")
	webtest.Contains(t, "sheet", page.Text("calibre-oils"), "Gannet 40", "thin oil (a third of the cup)", "Lever", "none")
}

func TestBenchWorkRefusals(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.TakeIn()
	path := "/dockets/" + number + "/service"
	bench := s.As(s.Watchmaker)
	s.As(s.Clerk).Post(path, url.Values{"step": {"clean"}}).Want(http.StatusForbidden)
	if page := s.As(s.Clerk).Get(path).Want(http.StatusOK); len(page.All("work-form")) != 0 {
		t.Error("the clerk is offered to enter work")
	}
	a := bench.Post(path, url.Values{"minutes": {"all day"}, "minutes.clean": {"5"},
		"lubricant.calendar": {strings.Repeat("x", 121)}, "note": {"kept <as> typed"}}).Want(http.StatusUnprocessableEntity)
	for _, field := range []string{"minutes", "minutes.clean", "lubricant.calendar"} {
		if a.Problem(field) == "" {
			t.Errorf("no reason beside %s", field)
		}
	}
	if a.Typed("note") != "kept <as> typed" || a.Value("minutes") != "all day" || a.Value("minutes.clean") != "5" {
		t.Error("what was typed is lost")
	}
	a = bench.Post(path, url.Values{}).Want(http.StatusUnprocessableEntity)
	if !strings.Contains(a.Text("steps-error"), "Tick a step") {
		t.Errorf("told %q", a.Text("steps-error"))
	}
	bench.Post(path, url.Values{"step": {"polish the moon"}}).Want(http.StatusUnprocessableEntity)
	if len(bench.Get(path).All("work")) != 0 {
		t.Error("a refusal saved something")
	}
	s.HandOver(number)
	a = bench.Post(path, url.Values{"step": {"clean"}}).Want(http.StatusUnprocessableEntity)
	if !strings.Contains(a.Text("form-errors"), "has left the shop") {
		t.Errorf("a closed docket says %q", a.Text("form-errors"))
	}
}

func TestBenchWorkIsCorrected(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.TakeIn()
	path := "/dockets/" + number + "/service"
	bench := s.As(s.Watchmaker)
	bench.Post(path, url.Values{"step": {"clean", "inspect"}, "minutes.clean": {"600"}}).Want(http.StatusSeeOther)
	at := webtest.Attr(bench.Get(path).One("correct-work"), "href")
	page := bench.Get(at).Want(http.StatusOK)
	if !webtest.HasAttr(page.One("step-clean").Attr, "checked") || page.Value("minutes.clean") != "600" ||
		webtest.HasAttr(page.One("step-seals").Attr, "checked") {
		t.Error("the entry is not shown as it stands")
	}
	stale := url.Values{"version": {s.Version(number)}, "step": {"seals"}}
	bench.Post(at, url.Values{"version": {s.Version(number)}}).Want(http.StatusUnprocessableEntity)
	bench.Post(at, url.Values{"version": {s.Version(number)}, "step": {"clean"},
		"minutes.clean": {"60"}}).Want(http.StatusSeeOther)
	a := bench.Post(at, stale).Want(http.StatusConflict)
	if !strings.Contains(a.Text("conflict-typed"), "seals") {
		t.Error("what was typed is lost")
	}
	page = bench.Get(path)
	if got := page.Text("work"); !strings.Contains(got, "(1 h)") || strings.Contains(got, "inspected") {
		t.Errorf("corrected to %q", got)
	}
	bench.Get(path + "/99").Want(http.StatusNotFound)
	s.As(s.Clerk).Get(at).Want(http.StatusForbidden)
}
