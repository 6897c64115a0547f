package e2e

import (
	"strings"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"ledgerwheel/e2e/browser"
)

// typist is a person without a mouse. Whatever gets the keyboard on the way must be plainly to be seen.
type typist struct {
	*person
	stops int // at how many places the keyboard was
}

// stop is what has the keyboard.
type stop struct {
	Name    string // for people
	Matches bool
	Unseen  string // why it can't be seen, or nothing
}

// tabsMost bounds the way to a field; no page has as many stops.
const tabsMost = 250

// here looks at what has the keyboard. WCAG 2.2, 2.4.7 asks that it be visible and 2.4.11 that nothing lie over it
// entirely; here it must also be within the window. Chromium gives the keyboard to a part of a day's field, not to the
// field, so there only the ring counts.
func (k *typist) here(selector string) stop {
	k.t.Helper()
	at, err := browser.Eval[stop](k.tab, `(() => {
		const e = document.activeElement;
		if (!e || e === document.body || e === document.documentElement) return {Name: "", Matches: false, Unseen: ""};
		const style = getComputedStyle(e), box = e.getBoundingClientRect();
		const name = e.tagName.toLowerCase() + " " + (e.name || e.dataset.testid || e.id || e.innerText?.slice(0, 40) || "");
		const ringed = style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 1 || style.boxShadow !== "none";
		const inWindow = box.width > 0 && box.height > 0 && box.bottom > 0 && box.right > 0 && box.top < innerHeight && box.left < innerWidth;
		const left = Math.max(box.left, 0), right = Math.min(box.right, innerWidth); // of what is within the window
		const top = Math.max(box.top, 0), bottom = Math.min(box.bottom, innerHeight);
		const points = [[.5, .5], [.1, .5], [.9, .5], [.5, .1], [.5, .9]].map(([x, y]) => [left + (right - left) * x, top + (bottom - top) * y]);
		const clear = points.some(([x, y]) => { const hit = document.elementFromPoint(x, y); return hit && (e.contains(hit) || hit.contains(e)); });
		return {Name: name, Matches: e.matches(`+quoted(selector)+`),
			Unseen: !e.matches(":focus-visible, [type=date]") ? "it is not drawn as having the keyboard" : !ringed ? "no ring is drawn round it"
				: !inWindow ? "it is outside the window" : !clear ? "something lies over it" : ""};
	})()`)
	k.try(err)
	return at
}

// to presses Tab until the keyboard is where the selector says, and looks at every stop on the way.
func (k *typist) to(selector string) {
	k.t.Helper()
	var passed []string
	at := k.here(selector)
	for presses := 0; !at.Matches; presses++ {
		if presses == tabsMost {
			k.fatalf("%d presses of Tab don't lead to %s; they pass %s", presses, selector,
				strings.Join(passed[max(0, len(passed)-60):], ", "))
		}
		k.try(k.tab.Keys(kb.Tab))
		at = k.here(selector)
		if at.Name == "" {
			continue // past the page's end, on the way to its top
		}
		passed = append(passed, at.Name)
		k.stops++
		if at.Unseen != "" {
			k.errorf("the keyboard is at %s and %s", at.Name, at.Unseen)
		}
	}
}

// types goes to a field and types into it, in place of what stands there.
func (k *typist) types(name, text string) {
	k.t.Helper()
	k.to(k.field(name))
	k.try(k.tab.Keys("a", chromedp.KeyModifiers(chromedp.ModifierCtrl)))
	k.try(k.tab.Keys(text))
	if got := k.value(name); strings.ReplaceAll(got, "\n", "\r") != text {
		k.fatalf("typed %q into %s; it holds %q", text, name, got)
	}
}

// picks goes to a list and types the beginning of what should be chosen.
func (k *typist) picks(selector, text string) {
	k.t.Helper()
	k.to(selector)
	k.try(k.tab.Keys(text))
	got, err := browser.Eval[string](k.tab, `document.activeElement.selectedOptions[0].text`)
	k.try(err)
	if !strings.HasPrefix(got, text) {
		k.fatalf("typed %q at %s; %q is chosen", text, selector, got)
	}
}

// marks goes to a group of round buttons and moves to one of them.
func (k *typist) marks(name, value string) {
	k.t.Helper()
	k.to(k.field(name))
	for range 40 {
		if k.here(k.choice(name, value)).Matches {
			k.try(k.tab.Keys(" "))
			return
		}
		k.try(k.tab.Keys(kb.ArrowDown))
	}
	k.fatalf("the arrow keys don't lead to %s %s", name, value)
}

// ticks goes to boxes, in the page's order, and ticks them.
func (k *typist) ticks(testIDs ...string) {
	k.t.Helper()
	for _, id := range testIDs {
		k.to(byTest(id))
		k.try(k.tab.Keys(" "))
	}
}

// opens unfolds what the data-testid names.
func (k *typist) opens(testID string) {
	k.t.Helper()
	k.to(byTest(testID) + " > summary")
	k.try(k.tab.Keys(kb.Enter))
	k.until(`document.querySelector(` + quoted(byTest(testID)) + `).open`)
}

// goes goes to a link or button, presses Enter and waits for the page that follows.
func (k *typist) goes(testID string) {
	k.t.Helper()
	k.to(byTest(testID))
	k.enters()
}

// enters presses Enter where the keyboard is and waits for the page that follows.
func (k *typist) enters() {
	k.t.Helper()
	k.try(k.tab.ToNextPage(func() error { return k.tab.Keys(kb.Enter) }))
}
