package hearing_test

import (
	"bytes"
	"math"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/acoustic/simulate"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/recording"
	"ledgerwheel/domain/timing"
	"ledgerwheel/web/bench/regulation"
	"ledgerwheel/web/webtest"
)

// aRunDown is what a listener hears of a watch that runs down in 40 hours and stops: 290° falling by 2° an hour, the
// rate by 0.05 s/d with each degree.
func aRunDown() acoustic.Result {
	r := aWatch()
	r.Seconds, r.EndS = 41*3600, 40*3600
	r.Notes = []acoustic.Note{{Code: acoustic.NoteStops, Text: "The watch stopped 40 h after the start."}}
	for at := 0.0; at < r.EndS; at += 1200 {
		amplitude := metrology.Value{Value: 290 - 2*(at+600)/3600, StdUncertainty: 0.5, Unit: timing.UnitDegree}
		r.Stretches = append(r.Stretches, acoustic.Stretch{StartS: at, EndS: at + 1200, Beats: 7200, Amplitude: &amplitude,
			Rate:      metrology.Value{Value: 5 + 0.05*(amplitude.Value-290), StdUncertainty: 0.1, Unit: timing.UnitSPerDay},
			BeatError: r.BeatError})
	}
	return r
}

// heardRunDown sends a recording in from the docket's page and returns where it is looked at.
func heardRunDown(g *webtest.Regulation, sound []byte, fields ...string) string {
	g.T.Helper()
	return sendSound(g.Bench, "/dockets/"+g.Number.String()+"/listen/upload", "night.wav", sound,
		fields...).Want(http.StatusSeeOther).Location()
}

var askedAtRest = []string{"recorder", "0", "beats_per_hour", "", "lift_angle", "52", "position", "CH", "hours", "1.5"}

// A run-down stands beside the run that it belongs to: the grid keeps its columns, what the run shows stays, and its own
// table says what it tells of the power.
func TestRunDownIsPartOfARun(t *testing.T) {
	t.Parallel()
	g := webtest.NewRegulation(t, docket.StageRegulation)
	of := g.Take(webtest.FullRun(timing.AfterService, webtest.RatesReceived))
	said := regulation.AdvisedOn(g.Sheet(), metrology.Guarded, 0)
	hears(g.Site, &ears{result: aRunDown()})
	at := heardRunDown(g, wav(t), askedAtRest...)
	page := g.Bench.Get(at).Want(http.StatusOK)
	if got := page.Text("heard-reserve"); !strings.Contains(got, "41.5") || !strings.Contains(got, "wound 1.5 h before") {
		t.Errorf("power reserve reads %q", got)
	}
	if page.Value("down_hours") != "1.5" || chosen(page, "down_position") != "CH" {
		t.Errorf("the form begins with %q h, %q", page.Value("down_hours"), chosen(page, "down_position"))
	}
	if got := page.Text("run-down-table"); !strings.Contains(got, "after 31.5 h +2.000") ||
		!strings.Contains(got, "283.33 ± 0.22") {
		t.Errorf("the readings offered are %q", got)
	}
	fields := url.Values{"down_position": {"6H"}, "down_hours": {"0"}, "down_sound": {"yes"}}
	to := g.Bench.Post(at+"/run-down", fields).Want(http.StatusSeeOther).Location()
	beside := g.Bench.Get(to).Want(http.StatusOK)
	sheet := g.Sheet()
	if len(sheet.Runs) != 1 || sheet.Runs[0].ID != of || len(sheet.RunDownsOf(of)) != 1 ||
		timing.StatesText(sheet.Runs[0].Sheet.States) != "0, 24" {
		t.Fatalf("%d runs, %d run-downs", len(sheet.Runs), len(sheet.RunDowns))
	}
	now := regulation.AdvisedOn(sheet, metrology.Guarded, 0)
	if len(said.Report.Advice) == 0 || len(now.Report.Advice) < len(said.Report.Advice) {
		t.Errorf("advice before the run-down: %d, with it: %d", len(said.Report.Advice), len(now.Report.Advice))
	}
	run := sheet.RunDowns[0]
	if got := beside.Text("run-down"); !strings.Contains(got, "Run-down in 6H") || !strings.Contains(got, "41.5") &&
		!strings.Contains(got, "40.0 h after winding") || !strings.Contains(got, "The rate went by") {
		t.Errorf("beside the run stands %q", got)
	}
	if states := timing.StatesText(run.Sheet.States); states != "3.5, 10, 16.5, 23.5, 30, 36.5" ||
		len(run.Sheet.Run.Readings) != 6 {
		t.Fatalf("read at %s", states)
	}
	for _, r := range run.Sheet.Run.Readings {
		// The state is rounded to half an hour, in which the watch loses 0.05 s/d; the figure to the second digit of U.
		if want := 5 - 0.1*r.HoursAfterWinding; math.Abs(r.RateSPerDay.Value-want) > 0.03 || r.Position != timing.SixUp {
			t.Errorf("%s after %v h: %v, want %v s/d", r.Position, r.HoursAfterWinding, *r.RateSPerDay, want)
		}
	}
	facts := g.Bench.Get("/dockets/" + g.Number.String() + "/heard/" + webtest.Itoa(run.Heard["6H-10"])).Want(http.StatusOK)
	if text := webtest.TextOf(facts.Document); !strings.Contains(text, "Piece of the run-down") ||
		strings.Contains(text, "Beat error") {
		t.Errorf("facts page says %.900s", text)
	}
	g.Bench.Get(webtest.Attr(facts.One("sound-download"), "href")).Want(http.StatusOK)
	journal := webtest.TextOf(g.Bench.Get("/dockets/" + g.Number.String() + "/journal").Want(http.StatusOK).Document)
	if n := strings.Count(journal, "Run-down heard by"); n != 1 ||
		!strings.Contains(journal, "6 readings in 6H, from 3.5 h to 36.5 h after winding. It stopped after 40.0 h.") {
		t.Errorf("%d entries of the run-down in %.1500s", n, journal)
	}
	if again := g.Bench.Get(at).Want(http.StatusOK); again.Text("kept") == "" {
		t.Error("the recording does not say that it was kept")
	}
}

func TestRunDownRefusalsKeepWhatWasTyped(t *testing.T) {
	t.Parallel()
	g := webtest.NewRegulation(t, docket.StageRegulation)
	e := &ears{result: aRunDown()}
	hears(g.Site, e)
	at := heardRunDown(g, wav(t), askedAtRest...)
	for name, tc := range map[string]struct {
		change [2]string
		says   string
	}{
		"hours in words":     {[2]string{"down_hours", "noon"}, "not a figure"},
		"hours before time":  {[2]string{"down_hours", "-3"}, "Give hours from 0 to 1000"},
		"hours out of range": {[2]string{"down_hours", "990"}, "0 to 1000"},
		"no hours":           {[2]string{"down_hours", ""}, "Give the hours"},
		"no position":        {[2]string{"down_position", ""}, "Say in which position"},
	} {
		fields := url.Values{"down_position": {"CH"}, "down_hours": {"1.25"}}
		fields.Set(tc.change[0], tc.change[1])
		a := g.Bench.Post(at+"/run-down", fields).Want(http.StatusUnprocessableEntity)
		if got := a.Problem(tc.change[0]); !strings.Contains(got, tc.says) {
			t.Errorf("%s: beside %s stands %q", name, tc.change[0], got)
		}
		if a.Value("down_hours") != fields.Get("down_hours") || chosen(a, "down_position") != fields.Get("down_position") {
			t.Errorf("%s: what was typed is lost", name)
		}
	}
	if sheet := g.Sheet(); len(sheet.Runs)+len(sheet.RunDowns) != 0 {
		t.Fatalf("%d runs after refusals only", len(sheet.RunDowns))
	}
	g.As(g.Clerk).Post(at+"/run-down", nil).Want(http.StatusForbidden)
	good := url.Values{"down_position": {"CH"}, "down_hours": {"0"}}
	g.Bench.Post(at+"/run-down", good).Want(http.StatusSeeOther)
	// A recording without amplitudes, and a short one.
	for i := range e.result.Stretches {
		e.result.Stretches[i].Amplitude = nil
	}
	faint := heardRunDown(g, wav(t), askedAtRest...)
	if got := g.Bench.Get(faint).Want(http.StatusOK).Text("run-down-none"); !strings.Contains(got, "too few parts") {
		t.Errorf("without amplitudes: %q", got)
	}
	if got := g.Bench.Post(faint+"/run-down",
		good).Want(http.StatusUnprocessableEntity).Problem("down_position"); !strings.Contains(got, "too few parts") {
		t.Errorf("without amplitudes: %q", got)
	}
	e.result = aWatch()
	short := heardRunDown(g, wav(t), askedAtRest...)
	if page := g.Bench.Get(short).Want(http.StatusOK); len(page.All("run-down-keep"))+len(page.All("heard-reserve")) != 0 {
		t.Error("a run-down is offered of half a minute")
	}
	g.To(docket.StageHandedOver)
	if got := g.Bench.Post(at+"/run-down", good).Want(http.StatusUnprocessableEntity).Text("form-errors"); !strings.Contains(got, "left the shop") {
		t.Errorf("a closed docket: %q", got)
	}
}

// The isochronism put into a watch's sound comes out of the advice on the readings kept of its run-down: a watch that
// gains 12 s/d with 100° more amplitude, run down in ten minutes so that the test is short, dial up, where poise does
// not show.
func TestRunDownTellsIsochronism(t *testing.T) {
	t.Parallel()
	g := webtest.NewRegulation(t, docket.StageRegulation)
	w := simulate.Lever()
	w.BeatsPerHour, w.AmplitudeDeg, w.IsochronismSPerDayPerDeg = 21600, 290, 0.12
	w.RunDown = &simulate.RunDown{ReserveS: 620, SagDeg: 80}
	room := simulate.QuietRoom()
	room.SNRdB = 40
	const rateHz = 24000
	samples, _ := simulate.Sound(w, room, rateHz, 660, 7)
	var sound bytes.Buffer
	if err := recording.WriteWAV(&sound, rateHz, samples); err != nil {
		t.Fatal(err)
	}
	one := url.Values{"kind": {"after service"}, "instrument": {"Bench 2"}, "clock_ppm": {"0.5"}, "states": {"0"}, "columns": {"0"},
		"rate-CH-0": {"+5"}, "amplitude-CH-0": {"289"}, "grade": {timing.GradeModern}}
	g.Take(one)
	at := heardRunDown(g, sound.Bytes(), askedAtRest...)
	waitHeard(t, g, at)
	fields := url.Values{"down_position": {"CH"}, "down_hours": {"0"}}
	to := g.Bench.Post(at+"/run-down", fields).Want(http.StatusSeeOther).Location()
	if got := g.Bench.Get(to).Want(http.StatusOK).Text("run-down-verdict"); !strings.Contains(got, "fell by") {
		t.Errorf("the run-down's verdict reads %q", got)
	}
	g.Bench.Get("/dockets/" + g.Number.String() + "/advice").Want(http.StatusOK)
	a := regulation.AdvisedOn(g.Sheet(), metrology.Guarded, 0)
	if a.Why != "" {
		t.Fatal(a.Why)
	}
	fit := a.Report.Fit.Runs[0]
	// Known to a third of itself, and the truth within twice the uncertainty.
	if u := fit.Slope.StdUncertainty; !fit.SlopeKnown || fit.Readings < 5 || u > 4 || math.Abs(fit.Slope.Value-12) > 2*u {
		t.Errorf("%v from %d readings (known: %v), want 12 s/d per 100°", fit.Slope, fit.Readings, fit.SlopeKnown)
	}
}

// chosen is the value of the option that stands chosen in a field.
func chosen(a *webtest.Answer, testID string) string {
	a.T.Helper()
	for n := range a.One(testID).Descendants() {
		for _, at := range n.Attr {
			if at.Key == "selected" {
				return webtest.Attr(n, "value")
			}
		}
	}
	return ""
}

// waitHeard waits until a recording's page has figures.
func waitHeard(t *testing.T, g *webtest.Regulation, at string) {
	t.Helper()
	if done := g.Srv.Hearing.Done(1); done != nil {
		<-done
	}
	if page := g.Bench.Get(at).Want(http.StatusOK); len(page.All("heard-reserve")) == 0 {
		t.Fatalf("after listening: %.600s", webtest.TextOf(page.Document))
	}
}
