package positions_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/timing"
	"ledgerwheel/web/webtest"
)

// atBench is a docket in regulation, and the bench view's address.
func atBench(t *testing.T) (r *webtest.Regulation, path string) {
	t.Helper()
	r = webtest.NewRegulation(t, docket.StageRegulation)
	return r, "/dockets/" + r.Number.String() + "/positions"
}

// sent is the form as a browser without scripts sends it back, with what is typed on top.
func sent(a *webtest.Answer, typed map[string]string, do string) url.Values {
	f := url.Values{"do": {do}}
	for _, name := range []string{"at", "run_id", "run_version", "last_run", "version", "kind", "grade", "states", "columns"} {
		f.Set(name, a.Hidden(name))
	}
	for _, name := range []string{"instrument", "clock_ppm", "temperature", "label"} {
		f.Set(name, a.Value(name))
	}
	for _, q := range timing.Quantities() {
		for _, p := range timing.Positions() {
			for _, hours := range []float64{0, 24} {
				name := timing.FieldName(q, p, hours)
				f.Set(name, a.Value(name))
			}
		}
	}
	for name, text := range typed {
		f.Set(name, text)
	}
	return f
}

// TestOnePositionAfterTheOther goes through the six positions as a browser without scripts does, and keeps the run.
func TestOnePositionAfterTheOther(t *testing.T) {
	t.Parallel()
	r, path := atBench(t)
	a := r.Bench.Get(path + "?run=new:final").Want(http.StatusOK)
	for i, p := range timing.Positions() {
		if webtest.HasAttr(a.One("stop-"+string(p)+"-0").Attr, "hidden") {
			t.Fatalf("%s is not in sight", p)
		}
		a = r.Bench.Post(path, sent(a, map[string]string{"rate-" + string(p) + "-0": webtest.RatesFinal[i],
			"amplitude-" + string(p) + "-0": webtest.Amplitudes[i], "beat_error-" + string(p) + "-0": "0.2"}, "next")).
			Want(http.StatusOK)
	}
	if webtest.HasAttr(a.One("stop-end-0").Attr, "hidden") {
		t.Error("after the last position the run is not shown")
	}
	webtest.Contains(t, "the run so far", a.Text("stop-end-0"), "+5", "288", "+3", "264")
	if len(r.Sheet().Runs) != 0 {
		t.Fatal("a step saved the run")
	}
	back := r.Bench.Post(path, sent(a, nil, "back")).Want(http.StatusOK)
	if webtest.HasAttr(back.One("stop-12H-0").Attr, "hidden") || back.Value("rate-12H-0") != "+3" {
		t.Error("back does not lead to 12H as typed")
	}
	keep := sent(a, nil, "keep")
	kept := r.Bench.Post(path, keep).Want(http.StatusSeeOther)
	runs := r.Sheet().Runs
	if len(runs) != 1 || len(runs[0].Sheet.Run.Readings) != 6 || timing.StatesText(runs[0].Sheet.States) != "0" {
		t.Fatalf("kept %+v", runs)
	}
	webtest.Contains(t, "kept", r.Bench.Get(kept.Location()).Want(http.StatusOK).Text("run-kept"), "not measured", "6 of 6")
	if again := r.Bench.Post(path, keep).Want(http.StatusSeeOther); again.Location() != kept.Location() ||
		len(r.Sheet().Runs) != 1 {
		t.Errorf("sent twice, it leads to %q and %d runs are kept", again.Location(), len(r.Sheet().Runs))
	}
}

// TestWhatCannotBeReadStays keeps a step back from a figure that can't be read, and asks about one that looks like a slip
// before the run is kept.
func TestWhatCannotBeReadStays(t *testing.T) {
	t.Parallel()
	r, path := atBench(t)
	a := r.Bench.Get(path + "?run=new:final")
	a = r.Bench.Post(path, sent(a, map[string]string{"rate-CH-0": "fast"}, "next")).Want(http.StatusUnprocessableEntity)
	webtest.Contains(t, "rate", a.Problem("rate-CH-0"), "“fast” is not a figure")
	if a.Value("rate-CH-0") != "fast" || webtest.HasAttr(a.One("stop-CH-0").Attr, "hidden") {
		t.Error("what was typed is gone")
	}
	typed := map[string]string{}
	for i, p := range timing.Positions() {
		typed["rate-"+string(p)+"-0"] = webtest.RatesFinal[i]
	}
	typed["rate-9H-0"] = "+600"
	a = r.Bench.Post(path, sent(a, typed, "keep")).Want(http.StatusUnprocessableEntity)
	webtest.Contains(t, "question", a.Problem("rate-9H-0"), "Is it so?")
	if webtest.HasAttr(a.One("stop-9H-0").Attr, "hidden") || len(r.Sheet().Runs) != 0 {
		t.Error("the question is not in sight, or the run was kept")
	}
	typed["sure-rate-9H-0"] = "+600"
	r.Bench.Post(path, sent(a, typed, "keep")).Want(http.StatusSeeOther)
	reading, _ := r.Sheet().Runs[0].Sheet.Run.Reading(timing.NineUp, 0)
	webtest.Contains(t, "asked", reading.RateSPerDay.Asked, "Is it so?", "Confirmed by")
}

// TestADayLater adds the second state of wind to the run on record, and corrects only with a reason.
func TestADayLater(t *testing.T) {
	t.Parallel()
	r, path := atBench(t)
	a := r.Bench.Get(path + "?run=new:final")
	r.Bench.Post(path, sent(a, map[string]string{"rate-CH-0": "+5", "rate-FH-0": "+4"}, "keep")).Want(http.StatusSeeOther)
	id := webtest.Itoa(r.Sheet().Runs[0].ID)
	a = r.Bench.Get(path + "?run=" + id + "&hours=24").Want(http.StatusOK)
	if webtest.HasAttr(a.One("stop-CH-24").Attr, "hidden") || a.Value("rate-FH-0") != "+4" {
		t.Error("the run is not open at CH, after 24 h")
	}
	r.Bench.Post(path, sent(a, map[string]string{"rate-CH-24": "+3"}, "keep")).Want(http.StatusSeeOther)
	if got := timing.StatesText(r.Sheet().Runs[0].Sheet.States); got != "0, 24" {
		t.Errorf("states %s", got)
	}
	a = r.Bench.Get(path + "?run=" + id)
	f := sent(a, map[string]string{"rate-CH-0": "+6"}, "keep")
	webtest.Contains(t, "reason", r.Bench.Post(path, f).Want(http.StatusUnprocessableEntity).Text("form-errors"), "say why")
	f.Set("why", "misread")
	r.Bench.Post(path, f).Want(http.StatusSeeOther)
}

// TestSomebodyElseKeptARun refuses a run that was opened before another was kept, and shows what was typed.
func TestSomebodyElseKeptARun(t *testing.T) {
	t.Parallel()
	r, path := atBench(t)
	a := r.Bench.Get(path + "?run=new:final")
	r.Take(webtest.FullRun(timing.Final, webtest.RatesFinal))
	f := sent(a, map[string]string{"rate-CH-0": "+1"}, "keep")
	b := r.Bench.Post(path, f).Want(http.StatusConflict)
	webtest.Contains(t, "conflict", b.Text("run-conflict"), "Another run was recorded")
	if b.Value("rate-CH-0") != "+1" || len(r.Sheet().Runs) != 1 {
		t.Error("what was typed is gone, or was kept")
	}
	r.Bench.Post(path, sent(b, nil, "keep")).Want(http.StatusSeeOther)
	if len(r.Sheet().Runs) != 2 {
		t.Error("kept again, the run is not on record")
	}
}

// TestWhereNoRunIsTaken leads to the sheet that says why.
func TestWhereNoRunIsTaken(t *testing.T) {
	t.Parallel()
	r, path := atBench(t)
	r.To(docket.StageReady)
	if to := r.Bench.Get(path).Want(http.StatusSeeOther).Location(); to != r.Path {
		t.Errorf("leads to %q", to)
	}
	r.Bench.Get(path + "?run=4711&done=4711").Want(http.StatusNotFound)
}

// TestSheetOfCodes has a code for every word that the view knows, and a word of the view for every code.
func TestSheetOfCodes(t *testing.T) {
	t.Parallel()
	r, path := atBench(t)
	sheet := r.Bench.Get("/bench-sheet").Want(http.StatusOK)
	view := r.Bench.Get(path)
	for _, says := range []string{"Next position", "Back", "Full wind", "After 24 h", "Keep", "Listen", "Undo", "CH", "FH", "3H",
		"6H", "9H", "12H"} {
		if !strings.Contains(sheet.Text("reading-a4"), says) {
			t.Errorf("the sheet has no %s", says)
		}
	}
	for _, word := range []string{"NEXT", "BACK", "FULL", "DAY", "KEEP", "LISTEN", "UNDO", "TEST", "CH", "FH", "3H", "6H", "9H", "12H"} {
		if !strings.Contains(view.Body, `data-scan="`+word+`"`) {
			t.Errorf("nothing in the view answers %s", word)
		}
	}
	r.As(r.Clerk).Get("/bench-sheet.pdf").Want(http.StatusForbidden)
	if pdf := r.Bench.Get("/bench-sheet.pdf").Want(http.StatusOK); !strings.HasPrefix(string(pdf.Body), "%PDF") {
		t.Error("no PDF")
	}
}
