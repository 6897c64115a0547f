package poising_test

import (
	"math"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/oscillator"
	"ledgerwheel/domain/poising"
	"ledgerwheel/domain/timing"
	"ledgerwheel/web/webtest"
)

// round is a round at 165° typed in whole seconds a day: the heavy spot's share, fastest with the point fastestUp up.
func round(share, fastestUp float64, eight bool) url.Values {
	f := url.Values{}
	for _, up := range oscillator.PoisingUps(eight) {
		rate := timing.Figure{Value: math.Round(5 + share*math.Cos((up-fastestUp)*math.Pi/180)), Step: 1}
		f.Set(poising.Field(timing.Rate, up), rate.InputText(timing.Rate))
		f.Set(poising.Field(timing.Amplitude, up), "165")
	}
	return f
}

type atPoising struct {
	*webtest.Regulation
	path string
}

func newPoising(t *testing.T) atPoising {
	r := webtest.NewRegulation(t, docket.StageRegulation)
	return atPoising{r, "/dockets/" + r.Number.String() + "/poising"}
}

func (p atPoising) reads(t *testing.T, f url.Values) {
	t.Helper()
	f.Set("last_round", p.Bench.Get(p.path).Want(http.StatusOK).Hidden("last_round"))
	if f.Get("last_round") == "" {
		f.Set("last_round", "0")
	}
	p.Bench.Post(p.path, f).Want(http.StatusSeeOther)
}

// TestPoisingFromFirstToStop: each round is kept with its journal entry, says what to do, and the way is drawn.
func TestPoisingFromFirstToStop(t *testing.T) {
	t.Parallel()
	p := newPoising(t)
	first := p.Bench.Get(p.path).Want(http.StatusOK)
	webtest.Contains(t, "first step", first.Text("poising-next"), "Let the mainspring down", "160° to 180°")
	webtest.Contains(t, "static", first.Text("static"), "knife edges", "eyes")

	p.reads(t, round(36, 270, true))
	one := p.Bench.Get(p.path).Want(http.StatusOK)
	webtest.Contains(t, "first round", one.Text("poising-next"), "lighten", "towards 3 o'clock")
	if len(one.All("last-cut")) > 0 {
		t.Error("the first cut is said to be the last")
	}
	second := round(9, 270, false)
	second.Set("done", "about 30 µg off towards 3")
	p.reads(t, second)
	two := p.Bench.Get(p.path).Want(http.StatusOK)
	webtest.Contains(t, "second round", two.Text("last-cut"), "Before the last cut", "does not come back")

	p.reads(t, round(3, 270, true))
	three := p.Bench.Get(p.path).Want(http.StatusOK)
	webtest.Contains(t, "third round", three.Text("poising-next"), "stop", "Stop.")
	webtest.Contains(t, "way", webtest.TextOf(three.One("chart-poising-way")), "Round 1: 71", "Round 3")
	webtest.Contains(t, "rounds", three.Text("rounds"), "about 30 µg off towards 3", "lighten a last time", "Emrys Vale")
	journal := p.Bench.Get("/dockets/" + p.Number.String() + "/journal").Want(http.StatusOK).Text("journal")
	webtest.Contains(t, "journal", journal, "Poising round 1 read: lighten.", "Poising round 3 read: stop.", "12 up",
		"about 30 µg off towards 3")
}

// TestPoisingRefusesAndKeeps: a round that cannot be read is refused beside its field, with what was typed; and one sent on
// an old page is not taken unasked.
func TestPoisingRefusesAndKeeps(t *testing.T) {
	t.Parallel()
	p := newPoising(t)
	wrong := round(36, 270, true)
	wrong.Set("rate-45", "fast")
	wrong.Set("last_round", "0")
	page := p.Bench.Post(p.path, wrong).Want(http.StatusUnprocessableEntity)
	webtest.Contains(t, "beside the field", page.Problem("rate-45"), "fast")
	if got := page.Value("rate-45"); got != "fast" {
		t.Errorf("the field holds %q", got)
	}
	if n := strings.Count(page.Text("poising"), "Let the mainspring down"); n != 1 {
		t.Error("a refused round was kept")
	}
	p.reads(t, round(36, 270, true))
	stale := round(20, 270, true)
	stale.Set("last_round", "0")
	late := p.Bench.Post(p.path, stale).Want(http.StatusConflict)
	webtest.Contains(t, "who was first", late.Text("poising"), "Someone else saved first")
	stale.Set("last_round", late.Hidden("last_round"))
	p.Bench.Post(p.path, stale).Want(http.StatusSeeOther)

	clerk := p.As(p.Clerk)
	if len(clerk.Get(p.path).Want(http.StatusOK).All("round-form")) > 0 {
		t.Error("the clerk is asked for a round")
	}
	clerk.Post(p.path, round(36, 270, true)).Want(http.StatusForbidden)
	p.To(docket.StageReady)
	webtest.Contains(t, "stage", p.Bench.Get(p.path).Want(http.StatusOK).Text("no-round"), "the docket stands in")
	webtest.Contains(t, "refused", p.Bench.Post(p.path, round(36, 270, true)).Want(http.StatusUnprocessableEntity).Text("form-errors"),
		"the docket stands in")
}

// TestRoundIsCorrectedAndStruck: with a reason, and both stay in the record.
func TestRoundIsCorrectedAndStruck(t *testing.T) {
	t.Parallel()
	p := newPoising(t)
	p.reads(t, round(36, 270, true))
	at := func() string {
		page := p.Bench.Get(p.path).Want(http.StatusOK)
		for _, a := range links(page.One("round-1")) {
			if strings.HasPrefix(a, p.path+"/") {
				return a
			}
		}
		t.Fatal("the round has no page")
		return ""
	}
	old := at()
	form := p.Bench.Get(old).Want(http.StatusOK)
	if got := form.Value("rate-270"); got != "+41" {
		t.Errorf("the form shows %q", got)
	}
	right := round(36, 90, true)
	webtest.Contains(t, "why", p.Bench.Post(old, right).Want(http.StatusUnprocessableEntity).Problem("why"), "say why")
	right.Set("why", "read from the other side")
	p.Bench.Post(old, right).Want(http.StatusSeeOther)
	page := p.Bench.Get(p.path).Want(http.StatusOK)
	webtest.Contains(t, "now", page.Text("poising-next"), "towards 9 o'clock")
	webtest.Contains(t, "struck", page.Text("struck"), "Round 1", "read from the other side")
	p.Bench.Get(old).Want(http.StatusNotFound)
	p.Bench.Post(old, right).Want(http.StatusSeeOther) // led back, nothing changed

	strike := url.Values{"do": {"strike"}, "why": {"another watch"}}
	p.Bench.Post(at(), strike).Want(http.StatusSeeOther)
	page = p.Bench.Get(p.path).Want(http.StatusOK)
	webtest.Contains(t, "after", page.Text("poising-next"), "Let the mainspring down")
	webtest.Contains(t, "journal", p.Bench.Get("/dockets/"+p.Number.String()+"/journal").Want(http.StatusOK).Text("journal"),
		"Poising round 1 corrected", "Poising round 1 struck out", "another watch")
	p.reads(t, round(9, 270, true))
	webtest.Contains(t, "numbers go on", p.Bench.Get(p.path).Text("rounds"), "Round 2")
}

// TestRoundIsCopied from a run that was read, or heard, let down.
func TestRoundIsCopied(t *testing.T) {
	t.Parallel()
	p := newPoising(t)
	f := webtest.FullRun(timing.AfterService, webtest.RatesReceived)
	webtest.Column(f, timing.Amplitude, 24, []string{"180", "181", "165", "166", "164", "165"})
	run := p.Take(f)
	key := webtest.Itoa(run) + "-24"
	page := p.Bench.Get(p.path).Want(http.StatusOK)
	if len(page.All("copy-"+key)) != 1 || len(page.All("copy-"+webtest.Itoa(run)+"-0")) != 0 {
		t.Fatal("the state of wind to poise at is not the one offered")
	}
	page = p.Bench.Get(p.path + "?copy=" + key).Want(http.StatusOK)
	if got := page.Value("amplitude-90"); got != "165" {
		t.Errorf("3H reads %q", got)
	}
	p.Bench.Get(p.path + "?copy=1").Want(http.StatusBadRequest)
}

func TestRoundTripsOfPoising(t *testing.T) {
	t.Parallel()
	p := newPoising(t)
	p.reads(t, round(36, 270, true))
	if n := p.Trips(p.Bench, p.path); n > 4 {
		t.Errorf("%d round trips, want at most 4", n)
	}
}

// links are the addresses that lie within a part of a page.
func links(n *html.Node) []string {
	var out []string
	if n.Data == "a" {
		out = append(out, webtest.Attr(n, "href"))
	}
	for c := n.FirstChild; c != nil; c = c.NextSibling {
		out = append(out, links(c)...)
	}
	return out
}
