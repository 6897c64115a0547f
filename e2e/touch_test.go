package e2e

import (
	"os"
	"path/filepath"
	"testing"

	"ledgerwheel/domain/staff"
	"ledgerwheel/e2e/browser"
)

// looking is JavaScript of testdata that looks a page over and lists what is wrong with it.
func (p *person) looking(script string) []string {
	p.t.Helper()
	js, err := os.ReadFile(filepath.Join("testdata", "looks", script))
	p.try(err)
	found, err := browser.Eval[[]string](p.tab, string(js))
	p.try(err)
	return found
}

// fitsAFinger adds what is smaller than a finger: 44 px, as WCAG 2.2 (2.5.5) and the platforms' guides ask.
func (p *person) fitsAFinger(faults map[string][]string, l look) {
	p.t.Helper()
	for _, small := range p.looking("targets.js") {
		fault := "too small for a finger: " + small
		faults[fault] = append(faults[fault], l.String())
	}
}

// fitsNarrow adds whether the page needs a scroll sideways at 320 px (WCAG 2.2, 1.4.10).
func (p *person) fitsNarrow(faults map[string][]string) {
	p.t.Helper()
	p.try(p.tab.Look(320, "light"))
	wider, err := browser.Eval[bool](p.tab, `document.documentElement.scrollWidth > innerWidth`)
	p.try(err)
	if wider {
		faults["the page needs a scroll sideways"] = []string{"320 px"}
	}
}

// bound is how tall a page and its head that stays in sight may be, in CSS pixels, at a desk and on a telephone.
type bound struct{ page, head [2]int64 }

// TestHeights measures what the owner of the demo shop has to scroll through, and that the head of a docket leaves the
// window to its sheet where it stays in sight.
func TestHeights(t *testing.T) {
	t.Parallel()
	p := signedIn(t, otherSite(t), staff.Owner)
	p.open("/dockets")
	dockets, err := browser.Eval[[]string](p.tab, `[...document.querySelectorAll("a.number")].map(a => a.getAttribute("href"))`)
	p.try(err)
	if len(dockets) < 20 {
		p.fatalf("%d dockets on the list are too few to find a tall one", len(dockets))
	}
	docket := bound{page: [2]int64{1580, 2650}, head: [2]int64{150, 120}} // a comeback whose promise slips says both
	tallest := [2]int64{}
	for path, most := range pagesBounded(dockets, docket) {
		for i, width := range []int64{1440, 390} {
			p.try(p.tab.Look(width, "light"))
			p.open(path)
			got, err := browser.Eval[[]int64](p.tab, `[document.documentElement.scrollHeight, [...document.querySelectorAll(".docket-head")]
				.filter(e => getComputedStyle(e).position === "sticky").map(e => e.offsetHeight)[0] ?? 0,
				[...document.querySelectorAll('[data-testid="asks"]')].map(e => e.offsetHeight)[0] ?? 0]`)
			p.try(err)
			got[0] -= got[2] // what the customer asks stands first, and is gone with its answer
			if got[0] > most.page[i] || got[1] > most.head[i] {
				t.Errorf("%s at %d px is %d px tall, its head %d; at most %d and %d", path, width, got[0], got[1], most.page[i],
					most.head[i])
			}
			if path == "/" {
				t.Logf("Today at %d px is %d px tall", width, got[0])
			} else {
				tallest[i] = max(tallest[i], got[0])
			}
		}
	}
	t.Logf("the tallest of %d dockets is %d px at a desk, %d on a telephone", len(dockets), tallest[0], tallest[1])
}

func pagesBounded(dockets []string, docket bound) map[string]bound {
	pages := map[string]bound{"/": {page: [2]int64{1300, 2500}}}
	for _, path := range dockets {
		pages[path] = docket
	}
	return pages
}

// TestNothingHidesTheKeyboard goes through all that can have the keyboard, forwards and back, where something stays in
// sight while one scrolls: WCAG 2.2, 2.4.11. In a low window, or at 400 % (WCAG 1.4.10: 1280 × 1024 is then 320 × 256),
// nothing stays.
func TestNothingHidesTheKeyboard(t *testing.T) {
	t.Parallel()
	p := signedIn(t, otherSite(t), staff.Watchmaker)
	p.open("/dockets")
	number := docketNumber.FindString(p.text("a.number"))
	stays := `[...document.querySelectorAll("body *")].filter(e => ["sticky", "fixed"].includes(getComputedStyle(e).position) &&
		getComputedStyle(e).top !== "auto").map(e => e.className)`
	for _, sheet := range []string{"", "/intake", "/diagnosis", "/estimate", "/parts", "/service", "/regulation", "/final-test",
		"/hand-over", "/journal"} {
		path := "/dockets/" + number + sheet
		for _, size := range [][2]int64{{1440, 900}, {390, 844}, {1280, 460}, {320, 256}} {
			p.try(p.tab.LookAt(size[0], size[1], "light"))
			p.open(path)
			for _, hidden := range p.looking("obscured.js") {
				t.Errorf("%s at %d × %d: %s", path, size[0], size[1], hidden)
			}
			if size[1] >= 480 {
				continue
			}
			left, err := browser.Eval[[]string](p.tab, stays)
			p.try(err)
			if len(left) > 0 {
				t.Errorf("%s at %d × %d: %q stay in sight", path, size[0], size[1], left)
			}
		}
	}
}
