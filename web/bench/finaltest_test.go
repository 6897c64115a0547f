package bench_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/finaltest"
	"ledgerwheel/web/webtest"
)

func TestFinalTestPage(t *testing.T) {
	t.Parallel()
	l := webtest.NewLeaving(t)
	c := l.As(l.Watchmaker)
	page := c.Get(l.Path + "/final-test").Want(http.StatusOK)
	for _, want := range []string{"Test dry, in air", "eye protection", "local rules", "Stated by the calibre: 42",
		"Marked for 5", "ISO 22810"} {
		if !strings.Contains(webtest.TextOf(page.Document), want) {
			t.Errorf("the page does not say %q", want)
		}
	}
	c.Post(l.Path+"/final-test", l.TestForm()).Want(http.StatusSeeOther)
	page = c.Get(l.Path + "/final-test").Want(http.StatusOK)
	now := page.Text("final-test-now")
	for _, want := range []string{"pass", "44.5 h", "5 bar in air", "no date", "Emrys Vale", "Ready to collect"} {
		if !strings.Contains(now, want) {
			t.Errorf("as it stands: %q does not say %q", now, want)
		}
	}
	if len(page.All("move-form-ready")) != 1 {
		t.Error("the move to ready is not offered")
	}
	if got := page.Value("power-reserve-figure"); got != "44.5" {
		t.Errorf("the form goes on from %q", got)
	}
}

// A refused form comes back with everything typed and each reason beside its field.
func TestFinalTestRefused(t *testing.T) {
	t.Parallel()
	l := webtest.NewLeaving(t)
	c := l.As(l.Watchmaker)
	page := c.Post(l.Path+"/final-test", l.TestForm("power-reserve-figure", "two days", "water-resistance-medium", "water",
		"date-change-note", "", "note", "seen twice\nby both")).Want(http.StatusUnprocessableEntity)
	for _, field := range []string{"power-reserve-figure", "water-resistance-dry_first", "date-change-note"} {
		if page.Problem(field) == "" {
			t.Errorf("no reason beside %s", field)
		}
	}
	if page.Value("power-reserve-figure") != "two days" ||
		strings.TrimSpace(page.Value("note")) != "seen twice\nby both" ||
		!webtest.HasAttr(page.One("water-resistance-medium-water").Attr, "checked") {
		t.Error("something typed is lost")
	}
	page = c.Post(l.Path+"/final-test", l.TestForm("power-reserve-figure", "30")).Want(http.StatusUnprocessableEntity)
	if got := page.Problem("power-reserve-figure"); !strings.Contains(got, "42 h") {
		t.Errorf("short of the calibre: %q", got)
	}
	page = c.Post(l.Path+"/final-test", l.TestForm("water-resistance-figure", "3")).Want(http.StatusUnprocessableEntity)
	if got := page.Problem("water-resistance-figure"); !strings.Contains(got, "5 bar") {
		t.Errorf("short of the mark: %q", got)
	}
	if sheet, _ := l.Store.FinalTestSheet(t.Context(), l.N); len(sheet.Tests) != 0 {
		t.Errorf("%d kept of refused forms", len(sheet.Tests))
	}
	l.As(l.Clerk).Post(l.Path+"/final-test", l.TestForm()).Want(http.StatusForbidden)
	c.Post(l.Path+"/final-test", l.TestForm("version", "")).Want(http.StatusBadRequest)
}

// What failed names the stage that mends it, and the form that takes the docket there works.
func TestFailedFinalTestGoesBack(t *testing.T) {
	t.Parallel()
	l := webtest.NewLeaving(t)
	c := l.As(l.Watchmaker)
	c.Post(l.Path+"/final-test", l.TestForm("water-resistance-outcome", "fail", "water-resistance-note",
		"bubbles at the crown")).Want(http.StatusSeeOther)
	page := c.Get(l.Path + "/final-test").Want(http.StatusOK)
	if got := page.Text("final-test-now"); !strings.Contains(got, "fail") ||
		!strings.Contains(got, "bubbles at the crown") || !strings.Contains(got, "Failed: needs a part") {
		t.Errorf("as it stands: %q", got)
	}
	for _, to := range []string{"service", "regulation", "diagnosis"} {
		if len(page.All("move-form-"+to)) != 1 {
			t.Errorf("the way back to %s is not offered", to)
		}
	}
	form := page.One("move-form-parts")
	if webtest.Attr(form, "action") != l.Path+"/move" {
		t.Errorf("the form goes to %q", webtest.Attr(form, "action"))
	}
	c.Post(l.Path+"/move", url.Values{"to": {"parts"}, "version": {page.Hidden("version")},
		"place": {"safe"}}).Want(http.StatusSeeOther)
	page = c.Get(l.Path + "/final-test").Want(http.StatusOK)
	if got := page.Text("final-test-why"); !strings.Contains(got, "parts") {
		t.Errorf("after it went back: %q", got)
	}
	if got := page.Text("final-test-now"); !strings.Contains(got, "bubbles at the crown") {
		t.Errorf("recorded: %q", got)
	}
}

// The fail of a minute ago is no pass because someone ticks it: the page asks why beside the line, keeps what was typed,
// and shows what was.
func TestFailIsNotTurnedOnThePage(t *testing.T) {
	t.Parallel()
	l := webtest.NewLeaving(t)
	c := l.As(l.Watchmaker)
	if len(c.Get(l.Path+"/final-test").Want(http.StatusOK).All("power-reserve-corrects")) != 0 {
		t.Error("a reason is asked for before anything is recorded")
	}
	c.Post(l.Path+"/final-test", l.TestForm("power-reserve-outcome", "fail", "power-reserve-figure", "20",
		"power-reserve-note", "stops at 20 h")).Want(http.StatusSeeOther)
	page := c.Post(l.Path+"/final-test", l.TestForm("power-reserve-note", "stops at 20 h")).Want(http.StatusUnprocessableEntity)
	if page.Problem("power-reserve-corrects") == "" || page.Problem("power-reserve-note") == "" ||
		page.Value("power-reserve-figure") != "44,5 h" {
		t.Errorf("turned to pass: %q, %q, %q", page.Value("power-reserve-figure"), page.Problem("power-reserve-corrects"), page.Problem("power-reserve-note"))
	}
	c.Post(l.Path+"/final-test", l.TestForm("power-reserve-corrects", "20 was the hour")).Want(http.StatusSeeOther)
	page = c.Get(l.Path + "/final-test").Want(http.StatusOK)
	if got := page.Text("line-corrected"); !strings.Contains(got, "20 was the hour") {
		t.Errorf("the mark says %q", got)
	}
	if got := page.Text("line-was"); !strings.Contains(got, "was fail, 20 h at ") {
		t.Errorf("what was: %q", got)
	}
}

// After bench work every line is open again, what was stays beside it, and the run is open too.
func TestWorkOpensTheTestOnThePage(t *testing.T) {
	t.Parallel()
	l := webtest.NewLeaving(t)
	c := l.As(l.Watchmaker)
	c.Post(l.Path+"/final-test", l.TestForm("power-reserve-outcome", "fail", "power-reserve-figure",
		"20")).Want(http.StatusSeeOther)
	if got := c.Get(l.Path + "/final-test").Text("final-run-stands"); strings.Contains(got, "since the watch was last worked on") {
		t.Errorf("the run stands as %q", got)
	}
	l.Pass(time.Minute)
	page := c.Get(l.Path + "/service").Want(http.StatusOK)
	if page.Text("work-opens") == "" {
		t.Error("the service sheet does not say what work opens")
	}
	c.Post(l.Path+"/service", url.Values{"minutes": {"20"},
		"note": {"mainspring let down and set again"}}).Want(http.StatusSeeOther)
	page = c.Get(l.Path + "/final-test").Want(http.StatusOK)
	if got := page.Text("final-run-stands"); !strings.Contains(got, "since the watch was last worked on") {
		t.Errorf("the run stands as %q", got)
	}
	if page.Value("power-reserve-figure") != "" || len(page.All("final-test-now")) != 0 {
		t.Error("a line is not open again")
	}
	if got := page.Text("was-power-reserve"); !strings.Contains(got, "Was fail, 20 h at ") {
		t.Errorf("beside the line: %q", got)
	}
	c.Post(l.Path+"/final-test", l.TestForm()).Want(http.StatusSeeOther)
}

// The second of two who record the same test is shown what the first found, and loses nothing.
func TestTwoRecordTheFinalTest(t *testing.T) {
	t.Parallel()
	l := webtest.NewLeaving(t)
	mine := l.TestForm("note", "mine")
	l.As(l.Owner).Post(l.Path+"/final-test", l.TestForm("case-and-strap-outcome", "fail")).Want(http.StatusSeeOther)
	page := l.As(l.Watchmaker).Post(l.Path+"/final-test", mine).Want(http.StatusConflict)
	if got := webtest.TextOf(page.Document); !strings.Contains(got, "Final test: fail") || !strings.Contains(got, "mine") {
		t.Errorf("conflict page says %.400q", got)
	}
}

func TestFinalTestInPartsOnThePage(t *testing.T) {
	t.Parallel()
	l := webtest.NewLeaving(t)
	c := l.As(l.Watchmaker)
	c.Post(l.Path+"/final-test", l.TestForm("power-reserve-outcome", "open", "power-reserve-figure",
		"")).Want(http.StatusSeeOther)
	page := c.Get(l.Path + "/final-test").Want(http.StatusOK)
	if got := page.Text("final-test-now"); !strings.Contains(got, "not finished") {
		t.Errorf("as it stands: %q", got)
	}
	if len(page.All("move-form-ready")) != 0 {
		t.Error("half a test lets the watch go")
	}
	if sheet, _ := l.Store.FinalTestSheet(t.Context(), l.N); sheet.Now().Sheet.Verdict() != finaltest.OutcomeOpen {
		t.Error("half a test is decided")
	}
}

func TestFinalTestPageTrips(t *testing.T) {
	t.Parallel()
	l := webtest.NewLeaving(t)
	if n := l.Trips(l.As(l.Watchmaker), l.Path+"/final-test"); n > 4 {
		t.Errorf("%d round trips", n)
	}
}
