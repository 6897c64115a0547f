package regulation_test

import (
	"io"
	"math"
	"net/http"
	"net/url"
	"strconv"
	"testing"
	"time"

	"ledgerwheel/domain/diagnosis"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/oscillator"
	"ledgerwheel/domain/timing"
	"ledgerwheel/domain/watch"
	"ledgerwheel/store"
	"ledgerwheel/web/bench/regulation"
	"ledgerwheel/web/runs"
	"ledgerwheel/web/view"
	"ledgerwheel/web/webtest"
)

// heavyRates are the rates of a made-up watch with a heavy spot towards 6 o'clock, by the published closed form: S in
// parts of the spring's stiffness, base in s/d, at the amplitudes given in grid order.
func heavyRates(base, s float64, amplitudes []string) []string {
	out := make([]string, 0, 6)
	for i, p := range timing.Positions() {
		rate := base
		if hour, vertical := p.UppermostHour(); vertical {
			a := figureOf(amplitudes[i]) * math.Pi / 180
			rate -= 86400 * s * math.Cos(float64(6-hour)*30*math.Pi/180) * math.J1(a) / a
		}
		out = append(out, strconv.FormatFloat(math.Round(rate*10)/10, 'f', -1, 64))
	}
	return out
}

func heavyRun(kind timing.Kind, s float64) url.Values {
	f := webtest.FullRun(kind, heavyRates(3, s, webtest.Amplitudes))
	webtest.Column(f, timing.Rate, 24, heavyRates(2, s, webtest.LaterSwing))
	return f
}

func TestAdviceWithoutRuns(t *testing.T) {
	t.Parallel()
	r := webtest.NewRegulation(t, docket.StageRegulation)
	page := r.Bench.Get("/dockets/" + r.Number.String() + "/advice").Want(http.StatusOK)
	webtest.Contains(t, "nothing yet", page.Text("advice"), "Nothing to go by yet", "None is recorded")
}

func figureOf(text string) float64 {
	x, err := strconv.ParseFloat(text, 64)
	if err != nil {
		panic(err)
	}
	return x
}

func TestAdviceOnPoise(t *testing.T) {
	t.Parallel()
	r := webtest.NewRegulation(t, docket.StageRegulation)
	r.Take(heavyRun(timing.AfterService, 0.004))
	page := r.Bench.Get("/dockets/" + r.Number.String() + "/advice").Want(http.StatusOK)
	webtest.Contains(t, "cautions", page.Text("advice-cautions"), "let down", "Any magnetism", "Local rules")
	webtest.Contains(t, "poise", page.Text("advice-out-of-poise"), "6 o'clock")
	webtest.Contains(t, "regulation sheet", r.Bench.Get(r.Path).Want(http.StatusOK).Text("next-step"),
		"balance out of poise")
	r.As(r.Clerk).Get("/dockets/" + r.Number.String() + "/advice").Want(http.StatusOK)

	r.Take(webtest.FullRun(timing.Adjustment, heavyRates(1, 0.0002, webtest.Amplitudes)))
	page = r.Bench.Get("/dockets/" + r.Number.String() + "/advice").Want(http.StatusOK)
	webtest.Contains(t, "predicted", page.Text("predicted"), "expected", "measured")
}

// TestAdviceNamesWhatIsOpen: too few positions say so, and a reading far off is named and kept.
func TestAdviceNamesWhatIsOpen(t *testing.T) {
	t.Parallel()
	r := webtest.NewRegulation(t, docket.StageRegulation)
	few := webtest.FullRun(timing.AfterService, webtest.RatesFinal)
	for _, q := range timing.Quantities() {
		webtest.Column(few, q, 24, []string{"", "", "", "", "", ""})
		for _, p := range []timing.Position{timing.SixUp, timing.NineUp} {
			few.Set(timing.FieldName(q, p, 0), "")
		}
	}
	r.Take(few)
	path := "/dockets/" + r.Number.String() + "/advice"
	webtest.Contains(t, "open", r.Bench.Get(path).Want(http.StatusOK).Text("unknown"), "Poise", "three of the positions")

	off := heavyRun(timing.Adjustment, 0.0005)
	off.Set(timing.FieldName(timing.Rate, timing.NineUp, 0), "95")
	off.Set(view.SureName(timing.FieldName(timing.Rate, timing.NineUp, 0)), "95")
	r.Take(off)
	webtest.Contains(t, "outlier", r.Bench.Get(path).Want(http.StatusOK).Text("outliers"), "9H", "+95", "kept")
}

// TestBalanceOf: the screws of a calibre stand evenly about its balance, and what is not known stays so.
func TestBalanceOf(t *testing.T) {
	t.Parallel()
	k := benchSheet(0).Head.Calibre
	k.Balance.ScrewFirstDeg = 45
	b := runs.BalanceOf(k)
	if len(b.Screws) != 4 || b.Screws[3].FromJewelDeg != 315 || b.RimRadiusMm != 4.8 ||
		*b.ImpulseJewel != oscillator.Hour(5) {
		t.Errorf("balance %+v", b)
	}
	if bare := runs.BalanceOf(watch.Calibre{BeatsPerHour: 28800}); bare.ImpulseJewel != nil || bare.Screws != nil {
		t.Errorf("a bare calibre has %+v", bare)
	}
}

// benchSheet is a docket with so many runs of twelve readings of a watch with a heavy spot.
func benchSheet(runs int) store.RegulationSheet {
	var sheet store.RegulationSheet
	sheet.Head.Calibre = watch.Calibre{Name: "Gannet 40", BeatsPerHour: 21600, GradeKey: timing.GradeModern,
		Balance: watch.Balance{
			InertiaMgCm2: 12, DiameterMm: 9.6, ImpulseJewelHour: 5, StudRadiusMm: 2.1, ScrewCount: 4, ScrewRadiusMm: 4.4,
			ScrewMassMicrogram: 900, ScrewTravelMm: 0.1}}
	for i, l := range timing.ShippedGrades() {
		sheet.Limits = append(sheet.Limits, store.LimitsVersion{ID: int64(i + 1), Limits: l})
	}
	for n := range runs {
		run := timing.Run{Kind: timing.Adjustment, Adjustment: n + 1, CrownHour: timing.CrownAtThree}
		for _, state := range []struct {
			hours float64
			swing []string
		}{{0, webtest.Amplitudes}, {24, webtest.LaterSwing}} {
			rates := heavyRates(3, 0.008, state.swing)
			for i, p := range timing.Positions() {
				wobble := 0.7 * math.Sin(float64(7*n+i))
				run.Readings = append(run.Readings, timing.Reading{Position: p, HoursAfterWinding: state.hours,
					Instrument:   "Bench 2",
					RateSPerDay:  &timing.Figure{Value: figureOf(rates[i]) + wobble, Step: 0.1},
					AmplitudeDeg: &timing.Figure{Value: figureOf(state.swing[i]), Step: 1}, BeatErrorMs: &timing.Figure{Value: 0.3,
						Step: 0.1}})
			}
		}
		sheet.Runs = append(sheet.Runs, store.RunRecord{ID: int64(n + 1), Sheet: timing.Sheet{Run: run, Instrument: "Bench 2",
			ClockPPM: 0.5, States: []float64{0, 24}}})
	}
	return sheet
}

// BenchmarkAdvicePage fits, advises and draws every chart of a docket with 20 runs of 12 readings. One core must do it
// in less than 20 ms.
func BenchmarkAdvicePage(b *testing.B) {
	sheet := benchSheet(20)
	for b.Loop() {
		v := regulation.AdvisedOn(sheet, metrology.Guarded, 0).View("26-00001-X")
		drawings := v.Charts
		if v.Poise != nil {
			drawings = append(drawings, v.Poise.Dial)
		}
		if v.Check != nil {
			drawings = append(drawings, v.Check.Chart)
		}
		if len(drawings) < 4 || len(v.Items) == 0 {
			b.Fatalf("%d drawings, %d pieces of advice", len(drawings), len(v.Items))
		}
		for _, c := range drawings {
			if err := c.Drawing.Render(b.Context(), io.Discard); err != nil {
				b.Fatal(err)
			}
		}
	}
	ms := b.Elapsed().Seconds() * 1000 / float64(b.N)
	b.ReportMetric(ms, "ms/page")
	if ms > 20 && b.N > 10 {
		b.Errorf("%.1f ms a page, want less than 20", ms)
	}
}

// TestAdviceHearsTheDocket: what was found and done on the docket stands in the advice: a spring seen to be magnetised
// speaks for magnetism, and once it was demagnetised a new run comes before anything else.
func TestAdviceHearsTheDocket(t *testing.T) {
	t.Parallel()
	r := webtest.NewRegulation(t, docket.StageService)
	base := "/dockets/" + r.Number.String()
	// Dial up and down 40 s/d apart and no one heavy spot: magnetism, or a spring that touches.
	r.Take(webtest.FullRun(timing.AfterService, []string{"43", "3", "60", "25", "-5", "37"}))
	_, err := r.Store.AddFinding(t.Context(), store.Change{Number: r.Number, By: webtest.ActorOf(r.Watchmaker), At: r.Clock()},
		diagnosis.Finding{Component: diagnosis.Hairspring, Fault: "magnetised", Severity: diagnosis.Require})
	if err != nil {
		t.Fatal(err)
	}
	seen := r.Bench.Get(base + "/advice").Want(http.StatusOK).Text("advice-magnetised")
	webtest.Contains(t, "finding", seen, "Seen at diagnosis: magnetised hairspring.")
	r.Pass(time.Hour)
	r.Bench.Post(base+"/service", url.Values{"step": {"demagnetise"}}).Want(http.StatusSeeOther)
	done := r.Bench.Get(base + "/advice").Want(http.StatusOK).Text("advice-magnetised")
	webtest.Contains(t, "work", done, "The watch was demagnetised since these readings: a new run shows what that did.")
}
