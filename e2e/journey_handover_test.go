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
func TestHandOverOnOneScreen(t *testing.T) {
	t.Parallel()
	shop := otherSite(t)
	owner, clerk := signedIn(t, shop, staff.Owner), signedIn(t, shop, staff.Clerk)
	number := owner.finished("Tamsin Oakley", "01632 960 751", "SS 4 4479")
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
	clerk.until(`document.querySelector('[data-testid="scan-said"]')?.textContent.includes("This watch's ticket")`)
	clerk.stage("ready")

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

// finished takes in a watch and does all of its work, up to ready.
func (p *person) finished(customer, phone, serial string) string {
	p.t.Helper()
	number := p.takesIn(handedIn{customer: customer, phone: phone, maker: "Shearwater", model: "Slack",
		serial: serial, complaint: "Loses time.", more: []string{"approval_limit", "120", "lume", "none"}})
	p.repairs(number)
	p.tests(number)
	p.moves(number, move{to: "ready", place: "safe"})
	return number
}

// TestAScanHandsNothingOver scans the ticket into a hand-over that is not filled in, into its own field, another and a button, as
// fast as a scanner does and slower than the page knows one by, on a page whose scripts run, are slow, come while the scan
// does, or never. Each time the watch stays, the form says whose ticket it was, and what was typed stands.
func TestAScanHandsNothingOver(t *testing.T) {
	t.Parallel()
	shop := otherSite(t)
	owner, clerk := signedIn(t, shop, staff.Owner), signedIn(t, shop, staff.Clerk)
	number := owner.finished("Tamsin Hale", "01632 960 707", "SS 4 4481")
	path, plain := "/dockets/"+number+"/hand-over", strings.ReplaceAll(number, "-", "")
	scanned := shop.address + "/d/" + plain
	hand := &scanner{person: clerk}
	stays := func(how, ticket string) {
		t.Helper()
		clerk.until(`document.readyState === "complete" && document.querySelector('[data-testid="scan-said"]')?.textContent.includes("This watch's ticket")`)
		if got := clerk.value("ticket"); got != ticket {
			t.Errorf("%s: the field holds %q, want %q", how, got, ticket)
		}
		if got := clerk.path(); got != path {
			t.Fatalf("%s: at %s", how, got)
		}
		clerk.stage("ready")
	}
	several := func() {
		clerk.js(`document.querySelector('[name="pay"][value="several"]').click()`)
		clerk.js(`document.querySelector('[name="given-cash"]').focus()`)
	}

	for _, busy := range []float64{1, 10} {
		clerk.open(path)
		clerk.try(clerk.tab.Slow(busy))
		several()
		hand.types(scanned+kb.Enter, 0.01)
		stays("into another field", scanned)
		if got := clerk.value("given-cash"); got != "" {
			t.Errorf("%g times as slow: the scan stayed in the field that had the keyboard: %q", busy, got)
		}
		clerk.js(`document.querySelector('[data-testid="hand-over"]').focus()`)
		hand.types(scanned+kb.Enter, 0.01)
		stays("onto the button", scanned)
		clerk.try(clerk.tab.Slow(1))
	}

	clerk.open(path)
	several()
	clerk.js(`document.querySelector('[name="ticket"]').focus()`)
	hand.types(scanned+kb.Enter, 0.2)
	stays("slowly", scanned)
	clerk.js(`document.querySelector('[data-testid="hand-over"]').focus()`)
	hand.types(plain+kb.Enter, 0.2)
	stays("slowly, onto the button", scanned)

	// The first letters stand in the field before the script runs; it sees the others.
	head, rest := scanned[:len(scanned)-8], scanned[len(scanned)-8:]
	clerk.try(clerk.tab.BeforeEachPage(`sessionStorage.clear(); new MutationObserver((seen, o) => {
		const ticket = document.querySelector('[name="ticket"]');
		if (ticket) { o.disconnect(); ticket.value = ` + quoted(head) + `; }
	}).observe(document, { childList: true, subtree: true })`))
	clerk.open(path)
	opened, err := browser.Eval[float64](clerk.tab, `performance.timeOrigin / 1000`)
	clerk.try(err)
	clerk.js(`const t = document.querySelector('[name="ticket"]'); t.focus(); t.setSelectionRange(99, 99)`)
	hand.at = opened
	hand.typesOn(rest+kb.Enter, 0.01)
	stays("while the script came", scanned)

	clerk.try(clerk.tab.WithoutScripts())
	clerk.open(path)
	// A page without scripts says by nothing but the keyboard that its field is ready.
	clerk.until(`document.activeElement.name === "ticket"`)
	hand.types("26-00001-1"+kb.Enter, 0.01)
	clerk.until(`document.querySelector('[data-testid="form-errors"]')`)
	clerk.refused("ticket", "misread")
	clerk.open(path)
	clerk.within("leave-form").tick("pay", "card")
	clerk.js(`document.querySelector('[name="ticket"]').focus()`)
	hand.types(plain+kb.Enter, 0.01)
	stays("without scripts", plain)
	if clerk.has(byTest("form-errors")) || !clerk.has(`[name="pay"][value="card"]:checked`) {
		t.Error("without scripts: the ticket was not taken, or what was chosen is gone")
	}
	clerk.until(`document.activeElement.dataset.testid === "hand-over"`)
	clerk.press("hand-over")
	clerk.within("left").sees("Tamsin Hale", "the claim ticket")
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
	p.until(`document.activeElement.dataset.testid === "hand-over"`)
	p.within("scan-said").sees("This watch's ticket")
	c.strikes(kb.Enter)
	p.until(`document.querySelector('[data-testid="left"]')`)
	p.arrives("/dockets/" + number + "/hand-over")
	p.within("left").sees("Enid Marram")
	c.atMost("nothing due", 1, 1, 12, 0)
}

// TestThreeWatchesOnOneTicket takes in three watches in one visit, on one paper; does the work of each; hands two over together
// against their one ticket, for cash and card, with their cards and one receipt; and the third later, by the same ticket.
func TestThreeWatchesOnOneTicket(t *testing.T) {
	t.Parallel()
	shop := otherSite(t)
	owner, clerk := signedIn(t, shop, staff.Owner), signedIn(t, shop, staff.Clerk)
	first := owner.takesIn(handedIn{customer: "Merrin Tallow", phone: "01632 960 718", maker: "Shearwater", model: "Slack",
		serial: "SS 4 4490", complaint: "Loses time.", more: []string{"approval_limit", "120", "lume", "none"}})
	numbers := []string{first}
	for _, serial := range []string{"SS 4 4491", "SS 4 4492"} {
		owner.open("/intake?with=" + first)
		owner.js(`[...document.querySelectorAll("button")].find((b) => b.textContent.trim() === "Another watch").click()`)
		owner.until(`document.querySelector('[name="maker"]')`)
		form := owner.unfoldsIntake()
		form.within("chosen-customer").sees("Merrin Tallow")
		form.fillAll("maker", "Shearwater", "model", "Ebb", "serial", serial, "complaint", "Stops.", "approval_limit", "120", "lume", "none")
		for _, part := range []string{"dial", "crystal", "case", "crown", "bracelet"} {
			form.tick("clear", part)
		}
		form.press("take-in")
		numbers = append(numbers, owner.docket())
	}
	owner.open("/dockets/" + first + "/papers/claim-ticket")
	owner.prints("ticket of three").says(append([]string{"Merrin Tallow", "3 watches", "Shearwater Ebb"}, numbers...)...)
	for _, n := range numbers {
		owner.repairs(n)
	}
	for _, n := range numbers[:2] {
		owner.tests(n)
		owner.moves(n, move{to: "ready", place: "safe"})
	}

	// The scanned ticket leads to the watches, and their hand-over to the one page of all.
	clerk.open("/dockets/" + first)
	ticket := clerk.attr(byTest("head-with")+" a", "href")
	visit := ticket[strings.LastIndex(ticket, "/")+1:]
	clerk.open("/v/" + strings.ReplaceAll(visit, "-", ""))
	clerk.follow(byTest("to-hand-over"))
	path := "/visits/" + visit + "/hand-over"
	clerk.arrives(path)
	clerk.within("watch-"+numbers[2]).sees("final test", "75.00")
	clerk.lookOver("three watches together")
	clerk.try(clerk.tab.LookAt(1360, 900, "light"))
	clerk.open(path)
	ends, err := browser.Eval[int64](clerk.tab, `Math.ceil(document.querySelector('[data-testid="leave-form"]').getBoundingClientRect().bottom + scrollY)`)
	clerk.try(err)
	t.Logf("with three watches the form ends at %d px", ends)
	if ends > 900 {
		t.Errorf("the form of three ends at %d px, want at most 900", ends)
	}

	// The sum follows the ticks; the ticket is scanned wherever the keyboard is; what goes back is said.
	sum := func(want string) {
		t.Helper()
		clerk.until(`document.querySelector('[data-testid="leave-due"]').textContent.includes(` + quoted(want) + `)`)
	}
	sum("150.00")
	clerk.js(`document.querySelector('[data-testid="go-` + numbers[1] + `"]').click()`)
	sum("75.00")
	clerk.js(`document.querySelector('[data-testid="go-` + numbers[1] + `"]').click()`)
	sum("150.00")
	hand := &scanner{person: clerk}
	clerk.js(`document.querySelector('[name="pay"][value="several"]').click()`)
	clerk.js(`document.querySelector('[name="given-cash"]').focus()`)
	hand.types(shop.address+"/v/"+strings.ReplaceAll(visit, "-", "")+kb.Enter, 0.01)
	clerk.until(`document.querySelector('[data-testid="scan-said"]')?.textContent.includes("The ticket of these watches")`)
	clerk.within("leave-form").fillAll("given-card", "100", "given-cash", "49")
	clerk.until(`document.querySelector('[data-testid="change"]').textContent.includes("still missing")`)
	clerk.press("hand-over")
	clerk.refused("given-cash", "1.00", "still missing")
	clerk.within("leave-form").fill("given-cash", "60")
	clerk.until(`document.querySelector('[data-testid="change"]').textContent.includes("10.00")`)
	clerk.press("hand-over")
	clerk.arrives(path)
	clerk.sees("Change to give: ", "10.00", "2 watches have left the shop with Merrin Tallow")
	clerk.within("watch-"+numbers[0]).sees("gone", "Merrin Tallow")
	clerk.lookOver("two of three have left")

	clerk.follow(byTest("to-receipt"))
	clerk.prints("receipt of two").says(visit, "Merrin Tallow", numbers[0], numbers[1], "Shearwater Slack", "Shearwater Ebb", "150.00", "100.00",
		"60.00", "10.00", "Paid in full", "Still in the shop", numbers[2])
	clerk.open(path)
	clerk.follow(byTest("to-cards"))
	clerk.sees("Shearwater Slack", "Shearwater Ebb")
	journalTells(t, clerk, numbers[0], numbers[1], "against the claim ticket", "handed over to Merrin Tallow")
	clerk.open("/dockets/" + numbers[2])
	clerk.stage("final test")

	owner.tests(numbers[2])
	owner.moves(numbers[2], move{to: "ready", place: "safe"})
	clerk.open(path)
	form := clerk.within("leave-form")
	form.tick("pay", "card")
	form.fill("ticket", visit)
	form.press("hand-over")
	clerk.arrives(path)
	clerk.within("watch-" + numbers[2]).sees("gone")
	clerk.open("/visits/" + visit + "/papers/receipt")
	clerk.prints("receipt of three").says(numbers[0], numbers[1], numbers[2], "225.00", "Paid in full")
}
