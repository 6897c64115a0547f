package e2e

import (
	"fmt"
	"slices"
	"testing"

	"ledgerwheel/domain/staff"
	"ledgerwheel/e2e/browser"
)

// TestOwnersListsFitATelephone looks for whatever of the lists of people and serials lies beyond the edge of a narrow
// screen, where nobody finds it.
func TestOwnersListsFitATelephone(t *testing.T) {
	t.Parallel()
	p := signedIn(t, otherSite(t), staff.Owner)
	p.open("/watch-list")
	p.within("watch-list-form").fillAll("serial", "WL 320-7719", "maker", "Skerrow & Daughters", "source",
		"Saltby constabulary, note 61-204", "note", "Taken from a moored ketch; bracelet with one link missing.", "reported",
		"2026-01-15")
	p.press("list-serial")
	for _, width := range []int64{390, 320} {
		for _, path := range []string{"/staff", "/watch-list"} {
			p.try(p.tab.Look(width, "light"))
			p.open(path)
			beyond, err := browser.Eval[[]string](p.tab, `[...document.querySelectorAll("main *")].filter((e) =>
				!e.closest(".aside, thead") && e.getBoundingClientRect().right > innerWidth + 1).map((e) => e.textContent.trim())`)
			p.try(err)
			if len(beyond) > 0 {
				p.errorf("at %d px %d things of %s lie beyond the edge: %q", width, len(beyond), path, beyond)
			}
		}
	}
	if !p.has(byTest("withdraw-serial")) {
		p.errorf("the list has no entry to look at")
	}
}

// TestForcedColoursTellStagesApart looks at the rail as it is drawn where the system forces its own colours.
func TestForcedColoursTellStagesApart(t *testing.T) {
	t.Parallel()
	p := signedIn(t, otherSite(t), staff.Owner)
	number := p.takesIn(handedIn{customer: "Isolde Pentreath", phone: "01632 960 787", maker: "Corrie", model: "Skiff",
		serial: "CS 9", complaint: "Loses time"})
	p.moves(number, move{to: "diagnosis", place: "bench", detail: "Window bench"})
	p.try(p.tab.ForceColours())
	p.sheet(number, "")
	looks := func(selector, pseudo string) string {
		drawn, err := browser.Eval[string](p.tab, `(() => {
			const s = getComputedStyle(document.querySelector("`+selector+`"), "`+pseudo+`");
			return [s.backgroundColor, s.borderBottomStyle, s.borderBottomWidth, s.borderBottomColor].join(" ");
		})()`)
		p.try(err)
		return drawn
	}
	var seen []string
	for _, stage := range []string{"done", "now", "next"} {
		drawn := looks(".rail li."+stage+" .rail-dot", "::after")
		if slices.Contains(seen, drawn) {
			p.errorf("a stage that is %s is drawn as another: %s", stage, drawn)
		}
		seen = append(seen, drawn)
	}
	for _, list := range []string{".nav-wide a%s", ".rail a%s .rail-name"} {
		if looks(fmt.Sprintf(list, "[aria-current]"), "") == looks(fmt.Sprintf(list, ":not([aria-current])"), "") {
			p.errorf("in %s the page one is on is drawn as any other", list)
		}
	}
}
