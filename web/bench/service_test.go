package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ledgerwheel/domain/service"
)

func TestBenchWorkIsEntered(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.takeIn("winding", "automatic")
	path := "/dockets/" + number + "/service"
	bench := s.as(s.watchmaker)
	page := bench.get(path).want(http.StatusOK)
	for _, step := range service.Steps {
		page.one("step-" + string(step))
	}
	if got := textOf(page.one("work-form")); !strings.Contains(got, "Usual: braking grease") {
		t.Error("the usual lubricant of an automatic's barrel is not offered")
	}
	if len(page.all("unread-cautions")) != 1 || len(page.all("not-agreed")) != 1 {
		t.Error("the page does not warn of unread cautions and work not agreed")
	}
	bench.post(path, url.Values{"step": {"let-down", "clean"}, "minutes.clean": {"0:25"}, "lubricant.train-pivots": {"medium oil"}, "minutes": {"40"}, "note": {"Öl hart, حبر"}}).want(http.StatusSeeOther)
	s.as(s.owner).post(path, url.Values{"minutes": {"5"}}).want(http.StatusSeeOther)
	page = bench.get(path).want(http.StatusOK)
	if got := page.text("total-time"); !strings.Contains(got, "1 h 10 min") {
		t.Errorf("time in all %q", got)
	}
	if got := page.text("steps-done"); !strings.Contains(got, "2") || !strings.Contains(page.text("so-far"), "medium oil") {
		t.Errorf("steps %q", got)
	}
	if got := textOf(page.all("work")[1]); !strings.Contains(got, "cleaned and rinsed (25 min)") || !strings.Contains(got, "Emrys Vale") || !strings.Contains(got, "Öl hart, حبر") {
		t.Errorf("entry shown as %q", got)
	}
	if trips := s.trips(bench, path); trips > 4 {
		t.Errorf("%d round trips", trips)
	}
}

func TestBenchWorkRefusals(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.takeIn()
	path := "/dockets/" + number + "/service"
	bench := s.as(s.watchmaker)
	s.as(s.clerk).post(path, url.Values{"step": {"clean"}}).want(http.StatusForbidden)
	if page := s.as(s.clerk).get(path).want(http.StatusOK); len(page.all("work-form")) != 0 {
		t.Error("the clerk is offered to enter work")
	}
	a := bench.post(path, url.Values{"minutes": {"all day"}, "minutes.clean": {"5"}, "lubricant.calendar": {strings.Repeat("x", 121)}, "note": {"kept <as> typed"}}).want(http.StatusUnprocessableEntity)
	for _, field := range []string{"minutes", "minutes.clean", "lubricant.calendar"} {
		if a.problem(field) == "" {
			t.Errorf("no reason beside %s", field)
		}
	}
	if a.typed("note") != "kept <as> typed" || a.value("minutes") != "all day" || a.value("minutes.clean") != "5" {
		t.Error("what was typed is lost")
	}
	a = bench.post(path, url.Values{}).want(http.StatusUnprocessableEntity)
	if !strings.Contains(a.text("steps-error"), "Tick a step") {
		t.Errorf("told %q", a.text("steps-error"))
	}
	bench.post(path, url.Values{"step": {"polish the moon"}}).want(http.StatusUnprocessableEntity)
	if len(bench.get(path).all("work")) != 0 {
		t.Error("a refusal saved something")
	}
	s.handOver(number)
	a = bench.post(path, url.Values{"step": {"clean"}}).want(http.StatusUnprocessableEntity)
	if !strings.Contains(a.text("form-errors"), "has left the shop") {
		t.Errorf("a closed docket says %q", a.text("form-errors"))
	}
}

func TestBenchWorkIsCorrected(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.takeIn()
	path := "/dockets/" + number + "/service"
	bench := s.as(s.watchmaker)
	bench.post(path, url.Values{"step": {"clean", "inspect"}, "minutes.clean": {"600"}}).want(http.StatusSeeOther)
	at := attr(bench.get(path).one("correct-work"), "href")
	page := bench.get(at).want(http.StatusOK)
	if !hasAttr(page.one("step-clean").Attr, "checked") || page.value("minutes.clean") != "600" || hasAttr(page.one("step-seals").Attr, "checked") {
		t.Error("the entry is not shown as it stands")
	}
	stale := url.Values{"version": {s.version(number)}, "step": {"seals"}}
	bench.post(at, url.Values{"version": {s.version(number)}}).want(http.StatusUnprocessableEntity)
	bench.post(at, url.Values{"version": {s.version(number)}, "step": {"clean"}, "minutes.clean": {"60"}}).want(http.StatusSeeOther)
	a := bench.post(at, stale).want(http.StatusConflict)
	if !strings.Contains(a.text("conflict-typed"), "seals") {
		t.Error("what was typed is lost")
	}
	page = bench.get(path)
	if got := page.text("work"); !strings.Contains(got, "(1 h)") || strings.Contains(got, "inspected") {
		t.Errorf("corrected to %q", got)
	}
	bench.get(path + "/99").want(http.StatusNotFound)
	s.as(s.clerk).get(at).want(http.StatusForbidden)
}
