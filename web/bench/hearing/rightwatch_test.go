package hearing_test

import (
	"encoding/json"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/timing"
	"ledgerwheel/web/webtest"
)

// A 28 800 sound on a docket whose calibre beats 21 600 is not kept before somebody says that it is the right watch; who
// did stands in the journal and beside the reading. It is heard although 21 600 was stated.
func TestAnotherWatchIsAskedAbout(t *testing.T) {
	t.Parallel()
	g := webtest.NewRegulation(t, docket.StageRegulation)
	other := aWatch()
	other.BeatsPerHour = 28800
	hears(g.Site, &ears{result: other})
	base := "/dockets/" + g.Number.String()
	at := sendSound(g.Bench, base+"/listen/upload", "a.wav", wav(t), askedFields...).Want(http.StatusSeeOther).Location()
	shown := g.Bench.Get(at).Want(http.StatusOK)
	if got := shown.Text("clash"); !strings.Contains(got, "28800") || !strings.Contains(got, "21600") {
		t.Errorf("asked: %q", got)
	}
	if got := shown.Text("heard-verdict"); !strings.Contains(got, "is this the right watch?") {
		t.Errorf("a verdict is given: %q", got)
	}
	keep := url.Values{"run": {"new:final"}, "position": {"6H"}, "hours": {"24"}}
	refused := g.Bench.Post(at+"/keep", keep).Want(http.StatusUnprocessableEntity)
	if got := refused.Problem("right_watch"); !strings.Contains(got, "Is this the right watch?") || len(g.Sheet().Runs) != 0 {
		t.Errorf("kept without an answer: %q, %d runs", got, len(g.Sheet().Runs))
	}
	keep.Set("right_watch", "yes")
	to := g.Bench.Post(at+"/keep", keep).Want(http.StatusSeeOther).Location()
	grid := g.Bench.Get(to).Want(http.StatusOK)
	facts := g.Bench.Get(webtest.Attr(grid.One("heard-rate-6H-24"), "href")).Want(http.StatusOK)
	if got := facts.Text("heard-notes"); !strings.Contains(got, "Is this the right watch?") ||
		!strings.Contains(got, g.Watchmaker.Name+" said yes") {
		t.Errorf("beside the reading stands %q", got)
	}
	if got := webtest.TextOf(g.Bench.Get(base + "/journal").Want(http.StatusOK).Document); !strings.Contains(got,
		g.Watchmaker.Name+" said yes") {
		t.Error("the journal has no answer")
	}
}

// A sound that may be none of a watch is asked about even where its beats are the calibre's.
func TestLoopIsAskedAbout(t *testing.T) {
	t.Parallel()
	g := webtest.NewRegulation(t, docket.StageRegulation)
	loop := aWatch()
	loop.Notes = append(loop.Notes, acoustic.Note{Code: acoustic.NoteLoop, Text: "Every beat is like the last."})
	hears(g.Site, &ears{result: loop})
	at := sendSound(g.Bench, "/dockets/"+g.Number.String()+"/listen/upload", "a.wav", wav(t), askedFields...).
		Want(http.StatusSeeOther).Location()
	if got := g.Bench.Get(at).Want(http.StatusOK).Text("clash"); !strings.Contains(got, "Every beat is like the last.") {
		t.Errorf("asked: %q", got)
	}
	keep := url.Values{"run": {"new:final"}, "position": {"6H"}, "hours": {"24"}}
	g.Bench.Post(at+"/keep", keep).Want(http.StatusUnprocessableEntity).Problem("right_watch")
	if runs := g.Sheet().Runs; len(runs) != 0 {
		t.Errorf("kept without an answer: %d runs", len(runs))
	}
	keep.Set("right_watch", "yes")
	g.Bench.Post(at+"/keep", keep).Want(http.StatusSeeOther)
}

// Live, a watch of another beat than the stated one is not heard at all near it; the page says what is heard by itself. Found
// by ear it can be kept, once somebody said that it is the right watch.
func TestAnotherWatchIsAskedAboutLive(t *testing.T) {
	t.Parallel()
	g := webtest.NewRegulation(t, docket.StageRegulation)
	path := "/dockets/" + g.Number.String() + "/listen"
	sound, _ := leverSound(1) // beats 28 800
	m := listens(g.Bench, t, path+"/socket")
	m.start(map[string]string{"run": "new:final", "beats_per_hour": "21600"})
	m.hears(sound)
	report := m.until("report", func(r map[string]any) bool { return r["acked"].(float64) == float64(m.next) && r["verdict"] != "" })
	if got := report["verdict"].(string); report["watch"] != false || !strings.Contains(got, "28800") || !strings.Contains(got,
		"Is this the right watch?") {
		t.Errorf("near 21600: watch %v, %q", report["watch"], got)
	}

	m.start(map[string]string{"run": "new:final"})
	m.hears(sound)
	report = m.until("report", func(r map[string]any) bool { return r["acked"].(float64) == float64(m.next) && r["watch"] == true })
	if got := report["verdict"].(string); report["mark"] != "undecided" || !strings.Contains(got, "Is this the right watch?") {
		t.Errorf("found by ear: %v, %q", report["mark"], got)
	}
	if got := report["quality"].(string); !strings.Contains(got, "an assumed lift angle of 52°") {
		t.Errorf("the lift angle is not called assumed: %q", got)
	}
	keep := url.Values{"session": {m.session}, "take": {webtest.Itoa(int64(report["take"].(float64)))}, "run": {"new:final"},
		"version": {g.Bench.Get(path).Want(http.StatusOK).Hidden("version")}}
	var refused struct{ Problem, Ask string }
	answer := postJSON(g.Bench, path+"/keep", keep).Want(http.StatusOK)
	if err := json.Unmarshal([]byte(answer.Body), &refused); err != nil || refused.Ask != "right_watch" ||
		!strings.Contains(refused.Problem, "Is this the right watch?") || len(g.Sheet().Runs) != 0 {
		t.Fatalf("answered %s, %d runs", answer.Body, len(g.Sheet().Runs))
	}
	g.Bench.Post(path+"/keep", keep).Want(http.StatusUnprocessableEntity).Problem("right_watch")
	keep.Set("right_watch", "yes")
	postJSON(g.Bench, path+"/keep", keep).Want(http.StatusOK)
	if runs := g.Sheet().Runs; len(runs) != 1 || len(runs[0].Sheet.Run.Readings) != 1 || runs[0].Sheet.Run.Kind != timing.Final {
		t.Errorf("runs %+v", runs)
	}
}
