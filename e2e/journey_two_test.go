package e2e

import (
	"testing"

	"ledgerwheel/domain/staff"
)

// TestTwoAtOnce has the clerk and the watchmaker at the same docket: the second to send is shown what the first
// changed, loses nothing of what they typed, and can do it all the same.
func TestTwoAtOnce(t *testing.T) {
	t.Parallel()
	shop := site(t)
	clerk, bench := signedIn(t, shop, staff.Clerk), signedIn(t, shop, staff.Watchmaker)
	number := clerk.takesIn(handedIn{customer: "Zdeněk Řehoř", phone: "01632 960 741", maker: "Gannet",
		model:  "Tidewaiter",
		serial: "GT 1170", complaint: "Runs fast since Sunday"})

	// Both have the same page open.
	bench.sheet(number, "")
	clerk.sheet(number, "")
	clerk.unfold(byTest("custody"))
	clerk.within("do-place-form").tick("place", "counter")
	clerk.press("do-place")
	bench.fillMove(move{to: "diagnosis", place: "bench", detail: "Window bench", reason: "His sister telephoned:\nit " +
		"must be done by <Friday>."})
	bench.press("do-diagnosis")

	bench.sees("Someone else saved first", "Nothing of yours was saved yet")
	bench.lookOver("conflict")
	bench.within("conflict-changes").sees("Nuala Reed", "counter")
	typed := []string{"Diagnosis", "Window bench", "His sister telephoned: it must be done by <Friday>."}
	bench.within("conflict-typed").sees(typed...)
	clerk.sheet(number, "")
	clerk.stage("intake")

	// While the second reads that, a third change is made: agreeing counts only for what was shown.
	clerk.unfold(byTest("custody"))
	clerk.within("do-place-form").tick("place", "safe")
	clerk.press("do-place")
	bench.press("do-it-anyway")
	bench.sees("Someone else saved first")
	bench.within("conflict-changes").sees("safe")
	if n := bench.count(byTest("conflict-changes") + " .timeline > li"); n != 1 {
		bench.errorf("%d changes are shown, want only the one made since", n)
	}
	bench.within("conflict-typed").sees(typed...)

	bench.press("do-it-anyway")
	bench.arrives("/dockets/" + number)
	bench.stage("diagnosis")
	bench.sheet(number, "journal")
	bench.sees("His sister telephoned: it must be done by <Friday>.", "Window bench", "are unbroken")
}

// marksPart takes the tick off a part of the condition sheet that is open and notes a mark in its first row.
func (p *person) marksPart(part, kind, note string) {
	p.t.Helper()
	p.unfold(byTest("condition") + " details")
	p.try(p.tab.Click(byTest("clear-" + part)))
	row := p.inside(`[data-outline-part="` + part + `"] [data-outline-row]`)
	row.fill("mark_kind", kind)
	row.fill("mark_note", note)
}

// TestTwoNoteTheCondition has both at the condition sheet: what one of them changed is kept whoever comes second, and
// what both changed is asked, with the other's words beside the part and nothing typed lost.
func TestTwoNoteTheCondition(t *testing.T) {
	t.Parallel()
	shop := otherSite(t)
	clerk, bench := signedIn(t, shop, staff.Clerk), signedIn(t, shop, staff.Watchmaker)
	number := clerk.takesIn(handedIn{customer: "Perpetua Lovage", phone: "01632 960 743", maker: "Gannet", model: "Skiff",
		serial: "GS 2201", complaint: "Stops when shaken"})
	for _, p := range []*person{clerk, bench} {
		p.sheet(number, "intake")
	}
	clerk.marksPart("crown", "scratch", "along the edge")
	clerk.press("save-condition")
	clerk.sees("The condition is noted")

	bench.marksPart("case", "dent", "at the lug")
	bench.press("save-condition")
	bench.sees("What someone else noted meanwhile is kept: crown")
	bench.within("outline").sees("along the edge", "at the lug")

	// Now both note the dial.
	clerk.sheet(number, "intake")
	clerk.marksPart("dial", "stain", "brown")
	clerk.press("save-condition")
	bench.marksPart("dial", "chip", "beside 4")
	bench.press("save-condition")
	bench.lookOver("condition-clash")
	bench.within("form-errors").sees("Nuala Reed noted different things")
	bench.within("clash-dial").sees("Nuala Reed", "stain, brown", "Theirs", "Mine", "The marks of both")
	bench.seesNot("0.380", "mark x")
	if got := bench.inside(`[data-outline-part="dial"]`).value("mark_note"); got != "beside 4" {
		bench.errorf("typed was %q, want %q", got, "beside 4")
	}
	bench.press("save-condition") // without an answer
	bench.within("clash-dial").sees("stain, brown")
	bench.tick("keep-dial", "both")
	bench.press("save-condition")
	bench.within("outline").sees("along the edge", "at the lug", "brown", "beside 4")
}

// TestLeavingUnsent asks before typing is lost, and not after it was sent.
func TestLeavingUnsent(t *testing.T) {
	t.Parallel()
	p := signedIn(t, site(t), staff.Owner) // clerks sign in for enough journeys
	p.open("/intake")
	p.within("intake-form").fill("complaint", "Half a sentence")
	p.try(p.tab.Click(byTest("nav-dockets")))
	p.until(`location.pathname === "/dockets" && document.readyState === "complete"`)
	if asked := p.tab.Dialogs(); len(asked) != 1 || asked[0] != "beforeunload" {
		t.Errorf("leaving with typing unsent opened %q, want one question", asked)
	}
	number := p.takesIn(handedIn{customer: "Ida Fairweather", phone: "01632 960 742", maker: "Corrie", model: "Skiff",
		complaint: "Crown is loose"})
	p.sheet(number, "")
	if asked := p.tab.Dialogs(); len(asked) != 1 {
		t.Errorf("sending a form opened %q", asked[1:])
	}
}
