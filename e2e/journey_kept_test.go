package e2e

import (
	"strings"
	"testing"

	"ledgerwheel/domain/staff"
)

// TestNothingTypedIsLost fills one form and lets everything happen to it that happens in a shop: the page is left and
// come back to, the line breaks, the button is pressed twice, the session ends.
func TestNothingTypedIsLost(t *testing.T) {
	t.Parallel()
	p := signedIn(t, otherSite(t), staff.Owner)
	number := p.takesIn(handedIn{customer: "Guðrún Þórðardóttir", phone: "01632 960 797", maker: "Gannet",
		model: "Fathom", serial: "GF 7781", complaint: "Stops when laid on its back"})
	const words = "Crown with tube, 5.5 mm\u00a0“Fathom” <b>"
	form := p.within("part-form")
	fill := func() {
		t.Helper()
		p.sheet(number, "parts")
		form.fillAll("description", words, "quantity", "2")
	}
	stands := func(what string) {
		t.Helper()
		if got := form.value("description"); got != words {
			p.errorf("%s: the form holds %q", what, got)
		}
		if got := form.value("quantity"); got != "2" {
			p.errorf("%s: the form holds %q", what, got)
		}
	}
	kept := func() { // what is typed is kept after a rest
		t.Helper()
		p.until(`Object.values(sessionStorage).some((kept) => kept.includes("Fathom"))`)
	}

	fill()
	kept()
	p.sheet(number, "parts")
	p.sees("What you typed before is here again.")
	stands("reloaded")
	p.lookOver("typed before")
	p.sheet(number, "journal")
	p.try(p.tab.ToNextPage(func() error { p.js(`setTimeout(() => history.back(), 0)`); return nil }))
	p.until(`document.querySelector('[data-testid="part-form"] [name="description"]').value.includes("Fathom")`)
	stands("gone back to")
	p.sheet(number, "parts")
	p.js(`document.querySelector('[data-testid="clear-typed"]').click()`)
	if got := form.value("description"); got != "" {
		p.errorf("cleared, it holds %q", got)
	}
	p.sheet(number, "parts")
	p.seesNot("What you typed before")

	fill()
	p.try(p.tab.BreakLine(true))
	form.js(`document.querySelector('[data-testid="part-form"] .actions button').click()`)
	p.until(`document.querySelector('[data-testid="line-down"]')`)
	p.sees("the line is down", "Nothing was sent; what you typed is still here.")
	stands("the line down")
	p.tab.Faults() // the browser's own word for it
	p.lookOver("line down")
	p.try(p.tab.BreakLine(false))
	before := p.count(byTest("part"))
	p.try(p.tab.ToNextPage(func() error {
		p.js(`(() => { const b = document.querySelector('[data-testid="send-again"]'); b.click(); b.click(); b.click(); })()`)
		return nil
	}))
	if n := p.count(byTest("part")) - before; n != 1 {
		p.errorf("pressed three times it made %d parts", n)
	}
	p.sheet(number, "parts")
	p.seesNot("What you typed before")

	fill()
	p.try(p.tab.EndSession())
	form.press("add-part")
	p.sees("Your session had ended", "Nothing has been saved yet.")
	p.lookOver("session ended")
	who, err := signInOf(staff.Owner)
	p.try(err)
	p.fillAll("email", who.Email, "password", who.Password)
	p.press("sign-in")
	p.arrives("/dockets/" + number + "/parts")
	p.sees("Your session had ended, so this was not saved. What you typed is here again.")
	stands("signed in again")
	p.lookOver("kept form")
	form.press("add-part")
	if n := p.count(byTest("part")) - before; n != 2 {
		p.errorf("sent after signing in there are %d more parts, want 2", n)
	}

	fill()
	kept()
	p.press("sign-out")
	p.until(`Object.keys(sessionStorage).every((place) => !place.startsWith("ledgerwheel form"))`)
	if strings.Contains(p.page(), "Fathom") {
		p.errorf("signed out, the window still shows what was typed")
	}
}
