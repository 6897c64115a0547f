package e2e

import (
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/chromedp/chromedp/kb"

	"ledgerwheel/domain/staff"
	"ledgerwheel/e2e/browser"
)

// counted is a person whose every page, field, key and click is counted. They type where the keyboard is and click
// into a field only when it is elsewhere.
type counted struct {
	*person
	pages, fields, keys, clicks int
}

// opens goes to a page.
func (c *counted) opens(path string) {
	c.t.Helper()
	c.open(path)
	c.pages++
}

// writes types into a field.
func (c *counted) writes(name, text string) {
	c.t.Helper()
	here, err := browser.Eval[bool](c.tab, `document.activeElement === document.querySelector(`+quoted(c.field(name))+`)`)
	c.try(err)
	if !here {
		c.clicksOn(c.field(name))
	}
	c.try(c.tab.Keys(text))
	c.fields++
	c.keys += utf8.RuneCountInString(text)
}

// strikes presses one key.
func (c *counted) strikes(key string) {
	c.t.Helper()
	c.try(c.tab.Keys(key))
	c.keys++
}

// clicksOn clicks something that stays on the page.
func (c *counted) clicksOn(selector string) {
	c.t.Helper()
	c.try(c.tab.Click(selector))
	c.clicks++
}

// leaves clicks something that leads to another page.
func (c *counted) leaves(selector string) {
	c.t.Helper()
	c.follow(selector)
	c.pages++
	c.clicks++
}

// atMost holds the counts to bounds and says them.
func (c *counted) atMost(what string, pages, fields, keys, clicks int) {
	c.t.Helper()
	c.t.Logf("%s: %d pages, %d fields, %d keys, %d clicks", what, c.pages, c.fields, c.keys, c.clicks)
	if c.pages > pages || c.fields > fields || c.keys > keys || c.clicks > clicks {
		c.t.Errorf("%s takes %d pages, %d fields, %d keys, %d clicks; want at most %d, %d, %d, %d", what, c.pages, c.fields,
			c.keys, c.clicks, pages, fields, keys, clicks)
	}
}

// TestIntakeCounts takes in a watch of somebody new, and of somebody who was here before, found by telephone and by
// serial, up to ticket and label printed. Before the two steps the same took 5 pages, 7 fields, 55 keys and 12 clicks; 6,
// 2, 26 and 10; and 5, 3, 32 and 11.
func TestIntakeCounts(t *testing.T) {
	t.Parallel()
	p := signedIn(t, otherSite(t), staff.Owner)
	p.try(p.tab.BeforeEachPage(`window.prints = 0; window.print = () => { prints++; dispatchEvent(new Event("afterprint")); };`))
	taken := func(c *counted) string {
		t.Helper()
		c.leaves(byTest("take-in-print"))
		p.until(`window.prints === 1`)
		return p.docket()
	}
	begins := func(c *counted) {
		t.Helper()
		c.opens("/intake")
		p.until(`document.activeElement.name === "sought"`)
	}
	c := &counted{person: p}
	begins(c)
	c.writes("sought", "01632 960781")
	c.strikes(kb.Enter)
	p.until(`document.activeElement.name === "name"`)
	c.writes("name", "Ida Vane")
	c.writes("maker", "Corrie")
	c.writes("model", "Skiff")
	c.writes("serial", "CK 4471")
	c.writes("complaint", "Stops overnight")
	c.writes("approval_limit", "60")
	first := taken(c)
	c.atMost("somebody new", 2, 7, 56, 6)
	leavesShop(p, first)

	c = &counted{person: p}
	begins(c)
	c.writes("sought", "01632960781")
	c.strikes(kb.Enter)
	p.until(`document.activeElement.id === "first-offer"`)
	c.strikes(kb.Enter)
	p.until(`document.activeElement.name === "complaint"`)
	c.writes("complaint", "Stops overnight")
	second := taken(c)
	c.atMost("found by telephone", 2, 2, 28, 1)
	leavesShop(p, second)

	c = &counted{person: p}
	begins(c)
	c.writes("sought", "ck4471")
	c.strikes(kb.Enter)
	p.until(`document.activeElement.name === "complaint"`)
	c.writes("complaint", "Stops overnight")
	taken(c)
	c.atMost("found by serial", 2, 2, 22, 1)

	c = &counted{person: p}
	begins(c)
	c.writes("sought", strings.ReplaceAll(first, "-", "")) // an old ticket, scanned
	p.try(p.tab.Keys(kb.Enter))
	p.until(`document.activeElement.name === "complaint"`)
	p.within("chosen-customer").sees("Ida Vane", "01632 960781")
	p.within("chosen-watch").sees("Corrie Skiff", "CK 4471")
	p.js(`window.beforeReload = true; location.reload()`)
	p.until(`!window.beforeReload && document.readyState === "complete" && document.querySelector('[data-testid="chosen-watch"]')`)
	p.within("chosen-customer").sees("Ida Vane")
}

// leavesShop notes in one press that there are no marks, and has the customer fetch the watch again.
func leavesShop(p *person, number string) {
	p.t.Helper()
	p.open("/d/" + strings.ReplaceAll(number, "-", "")) // as the ticket's code does
	p.arrives("/dockets/" + number + "/intake")
	p.press("no-marks-anywhere")
	p.within("condition").sees("Seen, without marks: dial, crystal, case, crown, bracelet or strap")
	p.moves(number, move{to: "withdrawn", place: "counter", reason: "She thought again."})
	p.handsOver(number, number, "Ida Vane", "none")
}

// TestIntakeStepOneOnOneScreen measures the page that takes in a watch, at a desk and on a telephone.
func TestIntakeStepOneOnOneScreen(t *testing.T) {
	t.Parallel()
	p := signedIn(t, otherSite(t), staff.Owner)
	for _, size := range []struct {
		wide, high, most int64
	}{{1440, 900, 1300}, {1360, 900, 1300}, {390, 844, 2200}} {
		p.try(p.tab.LookAt(size.wide, size.high, "light"))
		p.open("/intake")
		high, err := browser.Eval[int64](p.tab, `document.documentElement.scrollHeight`)
		p.try(err)
		button, err := browser.Eval[float64](p.tab, `document.querySelector('[data-testid="take-in-print"]').getBoundingClientRect().bottom`)
		p.try(err)
		t.Logf("at %d the page is %d px high, the button ends at %.0f", size.wide, high, button)
		if high > size.most || button > float64(size.high) {
			t.Errorf("at %d the page is %d px high, the button ends at %.0f; want %d and %d", size.wide, high, button, size.most,
				size.high)
		}
	}
}
