package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ledgerwheel/domain/finaltest"
)

func TestFinalTestPage(t *testing.T) {
	t.Parallel()
	l := newLeaving(t)
	c := l.as(l.watchmaker)
	page := c.get(l.path + "/final-test").want(http.StatusOK)
	for _, want := range []string{"Test dry, in air", "eye protection", "local rules", "Stated by the calibre: 42", "Marked for 5", "ISO 22810"} {
		if !strings.Contains(textOf(page.document), want) {
			t.Errorf("the page does not say %q", want)
		}
	}
	c.post(l.path+"/final-test", l.testForm()).want(http.StatusSeeOther)
	page = c.get(l.path + "/final-test").want(http.StatusOK)
	now := page.text("final-test-now")
	for _, want := range []string{"pass", "44.5 h", "5 bar in air", "no date", "Emrys Vale", "Ready to collect"} {
		if !strings.Contains(now, want) {
			t.Errorf("as it stands: %q does not say %q", now, want)
		}
	}
	if len(page.all("move-form-ready")) != 1 {
		t.Error("the move to ready is not offered")
	}
	if got := page.value("power-reserve-figure"); got != "44.5" {
		t.Errorf("the form goes on from %q", got)
	}
}

// A refused form comes back with everything typed and each reason beside its field.
func TestFinalTestRefused(t *testing.T) {
	t.Parallel()
	l := newLeaving(t)
	c := l.as(l.watchmaker)
	page := c.post(l.path+"/final-test", l.testForm("power-reserve-figure", "two days", "water-resistance-medium", "water",
		"date-change-note", "", "note", "seen twice\nby both")).want(http.StatusUnprocessableEntity)
	for _, field := range []string{"power-reserve-figure", "water-resistance-dry_first", "date-change-note"} {
		if page.problem(field) == "" {
			t.Errorf("no reason beside %s", field)
		}
	}
	if page.value("power-reserve-figure") != "two days" || strings.TrimSpace(page.value("note")) != "seen twice\nby both" || !hasAttr(page.one("water-resistance-medium-water").Attr, "checked") {
		t.Error("something typed is lost")
	}
	page = c.post(l.path+"/final-test", l.testForm("power-reserve-figure", "30")).want(http.StatusUnprocessableEntity)
	if got := page.problem("power-reserve-figure"); !strings.Contains(got, "42 h") {
		t.Errorf("short of the calibre: %q", got)
	}
	page = c.post(l.path+"/final-test", l.testForm("water-resistance-figure", "3")).want(http.StatusUnprocessableEntity)
	if got := page.problem("water-resistance-figure"); !strings.Contains(got, "5 bar") {
		t.Errorf("short of the mark: %q", got)
	}
	if sheet, _ := l.store.FinalTestSheet(t.Context(), l.n); len(sheet.Tests) != 0 {
		t.Errorf("%d kept of refused forms", len(sheet.Tests))
	}
	l.as(l.clerk).post(l.path+"/final-test", l.testForm()).want(http.StatusForbidden)
	c.post(l.path+"/final-test", l.testForm("version", "")).want(http.StatusBadRequest)
}

// What failed names the stage that mends it, and the form that takes the docket there works.
func TestFailedFinalTestGoesBack(t *testing.T) {
	t.Parallel()
	l := newLeaving(t)
	c := l.as(l.watchmaker)
	c.post(l.path+"/final-test", l.testForm("water-resistance-outcome", "fail", "water-resistance-note", "bubbles at the crown")).want(http.StatusSeeOther)
	page := c.get(l.path + "/final-test").want(http.StatusOK)
	if got := page.text("final-test-now"); !strings.Contains(got, "fail") || !strings.Contains(got, "bubbles at the crown") || !strings.Contains(got, "Failed: needs a part") {
		t.Errorf("as it stands: %q", got)
	}
	form := page.one("move-form-parts")
	if attr(form, "action") != l.path+"/move" {
		t.Errorf("the form goes to %q", attr(form, "action"))
	}
	c.post(l.path+"/move", url.Values{"to": {"parts"}, "version": {page.hidden("version")}, "place": {"safe"}}).want(http.StatusSeeOther)
	page = c.get(l.path + "/final-test").want(http.StatusOK)
	if got := page.text("final-test-why"); !strings.Contains(got, "parts") {
		t.Errorf("after it went back: %q", got)
	}
	if got := page.text("final-test-now"); !strings.Contains(got, "bubbles at the crown") {
		t.Errorf("recorded: %q", got)
	}
}

// The second of two who record the same test is shown what the first found, and loses nothing.
func TestTwoRecordTheFinalTest(t *testing.T) {
	t.Parallel()
	l := newLeaving(t)
	mine := l.testForm("note", "mine")
	l.as(l.owner).post(l.path+"/final-test", l.testForm("case-and-strap-outcome", "fail")).want(http.StatusSeeOther)
	page := l.as(l.watchmaker).post(l.path+"/final-test", mine).want(http.StatusConflict)
	if got := textOf(page.document); !strings.Contains(got, "Final test: fail") || !strings.Contains(got, "mine") {
		t.Errorf("conflict page says %.400q", got)
	}
}

func TestFinalTestInPartsOnThePage(t *testing.T) {
	t.Parallel()
	l := newLeaving(t)
	c := l.as(l.watchmaker)
	c.post(l.path+"/final-test", l.testForm("power-reserve-outcome", "open", "power-reserve-figure", "")).want(http.StatusSeeOther)
	page := c.get(l.path + "/final-test").want(http.StatusOK)
	if got := page.text("final-test-now"); !strings.Contains(got, "not finished") {
		t.Errorf("as it stands: %q", got)
	}
	if len(page.all("move-form-ready")) != 0 {
		t.Error("half a test lets the watch go")
	}
	if sheet, _ := l.store.FinalTestSheet(t.Context(), l.n); sheet.Now().Sheet.Verdict() != finaltest.OutcomeOpen {
		t.Error("half a test is decided")
	}
}

func TestFinalTestPageTrips(t *testing.T) {
	t.Parallel()
	l := newLeaving(t)
	if n := l.trips(l.as(l.watchmaker), l.path+"/final-test"); n > 4 {
		t.Errorf("%d round trips", n)
	}
}
