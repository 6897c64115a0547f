package regulation_test

import (
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
	"ledgerwheel/web/webtest"
)

func TestTakeARun(t *testing.T) {
	t.Parallel()
	r := webtest.NewRegulation(t, docket.StageRegulation)
	form := r.Bench.Get(r.Path + "/new?kind=final").Want(http.StatusOK)
	if got := form.Value("instrument"); got != "Bench 2" { // the shop's own
		t.Errorf("instrument %q", got)
	}
	if got := form.Value("clock_ppm"); got != "0.5" {
		t.Errorf("clock %q", got)
	}
	webtest.Contains(t, "kinds", form.Text("kind-group"), "after service", "after adjustment 1", "final")
	webtest.Contains(t, "grades", form.Text("grade"), "Chronometer style, version 1", "Modern, version 1")
	f := webtest.FullRun(timing.Final, webtest.RatesFinal)
	f.Set("label", "index moved, beat set")
	f.Set("last_run", form.Hidden("last_run"))
	id := r.Take(f)
	run, _ := r.Sheet().Run(id)
	if run.Outcome != docket.Passed || run.Sheet.Run.Label != "index moved, beat set" || *run.Sheet.TemperatureC != 23 {
		t.Errorf("run %+v", run)
	}
	page := r.Bench.Get(r.Path + "?run=" + webtest.Itoa(id)).Want(http.StatusOK)
	webtest.Contains(t, "said once", page.Text("flash"), "The run is saved.")
	webtest.Contains(t, "entry", r.Bench.Get("/dockets/"+r.Number.String()+"/journal").Text("journal"),
		"Run final recorded: pass by Modern, version 1.",
		"CH, full wind: +5 s/d, 288°, 0.2 ms")
}

// A refused run keeps everything typed, says beside each cell what is wrong with it, and saves nothing.
func TestRefusedRunKeepsWhatWasTyped(t *testing.T) {
	t.Parallel()
	r := webtest.NewRegulation(t, docket.StageRegulation)
	f := webtest.FullRun(timing.Adjustment, webtest.RatesFinal)
	for field, text := range map[string]string{"rate-CH-0": "fast", "amplitude-12H-24": "420", "beat_error-3H-0": "-0.2",
		"rate-6H-24":  "1.2.3",
		"temperature": "warm", "clock_ppm": "", "label": "كتب <b>note</b>"} {
		f.Set(field, text)
	}
	page := r.Bench.Post(r.Path+"/new", f).Want(http.StatusUnprocessableEntity)
	for field, words := range map[string]string{
		"rate-CH-0": "“fast” is not a figure", "amplitude-12H-24": "above 0° and below 360°",
		"beat_error-3H-0": "without a sign",
		"rate-6H-24":      "more than one decimal mark", "temperature": "−40 to +80", "clock_ppm": "parts per million",
	} {
		webtest.Contains(t, field, page.Problem(field), words)
		if got := page.Value(field); got != f.Get(field) {
			t.Errorf("%s holds %q, typed %q", field, got, f.Get(field))
		}
		if field != "temperature" && field != "clock_ppm" && (webtest.Attr(page.One(field), "aria-invalid") != "true" ||
			webtest.Attr(page.One(field), "aria-describedby") != "f-"+field+"-error") {
			t.Errorf("%s is not tied to its reason", field)
		}
	}
	for name := range f {
		switch name {
		case "kind", "columns", "grade":
			continue
		}
		if got := page.Value(name); got != f.Get(name) {
			t.Errorf("%s holds %q, typed %q", name, got, f.Get(name))
		}
	}
	webtest.Contains(t, "summary", page.Text("form-errors"), "CH rate, full wind: “fast”", "12H amplitude, after 24 h")
	if !webtest.HasAttr(page.One("kind-adjustment").Attr, "checked") {
		t.Error("the kind is no longer chosen")
	}
	if sheet := r.Sheet(); len(sheet.Runs) != 0 || sheet.Head.RateLimitsID != 0 {
		t.Errorf("%d runs were saved", len(sheet.Runs))
	}

	empty := url.Values{"kind": {"final"}, "clock_ppm": {"0.5"}, "states": {"0"}, "columns": {"0"}}
	page = r.Bench.Post(r.Path+"/new", empty).Want(http.StatusUnprocessableEntity)
	webtest.Contains(t, "nothing typed", page.Text("form-errors"), "Give at least one figure.")
	empty.Set("kind", "often")
	page = r.Bench.Post(r.Path+"/new", empty).Want(http.StatusUnprocessableEntity)
	webtest.Contains(t, "no such kind", page.Problem("kind"), "Choose as received")
}

// What the script asks while figures are typed is computed by the same code and saves nothing.
func TestPreview(t *testing.T) {
	t.Parallel()
	r := webtest.NewRegulation(t, docket.StageRegulation)
	f := webtest.FullRun(timing.Final, webtest.RatesFinal)
	f.Set("rate-CH-0", "-")
	f.Set("fragment", "figures")
	panel := r.Bench.Post(r.Path+"/preview", f).Want(http.StatusOK)
	if len(panel.All("page-title")) > 0 {
		t.Error("the fragment is a whole page")
	}
	webtest.Contains(t, "left out", panel.Text("unread"), "CH rate, full wind", "is a sign without a figure")
	if got := webtest.Attr(panel.One("figures"), "data-unread"); got != "rate-CH-0" {
		t.Errorf("unread %q", got)
	}
	f.Set("rate-CH-0", "+5")
	panel = r.Bench.Post(r.Path+"/preview", f).Want(http.StatusOK)
	saved := r.Take(webtest.FullRun(timing.Final, webtest.RatesFinal))
	page := r.Bench.Get(r.Path + "?run=" + webtest.Itoa(saved))
	for _, id := range []string{"stat-mean-rate", "stat-isochronism"} {
		if panel.Text(id) != page.Text(id) {
			t.Errorf("%s: previewed %q, saved %q", id, panel.Text(id), page.Text(id))
		}
	}
	if n := len(r.Sheet().Runs); n != 1 {
		t.Errorf("%d runs", n)
	}
}

// Without a script a button computes, and another sets the columns; both keep what is typed and save nothing.
func TestComputeAndColumnsByButton(t *testing.T) {
	t.Parallel()
	r := webtest.NewRegulation(t, docket.StageRegulation)
	f := webtest.FullRun(timing.Final, webtest.RatesFinal)
	f.Set("do", "compute")
	page := r.Bench.Post(r.Path+"/preview", f).Want(http.StatusOK)
	webtest.Contains(t, "computed", page.Text("stat-mean-rate"), "+3.5 ± 0.3")
	if page.Value("rate-9H-0") != "+6" || page.Hidden("columns") != "0, 24" {
		t.Error("what was typed is gone")
	}
	f.Set("do", "columns")
	f.Set("states", "0 24 36.5")
	page = r.Bench.Post(r.Path+"/preview", f).Want(http.StatusOK)
	webtest.Contains(t, "columns", page.Text("grid"), "after 36.5 h")
	if page.Hidden("columns") != "0, 24, 36.5" || page.Value("beat_error-12H-36.5") != "" ||
		page.Value("rate-12H-24") != "+1" {
		t.Errorf("columns %q", page.Hidden("columns"))
	}
	f.Set("states", "0")
	page = r.Bench.Post(r.Path+"/preview", f).Want(http.StatusUnprocessableEntity)
	webtest.Contains(t, "figures would be lost", page.Problem("states"), "There are figures after 24 h")
	if page.Value("rate-12H-24") != "+1" {
		t.Error("the figures after 24 h are gone")
	}
	blank := url.Values{"kind": {"final"}, "clock_ppm": {"0.5"}, "states": {"0"}, "columns": {"0, 24"}, "do": {"columns"}}
	r.Bench.Post(r.Path+"/preview", blank).Want(http.StatusOK) // an empty grid is no fault before it is saved
	if n := len(r.Sheet().Runs); n != 0 {
		t.Errorf("%d runs", n)
	}
}

func TestPasteWithoutScript(t *testing.T) {
	t.Parallel()
	r := webtest.NewRegulation(t, docket.StageRegulation)
	paste := func(text string, row, column int) url.Values {
		return url.Values{"kind": {"final"}, "clock_ppm": {"0.5"}, "states": {"0, 24"}, "columns": {"0, 24"},
			"rate-CH-0": {"+9"},
			"do":        {"paste"}, "paste": {text}, "paste_row": {strconv.Itoa(row)}, "paste_column": {strconv.Itoa(column)}}
	}
	page := r.Bench.Post(r.Path+"/preview", paste("+5\r\n4\r\n+1,5\r\n2 s/d\r\n\r\n−3\r\n", 0, 0)).Want(http.StatusOK)
	for field, want := range map[string]string{"rate-CH-0": "+5", "rate-FH-0": "4", "rate-3H-0": "+1,5",
		"rate-6H-0": "2 s/d", "rate-9H-0": "", "rate-12H-0": "−3"} {
		if got := page.Value(field); got != want {
			t.Errorf("column: %s holds %q, want %q", field, got, want)
		}
	}
	if page.Value("paste") != "" {
		t.Error("the pasted text is still there")
	}
	page = r.Bench.Post(r.Path+"/preview", paste("285\t0.2\t+1\n281\t0.1\t+2", 4, 1)).Want(http.StatusOK)
	for field, want := range map[string]string{"amplitude-9H-0": "285", "beat_error-9H-0": "0.2", "rate-9H-24": "+1",
		"rate-12H-24": "+2", "rate-CH-0": "+9"} {
		if got := page.Value(field); got != want {
			t.Errorf("block: %s holds %q, want %q", field, got, want)
		}
	}

	bad := paste("+5\nquick\n+1;9;9;9;9;9;9\nx", 0, 0)
	page = r.Bench.Post(r.Path+"/preview", bad).Want(http.StatusUnprocessableEntity)
	webtest.Contains(t, "problems", page.Text("paste-problems"), "Line 2, column 1: “quick” is not a figure",
		"Line 3, column 7: There is no column left", "Line 4, column 1: “x”")
	if page.Value("rate-CH-0") != "+9" || page.Value("rate-FH-0") != "" {
		t.Error("half of it was put into the grid")
	}
	if got := page.Value("paste"); strings.TrimSpace(got) != bad.Get("paste") {
		t.Errorf("pasted text %q, want it as it was", got)
	}
	webtest.Contains(t, "one problem", r.Bench.Post(r.Path+"/preview",
		paste("1\n2\n3", 4, 0)).Want(http.StatusUnprocessableEntity).Problem("paste"),
		"Line 3: There is no row left below 12H")
	webtest.Contains(t, "off the grid", r.Bench.Post(r.Path+"/preview",
		paste("1", 6, 0)).Want(http.StatusUnprocessableEntity).Problem("paste_row"), "Choose a cell")
}

func TestChangeARun(t *testing.T) {
	t.Parallel()
	r := webtest.NewRegulation(t, docket.StageRegulation)
	id := r.Take(webtest.FullRun(timing.Final, webtest.RatesFinal))
	path := r.Path + "/runs/" + webtest.Itoa(id)
	form := r.Bench.Get(path).Want(http.StatusOK)
	if form.Value("rate-CH-0") != "+5" || len(form.All("kind-group")) > 0 || form.Hidden("run_version") != "1" {
		t.Error("the form does not hold the run")
	}
	f := webtest.FullRun("", webtest.RatesFinal)
	f.Del("kind")
	f.Set("run_version", "1")
	f.Set("rate-CH-0", "+50")
	f.Set("run_id", webtest.Itoa(id))
	f.Set("fragment", "figures")
	webtest.Contains(t, "preview", r.Bench.Post(r.Path+"/preview", f).Want(http.StatusOK).Text("run-verdict"), "fail")
	f.Del("fragment")
	asked := r.Bench.Post(path, f).Want(http.StatusUnprocessableEntity)
	webtest.Contains(t, "question", asked.Problem("rate-CH-0"), "+50 s/d", "middle is +3 s/d", "Is it so?")
	if asked.Value("rate-CH-0") != "+50" || webtest.Attr(asked.One("sure-rate-CH-0"), "value") != "+50" {
		t.Error("the form that is asked about is not shown as typed, with a tick beside the figure")
	}
	f.Set("sure-rate-CH-0", "+49") // ticked for another figure
	r.Bench.Post(path, f).Want(http.StatusUnprocessableEntity)
	f.Set("sure-rate-CH-0", "+50")
	f.Set("temperature", "warm")
	if asked = r.Bench.Post(path, f).Want(http.StatusUnprocessableEntity); asked.Problem("rate-CH-0") != "" ||
		!slices.ContainsFunc(asked.One("sure-rate-CH-0").Attr, func(a html.Attribute) bool { return a.Key == "checked" }) {
		t.Error("the tick is lost where something else is wrong")
	}
	f.Set("temperature", "23")
	asked = r.Bench.Post(path, f).Want(http.StatusUnprocessableEntity)
	webtest.Contains(t, "why", asked.Problem("why"), "A figure on record is changed: say why.")
	if asked.Value("rate-CH-0") != "+50" {
		t.Error("the figure typed is lost")
	}
	f.Set("why", "A zero was typed twice.")
	if got := r.Bench.Post(path, f).Want(http.StatusSeeOther).Location(); got != r.Path+"?run="+webtest.Itoa(id) {
		t.Errorf("led to %s", got)
	}
	run, _ := r.Sheet().Run(id)
	if run.Outcome != docket.Failed || run.Version != 2 || run.Sheet.Run.Kind != timing.Final {
		t.Errorf("run %+v", run)
	}
	webtest.Contains(t, "beside the run", r.Bench.Get(r.Path).Text("run-corrected"), "A zero was typed twice.",
		"rate, CH, full wind: +5 s/d → +50 s/d", "Emrys Vale")
	webtest.Contains(t, "journal", r.Bench.Get("/dockets/"+r.Number.String()+"/journal").Text("journal"),
		"One entry of the run final changed.", "A zero was typed twice.",
		"rate, CH, full wind: from +5 s/d, to +50 s/d, asked and confirmed Asked when typed: +50 s/d lies far",
		"Confirmed by Emrys Vale.", "The run final is judged again: fail by Modern, version 1.")
	webtest.Contains(t, "mark", r.Bench.Get(r.Path+"?run="+webtest.Itoa(id)).Text("asked-rate-CH-0"), "confirmed",
		"Confirmed by Emrys Vale")
	f.Set("run_version", "2")
	f.Set("rate-FH-0", "+6") // the mark outlives a correction of another figure, and nobody is asked again
	f.Del("sure-rate-CH-0")
	r.Bench.Post(path, f).Want(http.StatusSeeOther)
	r.Bench.Get(r.Path + "?run=" + webtest.Itoa(id)).One("asked-rate-CH-0")
	f.Set("run_version", "3")
	f.Set("rate-CH-0", "")
	f.Set("amplitude-CH-0", "0")
	refused := r.Bench.Post(path, f).Want(http.StatusUnprocessableEntity)
	webtest.Contains(t, "reason", refused.Problem("amplitude-CH-0"), "above 0°")
	r.Bench.Get(r.Path + "/runs/99").Want(http.StatusNotFound)
	r.Bench.Post(r.Path+"/runs/99", f).Want(http.StatusNotFound)
}

// Whoever comes second sees what changed, keeps the whole grid as typed, and may save it all the same.
func TestRunChangedBySomebodyElse(t *testing.T) {
	t.Parallel()
	r := webtest.NewRegulation(t, docket.StageRegulation)
	id := r.Take(webtest.FullRun(timing.Final, webtest.RatesFinal))
	path := r.Path + "/runs/" + webtest.Itoa(id)
	mine := r.Bench.Get(path).Want(http.StatusOK)
	theirs := webtest.FullRun("", webtest.RatesFinal)
	theirs.Set("run_version", "1")
	theirs.Set("rate-FH-0", "+7")
	theirs.Set("why", "misread")
	r.As(r.Owner).Post(path, theirs).Want(http.StatusSeeOther)

	f := webtest.FullRun("", webtest.RatesFinal)
	f.Set("run_version", mine.Hidden("run_version"))
	f.Set("version", mine.Hidden("version"))
	f.Set("rate-CH-0", "+8")
	f.Set("label", "mine")
	f.Set("why", "misread too")
	page := r.Bench.Post(path, f).Want(http.StatusConflict)
	webtest.Contains(t, "conflict", page.Text("run-conflict"), "Someone else saved first", "Rate, FH, full wind",
		"+7 s/d (you: +4 s/d)",
		"Rate, CH, full wind", "+5 s/d (you: +8 s/d)", "Ottilie Brandt", "One entry of the run final changed.")
	for name := range f {
		if name == "grade" || name == "kind" || name == "columns" || name == "run_version" || name == "version" {
			continue
		}
		if got := page.Value(name); got != f.Get(name) {
			t.Errorf("%s holds %q, typed %q", name, got, f.Get(name))
		}
	}
	if run, _ := r.Sheet().Run(id); run.Version != 2 || run.Sheet.Run.Label != "" {
		t.Errorf("mine was saved: %+v", run)
	}
	f.Set("run_version", page.Hidden("run_version"))
	f.Set("version", page.Hidden("version"))
	r.Bench.Post(path, f).Want(http.StatusSeeOther)
	run, _ := r.Sheet().Run(id)
	if reading, _ := run.Sheet.Run.Reading(timing.DialUp, 0); reading.RateSPerDay.Value != 8 ||
		run.Sheet.Run.Label != "mine" {
		t.Errorf("mine was not saved: %+v", run)
	}
}

// A form sent twice is not two runs: the second is shown what is there already.
func TestFormSentTwice(t *testing.T) {
	t.Parallel()
	r := webtest.NewRegulation(t, docket.StageRegulation)
	form := r.Bench.Get(r.Path + "/new?kind=final").Want(http.StatusOK)
	f := webtest.FullRun(timing.Final, webtest.RatesFinal)
	f.Set("last_run", form.Hidden("last_run"))
	f.Set("version", form.Hidden("version"))
	r.Take(f)
	page := r.Bench.Post(r.Path+"/new", f).Want(http.StatusConflict)
	webtest.Contains(t, "conflict", page.Text("run-conflict"), "it may be this one, sent twice", "Run final recorded")
	if page.Value("rate-9H-0") != "+6" {
		t.Error("what was typed is gone")
	}
	f.Set("last_run", page.Hidden("last_run"))
	r.Take(f)
	if n := len(r.Sheet().Runs); n != 2 {
		t.Errorf("%d runs", n)
	}
}

// The docket keeps its version until somebody judges it by the newer one, which the page offers.
func TestJudgeByANewerVersion(t *testing.T) {
	t.Parallel()
	r := webtest.NewRegulation(t, docket.StageRegulation)
	r.Take(webtest.FullRun(timing.Final, webtest.RatesFinal))
	if len(r.Bench.Get(r.Path).All("judge-newer")) > 0 {
		t.Error("there is nothing newer to judge by")
	}
	stricter := timing.ShippedGrades()[1]
	stricter.Version, stricter.Limits[0].Limits = 2, metrology.Between(-1, 1)
	if err := r.Store.PublishLimits(t.Context(), stricter, webtest.ActorOf(r.Owner), webtest.Now); err != nil {
		t.Fatal(err)
	}
	page := r.Bench.Get(r.Path).Want(http.StatusOK)
	webtest.Contains(t, "kept", page.Text("judged-by"), "Modern, version 1")
	webtest.Contains(t, "news", page.Text("judge-news"), "Modern, version 2 was published on 24 Nov 2026, 10:30.")
	webtest.Contains(t, "verdict", page.Text("run-verdict"), "pass")
	stale := page.Hidden("version")
	f := url.Values{"version": {stale}, "grade": {timing.GradeModern}}
	r.Bench.Post(r.Path+"/judge", f).Want(http.StatusSeeOther)
	page = r.Bench.Get(r.Path).Want(http.StatusOK)
	webtest.Contains(t, "verdict", page.Text("run-verdict"), "fail", "Not met: mean rate at full wind")
	webtest.Contains(t, "limit", page.Text("limit-mean-rate"), "−1 to +1 s/d", "fail", "under 0.1 %")

	webtest.Contains(t, "somebody else judged meanwhile", r.Bench.Post(r.Path+"/judge",
		f).Want(http.StatusConflict).Text("conflict-changes"), "judged by Modern, version 2")
	f.Set("version", page.Hidden("version"))
	f.Set("grade", "perfect")
	webtest.Contains(t, "no such grade", r.Bench.Post(r.Path+"/judge",
		f).Want(http.StatusUnprocessableEntity).Text("judge-problem"), "Choose one of the grades offered.")
	f.Set("grade", timing.GradeVintage)
	asked := r.Bench.Post(r.Path+"/judge", f).Want(http.StatusUnprocessableEntity)
	webtest.Contains(t, "why", asked.Problem("why"), "judged by another grade before")
	f.Set("why", "The parts are worn, as agreed.")
	r.Bench.Post(r.Path+"/judge", f).Want(http.StatusSeeOther)
	page = r.Bench.Get(r.Path).Want(http.StatusOK)
	webtest.Contains(t, "another grade", page.Text("judged-by"), "Vintage, version 1")
	webtest.Contains(t, "and why", page.Text("grade-why"), "The parts are worn, as agreed.")
}

// A watch of no known calibre is saved without a verdict and judged once a grade is chosen.
func TestRunOfNoKnownGrade(t *testing.T) {
	t.Parallel()
	r := webtest.NewRegulation(t, docket.StageRegulation)
	if _, err := r.Store.Pool().Exec(t.Context(), `UPDATE watch SET calibre_id = NULL`); err != nil {
		t.Fatal(err)
	}
	webtest.Contains(t, "choice", r.Bench.Get(r.Path+"/new").Text("grade"), "none: save without a verdict")
	f := webtest.FullRun(timing.Final, webtest.RatesFinal)
	f.Set("grade", "")
	r.Take(f)
	page := r.Bench.Get(r.Path).Want(http.StatusOK)
	webtest.Contains(t, "verdict", page.Text("run-verdict"), "Not judged")
	webtest.Contains(t, "why", page.Text("judged-by"), "Not judged yet")
	if page.Text("stat-delta") == "" {
		t.Error("the figures are not shown without a verdict")
	}
	r.Bench.Post(r.Path+"/judge", url.Values{"grade": {timing.GradeChronometer}}).Want(http.StatusSeeOther)
	webtest.Contains(t, "verdict", r.Bench.Get(r.Path).Text("run-verdict"), "undecided", "Chronometer style, version 1",
		"greatest beat error")
}

// A shop that chose simple acceptance has it stated, and nothing is undecided then.
func TestSimpleAcceptanceIsStated(t *testing.T) {
	t.Parallel()
	r := webtest.NewRegulation(t, docket.StageRegulation)
	f := webtest.FullRun(timing.Final, []string{"+12", "+12", "+12", "+12", "+12", "+12"}) // the mean lies on its limit
	r.Take(f)
	webtest.Contains(t, "guarded", r.Bench.Get(r.Path).Text("limit-mean-rate"), "undecided", "50.0 %")
	sh, err := r.Store.Shop(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	sh.SimpleAcceptance = true
	if err := r.Store.SaveShop(t.Context(), sh, r.Actor(r.Owner), r.Clock()); err != nil {
		t.Fatal(err)
	}
	page := r.Bench.Get(r.Path)
	webtest.Contains(t, "kept", page.Text("rule"), "guard band") // as it was judged
	webtest.Contains(t, "news", page.Text("judge-news"), "another rule")
	r.Bench.Post(r.Path+"/judge", url.Values{"grade": {timing.GradeModern},
		"version": {page.Hidden("version")}}).Want(http.StatusSeeOther)
	page = r.Bench.Get(r.Path)
	webtest.Contains(t, "simple", page.Text("limit-mean-rate"), "pass")
	webtest.Contains(t, "rule", page.Text("rule"), "simple acceptance")
}
