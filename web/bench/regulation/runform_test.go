package web

import (
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"testing"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
)

func TestTakeARun(t *testing.T) {
	t.Parallel()
	r := newRegulation(t, docket.StageRegulation)
	form := r.bench.get(r.path + "/new?kind=final").want(http.StatusOK)
	if got := form.value("instrument"); got != "Bench 2" { // the shop's own
		t.Errorf("instrument %q", got)
	}
	if got := form.value("clock_ppm"); got != "0.5" {
		t.Errorf("clock %q", got)
	}
	contains(t, "kinds", form.text("kind-group"), "after service", "after adjustment 1", "final")
	contains(t, "grades", form.text("grade"), "Chronometer style, version 1", "Modern, version 1")
	f := fullRun(timing.Final, ratesFinal)
	f.Set("label", "index moved, beat set")
	f.Set("last_run", form.hidden("last_run"))
	id := r.take(f)
	run, _ := r.sheet().Run(id)
	if run.Outcome != docket.Passed || run.Sheet.Run.Label != "index moved, beat set" || *run.Sheet.TemperatureC != 23 {
		t.Errorf("run %+v", run)
	}
	page := r.bench.get(r.path + "?run=" + itoa(id)).want(http.StatusOK)
	contains(t, "said once", page.text("flash"), "The run is saved.")
	contains(t, "entry", r.bench.get("/dockets/"+r.number.String()+"/journal").text("journal"), "Run final recorded: pass by Modern, version 1.",
		"at CH, full wind; figures +5 s/d, 288°, 0.2 ms")
}

// A refused run keeps everything typed, says beside each cell what is wrong with it, and saves nothing.
func TestRefusedRunKeepsWhatWasTyped(t *testing.T) {
	t.Parallel()
	r := newRegulation(t, docket.StageRegulation)
	f := fullRun(timing.Adjustment, ratesFinal)
	for field, text := range map[string]string{"rate-CH-0": "fast", "amplitude-12H-24": "420", "beat_error-3H-0": "-0.2", "rate-6H-24": "1.2.3",
		"temperature": "warm", "clock_ppm": "", "label": "كتب <b>note</b>"} {
		f.Set(field, text)
	}
	page := r.bench.post(r.path+"/new", f).want(http.StatusUnprocessableEntity)
	for field, words := range map[string]string{
		"rate-CH-0": "“fast” is not a figure", "amplitude-12H-24": "above 0° and below 360°", "beat_error-3H-0": "without a sign",
		"rate-6H-24": "more than one decimal mark", "temperature": "−40 to +80", "clock_ppm": "parts per million",
	} {
		contains(t, field, page.problem(field), words)
		if got := page.value(field); got != f.Get(field) {
			t.Errorf("%s holds %q, typed %q", field, got, f.Get(field))
		}
		if field != "temperature" && field != "clock_ppm" && (attr(page.one(field), "aria-invalid") != "true" ||
			attr(page.one(field), "aria-describedby") != "f-"+field+"-error") {
			t.Errorf("%s is not tied to its reason", field)
		}
	}
	for name := range f {
		switch name {
		case "kind", "columns", "grade":
			continue
		}
		if got := page.value(name); got != f.Get(name) {
			t.Errorf("%s holds %q, typed %q", name, got, f.Get(name))
		}
	}
	contains(t, "summary", page.text("form-errors"), "CH rate, full wind: “fast”", "12H amplitude, after 24 h")
	if !hasAttr(page.one("kind-adjustment").Attr, "checked") {
		t.Error("the kind is no longer chosen")
	}
	if sheet := r.sheet(); len(sheet.Runs) != 0 || sheet.Head.RateLimitsID != 0 {
		t.Errorf("%d runs were saved", len(sheet.Runs))
	}

	empty := url.Values{"kind": {"final"}, "clock_ppm": {"0.5"}, "states": {"0"}, "columns": {"0"}}
	page = r.bench.post(r.path+"/new", empty).want(http.StatusUnprocessableEntity)
	contains(t, "nothing typed", page.text("form-errors"), "Give at least one figure.")
	empty.Set("kind", "often")
	page = r.bench.post(r.path+"/new", empty).want(http.StatusUnprocessableEntity)
	contains(t, "no such kind", page.problem("kind"), "Choose as received")
}

// What the script asks while figures are typed is computed by the same code and saves nothing.
func TestPreview(t *testing.T) {
	t.Parallel()
	r := newRegulation(t, docket.StageRegulation)
	f := fullRun(timing.Final, ratesFinal)
	f.Set("rate-CH-0", "-")
	f.Set("fragment", "figures")
	panel := r.bench.post(r.path+"/preview", f).want(http.StatusOK)
	if len(panel.all("page-title")) > 0 {
		t.Error("the fragment is a whole page")
	}
	contains(t, "left out", panel.text("unread"), "CH rate, full wind", "is a sign without a figure")
	if got := attr(panel.one("figures"), "data-unread"); got != "rate-CH-0" {
		t.Errorf("unread %q", got)
	}
	f.Set("rate-CH-0", "+5")
	panel = r.bench.post(r.path+"/preview", f).want(http.StatusOK)
	saved := r.take(fullRun(timing.Final, ratesFinal))
	page := r.bench.get(r.path + "?run=" + itoa(saved))
	for _, id := range []string{"stat-mean-rate", "stat-isochronism", "run-verdict"} {
		if panel.text(id) != page.text(id) {
			t.Errorf("%s: previewed %q, saved %q", id, panel.text(id), page.text(id))
		}
	}
	if n := len(r.sheet().Runs); n != 1 {
		t.Errorf("%d runs", n)
	}
}

// Without a script a button computes, and another sets the columns; both keep what is typed and save nothing.
func TestComputeAndColumnsByButton(t *testing.T) {
	t.Parallel()
	r := newRegulation(t, docket.StageRegulation)
	f := fullRun(timing.Final, ratesFinal)
	f.Set("do", "compute")
	page := r.bench.post(r.path+"/preview", f).want(http.StatusOK)
	contains(t, "computed", page.text("stat-mean-rate"), "+3.50 ± 0.24")
	if page.value("rate-9H-0") != "+6" || page.hidden("columns") != "0, 24" {
		t.Error("what was typed is gone")
	}
	f.Set("do", "columns")
	f.Set("states", "0 24 36.5")
	page = r.bench.post(r.path+"/preview", f).want(http.StatusOK)
	contains(t, "columns", page.text("grid"), "after 36.5 h")
	if page.hidden("columns") != "0, 24, 36.5" || page.value("beat_error-12H-36.5") != "" || page.value("rate-12H-24") != "+1" {
		t.Errorf("columns %q", page.hidden("columns"))
	}
	f.Set("states", "0")
	page = r.bench.post(r.path+"/preview", f).want(http.StatusUnprocessableEntity)
	contains(t, "figures would be lost", page.problem("states"), "There are figures after 24 h")
	if page.value("rate-12H-24") != "+1" {
		t.Error("the figures after 24 h are gone")
	}
	blank := url.Values{"kind": {"final"}, "clock_ppm": {"0.5"}, "states": {"0"}, "columns": {"0, 24"}, "do": {"columns"}}
	r.bench.post(r.path+"/preview", blank).want(http.StatusOK) // an empty grid is no fault before it is saved
	if n := len(r.sheet().Runs); n != 0 {
		t.Errorf("%d runs", n)
	}
}

func TestPasteWithoutScript(t *testing.T) {
	t.Parallel()
	r := newRegulation(t, docket.StageRegulation)
	paste := func(text string, row, column int) url.Values {
		return url.Values{"kind": {"final"}, "clock_ppm": {"0.5"}, "states": {"0, 24"}, "columns": {"0, 24"}, "rate-CH-0": {"+9"},
			"do": {"paste"}, "paste": {text}, "paste_row": {strconv.Itoa(row)}, "paste_column": {strconv.Itoa(column)}}
	}
	page := r.bench.post(r.path+"/preview", paste("+5\r\n4\r\n+1,5\r\n2 s/d\r\n\r\n−3\r\n", 0, 0)).want(http.StatusOK)
	for field, want := range map[string]string{"rate-CH-0": "+5", "rate-FH-0": "4", "rate-3H-0": "+1,5", "rate-6H-0": "2 s/d", "rate-9H-0": "", "rate-12H-0": "−3"} {
		if got := page.value(field); got != want {
			t.Errorf("column: %s holds %q, want %q", field, got, want)
		}
	}
	if page.value("paste") != "" {
		t.Error("the pasted text is still there")
	}
	page = r.bench.post(r.path+"/preview", paste("285\t0.2\t+1\n281\t0.1\t+2", 4, 1)).want(http.StatusOK)
	for field, want := range map[string]string{"amplitude-9H-0": "285", "beat_error-9H-0": "0.2", "rate-9H-24": "+1", "rate-12H-24": "+2", "rate-CH-0": "+9"} {
		if got := page.value(field); got != want {
			t.Errorf("block: %s holds %q, want %q", field, got, want)
		}
	}

	bad := paste("+5\nquick\n+1;9;9;9;9;9;9\nx", 0, 0)
	page = r.bench.post(r.path+"/preview", bad).want(http.StatusUnprocessableEntity)
	contains(t, "problems", page.text("paste-problems"), "Line 2, column 1: “quick” is not a figure", "Line 3, column 7: There is no column left", "Line 4, column 1: “x”")
	if page.value("rate-CH-0") != "+9" || page.value("rate-FH-0") != "" {
		t.Error("half of it was put into the grid")
	}
	if got := page.value("paste"); strings.TrimSpace(got) != bad.Get("paste") {
		t.Errorf("pasted text %q, want it as it was", got)
	}
	contains(t, "one problem", r.bench.post(r.path+"/preview", paste("1\n2\n3", 4, 0)).want(http.StatusUnprocessableEntity).problem("paste"),
		"Line 3: There is no row left below 12H")
	contains(t, "off the grid", r.bench.post(r.path+"/preview", paste("1", 6, 0)).want(http.StatusUnprocessableEntity).problem("paste_row"), "Choose a cell")
}

func TestChangeARun(t *testing.T) {
	t.Parallel()
	r := newRegulation(t, docket.StageRegulation)
	id := r.take(fullRun(timing.Final, ratesFinal))
	path := r.path + "/runs/" + itoa(id)
	form := r.bench.get(path).want(http.StatusOK)
	if form.value("rate-CH-0") != "+5" || len(form.all("kind-group")) > 0 || form.hidden("run_version") != "1" {
		t.Error("the form does not hold the run")
	}
	f := fullRun("", ratesFinal)
	f.Del("kind")
	f.Set("run_version", "1")
	f.Set("rate-CH-0", "+50")
	f.Set("run_id", itoa(id))
	f.Set("fragment", "figures")
	contains(t, "preview", r.bench.post(r.path+"/preview", f).want(http.StatusOK).text("run-verdict"), "fail")
	f.Del("fragment")
	if got := r.bench.post(path, f).want(http.StatusSeeOther).location(); got != r.path+"?run="+itoa(id) {
		t.Errorf("led to %s", got)
	}
	run, _ := r.sheet().Run(id)
	if run.Outcome != docket.Failed || run.Version != 2 || run.Sheet.Run.Kind != timing.Final {
		t.Errorf("run %+v", run)
	}
	contains(t, "journal", r.bench.get("/dockets/"+r.number.String()+"/journal").text("journal"), "One entry of the run final changed.",
		"figure rate, CH, full wind; from +5 s/d; to +50 s/d", "The run final is judged anew: fail by Modern, version 1.")
	f.Set("run_version", "2")
	f.Set("rate-CH-0", "")
	f.Set("amplitude-CH-0", "0")
	refused := r.bench.post(path, f).want(http.StatusUnprocessableEntity)
	contains(t, "reason", refused.problem("amplitude-CH-0"), "above 0°")
	r.bench.get(r.path + "/runs/99").want(http.StatusNotFound)
	r.bench.post(r.path+"/runs/99", f).want(http.StatusNotFound)
}

// Whoever comes second sees what changed, keeps the whole grid as typed, and may save it all the same.
func TestRunChangedBySomebodyElse(t *testing.T) {
	t.Parallel()
	r := newRegulation(t, docket.StageRegulation)
	id := r.take(fullRun(timing.Final, ratesFinal))
	path := r.path + "/runs/" + itoa(id)
	mine := r.bench.get(path).want(http.StatusOK)
	theirs := fullRun("", ratesFinal)
	theirs.Set("run_version", "1")
	theirs.Set("rate-FH-0", "+7")
	r.as(r.owner).post(path, theirs).want(http.StatusSeeOther)

	f := fullRun("", ratesFinal)
	f.Set("run_version", mine.hidden("run_version"))
	f.Set("version", mine.hidden("version"))
	f.Set("rate-CH-0", "+8")
	f.Set("label", "mine")
	page := r.bench.post(path, f).want(http.StatusConflict)
	contains(t, "conflict", page.text("run-conflict"), "Somebody was quicker", "Rate, FH, full wind", "+7 s/d (you: +4 s/d)",
		"Rate, CH, full wind", "+5 s/d (you: +8 s/d)", "Ottilie Brandt", "One entry of the run final changed.")
	for name := range f {
		if name == "grade" || name == "kind" || name == "columns" || name == "run_version" || name == "version" {
			continue
		}
		if got := page.value(name); got != f.Get(name) {
			t.Errorf("%s holds %q, typed %q", name, got, f.Get(name))
		}
	}
	if run, _ := r.sheet().Run(id); run.Version != 2 || run.Sheet.Run.Label != "" {
		t.Errorf("mine was saved: %+v", run)
	}
	f.Set("run_version", page.hidden("run_version"))
	f.Set("version", page.hidden("version"))
	r.bench.post(path, f).want(http.StatusSeeOther)
	run, _ := r.sheet().Run(id)
	if reading, _ := run.Sheet.Run.Reading(timing.DialUp, 0); reading.RateSPerDay.Value != 8 || run.Sheet.Run.Label != "mine" {
		t.Errorf("mine was not saved: %+v", run)
	}
}

// A form sent twice is not two runs: the second is shown what is there already.
func TestFormSentTwice(t *testing.T) {
	t.Parallel()
	r := newRegulation(t, docket.StageRegulation)
	form := r.bench.get(r.path + "/new?kind=final").want(http.StatusOK)
	f := fullRun(timing.Final, ratesFinal)
	f.Set("last_run", form.hidden("last_run"))
	f.Set("version", form.hidden("version"))
	r.take(f)
	page := r.bench.post(r.path+"/new", f).want(http.StatusConflict)
	contains(t, "conflict", page.text("run-conflict"), "it may be this one, sent twice", "Run final recorded")
	if page.value("rate-9H-0") != "+6" {
		t.Error("what was typed is gone")
	}
	f.Set("last_run", page.hidden("last_run"))
	r.take(f)
	if n := len(r.sheet().Runs); n != 2 {
		t.Errorf("%d runs", n)
	}
}

// The docket keeps its version until somebody judges it by the newer one, which the page offers.
func TestJudgeByANewerVersion(t *testing.T) {
	t.Parallel()
	r := newRegulation(t, docket.StageRegulation)
	r.take(fullRun(timing.Final, ratesFinal))
	if len(r.bench.get(r.path).all("judge-newer")) > 0 {
		t.Error("there is nothing newer to judge by")
	}
	stricter := timing.ShippedGrades()[1]
	stricter.Version, stricter.Limits[0].Limits = 2, metrology.Between(-1, 1)
	if err := r.store.PublishLimits(t.Context(), stricter, actorOf(r.owner), testNow); err != nil {
		t.Fatal(err)
	}
	page := r.bench.get(r.path).want(http.StatusOK)
	contains(t, "kept", page.text("judged-by"), "Modern, version 1")
	contains(t, "news", page.text("judge-news"), "Modern, version 2 was published on 24 Nov 2026, 10:30.")
	contains(t, "verdict", page.text("run-verdict"), "pass")
	stale := page.hidden("version")
	f := url.Values{"version": {stale}, "grade": {timing.GradeModern}}
	r.bench.post(r.path+"/judge", f).want(http.StatusSeeOther)
	page = r.bench.get(r.path).want(http.StatusOK)
	contains(t, "verdict", page.text("run-verdict"), "fail", "Not met: mean rate at full wind")
	contains(t, "limit", page.text("limit-mean-rate"), "−1 to +1 s/d", "fail", "under 0.1 %")

	contains(t, "somebody else judged meanwhile", r.bench.post(r.path+"/judge", f).want(http.StatusConflict).text("conflict-changes"), "judged by Modern, version 2")
	f.Set("version", page.hidden("version"))
	f.Set("grade", "perfect")
	contains(t, "no such grade", r.bench.post(r.path+"/judge", f).want(http.StatusUnprocessableEntity).text("judge-problem"), "Choose one of the grades offered.")
	f.Set("grade", timing.GradeVintage)
	r.bench.post(r.path+"/judge", f).want(http.StatusSeeOther)
	contains(t, "another grade", r.bench.get(r.path).text("judged-by"), "Vintage, version 1")
}

// A watch of no known calibre is saved without a verdict and judged once a grade is chosen.
func TestRunOfNoKnownGrade(t *testing.T) {
	t.Parallel()
	r := newRegulation(t, docket.StageRegulation)
	if _, err := r.store.Pool().Exec(t.Context(), `UPDATE watch SET calibre_id = NULL`); err != nil {
		t.Fatal(err)
	}
	contains(t, "choice", r.bench.get(r.path+"/new").text("grade"), "none: save without a verdict")
	f := fullRun(timing.Final, ratesFinal)
	f.Set("grade", "")
	r.take(f)
	page := r.bench.get(r.path).want(http.StatusOK)
	contains(t, "verdict", page.text("run-verdict"), "Not judged")
	contains(t, "why", page.text("judged-by"), "Not judged yet")
	if page.text("stat-delta") == "" {
		t.Error("the figures are not shown without a verdict")
	}
	r.bench.post(r.path+"/judge", url.Values{"grade": {timing.GradeChronometer}}).want(http.StatusSeeOther)
	contains(t, "verdict", r.bench.get(r.path).text("run-verdict"), "undecided", "Chronometer style, version 1", "greatest beat error")
}

// A shop that chose simple acceptance has it stated, and nothing is undecided then.
func TestSimpleAcceptanceIsStated(t *testing.T) {
	t.Parallel()
	r := newRegulation(t, docket.StageRegulation)
	f := fullRun(timing.Final, []string{"+12", "+12", "+12", "+12", "+12", "+12"}) // the mean lies on its limit
	r.take(f)
	contains(t, "guarded", r.bench.get(r.path).text("limit-mean-rate"), "undecided", "50.0 %")
	sh, err := r.store.Shop(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	sh.SimpleAcceptance = true
	if err := r.store.SaveShop(t.Context(), sh); err != nil {
		t.Fatal(err)
	}
	page := r.bench.get(r.path)
	contains(t, "kept", page.text("rule"), "guard band") // as it was judged
	contains(t, "news", page.text("judge-news"), "another rule")
	r.bench.post(r.path+"/judge", url.Values{"grade": {timing.GradeModern}, "version": {page.hidden("version")}}).want(http.StatusSeeOther)
	page = r.bench.get(r.path)
	contains(t, "simple", page.text("limit-mean-rate"), "pass")
	contains(t, "rule", page.text("rule"), "simple acceptance")
}
