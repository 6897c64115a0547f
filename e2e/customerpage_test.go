package e2e

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/chromedp/chromedp/kb"

	"ledgerwheel/domain/staff"
	"ledgerwheel/e2e/browser"
)

// TestTheCustomersPageForEveryone looks at one private page as those do who look at it in other ways than most: on the narrowest
// telephone or much enlarged, in the system's colours, by the keyboard alone, with nothing moving, on paper, and at last without
// scripts, where it is answered.
func TestTheCustomersPageForEveryone(t *testing.T) {
	t.Parallel()
	shop := site(t)
	owner := signedIn(t, shop, staff.Owner)
	const calibre = "PW 24 A"
	number := owner.takesIn(handedIn{customer: "Ingeborg Löwenthal-Übermühlen", phone: "+49 30 23125 116", maker: "Shearwater", model: "Neap",
		serial: "SN 3 116", complaint: "Bleibt stehen.", more: []string{"email", "ingeborg@uebermuehlen.example", "preferred_contact", "email",
			"tongue", "de", "lume", "none", "calibre", calibre}})
	owner.sheet(number, "intake")
	photos := owner.within("photo-form")
	owner.try(owner.tab.Choose(photos.field("photos"), telephonePhoto(t, "dial.jpg"), telephonePhoto(t, "back.jpg")))
	photos.tick("customer_sees", "yes")
	photos.press("add-photos")
	owner.moves(number, move{to: "diagnosis", place: "bench", detail: "South bench"})
	owner.readsCautions(number)
	owner.findsWrong(number, "escapement", "oil gone", "require", "Clean and oil.")
	owner.moves(number, move{to: "estimate", place: "safe", reason: "It does not run."})
	owner.offersTwo(number, "Zifferblattfußschraubenbohrungsinstandsetzung", "Gehäusebodenverschraubungsdichtung")
	path := strings.TrimPrefix(owner.text(byTest("private-link")), owner.address)
	her := stranger(t, shop)

	t.Run("narrow and enlarged", func(t *testing.T) { her.on(t).reflows(path) })
	t.Run("forced colours", func(t *testing.T) { stranger(t, shop).inForcedColours(path) })
	t.Run("by the keyboard", func(t *testing.T) { her.on(t).byKeyboardAlone(path) })
	t.Run("wheels", func(t *testing.T) {
		owner.on(t).open("/calibres")
		owner.follow(`main a[href^="/calibres/"]` + owner.named(calibre))
		wheelsTurn(her.on(t), path, owner.read())
	})
	t.Run("nothing moves", func(t *testing.T) { stranger(t, shop).seesWheelsRest(path) })
	t.Run("printed", func(t *testing.T) { her.on(t).printsFor(path) })
	t.Run("its styles", func(t *testing.T) { her.on(t).needsNoOtherStyles(path) })
	t.Run("looked over", func(t *testing.T) { her.on(t).accessible(path + "?in=fr") })
	t.Run("without scripts", func(t *testing.T) { stranger(t, shop).answersWithoutScripts(path) })
	owner.on(t).sheet(number, "estimate")
	owner.within("standing").sees("185.00", "left out")
}

// on is the same person, whose steps belong to that test.
func (p *person) on(t *testing.T) *person {
	again := *p
	again.t = t
	return &again
}

// named narrows a selector to the first element with those words, which is marked for it.
func (p *person) named(words string) string {
	p.t.Helper()
	p.js(`[...document.querySelectorAll("main a")].find((a) => a.textContent.includes(` + quoted(words) + `))?.setAttribute("data-named", "yes")`)
	return `[data-named]`
}

// tooWide lists what lies beyond the edge of the window, or hides what it holds.
const tooWide = `[...document.querySelectorAll("body *")].filter((e) => {
		if (e.closest(".aside, .skip, thead, svg, .tongue-name, .chart-table") || !e.checkVisibility()) return false;
		const style = getComputedStyle(e), box = e.getBoundingClientRect();
		return box.right > innerWidth + 1 || box.left < -1 || style.overflowX === "hidden" && e.scrollWidth > e.clientWidth + 1;
	}).map((e) => e.tagName + "." + e.className + " " + e.textContent.trim().slice(0, 60))`

// reflows opens all that is folded, at 320 px and in a window of 1280 × 1024 at 400 %, which is 320 × 256 (WCAG 2.2, 1.4.10), in
// every language, with the longest words that a shop might type.
func (p *person) reflows(path string) {
	p.t.Helper()
	for _, size := range [][2]int64{{320, 568}, {320, 256}, {390, 844}} {
		p.try(p.tab.LookAt(size[0], size[1], "light"))
		for _, in := range []string{"de", "fr", "en"} {
			p.open(path + "?in=" + in)
			p.unfoldAll()
			for _, words := range []string{"", "Donaudampfschifffahrtsgesellschaftskapitänstaschenuhrwerk"} {
				if words != "" {
					p.js(`for (const e of document.querySelectorAll("h1, .shop span, .lede, .proposal-lines bdi, figcaption, .customer-line")) e.textContent = ` + quoted(words))
				}
				beyond, err := browser.Eval[[]string](p.tab, tooWide)
				p.try(err)
				wider, err := browser.Eval[int](p.tab, `document.documentElement.scrollWidth - innerWidth`)
				p.try(err)
				if len(beyond) > 0 || wider > 0 {
					p.t.Errorf("in %s at %d × %d, with %q, the page is %d px too wide: %q", in, size[0], size[1], words, wider, beyond)
				}
			}
			stays, err := browser.Eval[[]string](p.tab, `[...document.querySelectorAll("body *")].filter((e) => ["sticky", "fixed"].includes(getComputedStyle(e).position))
				.filter((e) => e.offsetHeight > innerHeight / 3).map((e) => e.className)`)
			p.try(err)
			if len(stays) > 0 {
				p.t.Errorf("at %d × %d more than a third of the window is held by %q", size[0], size[1], stays)
			}
		}
	}
}

// inForcedColours tells by more than colour where the watch is, which language is read, and what can be pressed.
func (p *person) inForcedColours(path string) {
	p.t.Helper()
	p.try(p.tab.ForceColours())
	p.try(p.tab.LookAt(390, 844, "light"))
	p.open(path)
	differ := func(what, one, other string, properties ...string) {
		p.t.Helper()
		drawn := func(selector string) string {
			got, err := browser.Eval[string](p.tab, `(() => { const s = getComputedStyle(document.querySelector(`+quoted(selector)+`));
				return `+quoted(strings.Join(properties, " "))+`.split(" ").map((p) => s.getPropertyValue(p)).join(" "); })()`)
			p.try(err)
			return got
		}
		if a, b := drawn(one), drawn(other); a == b {
			p.t.Errorf("%s: both are drawn with %s", what, a)
		}
	}
	differ("the way behind and the way ahead", ".chart-stay-done", ".chart-stay-ahead", "stroke", "stroke-dasharray", "stroke-width")
	differ("the language that is read", ".tongues a[aria-current]", ".tongues a:not([aria-current])", "border-block-end-color", "font-weight")
	for _, pressed := range []string{byTest("approve"), byTest("take-1"), `[name="name"]`} {
		edge, err := browser.Eval[float64](p.tab, `(() => { const s = getComputedStyle(document.querySelector(`+quoted(pressed)+`));
			return s.appearance !== "none" && s.appearance !== "" && s.appearance !== "auto" ? 1 : s.borderTopStyle === "none" ? 0 : parseFloat(s.borderTopWidth); })()`)
		p.try(err)
		if edge < 1 {
			p.t.Errorf("%s has no edge where the system draws its own colours", pressed)
		}
	}
	unchosen, err := browser.Eval[[]string](p.tab, `[...document.querySelectorAll("svg path, svg line")].filter((e) => {
		const s = getComputedStyle(e); return s.forcedColorAdjust !== "none" && s.stroke === s.fill && s.stroke !== "none" && s.fillOpacity === "0"; }).map((e) => e.outerHTML)`)
	p.try(err)
	if len(unchosen) > 0 {
		p.t.Errorf("drawn in nothing: %q", unchosen)
	}
}

// byKeyboardAlone goes through the page without a mouse: the way past its head first, then down the page, each stop in sight
// with a ring round it; a line is left out by the space bar, and Enter agrees to nothing by itself.
func (p *person) byKeyboardAlone(path string) {
	p.t.Helper()
	p.try(p.tab.LookAt(390, 844, "light"))
	p.open(path)
	k := &typist{person: p}
	p.try(p.tab.Keys(kb.Tab))
	if !k.here(".skip").Matches {
		p.fatalf("the first stop is no way past the head")
	}
	p.try(p.tab.Keys(kb.Enter))
	p.until(`document.activeElement.id === "main"`)
	k.to(byTest("take-1"))
	p.try(p.tab.Keys(" "))
	p.until(`document.querySelector('` + byTest("total") + `').textContent.includes("185,00")`)
	p.try(p.tab.Keys(" "))
	k.types("name", "Ingeborg")
	k.to(byTest("note-fold") + " > summary")
	k.to(byTest("approve"))
	k.to(byTest("decline-fold") + " > summary")
	k.opens("ask-fold")
	k.to(`[name="question"]`)
	k.opens("wheels")
	k.to(byTest("train-stop"))
	k.to(byTest("call"))
	if k.stops < 12 {
		p.errorf("only %d places had the keyboard", k.stops)
	}
	// In the order in which they stand; what stays at the foot of the window stands where its form ends.
	back, err := browser.Eval[[]string](p.tab, `(() => {
		scrollTo(0, 0);
		const all = [...document.querySelectorAll("main :is(a[href], button, input:not([type=hidden]), textarea, summary)")].filter((e) => e.checkVisibility() && !e.closest(".proposal-bar"));
		const order = all.map((e) => [e, Math.round(e.getBoundingClientRect().top), Math.round(e.getBoundingClientRect().left)]);
		return order.filter(([e, top], i) => i > 0 && top + e.offsetHeight < order[i - 1][1]).map(([e]) => e.outerHTML.slice(0, 120));
	})()`)
	p.try(err)
	if len(back) > 0 {
		p.errorf("the keyboard goes back up the page to %q", back)
	}
	p.open(path)
	k.types("name", "Ingeborg")
	k.enters()
	if p.has(byTest("answered")) || !p.has(byTest("answer-form")) {
		p.errorf("Enter in a field agreed to the estimate")
	}
}

var trainNotation = regexp.MustCompile(`\b\d+:\d+(?:,\d+:\d+)*,\d+\b`)

// countsOf are wheel and pinion of each stage, read from what the shop's page of the calibre says, without the program's own reader.
func countsOf(t *testing.T, words string) (stages [][2]float64) {
	t.Helper()
	for part := range strings.SplitSeq(trainNotation.FindString(words), ",") {
		if wheel, pinion, meshes := strings.Cut(part, ":"); meshes {
			w, errW := strconv.ParseFloat(wheel, 64)
			p, errP := strconv.ParseFloat(pinion, 64)
			if errW != nil || errP != nil {
				t.Fatalf("%q: %v, %v", part, errW, errP)
			}
			stages = append(stages, [2]float64{w, p})
		}
	}
	if len(stages) < 2 {
		t.Fatalf("the calibre's page says no train: %s", words)
	}
	return stages
}

// turning is how a wheel is drawn at two moments: how far it has come round, clockwise as the screen has it, in degrees.
type turning struct {
	At     [2]float64 // milliseconds of its own clock
	Angle  [2]float64
	TurnMs float64 // that it says it takes for a turn
}

// wheelsNow reads the wheels from the transforms that the browser draws them with, now and a while later.
func (p *person) wheelsNow() (wheels []turning) {
	p.t.Helper()
	wheels, err := browser.Eval[[]turning](p.tab, `new Promise((done) => {
		const all = [...document.querySelectorAll(".chart-turns")];
		const angle = (e) => { const m = new DOMMatrix(getComputedStyle(e).transform); return Math.atan2(m.b, m.a) * 180 / Math.PI; };
		const look = () => all.map((e) => { const a = e.getAnimations()[0]; return [a ? a.currentTime : 0, angle(e)]; });
		const before = look();
		setTimeout(() => requestAnimationFrame(() => {
			const after = look();
			done(all.map((e, i) => ({At: [before[i][0], after[i][0]], Angle: [before[i][1], after[i][1]],
				TurnMs: e.getAnimations()[0]?.effect.getComputedTiming().duration ?? 0})));
		}), 700);
	})`)
	p.try(err)
	return wheels
}

// wheelsTurn holds the wheels as the browser draws them to the teeth that the shop keeps of the calibre: each turns as many
// times as its wheel has more teeth than the pinion that it drives, and against it.
func wheelsTurn(p *person, path, calibre string) {
	p.t.Helper()
	stages := countsOf(p.t, calibre)
	p.try(p.tab.LookAt(820, 900, "light"))
	p.open(path)
	p.unfold(byTest("wheels"))
	p.until(`document.querySelector(".chart-turns")?.getAnimations()[0]?.playState === "running"`)
	wheels := p.wheelsNow()
	if len(wheels) != len(stages)+1 {
		p.t.Fatalf("%d wheels turn, of a train of %d stages", len(wheels), len(stages))
	}
	travelled := make([]float64, len(wheels))
	for i, w := range wheels {
		turns := (w.At[1] - w.At[0]) / w.TurnMs
		if turns <= 0 {
			p.t.Fatalf("wheel %d stands: %+v", i+1, w)
		}
		// How far it came is known but for whole turns; its own time for one says how many.
		moved := math.Remainder(w.Angle[1]-w.Angle[0], 360)
		best := math.Inf(1)
		for _, way := range []float64{1, -1} {
			if off := math.Abs(math.Remainder(moved-way*360*turns, 360)); off < best {
				best, travelled[i] = off, way*360*turns
			}
		}
		if best > 0.5 {
			p.t.Errorf("wheel %d came %.2f° round in %.0f ms, and says that it takes %.0f ms for a turn", i+1, moved, w.At[1]-w.At[0], w.TurnMs)
		}
	}
	for i, stage := range stages {
		want := -stage[0] / stage[1]
		perMs := func(j int) float64 { return travelled[j] / (wheels[j].At[1] - wheels[j].At[0]) }
		if got := perMs(i+1) / perMs(i); math.Abs(got/want-1) > 1e-4 {
			p.t.Errorf("wheel %d turns %.5f times as fast as wheel %d; their teeth say %.5f", i+2, got, i+1, want)
		}
	}
	p.t.Logf("of %v the wheels take %.0f ms for a turn of the last, %.2f° seen", stages, wheels[len(wheels)-1].TurnMs, travelled[len(wheels)-1])
	p.try(p.tab.Click(byTest("train-stop")))
	p.until(`[...document.querySelectorAll(".chart-turns")].every((e) => e.getAnimations().every((a) => a.playState === "paused" && !a.pending))`)
	for i, w := range p.wheelsNow() {
		if w.Angle[0] != w.Angle[1] {
			p.t.Errorf("wheel %d turns on after it was stopped", i+1)
		}
	}
}

// seesWheelsRest has the system say that nothing should move.
func (p *person) seesWheelsRest(path string) {
	p.t.Helper()
	p.try(p.tab.WantStillness())
	p.open(path)
	p.unfold(byTest("wheels"))
	p.within("wheels").sees("stehen still")
	p.within("wheels").seesNot("anhalten")
	running, err := browser.Eval[[]string](p.tab, `document.getAnimations().filter((a) => a.playState === "running" && a.effect.getComputedTiming().duration > 1).map((a) => a.animationName ?? a.transitionProperty ?? "a script's")`)
	p.try(err)
	if len(running) > 0 {
		p.t.Errorf("something moves all the same: %q", running)
	}
	for i, w := range p.wheelsNow() {
		if w.Angle[0] != w.Angle[1] || w.TurnMs != 0 {
			p.t.Errorf("wheel %d turns: %+v", i+1, w)
		}
	}
}

// printsFor prints the page on A4: what it says, on two sheets at most, and nothing that can only be pressed.
func (p *person) printsFor(path string) {
	p.t.Helper()
	p.open(path)
	kept, err := browser.Eval[string](p.tab, `getComputedStyle(document.querySelector('`+byTest("take-1")+`')).printColorAdjust`)
	if p.try(err); kept != "exact" {
		p.t.Errorf("a tick may be printed as an empty box: %s", kept)
	}
	for in, said := range map[string][]string{"de": {"Auftrag", "Kostenvoranschlag", "Gesamtbetrag", "243,00"}, "fr": {"Dossier", "Devis", "Total", "243,00"},
		"en": {"Docket", "Estimate", "Total", "243.00"}} {
		p.open(path + "?in=" + in)
		words := map[string]string{"theme": p.text(".theme"), "approve": p.text(byTest("approve")), "decline": p.text(byTest("decline-fold") + " > summary"),
			"ask": p.text(byTest("ask-fold") + " > summary"), "skip": p.text(".skip"), "note": p.text(byTest("note-fold") + " > summary"),
			"wheels": p.text(byTest("wheels") + " > summary"), "hint": p.text("#take-hint")}
		pdf, err := p.tab.OnA4()
		p.try(err)
		sheet := printed(p.t, "page-"+in, pdf)
		pages, err := strconv.Atoi(firstGroup(pageCount.FindStringSubmatch(sheet.tool("pdfinfo", sheet.file))))
		p.try(err)
		if pages > 2 {
			p.t.Errorf("in %s the page takes %d sheets", in, pages)
		}
		sheet.says(append(said, "Tern Quay Watch Works", "Shearwater Neap", "01632 960 114", "Zifferblattfußschraubenbohrungsinstandsetzung")...)
		text := sheet.text()
		for what, pressed := range words {
			if pressed != "" && strings.Contains(text, pressed) {
				p.t.Errorf("in %s the paper has what can only be pressed (%s): %q", in, what, pressed)
			}
		}
	}
}

// needsNoOtherStyles lays the styles of the shop's own pages under those of the page: no property of anything changes, so that
// none of what was left out is missed.
func (p *person) needsNoOtherStyles(path string) {
	p.t.Helper()
	for _, width := range []int64{390, 1360} {
		p.try(p.tab.LookAt(width, 900, "light"))
		for _, at := range []string{path, "/w", "/card", "/card/keys"} {
			p.open(at)
			p.unfoldAll()
			changed, err := browser.Eval[[]string](p.tab, `(async () => {
				document.getAnimations().forEach((a) => a.cancel());
				const look = () => [...document.querySelectorAll("*")].map((e) => { const s = getComputedStyle(e);
					return [...s].map((p) => p + ":" + s.getPropertyValue(p)); });
				const before = look(), own = document.querySelector('link[rel="stylesheet"]'), shop = document.createElement("link");
				shop.rel = "stylesheet"; shop.href = "/static/css/all.css";
				await new Promise((loaded, failed) => { shop.onload = loaded; shop.onerror = failed; own.before(shop); });
				document.getAnimations().forEach((a) => a.cancel());
				const all = [...document.querySelectorAll("*")].filter((e) => e !== shop), after = look().filter((_, i) => document.querySelectorAll("*")[i] !== shop);
				return all.flatMap((e, i) => after[i].filter((p, j) => p !== before[i][j]).map((p) => e.tagName + "." + e.getAttribute("class") + " " + p)).slice(0, 12);
			})()`)
			p.try(err)
			if len(changed) > 0 {
				p.t.Errorf("%s at %d px would be drawn otherwise with the shop's styles: %s", at, width, strings.Join(slices.Compact(changed), "; "))
			}
		}
	}
}

// answersWithoutScripts leaves a line out: the program works the total out before anything is sent, and what is approved is that.
func (p *person) answersWithoutScripts(path string) {
	p.t.Helper()
	p.try(p.tab.WithoutScripts())
	p.try(p.tab.LookAt(390, 844, "light"))
	p.open(path)
	form := p.within("answer-form")
	p.try(p.tab.Click(byTest("take-1")))
	form.fill("name", "Ingeborg Löwenthal-Übermühlen")
	if got := p.text(byTest("total")); got != "Gesamtbetrag 243,00 £" {
		p.fatalf("a total without scripts that follows by itself: %q", got)
	}
	form.press("approve") // of another total than the one that stands there
	p.within("notice").sees("Ihre Antwort wurde nicht angenommen")
	if got := p.text(byTest("total")); got != "Gesamtbetrag 185,00 £" {
		p.errorf("the right total is not shown then, but %q", got)
	}
	p.try(p.tab.Click(byTest("take-1")))
	form.press("work-out")
	if got := fmt.Sprint(p.text(byTest("total")), " ", p.value("name")); got != "Gesamtbetrag 243,00 £ Ingeborg Löwenthal-Übermühlen" {
		p.errorf("worked out with the line again: %q", got)
	}
	p.try(p.tab.Click(byTest("take-1")))
	form.press("work-out")
	if got := p.text(byTest("approve")); got != "185,00 £ zustimmen" {
		p.errorf("worked out without it the button says %q", got)
	}
	form.press("approve")
	p.within("answered").sees("zugestimmt", "185,00 £")
	p.within("thanks").sees("Danke, Ingeborg")
}
