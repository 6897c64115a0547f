package e2e

import (
	"net/http"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/chromedp/kb"

	"ledgerwheel/domain/staff"
	"ledgerwheel/e2e/browser"
)

// TestWholeLife follows three watches to the end of their dockets: one whose estimate is declined, one that is
// withdrawn, and one that fails its final test, is mended and handed over, and comes back under warranty.
func TestWholeLife(t *testing.T) {
	t.Parallel()
	shop := site(t)
	owner, clerk := signedIn(t, shop, staff.Owner), signedIn(t, shop, staff.Clerk)
	declined(t, owner, clerk, shop)
	withdrawn(owner, clerk)
	mended(t, owner, clerk)
}

// declined goes back unrepaired, against its ticket, with nothing to pay.
func declined(t *testing.T, owner, clerk *person, shop *program) {
	number := clerk.takesIn(handedIn{customer: "李 雪梅", phone: "01632 960 791", maker: "Turnstone", model: "Eddy",
		serial:    "TE 61",
		complaint: "手表停了", more: []string{"lume", "none"}})
	owner.moves(number, move{to: "diagnosis", place: "bench", detail: "South bench"})
	owner.readsCautions(number)
	owner.findsWrong(number, "balance-staff", "both pivots broken", "require", "A staff must be turned.")
	owner.moves(number, move{to: "estimate", place: "safe", reason: "It does not run."})
	link := owner.estimates(number, "Turn and fit a balance staff", "240")
	stranger(t, shop).answers(link, "decline", "李 雪梅", "太贵了")

	clerk.cannot(number, "service", "must approve")
	clerk.moves(number, move{to: "declined", place: "counter"})
	clerk.handsOver(number, number, "李 雪梅", "none")
	clerk.stage("declined, handed back")
	journalTells(t, clerk, number, "intake", "diagnosis", "estimate", "太贵了", "to declined", "against the claim ticket",
		"handed back")

	customer := stranger(t, shop)
	customer.open(strings.TrimPrefix(link, shop.address))
	customer.seesNot("Send my answer")
	closed(owner, number)
}

// withdrawn is fetched by its owner before anything was found, without the ticket.
func withdrawn(owner, clerk *person) {
	number := clerk.takesIn(handedIn{customer: "Marit Søndergård", phone: "01632 960 792", maker: "Turnstone",
		model: "Race", complaint: "Rattles"})
	clerk.moves(number, move{to: "diagnosis", place: "bench", detail: "2"})
	clerk.tries(number, move{to: "withdrawn", place: "counter"})
	if !clerk.has(byTest("form-errors")) {
		clerk.fatalf("a watch was withdrawn without a reason")
	}
	clerk.within("move-form-withdrawn").fill("reason", "She moves abroad on Thursday.")
	clerk.press("do-withdrawn")
	clerk.stage("withdrawn")

	clerk.sheet(number, "hand-over")
	form := clerk.within("leave-form")
	form.press("hand-over")
	clerk.refused("ticket") // which opens what is asked without it
	form.fillAll("shown", "driving-licence", "identity", "The name as on the docket.")
	form.tick("old_parts", "none")
	form.press("hand-over")
	clerk.refused("done", "The rule of the house")
	clerk.js(`document.querySelectorAll('[name="done"]').forEach(box => box.checked = true)`)
	form.press("hand-over")
	clerk.stage("withdrawn, handed back")
	journalTells(clerk.t, clerk, number, "She moves abroad on Thursday.", "Driving licence seen", "Statement of the lost ticket signed")
	closed(owner, number)
}

// mended fails its final test, goes back to service, passes, is paid and handed over, and comes back.
func mended(t *testing.T, owner, clerk *person) {
	w := handedIn{customer: "Oisín Ó Briain", phone: "01632 960 793", maker: "Turnstone", model: "Slack",
		serial:    "TS 8087",
		complaint: "Stops face down", more: []string{"approval_limit", "120", "lume", "none", "winding", "automatic"}}
	number := clerk.takesIn(w)
	owner.repairs(number)
	owner.tests(number, "winding-and-setting", "case-and-strap")
	owner.moves(number, move{to: "service", place: "bench", detail: "South bench"})
	owner.works(number, "case", "case-up")
	owner.moves(number, move{to: "regulation", place: "bench", detail: "South bench"})
	owner.measures(number, "final", soundReadings)
	owner.moves(number, move{to: "final-test", place: "bench", detail: "South bench"})
	owner.tests(number)
	owner.moves(number, move{to: "ready", place: "safe"})
	clerk.open("/?show=collect&rows=all")
	clerk.sees(number)

	clerk.sheet(number, "hand-over")
	form := clerk.within("leave-form")
	form.fill("ticket", number)
	form.tick("old_parts", "none")
	form.press("hand-over")
	if !clerk.has(byTest("form-errors")) {
		clerk.fatalf("a watch left unpaid without the owner's word")
	}
	clerk.handsOver(number, strings.ToLower(number), "Oisín Ó Briain", "none", "cash")
	clerk.stage("handed over")
	journalTells(t, owner, number, "intake", "diagnosis", "estimate", "service", "regulation", "final test", "service",
		"regulation",
		"final test", "ready", "75.00", "against the claim ticket", "handed over to Oisín Ó Briain")
	closed(owner, number)

	comesBack(clerk, w, number)
}

// comesBack takes the same watch in again, under the warranty of its docket.
func comesBack(p *person, w handedIn, earlier string) {
	p.open("/intake")
	form := p.within("intake-form")
	form.fillAll("complaint", "Stops face down again", "service_wanted", "warranty", "sought", w.serial)
	p.try(p.tab.Keys(kb.Enter))
	p.until(`document.querySelector('[data-testid="chosen-watch"]') && document.querySelector('[data-testid="chosen-customer"]')`)
	form.within("chosen-customer").sees(w.customer)
	from, err := browser.Eval[string](p.tab,
		`[...document.querySelectorAll('[name="warranty_of"]')].map(e => e.value).find(v => v !== "0") ?? ""`)
	p.try(err)
	if from == "" {
		p.fatalf("the warranty of %s is not offered", earlier)
	}
	form.tick("warranty_of", from)
	form.press("take-in")
	again := p.docket()
	p.sheet(again, "")
	p.sees(earlier)
}

// journalEntry is one entry as the page shows it.
type journalEntry struct {
	Seq   int
	Words string
}

// journalTells reads the journal page by page and checks that it says these things in this order, has every entry from
// the first, and hangs together.
func journalTells(t *testing.T, p *person, number string, words ...string) {
	t.Helper()
	var entries []journalEntry
	for p.sheet(number, "journal"); ; p.press("older") {
		p.sees("are unbroken")
		page, err := browser.Eval[[]journalEntry](p.tab,
			`[...document.querySelectorAll('`+byTest("journal")+` > li')].map(e => ({
			Seq: Number(e.querySelector(".timeline-seq").textContent.match(/\d+/)[0]), Words: e.textContent.replace(/\s+/g, " ")}))`)
		p.try(err)
		entries = append(entries, page...)
		if !p.has(byTest("older")) {
			break
		}
	}
	slices.Reverse(entries)
	rest := entries
	for i, e := range entries {
		if e.Seq != i+1 {
			t.Fatalf("%s: entry %d of the journal is numbered %d", number, i+1, e.Seq)
		}
	}
	for _, w := range words {
		at := slices.IndexFunc(rest, func(e journalEntry) bool {
			return strings.Contains(strings.ToLower(e.Words),
				strings.ToLower(w))
		})
		if at < 0 {
			t.Errorf("%s: %q does not follow in the journal:\n%v", number, w, entries)
			return
		}
		rest = rest[at:]
	}
}

// closed checks that nothing more can be done to a docket whose watch has left: no page offers it and none takes it.
func closed(p *person, number string) {
	p.t.Helper()
	p.sheet(number, "")
	p.within("docket-line").sees("Closed")
	if p.count(`main form[action*="/move"]`) > 0 {
		p.errorf("a move is offered on a closed docket")
	}
	for path, form := range map[string]map[string][]string{
		"/move":               {"to": {"diagnosis"}, "place": {"safe"}, "reason": {"by hand"}, "version": {"1"}},
		"/place":              {"place": {"safe"}, "version": {"1"}},
		"/diagnosis/findings": {"component": {"train"}, "fault": {"by hand"}, "severity": {"advise"}},
	} {
		res, err := p.client().PostForm(p.address+"/dockets/"+number+path, form)
		p.try(err)
		res.Body.Close()
		if res.StatusCode < http.StatusBadRequest {
			p.t.Errorf("posted to %s of a closed docket: %s", path, res.Status)
		}
	}
	p.sheet(number, "journal")
	p.seesNot("by hand")
}
