package e2e

import (
	"strconv"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp/kb"

	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/timing"
	"ledgerwheel/e2e/browser"
)

// counter presses keys and counts them.
type counter struct {
	*person
	keys int
}

func (c *counter) presses(keys ...string) {
	c.t.Helper()
	for _, k := range keys {
		c.try(c.tab.Keys(k))
		c.keys += utf8.RuneCountInString(k)
	}
}

// tabs presses Tab until the keyboard is where the selector says.
func (c *counter) tabs(selector string) {
	c.t.Helper()
	for range tabsMost {
		if at, err := browser.Eval[bool](c.tab, `document.activeElement?.matches(`+quoted(selector)+`) ?? false`); err != nil {
			c.fatalf("%v", err)
		} else if at {
			return
		}
		c.presses(kb.Tab)
	}
	c.fatalf("Tab does not lead to %s", selector)
}

// goes presses Enter on a link or button and waits for the page that follows.
func (c *counter) goes(selector string) {
	c.t.Helper()
	c.tabs(selector)
	c.try(c.tab.ToNextPage(func() error { return c.tab.Keys(kb.Enter) }))
	c.keys++
}

// sixPositions are the figures of a run as they are typed, position by position.
var sixPositions = [6][3]string{{"+5", "288", "0.2"}, {"+4", "284", "0.1"}, {"+1", "262", "0.3"}, {"+2", "266", "0.2"},
	{"+6", "259", "0.2"}, {"+3", "264", "0.1"}}

// shows waits for the position that the bench view shows.
func (p *person) shows(stop string) {
	p.t.Helper()
	p.until(`document.querySelector('[data-stop="` + stop + `"]')?.hidden === false`)
}

// told waits for what the bench view says.
func (p *person) told(words string) {
	p.t.Helper()
	p.until(`document.querySelector("[data-say]").textContent.includes(` + quoted(words) + `)`)
}

// TestAtBenchByKeys takes a run in six positions with the keyboard alone, from an opened docket, in the grid and in the
// bench view, and counts the keys of both.
func TestAtBenchByKeys(t *testing.T) {
	t.Parallel()
	p := signedIn(t, otherSite(t), staff.Watchmaker)
	number := inRegulation(t, p, 2)
	p.try(p.tab.BeforeEachPage(`addEventListener("pointerdown", () => sessionStorage.setItem("touched", "yes"), true)`))

	grid := &counter{person: p}
	p.sheet(number, "")
	grid.goes(byTest("tab-regulation"))
	grid.goes(byTest("take-adjustment"))
	grid.tabs(p.field("rate-CH-0"))
	for i, position := range sixPositions {
		for j, figure := range position {
			if i+j > 0 {
				grid.presses(kb.Tab)
			}
			grid.presses(figure)
		}
	}
	grid.goes(byTest("save-run"))
	p.within("run").sees("+5", "264")

	bench := &counter{person: p}
	p.sheet(number, "")
	bench.goes(byTest("tab-regulation"))
	bench.goes(byTest("within-positions"))
	p.unfold(byTest("bench-scanner"))
	p.unfold(`[name="instrument"]`)
	p.lookOver("the bench view of " + number)
	fitsTablet(p)
	typesSix(bench)
	bench.presses(kb.Enter)
	p.until(`document.querySelector('[data-testid="run-kept"]') !== null`)
	if was, err := browser.Eval[string](p.tab, `sessionStorage.getItem("touched") ?? ""`); err != nil || was != "" {
		p.errorf("somebody touched the screen or a mouse (%v)", err)
	}
	t.Logf("from an opened docket to six kept positions: %d keys in the grid, %d in the bench view", grid.keys, bench.keys)
	// 48 digits and signs, an Enter after each of 18 figures, one to keep; the rest leads there from the docket.
	if bench.keys > 120 || bench.keys > grid.keys {
		p.errorf("%d keys in the bench view, want at most 120 and the grid's %d", bench.keys, grid.keys)
	}
	p.lookOver("the kept run of " + number)
	p.follow(byTest("see-run"))
	for i, position := range timing.Positions() {
		p.within("run").sees(sixPositions[i][0])
		p.within("amplitude-" + string(position) + "-0").sees(sixPositions[i][1])
	}
}

// typesSix types the six positions; Enter goes on. The keyboard is taken from the page first: digits find their figure.
func typesSix(c *counter) {
	c.t.Helper()
	c.js(`document.activeElement.blur()`)
	for i, position := range sixPositions {
		c.shows(string(timing.Positions()[i]) + "-0")
		for _, figure := range position {
			c.presses(figure, kb.Enter)
		}
	}
	c.shows("end-0")
	c.within("stop-end-0").sees("+5", "288", "0.2", "+6", "264")
}

// fitsTablet finds what is read and pressed in a window of 1024 x 768, and as large as it is meant to be. On a screen of
// 132 px to the inch a capital of 22 minutes of arc at 70 cm is 34 px type (ISO 9241-303 asks for 16 minutes, and 20 to
// 22 for comfort), and 20 mm, up to which errors of pressing fall (Colle and Hiszem 2004), are 104 px.
func fitsTablet(p *person) {
	p.t.Helper()
	p.try(p.tab.LookAt(1024, 768, "light"))
	small, err := browser.Eval[[]string](p.tab, `document.fonts.ready.then(() => [
		...[...document.querySelectorAll("[data-stop]:not([hidden]) [data-figure]")].filter((e) => parseFloat(getComputedStyle(e).fontSize) < 68),
		...[...document.querySelectorAll(".at-bench-words")].filter((e) => parseFloat(getComputedStyle(e).fontSize) < 44),
		...[...document.querySelectorAll("[data-say]")].filter((e) => parseFloat(getComputedStyle(e).fontSize) < 34),
		...[...document.querySelectorAll(".at-bench-acts button, .at-bench-places button")].filter((e) => e.getBoundingClientRect().height < 104),
		...[...document.querySelectorAll("[data-stop]:not([hidden]), .at-bench-acts")].filter((e) => e.getBoundingClientRect().bottom > 768),
		].map((e) => e.outerHTML.slice(0, 120)))`)
	p.try(err)
	if len(small) > 0 {
		p.errorf("too small, or outside the window of a tablet: %q", small)
	}
	p.try(p.tab.Look(320, "light"))
	wide, err := browser.Eval[int](p.tab, `document.documentElement.scrollWidth`)
	p.try(err)
	if wide > 320 {
		p.errorf("at 320 px the bench view is %d px wide", wide)
	}
	p.try(p.tab.LookAt(1024, 768, "light"))
}

// scanner types codes as fast as a hand-held one does, whatever the machine's own pace: the keys bear their times.
type scanner struct {
	*person
	at float64 // when it was last used, seconds since 1970
}

func (s *scanner) types(text string, gapS float64) {
	s.t.Helper()
	s.at = max(s.at+2.5, float64(time.Now().UnixMilli())/1000+0.2)
	s.typesOn(text, gapS)
}

// typesOn goes on where it was.
func (s *scanner) typesOn(text string, gapS float64) {
	s.t.Helper()
	for _, r := range text {
		s.at += gapS
		s.try(s.tab.Keys(string(r), func(k *input.DispatchKeyEventParams) { k.Timestamp = input.TimeSinceEpoch(s.at) }))
	}
}

func (s *scanner) scans(word string) {
	s.t.Helper()
	s.types("BENCH"+word+kb.Enter, 0.01)
}

// pedal is a keyboard of one key.
func (p *person) pedal(key string) {
	p.t.Helper()
	p.try(p.tab.Keys(key))
}

// TestAtBenchHandsBusy listens to a watch in six positions and keeps the run with a scanner and a pedal alone.
func TestAtBenchHandsBusy(t *testing.T) {
	t.Parallel()
	shop := otherSite(t)
	wav, truth := ticking(t)
	p := listener(t, shop, wav)
	p.try(p.tab.BeforeEachPage(`addEventListener("pointerdown", () => sessionStorage.setItem("touched", "yes"), true);
		localStorage.setItem("bench view, voice", "on"); window.spoken = [];
		speechSynthesis.speak = (said) => window.spoken.push(said.text);`))
	number := inRegulation(t, p, 3)
	p.open("/dockets/" + number + "/positions?run=new:adjustment&settle=0")
	// As if the docket's calibre were that of the watch that sounds, and its clock true.
	p.js(`for (const [name, value] of [["beats_per_hour", "28800"], ["lift_angle", "52"], ["recorder", "0"]]) document.querySelector("[name=" + name + "]").value = value; true`)
	s := &scanner{person: p}

	s.scans("TEST")
	p.told("The scanner works")
	s.scans("LISTEN")
	hears := func(stop string) {
		p.shows(stop)
		p.until(`/^[+−]\d/.test(document.querySelector('[data-testid="rate-` + stop + `"]').value)`)
		p.until(`Number(document.querySelector("[data-ear]").textContent.match(/heard for (\d+)/)?.[1]) >= 4`)
		if got := p.text(byTest("bench-trouble")); got != "" {
			p.errorf("trouble: %s", got)
		}
	}
	hears("CH-0")
	p.pedal(kb.PageDown)
	hears("FH-0")
	s.scans("NEXT")
	hears("3H-0")
	p.pedal(kb.PageDown)
	p.shows("6H-0")
	p.pedal(kb.PageUp)
	p.shows("3H-0")
	s.scans("6H")
	hears("6H-0")
	s.scans("9H")
	hears("9H-0")
	p.pedal(kb.PageDown)
	hears("12H-0")
	s.scans("DAY")
	p.shows("CH-24")
	s.scans("UNDO")
	p.shows("12H-0")
	p.pedal(kb.PageDown)
	p.shows("end-0")
	p.told("Six positions done")
	s.scans("KEEP")
	p.until(`document.querySelector('[data-testid="run-kept"]') !== null`)

	if was, err := browser.Eval[string](p.tab, `sessionStorage.getItem("touched") ?? ""`); err != nil || was != "" {
		p.errorf("somebody touched the screen (%v)", err)
	}
	spoken, err := browser.Eval[[]string](p.tab, `new Promise((done) => setTimeout(() => done(window.spoken), 500))`)
	p.try(err)
	for _, words := range spoken {
		if n := len(strings.Fields(words)); n > 6 {
			p.errorf("%d words are spoken at once: %q", n, words)
		}
	}
	if all := strings.Join(spoken, "; "); !strings.Contains(all, "FH, dial down") || !strings.Contains(all, "Run kept") {
		p.errorf("spoken: %s", all)
	}
	p.follow(byTest("see-run"))
	// Heard for four seconds, not twelve: less is known. By a clock never calibrated a grid shows whole seconds.
	const shownTo = 0.5
	p.agrees(byTest("rate-9H-0"), truth.RateSPerDay, 3*sounding.rateTol+shownTo)
	p.agrees(byTest("amplitude-12H-0"), truth.AmplitudeDeg, 2*sounding.amplitudeTol)
	if n := p.count(`[data-testid^="heard-"]`); n != 6 {
		p.errorf("%d readings lead to how they were heard, want 6", n)
	}
	if faults := p.tab.Faults(); len(faults) > 0 {
		t.Errorf("the browser complains: %q", faults)
	}
}

// TestAtBenchLosesNothing types a run, loses page, line and session on the way, and scans into fields.
func TestAtBenchLosesNothing(t *testing.T) {
	t.Parallel()
	p := signedIn(t, otherSite(t), staff.Watchmaker)
	number := inRegulation(t, p, 4)
	path := "/dockets/" + number + "/positions?run=new:adjustment"
	p.open(path)
	s := &scanner{person: p}
	key := func(keys ...string) {
		for _, k := range keys {
			p.try(p.tab.Keys(k))
		}
	}
	key("+7", kb.Enter, "250", kb.Enter)
	p.open(path) // as if it was closed and opened
	p.shows("CH-0")
	if p.value("rate-CH-0") != "+7" || p.value("amplitude-CH-0") != "250" {
		p.errorf("after a reload %s and %s stand there", p.value("rate-CH-0"), p.value("amplitude-CH-0"))
	}
	p.told("Typed before")

	// A scan that falls into a field leaves nothing there, and what is typed slowly is no scan.
	p.js(`document.querySelector('[name="beat_error-CH-0"]').focus()`)
	key("0.3")
	s.scans("3H")
	p.shows("3H-0")
	s.types("26-00001-O"+kb.Enter, 0.01)
	p.told("No code of this sheet")
	s.types("BQCK"+kb.Enter, 0.01)
	s.types("BENCHBQCK"+kb.Enter, 0.01)
	p.told("wrong keyboard layout")
	p.unfold(`[name="label"]`)
	p.js(`document.querySelector('[name="label"]').focus()`)
	s.types("BENCHNEXT", 0.2)
	for name, want := range map[string]string{"beat_error-CH-0": "0.3", "rate-3H-0": "", "label": "BENCHNEXT"} {
		if got := p.value(name); got != want {
			p.errorf("%s holds %q, want %q", name, got, want)
		}
	}
	p.shows("3H-0")
	s.scans("UNDO") // what was typed into the note
	if got := p.value("label"); got != "" {
		p.errorf("after undo the note holds %q", got)
	}
	s.scans("CH")
	p.shows("CH-0")

	// The line is down, then the session ends; each time the run stays, and is kept once at last.
	p.js(`window.sent = 0; window.real = window.fetch; window.fetch = () => Promise.reject(new TypeError("no line")); true`)
	s.scans("KEEP")
	p.until(`document.querySelector('[data-testid="bench-trouble"]').innerText.includes("reached")`)
	p.js(`window.fetch = (...a) => { window.sent++; return window.real(...a); }; true`)
	signsOutElsewhere(p)
	s.scans("KEEP")
	p.until(`document.querySelector('[data-testid="bench-trouble"]').innerText.includes("signed out")`)
	who, err := signInOf(staff.Watchmaker)
	p.try(err)
	p.signIn(who.Email, who.Password)
	p.open(path)
	if p.value("rate-CH-0") != "+7" {
		p.errorf("after signing in again the rate is %q", p.value("rate-CH-0"))
	}
	before := p.runsOnRecord(number)
	p.js(`const keep = document.querySelector("[data-keep]"); keep.click(); keep.click(); true`)
	p.until(`document.querySelector('[data-testid="run-kept"]') !== null`)
	if got := p.runsOnRecord(number); got != before+1 {
		p.errorf("%d runs before and %d after it was kept by two presses", before, got)
	}
	p.open(path)
	if got := p.value("rate-CH-0"); got != "" {
		p.errorf("a run that was kept is offered again: %s", got)
	}

	// What looks like a slip is asked about beside the figure, and answered by a key.
	for i, position := range sixPositions {
		if i == 4 {
			position[0] = "+600"
		}
		for _, figure := range position {
			key(figure, kb.Enter)
		}
	}
	p.shows("end-0")
	key(kb.Enter)
	p.shows("9H-0")
	p.told("Is it so")
	key(" ")
	s.scans("KEEP")
	p.until(`document.querySelector('[data-testid="run-kept"]') !== null`)
}

// signsOutElsewhere ends the window's session behind its back.
func signsOutElsewhere(p *person) {
	p.t.Helper()
	res, err := p.client().Post(p.address+"/sign-out", "application/x-www-form-urlencoded", nil)
	p.try(err)
	res.Body.Close()
}

// runsOnRecord counts the runs of a docket.
func (p *person) runsOnRecord(number string) int {
	p.t.Helper()
	_, body := p.get("/dockets/" + number + "/regulation")
	n := 0
	for id := range 2000 {
		if strings.Contains(string(body), `data-testid="run-`+strconv.Itoa(id)+`"`) {
			n++
		}
	}
	return n
}
