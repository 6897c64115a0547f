package regulation_test

import (
	"io"
	"math"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
	"ledgerwheel/web/bench/regulation"
	"ledgerwheel/web/runs"
	"ledgerwheel/web/webtest"
)

// number reads a printed figure, with its true minus.
func number(t *testing.T, text string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(strings.NewReplacer("−", "-", "+", "").Replace(text), 64)
	if err != nil {
		t.Fatalf("%q is no figure: %v", text, err)
	}
	return x
}

func numbers(t *testing.T, texts []string) []float64 {
	t.Helper()
	out := make([]float64, len(texts))
	for i, text := range texts {
		out[i] = number(t, text)
	}
	return out
}

// printedFigure splits "+3.50 ± 0.24" into the figure and its expanded uncertainty.
func printedFigure(t *testing.T, text string) (value, u float64) {
	t.Helper()
	parts := strings.Fields(text)
	if len(parts) != 3 || parts[1] != "±" {
		t.Fatalf("%q is not a figure with its uncertainty", text)
	}
	return number(t, parts[0]), number(t, parts[2])
}

// The page's figures are those of gonum/stat and gonum/floats over the readings typed, to the last place printed; each
// uncertainty is the law of propagation (JCGM 100, 5.1.2 and 5.2.2) worked out by hand: with a step of 1 s/d the
// independent part of a rate is u = 1/√12, the clock's shared part 0.5 ppm × 0.0864/√3, whole in a mean and nought in a
// difference.
func TestFiguresOnThePageAgreeWithGonum(t *testing.T) {
	t.Parallel()
	r := webtest.NewRegulation(t, docket.StageRegulation)
	r.Take(webtest.FullRun(timing.Final, webtest.RatesFinal))
	page := r.Bench.Get(r.Path).Want(http.StatusOK)

	rates, later := numbers(t, webtest.RatesFinal), numbers(t, webtest.RatesDayLater)
	swing, swingLater := numbers(t, webtest.Amplitudes), numbers(t, webtest.LaterSwing)
	spread := func(x []float64) float64 { return floats.Max(x) - floats.Min(x) }
	step, clock := 1/math.Sqrt(12), 0.5*0.0864/math.Sqrt(3)
	mean := func(n float64) float64 { return 2 * math.Hypot(step/math.Sqrt(n), clock) }
	// Amplitudes share no clock, but the lift angle: 1° of 52, a standard uncertainty.
	lifted := func(own, amplitude float64) float64 { return math.Hypot(own, 2*amplitude/52) }
	meanOf := func(n, amplitude float64) float64 { return lifted(2*step/math.Sqrt(n), amplitude) }
	flat, hung, hungLater := stat.Mean(swing[:2], nil), stat.Mean(swing[2:], nil), stat.Mean(swingLater[2:], nil)
	fell := stat.Mean(swing, nil) - stat.Mean(swingLater, nil)
	difference := 2 * step * math.Sqrt2
	split := 2 * step * math.Sqrt(1.0/2+1.0/4) // two horizontal positions less four vertical
	day := 2 * step * math.Sqrt(2.0/6)

	for _, c := range []struct {
		key   timing.Key
		state int // column after the label
		want  float64
		u     float64
	}{
		{timing.MeanRate, 1, stat.Mean(rates, nil), mean(6)},
		{timing.MeanRate, 2, stat.Mean(later, nil), mean(6)},
		{timing.DeltaRate, 1, spread(rates), difference},
		{timing.DeltaRate, 2, spread(later), difference},
		{timing.HorizontalMeanRate, 1, stat.Mean(rates[:2], nil), mean(2)},
		{timing.VerticalMeanRate, 1, stat.Mean(rates[2:], nil), mean(4)},
		{timing.HorizontalLessVertical, 1, stat.Mean(rates[:2], nil) - stat.Mean(rates[2:], nil), split},
		{timing.HorizontalDelta, 1, spread(rates[:2]), difference},
		{timing.VerticalDelta, 2, spread(later[2:]), difference},
		{timing.HorizontalAmplitude, 1, flat, meanOf(2, flat)},
		{timing.VerticalAmplitude, 2, hungLater, meanOf(4, hungLater)},
		{timing.AmplitudeLoss, 1, flat - hung, lifted(split, flat-hung)},
		{timing.AmplitudeLoss24h, 1, fell, lifted(day, fell)},
		{timing.Isochronism, 1, stat.Mean(later, nil) - stat.Mean(rates, nil), day},
	} {
		cells := cellsOf(page.One("stat-" + runs.KeySlug(c.key)))
		value, u := printedFigure(t, cells[c.state])
		// Printed to one significant digit of U, and U rounded up where a twentieth of it would be left out (JCGM 100, 7.2.6).
		place := math.Pow10(int(math.Floor(math.Log10(u))))
		if math.Abs(value-c.want) > 0.501*place || u < 0.95*c.u || u > c.u+place {
			t.Errorf("%s, column %d: %s; gonum says %.4f ± %.4f", c.key, c.state, cells[c.state], c.want, c.u)
		}
	}
	webtest.Contains(t, "note of the grid", page.Text("grid-note"), "rate ± 0.6 s/d", "amplitude ± 9 to 20°",
		"beat error ± 0.06 ms")
}

// The worked example of a common bench sheet: what cannot be computed says why instead.
func TestMissingFiguresSayWhy(t *testing.T) {
	t.Parallel()
	r := webtest.NewRegulation(t, docket.StageRegulation)
	f := webtest.FullRun(timing.Final, webtest.RatesFinal)
	f.Set("rate-9H-0", "")
	for _, q := range timing.Quantities() {
		webtest.Column(f, q, 24, []string{"", "", "", "", "", ""})
	}
	r.Take(f)
	page := r.Bench.Get(r.Path).Want(http.StatusOK)
	if cells := cellsOf(page.One("stat-mean-rate")); cells[1] != "– not computed" {
		t.Errorf("mean %q", cells)
	}
	if cells := cellsOf(page.One("stat-horizontal-mean")); !strings.HasPrefix(cells[1], "+4.5 ±") {
		t.Errorf("horizontal mean %q", cells)
	}
	webtest.Contains(t, "reasons", page.Text("whys"), "mean rate", "Needs the rate in all six positions; 9H is missing.",
		"isochronism", "Needs the rate at full wind and after 24 h in at least one position.")
	webtest.Contains(t, "grid", page.Text("grid"), "not measured yet")
	webtest.Contains(t, "verdict", page.Text("run-verdict"), "not measured", "Not measured: mean rate at full wind")
	webtest.Contains(t, "limit", page.Text("limit-mean-rate"), "not measured", "9H is missing")
	webtest.Contains(t, "limit", page.Text("limit-greatest-amplitude"), "pass", "288 ± 11 °", "at most 320°",
		"over 99.9 %", "knocking")
}

func TestRegulationSheet(t *testing.T) {
	t.Parallel()
	r := webtest.NewRegulation(t, docket.StageDiagnosis)
	page := r.Bench.Get(r.Path).Want(http.StatusOK)
	webtest.Contains(t, "before any run", page.Text("runs"), "No run yet", "Take the run as received")
	before, after := r.Both()
	page = r.Bench.Get(r.Path).Want(http.StatusOK)
	webtest.Contains(t, "list", page.Text("run-"+webtest.Itoa(before)), "As received", "Emrys Vale", "+24.3", "33.0",
		"fail")
	webtest.Contains(t, "list", page.Text("run-"+webtest.Itoa(after)), "Final", "+3.5", "5.0", "pass")
	webtest.Contains(t, "newest", page.Text("run"), "Final", "+5", "−2")
	webtest.Contains(t, "conditions", page.Text("fold-conditions"), "Bench 2", "right to within ± 0.5 ppm (± 0.043 s/d)",
		"23 °C")
	webtest.Contains(t, "rule", page.Text("rule"), "guard band", "JCGM 106")
	webtest.Contains(t, "kept", page.Text("judged-by"), "Modern, version 1")
	webtest.Contains(t, "places", page.Text("grid"), "CH dial up", "3H crown up", "6H crown left", "9H crown down",
		"12H crown right")
	for _, id := range []string{"chart-rates", "chart-amplitude", "chart-compare"} {
		webtest.Contains(t, id, webtest.TextOf(page.One(id)), "seconds per day") // the drawing's own description
	}
	older := r.Bench.Get(r.Path + "?run=" + webtest.Itoa(before)).Want(http.StatusOK)
	webtest.Contains(t, "the run asked for", older.Text("run"), "As received", "+34", "Work has begun")
	r.Bench.Get(r.Path + "?run=99").Want(http.StatusBadRequest)
	r.Bench.Get(r.Path + "?before=x").Want(http.StatusBadRequest)
}

// The words beside a position follow the crown: a pocket watch with its crown at twelve hangs crown up in 12H.
func TestWordsFollowTheCrown(t *testing.T) {
	t.Parallel()
	r := webtest.NewRegulation(t, docket.StageRegulation)
	if _, err := r.Store.Pool().Exec(t.Context(), `UPDATE watch SET crown_at = 12`); err != nil {
		t.Fatal(err)
	}
	webtest.Contains(t, "grid", r.Bench.Get(r.Path+"/new").Want(http.StatusOK).Text("grid"), "12H crown up",
		"3H crown left", "6H crown down", "9H crown right")
}

func TestCompare(t *testing.T) {
	t.Parallel()
	r := webtest.NewRegulation(t, docket.StageRegulation)
	before, after := r.Both()
	page := r.Bench.Get(r.Path).Want(http.StatusOK)
	// +24.333 to +3.5: independent steps and clocks of both runs in quadrature.
	step, clock := 1/math.Sqrt(12), 0.5*0.0864/math.Sqrt(3)
	value, u := printedFigure(t, cellsOf(page.One("change-mean-rate"))[3])
	if want := 2 * math.Sqrt2 * math.Hypot(step/math.Sqrt(6), clock); math.Abs(value+20.8333) > 0.0501 ||
		u < 0.95*want || u > want+0.1 {
		t.Errorf("change of the mean %g ± %g, want −20.83 ± %.2f", value, u, want)
	}
	webtest.Contains(t, "every figure", page.Text("every"), "CH rate, full wind", "+34.0", "+5.0", "−29.0")
	turned := r.Bench.Get(r.Path + "?before=" + webtest.Itoa(after) + "&after=" + webtest.Itoa(before) +
		"#compare").Want(http.StatusOK)
	if value, _ := printedFigure(t, cellsOf(turned.One("change-mean-rate"))[3]); math.Abs(value-20.83) > 0.0501 {
		t.Errorf("turned about, the mean changes by %g", value)
	}
	if n := strings.Count(page.Body, ` id="chart-`); n != 6 { // a title and a description each
		t.Errorf("%d ids of charts", n)
	}
}

// Runs are told apart by their time where a kind was taken twice.
func TestRunsOfOneKindAreToldApart(t *testing.T) {
	t.Parallel()
	r := webtest.NewRegulation(t, docket.StageRegulation)
	r.Take(webtest.FullRun(timing.Final, webtest.RatesReceived))
	r.Take(webtest.FullRun(timing.Final, webtest.RatesFinal))
	page := r.Bench.Get(r.Path).Want(http.StatusOK)
	// Zurich is UTC+1
	webtest.Contains(t, "choice", page.Text("before"), "Final, 24 Nov 2026, 10:30", "Final, 24 Nov 2026, 11:30")
}

// What may be done where: the sheet offers what the stage and the role allow, and says why it offers nothing.
func TestWhoMayTakeRuns(t *testing.T) {
	t.Parallel()
	r := webtest.NewRegulation(t, docket.StageRegulation)
	r.Take(webtest.FullRun(timing.Final, webtest.RatesFinal))
	clerk := r.As(r.Clerk)
	page := clerk.Get(r.Path).Want(http.StatusOK)
	for _, id := range []string{"take-final", "change-run", "judge-newer", "judge"} {
		if len(page.All(id)) > 0 {
			t.Errorf("the clerk is offered %s", id)
		}
	}
	run, _ := r.Sheet().Newest()
	for _, path := range []string{r.Path + "/new", r.Path + "/runs/" + webtest.Itoa(run.ID)} {
		clerk.Get(path).Want(http.StatusForbidden)
		clerk.Post(path, webtest.FullRun(timing.Final, webtest.RatesFinal)).Want(http.StatusForbidden)
	}
	clerk.Post(r.Path+"/preview", webtest.FullRun(timing.Final, webtest.RatesFinal)).Want(http.StatusForbidden)
	clerk.Post(r.Path+"/judge", nil).Want(http.StatusForbidden)
	r.As(r.Owner).Get(r.Path + "/new").Want(http.StatusOK)
	if got := r.Stranger().Get(r.Path).Want(http.StatusSeeOther).Location(); !strings.HasPrefix(got, "/sign-in") {
		t.Errorf("a stranger is led to %s", got)
	}

	r.To(docket.StageReady)
	page = r.Bench.Get(r.Path).Want(http.StatusOK)
	webtest.Contains(t, "why none", page.Text("no-take"), "No run is taken in the stage ready.")
	webtest.Contains(t, "why not", page.Text("run-fixed"), "regulation and final test")
	if got := r.Bench.Get(r.Path + "/runs/" +
		webtest.Itoa(run.ID)).Want(http.StatusSeeOther).Location(); got != r.Path+"?run="+webtest.Itoa(run.ID) {
		t.Errorf("the form of a run that stays leads to %s", got)
	}
	refused := r.Bench.Post(r.Path+"/new", webtest.FullRun(timing.Final,
		webtest.RatesFinal)).Want(http.StatusUnprocessableEntity)
	webtest.Contains(t, "reason", refused.Problem("kind"), "the docket stands in ready")
	if n := len(r.Sheet().Runs); n != 1 {
		t.Errorf("%d runs", n)
	}
}

// No page of the slice takes more than four round trips: session, viewer, and one for the page.
func TestRoundTripsOfRegulation(t *testing.T) {
	t.Parallel()
	r := webtest.NewRegulation(t, docket.StageRegulation)
	_, after := r.Both()
	owner := r.As(r.Owner)
	base := "/dockets/" + r.Number.String()
	for _, path := range []string{r.Path, r.Path + "?run=" + webtest.Itoa(after), r.Path + "/new", r.Path + "/runs/" +
		webtest.Itoa(after),
		base + "/papers/bulletin", base + "/papers/bulletin.pdf", "/rate-limits", "/rate-limits/modern",
		"/rate-limits/modern/new"} {
		if n := r.Trips(owner, path); n > 4 {
			t.Errorf("%s: %d round trips, want at most 4", path, n)
		}
	}
}

// BenchmarkFigures is the work of a page: statistics, verdicts and three charts of two runs, drawn.
func BenchmarkFigures(b *testing.B) {
	r := webtest.NewRegulation(b, docket.StageRegulation)
	r.Both()
	sheet := r.Sheet()
	req, err := http.NewRequest(http.MethodGet, r.Path, nil)
	if err != nil {
		b.Fatal(err)
	}
	before, after := sheet.Runs[0], sheet.Runs[1]
	b.ReportAllocs()
	for b.Loop() {
		by := regulation.JudgingOf(sheet, after)
		figures := runs.FiguresOf(after.Sheet, by)
		figures.Chart = append(figures.Chart, runs.RatesChart("a", after.Sheet, by), runs.AmplitudeChart("b", after.Sheet),
			runs.CompareChart("c", before, after, [2]string{"before", "after"}, by))
		if len(figures.Rows) == 0 || timing.CompareSheets(before.Sheet, after.Sheet).Figures == nil {
			b.Fatal("nothing was computed")
		}
		if err := runs.Figures(figures).Render(req.Context(), io.Discard); err != nil {
			b.Fatal(err)
		}
	}
}

// TestAdjustmentSaysWhatItTouched: what was touched is kept with the run, stands in its form again and in the journal, and
// the fit takes from it what still holds: the poise of before where only the pins were touched, another one where it was.
func TestAdjustmentSaysWhatItTouched(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		touched []timing.Touch
		words   string
		same    bool // the poise of both runs is one
	}{
		{[]timing.Touch{timing.TouchedPins, timing.TouchedRegulator}, "regulator pins, regulator", true},
		{[]timing.Touch{timing.TouchedPoise}, "poise of the balance", false},
	} {
		r := webtest.NewRegulation(t, docket.StageRegulation)
		r.Take(heavyRun(timing.AfterService, 0.002))
		f := heavyRun(timing.Adjustment, 0.0005)
		for _, touch := range c.touched {
			f.Set(timing.TouchField(touch), "yes")
		}
		id := r.Take(f)
		webtest.Contains(t, "journal", r.Bench.Get("/dockets/"+r.Number.String()+"/journal").Want(http.StatusOK).Text("journal"),
			c.words)
		form := r.Bench.Get(r.Path + "/runs/" + webtest.Itoa(id)).Want(http.StatusOK)
		for _, touch := range timing.Touches() {
			ticked := webtest.HasAttr(form.One(timing.TouchField(touch)).Attr, "checked")
			if want := slices.Contains(c.touched, touch); ticked != want {
				t.Errorf("%s: the box of %s is ticked: %t", c.words, touch, ticked)
			}
		}
		sheet := r.Sheet()
		a := regulation.AdvisedOn(sheet, metrology.Guarded, 0)
		before, after := a.Report.Fit.Runs[0].Poise.Size.Value, a.Report.Fit.Runs[1].Poise.Size.Value
		if same := before == after; same != c.same {
			t.Errorf("%s: the fit finds %.0f ppm before and %.0f ppm after", c.words, before, after)
		}
	}
}

// TestPositionReadAgain: another reading of a position is typed, kept beside the first, shown, and corrected; a form that
// does not ask for it keeps it.
func TestPositionReadAgain(t *testing.T) {
	t.Parallel()
	r := webtest.NewRegulation(t, docket.StageRegulation)
	f := webtest.FullRun(timing.Final, webtest.RatesFinal)
	f.Set("again", "yes")
	f.Set("again1-rate-CH-0", "+9")
	f.Set("again1-amplitude-CH-0", "290")
	f.Set("again1-rate-FH-0", "fast")
	refused := r.Bench.Post(r.Path+"/new", f).Want(http.StatusUnprocessableEntity)
	webtest.Contains(t, "beside the field", refused.Problem("again1-rate-FH-0"), "fast")
	if refused.Value("again1-rate-FH-0") != "fast" || refused.Value("again1-rate-CH-0") != "+9" || len(r.Sheet().Runs) != 0 {
		t.Error("a refused run is not kept as it was typed")
	}
	f.Del("again1-rate-FH-0")
	id := r.Take(f)
	page := r.Bench.Get(r.Path).Want(http.StatusOK)
	webtest.Contains(t, "means", page.Text("rate-CH-0"), "+7") // of +5 and +9
	webtest.Contains(t, "note", page.Text("grid-note"), "stand here with their means")
	webtest.Contains(t, "each", page.Text("fold-again"), "CH, full wind", "CH, full wind, reading 2", "+9 s/d, 290°",
		"Emrys Vale", "rate 2.8 s/d", "One reading more says little")
	at := r.Path + "/runs/" + webtest.Itoa(id)
	form := r.Bench.Get(at).Want(http.StatusOK)
	webtest.Contains(t, "folded", form.Text("again-1-fold"), "A second reading of a position 2 figures")
	if got := form.Value("again1-rate-CH-0"); got != "+9" || len(form.All("again-2-fold")) != 1 {
		t.Errorf("the form holds %q", got)
	}
	change := webtest.FullRun(timing.Final, webtest.RatesFinal)
	change.Set("run_version", form.Hidden("run_version"))
	change.Set("label", "by lamp light")
	r.Bench.Post(at, change).Want(http.StatusSeeOther)
	run, _ := r.Sheet().Newest()
	if n := len(run.Sheet.Run.Again()); n != 1 {
		t.Fatalf("%d readings taken again are kept by a form that does not ask for them", n)
	}
	change.Set("again", "yes")
	change.Set("run_version", r.Bench.Get(at).Hidden("run_version"))
	change.Set("again1-rate-CH-0", "+7")
	webtest.Contains(t, "why", r.Bench.Post(at, change).Want(http.StatusUnprocessableEntity).Problem("why"), "say why")
	change.Set("why", "misread")
	r.Bench.Post(at, change).Want(http.StatusSeeOther)
	webtest.Contains(t, "journal", r.Bench.Get("/dockets/"+r.Number.String()+"/journal").Want(http.StatusOK).Text("journal"),
		"rate, CH, full wind, reading 2", "misread")
}
