package gallery

import (
	"context"
	"math"
	"slices"
	"strconv"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
)

// open navigates a fresh tab to one page of the pattern book.
func open(t *testing.T, path string) context.Context {
	t.Helper()
	ctx := tab(t, browser(t))
	do(t, ctx, chromedp.EmulateViewport(1280, 900), chromedp.Navigate(serve(t)+path))
	return ctx
}

// until waits for a condition in the page, at most five seconds.
func until(t *testing.T, ctx context.Context, js string) {
	t.Helper()
	for end := time.Now().Add(5 * time.Second); time.Now().Before(end); time.Sleep(20 * time.Millisecond) {
		if eval[bool](t, ctx, js) {
			return
		}
	}
	t.Fatalf("never came true: %s", js)
}

func TestGridMovesByKeyboard(t *testing.T) {
	ctx := open(t, "/regulation")
	eval[bool](t, ctx, `window.go = (key, more = {}) => { document.activeElement.dispatchEvent(
		new KeyboardEvent("keydown", {key, bubbles: true, cancelable: true, ...more})); return document.activeElement.name }; true`)
	for _, c := range []struct{ from, key, want string }{
		{"rate-0-CH", `"Enter"`, "rate-0-FH"},
		{"rate-0-FH", `"Enter", {shiftKey: true}`, "rate-0-CH"},
		{"rate-0-CH", `"ArrowDown"`, "rate-0-FH"},
		{"rate-0-3H", `"ArrowUp"`, "rate-0-FH"},
		{"rate-0-CH", `"ArrowUp"`, "rate-0-CH"},
		{"rate-0-CH", `"ArrowRight"`, "amp-0-CH"},
		{"amp-0-CH", `"ArrowLeft"`, "rate-0-CH"},
		{"rate-0-12H", `"Enter"`, "amp-0-CH"}, // from the foot of a column to the head of the next
		{"rate-0-CH", `"ArrowDown", {ctrlKey: true}`, "rate-0-CH"},
	} {
		got := eval[string](t, ctx, `document.getElementsByName("`+c.from+`")[0].focus(); go(`+c.key+`)`)
		if got != c.want {
			t.Errorf("%s from %s: at %s, want %s", c.key, c.from, got, c.want)
		}
	}
}

func TestGridTakesPastedBlocks(t *testing.T) {
	ctx := open(t, "/regulation")
	paste := func(into, text string) {
		t.Helper()
		eval[bool](t, ctx, `(() => {
			const data = new DataTransfer();
			data.setData("text/plain", `+text+`);
			const cell = document.getElementsByName("`+into+`")[0];
			cell.focus();
			return cell.dispatchEvent(new ClipboardEvent("paste", {clipboardData: data, bubbles: true, cancelable: true})) || true })()`)
	}
	values := func(names ...string) []string {
		t.Helper()
		var got []string
		for _, n := range names {
			got = append(got, eval[string](t, ctx, `document.getElementsByName("`+n+`")[0].value`))
		}
		return got
	}
	paste("rate-24-3H", `"-1,5\r\n+2\r\n+3\r\n-4\r\n"`)
	if got, want := values("rate-24-3H", "rate-24-6H", "rate-24-9H", "rate-24-12H"), []string{"-1,5", "+2", "+3",
		"-4"}; !slices.Equal(got, want) {
		t.Errorf("column: %q, want %q", got, want)
	}
	paste("amp-24-9H", `"251\t0.3\t9\n249\t0.4\n250\t0.5\n"`)
	if got, want := values("amp-24-9H", "beat-24-9H", "amp-24-12H", "beat-24-12H"), []string{"251", "0.3", "249",
		"0.4"}; !slices.Equal(got, want) {
		t.Errorf("block: %q, want %q", got, want)
	}
	want := "4 cells filled. 3 did not fit and were left out."
	if got := eval[string](t, ctx, `document.querySelector("[data-grid] [role=status]").textContent`); got != want {
		t.Errorf("said %q, want %q", got, want)
	}
}

func TestTappingTheOutlinePlacesAMark(t *testing.T) {
	ctx := open(t, "/intake")
	before := eval[int](t, ctx, `document.querySelectorAll(".watch .pip").length`)
	// The crown is drawn at 3 o'clock, at 395 of 480 across and half way down the box.
	eval[bool](t, ctx, `(() => {
		const box = document.querySelector("[data-outline-drawing]").getBoundingClientRect();
		const x = box.left + box.width * 395 / 480, y = box.top + box.height / 2;
		scrollTo(0, scrollY + y - innerHeight / 2);
		const now = document.querySelector("[data-outline-drawing]").getBoundingClientRect();
		const at = {clientX: x, clientY: now.top + now.height / 2, bubbles: true};
		return document.elementFromPoint(at.clientX, at.clientY).dispatchEvent(new MouseEvent("click", at)) })()`)
	row := `document.querySelector('[data-outline-part="crown"] [data-outline-row]')`
	x := eval[string](t, ctx, row+`.querySelector("[name=mark_x]").value`)
	y := eval[string](t, ctx, row+`.querySelector("[name=mark_y]").value`)
	// tol 0.005: a pixel of a drawing about 400 px wide is 0.0025.
	if math.Abs(parse(t, x)-395.0/480) > 0.005 || math.Abs(parse(t, y)-0.5) > 0.005 {
		t.Errorf("placed at %s, %s; want 0.823, 0.500", x, y)
	}
	if got := eval[int](t, ctx, `document.querySelectorAll(".watch .pip").length`); got != before+1 {
		t.Errorf("%d marks drawn, want %d", got, before+1)
	}
	if !eval[bool](t, ctx, row+`.contains(document.activeElement)`) {
		t.Error("the new row has not got the keyboard")
	}
	if got := eval[string](t, ctx, row+`.getAttribute("aria-label")`); got != "Mark 4 on the crown" {
		t.Errorf("the row is called %q", got)
	}
	eval[bool](t, ctx, row+`.querySelector("[data-outline-remove]").click(); true`)
	if got := eval[int](t, ctx, `document.querySelectorAll(".watch .pip").length`); got != before {
		t.Errorf("after removing, %d marks drawn, want %d", got, before)
	}
}

func TestThemeChangesAtOnceAndStays(t *testing.T) {
	ctx := open(t, "/today")
	dark := "rgb(20, 23, 27)" // --paper, dark
	eval[bool](t, ctx, `document.querySelector("[data-testid=theme-dark]").click(); true`)
	until(t, ctx, `getComputedStyle(document.documentElement).backgroundColor === "`+dark+`"`)
	until(t, ctx, `document.cookie.includes("theme=dark")`)
	do(t, ctx, chromedp.Reload())
	if got := eval[string](t, ctx, `getComputedStyle(document.documentElement).backgroundColor`); got != dark {
		t.Errorf("after loading again the page is %s, want %s", got, dark)
	}
	if got := eval[string](t, ctx, `document.querySelector("[name=theme][aria-pressed=true]").value`); got != "dark" {
		t.Errorf("pressed: %q", got)
	}
}

func TestThemeWithoutScripts(t *testing.T) {
	ctx := tab(t, browser(t))
	base := serve(t)
	withoutScripts(t, ctx)
	do(t, ctx, chromedp.Navigate(base+"/today"), chromedp.Click(chromedp.CSS("[data-testid=theme-dark]")),
		chromedp.WaitVisible(chromedp.CSS("html[data-theme=dark]")))
}

func TestSuggestionsFollowTyping(t *testing.T) {
	ctx := open(t, "/intake")
	eval[bool](t, ctx, `(() => { const i = document.getElementById("f-name"); i.value = "Nina";
		return i.dispatchEvent(new Event("input", {bubbles: true})) })()`)
	until(t, ctx, `document.getElementById("known").textContent === "Known: Nina Harrow"`)
	eval[bool](t, ctx, `(() => { const i = document.getElementById("f-name"); i.value = "N";
		return i.dispatchEvent(new Event("input", {bubbles: true})) })()`)
	until(t, ctx, `document.getElementById("known").textContent === ""`)
}

func TestProblemsLeadToTheirFields(t *testing.T) {
	ctx := open(t, "/intake")
	until(t, ctx, `document.activeElement.dataset.testid === "form-errors"`)
	for _, name := range []string{"phone", "declared", "service"} {
		got := eval[string](t, ctx, `document.querySelector('.problems a[href="#f-`+name+`"]').click(); document.querySelector(":target").name`)
		if got != name {
			t.Errorf("the problem of %q leads to %q", name, got)
		}
	}
}

// A page may only ask through the event's own refusal, so the event is raised and looked at.
func TestUnsavedTypingAsks(t *testing.T) {
	const asks = `!window.dispatchEvent(new Event("beforeunload", {cancelable: true}))`
	ctx := open(t, "/intake") // drawn again after a refused save
	if eval[bool](t, ctx, asks) {
		t.Error("a page that nobody has touched asks, which browsers don't let it")
	}
	do(t, ctx, chromedp.MouseClickXY(5, 5)) // touched
	if !eval[bool](t, ctx, asks) {
		t.Error("a refused form lets its typing go unasked")
	}
	eval[bool](t, ctx, `document.querySelector("form[data-leave]").dispatchEvent(new Event("submit", {bubbles: true, cancelable: true}))`)
	if eval[bool](t, ctx, asks) {
		t.Error("sending the form asks too")
	}
	do(t, ctx, chromedp.Navigate(eval[string](t, ctx, `location.origin + "/today"`)))
	if eval[bool](t, ctx, asks) {
		t.Error("a page without typing asks")
	}
}

func TestPrintButtonShowsOnlyWithScripts(t *testing.T) {
	const shown = `document.querySelector("[data-print]").checkVisibility()`
	ctx := open(t, "/papers")
	until(t, ctx, shown)
	withoutScripts(t, ctx)
	do(t, ctx, chromedp.Reload())
	if eval[bool](t, ctx, shown) {
		t.Error("a button that can't work is shown")
	}
}

// Figures in a column must stand under one another: each digit as wide as the next, in the face the program serves.
func TestFiguresAreTabular(t *testing.T) {
	ctx := open(t, "/docket")
	widths := eval[[]float64](t, ctx, `(async () => {
		await document.fonts.ready;
		const cell = document.querySelector("td.num"), widths = [];
		for (const digit of "0123456789") {
			const span = document.createElement("span");
			span.textContent = digit.repeat(10);
			cell.append(span);
			widths.push(span.getBoundingClientRect().width);
		}
		return widths })()`)
	for digit, w := range widths {
		if math.Abs(w-widths[0]) > 0.05 { // px over ten digits: rounding only
			t.Errorf("%d is %.2f px wide over ten, 0 is %.2f", digit, w, widths[0])
		}
	}
	if !eval[bool](t, ctx, `[...document.fonts].some(f => f.family.includes("Plex Sans") && f.status === "loaded")`) {
		t.Error("the program's own face was not used")
	}
}

func TestMenuWorksWithoutScripts(t *testing.T) {
	ctx := tab(t, browser(t))
	withoutScripts(t, ctx)
	do(t, ctx, chromedp.EmulateViewport(390, 900), chromedp.Navigate(serve(t)+"/today"),
		chromedp.Click(chromedp.CSS(".nav-small summary")),
		chromedp.WaitVisible(chromedp.CSS(`.nav-small a[href="/docket"]`)),
		chromedp.Click(chromedp.CSS(`.nav-small a[href="/docket"]`)),
		chromedp.WaitVisible(chromedp.CSS(".rail")))
}

func parse(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func withoutScripts(t *testing.T, ctx context.Context) {
	t.Helper()
	if _, err := chromedp.Call(ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{
		Value: true}); err != nil {
		t.Fatal(err)
	}
}
