package e2e

import (
	"strings"
	"testing"

	"github.com/chromedp/chromedp/kb"

	"ledgerwheel/domain/staff"
	"ledgerwheel/e2e/browser"
)

// TestHandOverOnOneScreen has a clerk hand over a finished watch: all of it on one screen, at a desk and on a telephone; a scan
// is taken wherever the keyboard is; a press before its time names what lacks and gives it the keyboard; and money, change,
// watch and card go by one press.
// It is not run beside others: on a machine that is busy a scan is not quick, and its Enter sends the form.
func TestHandOverOnOneScreen(t *testing.T) {
	shop := otherSite(t)
	owner, clerk := signedIn(t, shop, staff.Owner), signedIn(t, shop, staff.Clerk)
	number := owner.takesIn(handedIn{customer: "Tamsin Oakley", phone: "01632 960 751", maker: "Shearwater", model: "Slack",
		serial: "SS 4 4479", complaint: "Loses time.", more: []string{"approval_limit", "120", "lume", "none"}})
	owner.repairs(number)
	owner.tests(number)
	owner.moves(number, move{to: "ready", place: "safe"})

	path := "/dockets/" + number + "/hand-over"
	for _, size := range []struct{ wide, high, most int64 }{{1360, 900, 700}, {390, 844, 844}} {
		clerk.try(clerk.tab.LookAt(size.wide, size.high, "light"))
		clerk.open(path)
		ends, err := browser.Eval[int64](clerk.tab, `Math.ceil(document.querySelector('[data-testid="leave-form"]').getBoundingClientRect().bottom + scrollY)`)
		clerk.try(err)
		t.Logf("at %d × %d the form ends at %d px", size.wide, size.high, ends)
		if ends > size.most {
			t.Errorf("at %d × %d the form ends at %d px, want at most %d", size.wide, size.high, ends, size.most)
		}
		if filled := clerk.count("main .button.chief"); filled != 1 {
			t.Errorf("at %d px there are %d filled buttons", size.wide, filled)
		}
	}
	clerk.try(clerk.tab.LookAt(1360, 900, "light"))

	// What lacks is named, and the first of it has the keyboard.
	clerk.open(path)
	clerk.press("hand-over")
	clerk.refused("pay", "how it is paid")
	clerk.refused("ticket", "Scan the ticket")
	clerk.until(`document.activeElement.name === "pay"`)

	// A scan falls into another field, and is taken for the ticket; the Enter at its end sends nothing.
	hand := &scanner{person: clerk}
	clerk.js(`document.querySelector('[name="pay"][value="several"]').click()`)
	clerk.js(`document.querySelector('[name="given-cash"]').focus()`)
	scanned := shop.address + "/d/" + strings.ReplaceAll(number, "-", "")
	hand.types(scanned+kb.Enter, 0.01)
	clerk.until(`document.querySelector('[name="ticket"]').value === ` + quoted(scanned))
	if got := clerk.value("given-cash"); got != "" {
		t.Errorf("the scan stayed in the field that had the keyboard: %q", got)
	}
	if got := clerk.path(); got != path {
		t.Errorf("the scan sent the form: at %s", got)
	}

	// What goes back is said as it is typed.
	clerk.within("leave-form").fillAll("given-card", "25", "given-cash", "60")
	clerk.until(`document.querySelector('[data-testid="change"]').textContent.includes("10.00")`)
	clerk.press("hand-over")
	clerk.arrives(path)
	clerk.sees("Change to give: ", "10.00")
	clerk.within("left").sees("Tamsin Oakley", "the claim ticket")
	clerk.stage("handed over")
	clerk.follow(byTest("to-card-paper"))
	clerk.sees("Shearwater Slack")
	clerk.open("/dockets/" + number + "/papers/receipt")
	clerk.prints("receipt").says(number, "Tamsin Oakley", "25.00", "60.00", "10.00", "Paid in full")
	journalTells(t, clerk, number, "against the claim ticket", "handed over to Tamsin Oakley")
}

// TestHandOverCounts hands over with the keyboard alone, and counts: paid by card, the ticket scanned as keys.
func TestHandOverCounts(t *testing.T) {
	t.Parallel()
	p := signedIn(t, otherSite(t), staff.Owner)
	number := p.takesIn(handedIn{customer: "Enid Marram", phone: "01632 960 744", maker: "Shearwater", model: "Slack",
		serial: "SS 4 4480", complaint: "Loses time.", more: []string{"lume", "none"}})
	p.moves(number, move{to: "withdrawn", place: "counter", reason: "She thought again."})
	c := &counted{person: p}
	c.opens("/dockets/" + number + "/hand-over")
	p.until(`document.activeElement.name === "ticket"`)
	c.writes("ticket", strings.ReplaceAll(number, "-", ""))
	c.strikes(kb.Enter) // the scanner's own, which sends nothing
	p.within("scan-said").sees("Scanned.")
	c.strikes(kb.Enter)
	p.arrives("/dockets/" + number + "/hand-over")
	p.within("left").sees("Enid Marram")
	c.atMost("nothing due", 1, 1, 12, 0)
}
