package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/timing"
)

func TestRateLimitsAreExplained(t *testing.T) {
	t.Parallel()
	r := newRegulation(t, docket.StageRegulation)
	list := r.bench.get("/rate-limits").want(http.StatusOK)
	for _, g := range timing.ShippedGrades() {
		contains(t, g.Grade, list.text("grade-"+g.Grade), g.Name, "Version 1", g.Reasons)
		page := r.bench.get("/rate-limits/" + g.Grade).want(http.StatusOK)
		for _, l := range g.Limits {
			contains(t, g.Grade, page.text("limit-"+keySlug(l.Key)), l.Text(), l.Reason)
		}
		contains(t, g.Grade, page.text("positions"), "all six positions")
	}
	contains(t, "rule", list.text("rule"), "guard band")
	// The one figure of the shipped grades that is published: ISO 3159 allows a movement of 20 mm and over a mean daily
	// rate of −4 to +6 s/d.
	contains(t, "chronometer style", r.bench.get("/rate-limits/chronometer-style").text("limit-mean-rate"), "−4 to +6 s/d", "ISO 3159")
	r.bench.get("/rate-limits/perfect").want(http.StatusNotFound)
	r.bench.get("/rate-limits/modern?version=9").want(http.StatusNotFound)
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
	r := newRegulation(t, docket.StageRegulation)
	modern := timing.ShippedGrades()[1]
	for _, c := range []*client{r.bench, r.as(r.clerk)} {
		c.get("/rate-limits/modern/new").want(http.StatusForbidden)
		c.post("/rate-limits/modern/new", typedLimits(modern)).want(http.StatusForbidden)
		if len(c.get("/rate-limits/modern").all("publish-link")) > 0 {
			t.Error("publishing is offered to who may not")
		}
	}
	owner := r.as(r.owner)
	form := owner.get("/rate-limits/modern/new").want(http.StatusOK)
	for name, want := range modern.Typed() {
		if got := form.value(name); strings.TrimSpace(got) != want {
			t.Errorf("%s holds %q, want %q", name, got, want)
		}
	}
	f := typedLimits(modern)
	f.Set("upper-delta", "15")
	f.Set("lower-isochronism", "")
	f.Set("upper-isochronism", "")
	f["positions"] = []string{"CH", "FH", "6H", "9H"}
	if got := owner.post("/rate-limits/modern/new", f).want(http.StatusSeeOther).location(); got != "/rate-limits/modern" {
		t.Errorf("led to %s", got)
	}
	page := r.bench.get("/rate-limits/modern").want(http.StatusOK)
	contains(t, "delta", page.text("limit-delta"), "at most 15 s/d")
	contains(t, "no longer judged", page.text("limit-isochronism"), "not judged")
	contains(t, "positions", page.text("positions"), "CH, FH, 6H, 9H")
	contains(t, "history", page.text("version-2"), "Ottilie Brandt", "24 Nov 2026", "delta at full wind: at most 20 s/d → at most 15 s/d", "positions needed")
	contains(t, "history", page.text("version-1"), "came with the program")
	old := r.bench.get("/rate-limits/modern?version=1").want(http.StatusOK)
	contains(t, "older", old.text("older-version"), "older version")
	contains(t, "older", old.text("limit-delta"), "at most 20 s/d")

	// Two owners at once: the second keeps what was typed and is told.
	f.Set("upper-delta", "12")
	conflict := owner.post("/rate-limits/modern/new", f).want(http.StatusConflict)
	contains(t, "conflict", conflict.text("publish-conflict"), "Modern, version 2 was published")
	if conflict.value("upper-delta") != "12" || conflict.hidden("version") != "3" {
		t.Error("what was typed is gone, or the next version is not offered")
	}
	f.Set("version", conflict.hidden("version"))
	owner.post("/rate-limits/modern/new", f).want(http.StatusSeeOther)
}

func TestPublishRefuses(t *testing.T) {
	t.Parallel()
	r := newRegulation(t, docket.StageRegulation)
	owner := r.as(r.owner)
	f := typedLimits(timing.ShippedGrades()[1])
	for field, text := range map[string]string{"upper-delta": "twenty", "lower-mean_rate": "+20", "reason-greatest_amplitude": "", "name": " ", "upper-greatest_amplitude": "330"} {
		f.Set(field, text)
	}
	f.Del("positions")
	page := owner.post("/rate-limits/modern/new", f).want(http.StatusUnprocessableEntity)
	for field, words := range map[string]string{"upper-delta": "“twenty” is not a figure", "lower-mean_rate": "lower limit is above the upper",
		"reason-greatest_amplitude": "Say why", "name": "Give the grade a name", "positions": "Choose the positions"} {
		contains(t, field, page.text(field+"-error"), words)
	}
	for _, field := range []string{"upper-delta", "lower-mean_rate", "upper-greatest_amplitude"} {
		if got := page.value(field); got != f.Get(field) {
			t.Errorf("%s holds %q, typed %q", field, got, f.Get(field))
		}
	}
	if versions, err := r.store.GradeLimits(t.Context(), "modern"); err != nil || len(versions) != 1 {
		t.Errorf("%d versions, %v", len(versions), err)
	}
	owner.post("/rate-limits/perfect/new", f).want(http.StatusNotFound)
}
