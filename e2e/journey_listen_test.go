package e2e

import (
	"context"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"ledgerwheel/domain/acoustic/simulate"
	"ledgerwheel/domain/recording"
	"ledgerwheel/domain/staff"
	"ledgerwheel/e2e/browser"
)

// sounding is the watch that is listened to, and how closely its kept figures must agree with the truth: the rate to
// 0.2 s/d, the amplitude to 3°, the beat error to 0.1 ms, which are some four times what ten seconds at 30 dB leave
// open.
var sounding = struct {
	rate, amplitude, beatError          float64
	rateTol, amplitudeTol, beatErrorTol float64
}{6.3, 268, 0.45, 0.2, 3, 0.1}

// ticking writes three minutes of a watch in a quiet room and returns the file and the truth.
func ticking(t *testing.T) (string, simulate.Truth) {
	t.Helper()
	const rateHz, seconds = 44100, 180 // longer than any journey: the microphone begins again at its end; a whole number of the 10 ms that the microphone works in
	w := simulate.Lever()
	w.RateSPerDay, w.AmplitudeDeg, w.BeatErrorMs = sounding.rate, sounding.amplitude, sounding.beatError
	sound, truth := simulate.Sound(w, simulate.Room{SNRdB: 30, PeakDBFS: -10, StartS: 1}, rateHz, seconds, 11)
	path, err := filepath.Abs(filepath.Join(t.TempDir(), "watch.wav"))
	if err != nil {
		t.Fatal(err)
	}
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if err := recording.WriteWAV(f, rateHz, sound); err != nil {
		t.Fatal(err)
	}
	return path, truth
}

// listener signs the watchmaker in at a browser that hears the file.
func listener(t *testing.T, shop *program, wav string) *person {
	t.Helper()
	ctx, stop, err := browser.Start(context.Background(), browser.Hearing(wav)...)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(stop)
	tab, closeTab, err := browser.NewTab(ctx, shop.address)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(closeTab)
	p := &person{t: t, tab: tab, address: shop.address}
	p.try(tab.Look(browser.Widths["tablet"], "dark"))
	// The lines that pages open, so that one can be cut.
	p.try(tab.BeforeEachPage(`window.lines = []; window.WebSocket = class extends WebSocket { constructor(...a) { super(...a); window.lines.push(this); } };`))
	who, err := signInOf(staff.Watchmaker)
	p.try(err)
	p.signIn(who.Email, who.Password)
	return p
}

// TestListening hears a watch through the browser's microphone, loses the line on the way, and keeps what was heard:
// the grid then has the watch's true figures.
func TestListening(t *testing.T) {
	t.Parallel()
	shop := site(t)
	wav, truth := ticking(t)
	p := listener(t, shop, wav)
	p.accessible("/listen")
	tellsTrouble(p)
	number := inRegulation(t, p, 1)
	p.sheet(number, "regulation")
	p.press("listen-live")
	p.arrives("/dockets/" + number + "/listen")

	p.try(p.tab.LookAt(1024, 768, "light"))
	settings := p.within("listen-settings")
	settings.fillAll("settle", "1", "beats_per_hour", "", "lift_angle", "52", "recorder", "0")
	p.within("keep-form").fill("run", "new:adjustment")
	p.try(p.tab.Click(byTest("live-position-6H")))
	p.try(p.tab.Click(byTest("listen-start")))
	p.until(`document.querySelector('[data-testid="listen-say"]').textContent.includes("istening, ")`)
	if warned := p.text(byTest("listen-warnings")); warned != "" {
		p.errorf("the browser is said to work on the sound: %s", warned)
	}
	p.js(`window.lines.at(-1).close()`)
	p.until(`window.lines.length === 2 && window.lines[1].readyState === WebSocket.OPEN`)
	p.until(`parseFloat(document.querySelector('[data-testid="listen-say"]').textContent.match(/(\d+) s/)?.[1]) >= 22`)
	if notes := p.text("[data-notes]"); strings.Contains(notes, "lost on the way") {
		p.errorf("sound was lost: %s", notes)
	}
	p.within("listen").sees("28 800 beats per hour", "found by ear", "good level")
	p.until(`document.querySelector("[data-round] .chart-dots")?.getAttribute("d").split("M").length > 20`)
	p.until(`document.querySelectorAll("[data-means] tbody tr").length >= 2`)
	p.until(`/\d/.test(document.querySelector('[data-testid="figure-rate"] [data-value]').textContent)`)
	p.withoutScrolling()
	p.agrees(byTest("figure-rate")+" [data-value]", truth.RateSPerDay, sounding.rateTol)

	p.lookOver("listening to " + number)
	p.try(p.tab.Click(byTest("keep"))) // while it is still listened to
	// The docket's calibre has other beats and another lift angle, so a person is asked first.
	p.until(`document.querySelector('[data-testid="listen-trouble"]').innerText.includes("Is this the right watch?")`)
	p.within("keep-form").tick("right_watch", "yes")
	p.try(p.tab.Click(byTest("keep")))
	p.until(`document.querySelector('[data-testid="kept"] a') !== null`)
	if !p.checked("9H") {
		p.errorf("after 6H is kept the page does not offer 9H")
	}
	p.until(`document.querySelector('[data-testid="listen-position"]').textContent === "9H"`)
	p.until(`document.querySelector('[data-testid="take-6H"]').textContent.includes("kept")`)
	p.try(p.tab.Click(byTest("listen-stop")))
	p.follow(byTest("kept") + " a")
	p.arrives("/dockets/" + number + "/regulation")
	// The grid rounds to what the figure is known to: the clock of an unlisted recorder leaves whole seconds a day.
	p.agrees(byTest("rate-6H-0"), truth.RateSPerDay, max(sounding.rateTol, 0.5))
	p.agrees(byTest("amplitude-6H-0"), truth.AmplitudeDeg, sounding.amplitudeTol)
	p.agrees(byTest("beat_error-6H-0"), truth.BeatErrorMagnitudeMs, sounding.beatErrorTol)
	p.sheet(number, "journal")
	p.within("journal").sees("6H", "Is this the right watch?", "said yes")
	if faults := p.tab.Faults(); len(faults) > 0 {
		t.Errorf("the browser complains: %q", faults)
	}
}

// withoutScrolling holds that a tablet held wide has all that is read and pressed while a watch sounds in sight, the set-up
// folded once it was used, and the figures large enough for 70 cm: 68 px (ISO 9241-303, capitals of 20 to 22 minutes of
// arc).
func (p *person) withoutScrolling() {
	p.t.Helper()
	type measured struct {
		Below  []string
		Figure float64
		Folded bool
	}
	got, err := browser.Eval[measured](p.tab, `(() => {
		const below = [...document.querySelectorAll("[data-listen] :is(button, [data-value], [data-verdict-text], [data-line], [data-round] svg, [data-means] tr, [data-quality])")]
			.filter(e => e.checkVisibility() && (e.getBoundingClientRect().bottom > innerHeight + 0.5 || e.getBoundingClientRect().right > innerWidth))
			.map(e => e.tagName + " " + e.textContent.slice(0, 40) + " at " + e.getBoundingClientRect().bottom);
		return { Below: below, Folded: !document.querySelector("[data-setup]").open,
			Figure: parseFloat(getComputedStyle(document.querySelector('[data-figure="rate"] [data-value]')).fontSize) };
	})()`)
	p.try(err)
	if len(got.Below) > 0 {
		p.errorf("out of sight at 1024 by 768: %q", got.Below)
	}
	if !got.Folded {
		p.errorf("the set-up is not folded")
	}
	if got.Figure < 67 {
		p.errorf("the figure is %.0f px", got.Figure)
	}
}

// tellsTrouble has the browser refuse the microphone in every way it can.
func tellsTrouble(p *person) {
	for _, tt := range []struct{ refusal, says string }{
		{`navigator.mediaDevices.getUserMedia = () => Promise.reject(new DOMException("", "NotAllowedError"))`,
			"told not to give"},
		{`navigator.mediaDevices.getUserMedia = () => Promise.reject(new DOMException("", "NotFoundError"))`,
			"no microphone"},
		{`navigator.mediaDevices.getUserMedia = () => Promise.reject(new DOMException("", "NotReadableError"))`,
			"another program"},
		// No sound output: the browser never starts its sound and never says so.
		{`delete navigator.mediaDevices.getUserMedia; Object.defineProperty(AudioContext.prototype, "state", { get: () => "suspended", configurable: true });
			AudioContext.prototype.resume = () => new Promise(() => {})`, "no sound output"},
		{`Object.defineProperty(window, "isSecureContext", { value: false })`, "TLS"},
	} {
		p.js(tt.refusal + "; true")
		p.try(p.tab.Click(byTest("listen-start")))
		p.until(`document.querySelector('[data-testid="listen-trouble"]').innerText.includes(` + quoted(tt.says) + `)`)
	}
}

// checked reports whether the position's tile is chosen, as the page stands.
func (p *person) checked(position string) bool {
	p.t.Helper()
	is, err := browser.Eval[bool](p.tab, `document.querySelector('[data-testid="live-position-`+position+`"]').checked`)
	p.try(err)
	return is
}

// agrees reads a figure off the page.
func (p *person) agrees(selector string, want, tol float64) {
	p.t.Helper()
	text := p.text(selector)
	figure, _, _ := strings.Cut(strings.NewReplacer("−", "-", "°", "").Replace(text), " ")
	got, err := strconv.ParseFloat(strings.TrimPrefix(figure, "+"), 64)
	if err != nil {
		p.fatalf("%s reads %q, want a figure", selector, text)
	}
	if math.Abs(got-want) > tol {
		p.errorf("%s reads %s, want %.3f ± %.2f", selector, text, want, tol)
	}
}
