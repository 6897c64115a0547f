package regulation_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/timing"
	"ledgerwheel/web/runs"
	"ledgerwheel/web/webtest"
)

func TestRateLimitsAreExplained(t *testing.T) {
	t.Parallel()
	r := webtest.NewRegulation(t, docket.StageRegulation)
	list := r.Bench.Get("/rate-limits").Want(http.StatusOK)
	for _, g := range timing.ShippedGrades() {
		webtest.Contains(t, g.Grade, list.Text("grade-"+g.Grade), g.Name, "Version 1", g.Reasons)
		page := r.Bench.Get("/rate-limits/" + g.Grade).Want(http.StatusOK)
		for _, l := range g.Limits {
			webtest.Contains(t, g.Grade, page.Text("limit-"+runs.KeySlug(l.Key)), l.Text(), l.Reason)
		}
		webtest.Contains(t, g.Grade, page.Text("positions"), "all six positions")
	}
	webtest.Contains(t, "rule", list.Text("rule"), "guard band")
	// The one figure of the shipped grades that is published: ISO 3159 allows a movement of 20 mm and over a mean daily
	// rate of −4 to +6 s/d.
	webtest.Contains(t, "chronometer style", r.Bench.Get("/rate-limits/chronometer-style").Text("limit-mean-rate"),
		"−4 to +6 s/d", "ISO 3159")
	r.Bench.Get("/rate-limits/perfect").Want(http.StatusNotFound)
	r.Bench.Get("/rate-limits/modern?version=9").Want(http.StatusNotFound)
}

// typedLimits is the publishing form as the page fills it in.
func typedLimits(l timing.RateLimits) url.Values {
	f := url.Values{"version": {"2"}}
	for name, text := range l.Typed() {
		f.Set(name, text)
	}
	for _, p := range l.Needed() {
		f.Add("positions", string(p))
	}
	return f
}

func TestPublishAVersion(t *testing.T) {
	t.Parallel()
	r := webtest.NewRegulation(t, docket.StageRegulation)
	modern := timing.ShippedGrades()[1]
	for _, c := range []*webtest.Client{r.Bench, r.As(r.Clerk)} {
		c.Get("/rate-limits/modern/new").Want(http.StatusForbidden)
		c.Post("/rate-limits/modern/new", typedLimits(modern)).Want(http.StatusForbidden)
		if len(c.Get("/rate-limits/modern").All("publish-link")) > 0 {
			t.Error("publishing is offered to who may not")
		}
	}
	owner := r.As(r.Owner)
	form := owner.Get("/rate-limits/modern/new").Want(http.StatusOK)
	for name, want := range modern.Typed() {
		if got := form.Value(name); strings.TrimSpace(got) != want {
			t.Errorf("%s holds %q, want %q", name, got, want)
		}
	}
	f := typedLimits(modern)
	f.Set("upper-delta", "15")
	f.Set("lower-isochronism", "")
	f.Set("upper-isochronism", "")
	f["positions"] = []string{"CH", "FH", "6H", "9H"}
	if got := owner.Post("/rate-limits/modern/new", f).Want(http.StatusSeeOther).Location(); got != "/rate-limits/modern" {
		t.Errorf("led to %s", got)
	}
	page := r.Bench.Get("/rate-limits/modern").Want(http.StatusOK)
	webtest.Contains(t, "delta", page.Text("limit-delta"), "at most 15 s/d")
	webtest.Contains(t, "no longer judged", page.Text("limit-isochronism"), "not judged")
	webtest.Contains(t, "positions", page.Text("positions"), "CH, FH, 6H, 9H")
	webtest.Contains(t, "history", page.Text("version-2"), "Ottilie Brandt", "24 Nov 2026",
		"delta at full wind: at most 20 s/d → at most 15 s/d", "positions needed")
	webtest.Contains(t, "history", page.Text("version-1"), "came with the program")
	old := r.Bench.Get("/rate-limits/modern?version=1").Want(http.StatusOK)
	webtest.Contains(t, "older", old.Text("older-version"), "older version")
	webtest.Contains(t, "older", old.Text("limit-delta"), "at most 20 s/d")

	// Two owners at once: the second keeps what was typed and is told.
	f.Set("upper-delta", "12")
	conflict := owner.Post("/rate-limits/modern/new", f).Want(http.StatusConflict)
	webtest.Contains(t, "conflict", conflict.Text("publish-conflict"), "Modern, version 2 was published")
	if conflict.Value("upper-delta") != "12" || conflict.Hidden("version") != "3" {
		t.Error("what was typed is gone, or the next version is not offered")
	}
	f.Set("version", conflict.Hidden("version"))
	owner.Post("/rate-limits/modern/new", f).Want(http.StatusSeeOther)
}

func TestPublishRefuses(t *testing.T) {
	t.Parallel()
	r := webtest.NewRegulation(t, docket.StageRegulation)
	owner := r.As(r.Owner)
	f := typedLimits(timing.ShippedGrades()[1])
	for field, text := range map[string]string{"upper-delta": "twenty", "lower-mean_rate": "+20",
		"reason-greatest_amplitude": "", "name": " ", "upper-greatest_amplitude": "330"} {
		f.Set(field, text)
	}
	f.Del("positions")
	page := owner.Post("/rate-limits/modern/new", f).Want(http.StatusUnprocessableEntity)
	for field, words := range map[string]string{"upper-delta": "“twenty” is not a figure",
		"lower-mean_rate":           "lower limit is above the upper",
		"reason-greatest_amplitude": "Say why", "name": "Give the grade a name", "positions": "Choose the positions"} {
		webtest.Contains(t, field, page.Text(field+"-error"), words)
	}
	for _, field := range []string{"upper-delta", "lower-mean_rate", "upper-greatest_amplitude"} {
		if got := page.Value(field); got != f.Get(field) {
			t.Errorf("%s holds %q, typed %q", field, got, f.Get(field))
		}
	}
	if versions, err := r.Store.GradeLimits(t.Context(), "modern"); err != nil || len(versions) != 1 {
		t.Errorf("%d versions, %v", len(versions), err)
	}
	owner.Post("/rate-limits/perfect/new", f).Want(http.StatusNotFound)
}

// The owner adds a grade of the shop's own from another's figures, and a calibre and a run are judged by it.
func TestAddAGrade(t *testing.T) {
	t.Parallel()
	r := webtest.NewRegulation(t, docket.StageRegulation)
	r.Bench.Get("/rate-limits/new").Want(http.StatusForbidden)
	owner := r.As(r.Owner)
	if len(owner.Get("/rate-limits").All("new-grade")) != 1 || len(r.Bench.Get("/rate-limits").All("new-grade")) != 0 {
		t.Error("adding a grade is not offered to the owner alone")
	}
	form := owner.Get("/rate-limits/new?from=vintage").Want(http.StatusOK)
	if form.Value("name") != "" || form.Value("upper-delta") != "40" {
		t.Errorf("begins from %q, %q", form.Value("name"), form.Value("upper-delta"))
	}
	f := typedLimits(timing.ShippedGrades()[2])
	f.Set("name", "Modern")
	refused := owner.Post("/rate-limits/new", f).Want(http.StatusUnprocessableEntity)
	webtest.Contains(t, "taken", refused.Problem("name"), "a grade of this name already")
	if refused.Value("upper-delta") != "40" {
		t.Error("what was typed is lost")
	}
	f.Set("name", "Pocket watches")
	if got := owner.Post("/rate-limits/new", f).Want(http.StatusSeeOther).Location(); got != "/rate-limits/pocket-watches" {
		t.Errorf("led to %s", got)
	}
	webtest.Contains(t, "offered for a run", r.Bench.Get("/calibres/new").Text("grade"), "Pocket watches")
	run := webtest.FullRun(timing.Final, webtest.RatesFinal)
	run.Set("grade", "pocket-watches")
	r.Take(run)
	page := r.Bench.Get(r.Path).Want(http.StatusOK)
	r.Bench.Post(r.Path+"/judge", url.Values{"version": {page.Hidden("version")}, "grade": {"pocket-watches"},
		"why": {"It is a pocket watch."}}).Want(http.StatusSeeOther)
	webtest.Contains(t, "judged", r.Bench.Get(r.Path).Text("judged-by"), "Pocket watches, version 1")
}
