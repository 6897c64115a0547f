package e2e

import (
	"net/http"
	"slices"
	"strings"
	"testing"

	"ledgerwheel/domain/staff"
)

// TestBenchTools follows a watchmaker who works out a figure at the bench: alone first, then from a docket, where the
// calibre fills the form in and answers are kept as a finding and as a part, which the journal tells with all they were
// worked out from.
func TestBenchTools(t *testing.T) {
	t.Parallel()
	p := signedIn(t, site(t), staff.Watchmaker)
	toolAlone(p)
	number := onTheBench(p)
	keepsAsFinding(p, number)
	keepsAsPart(p, number)

	p.sheet(number, "journal")
	p.js(`document.querySelectorAll("details").forEach(d => { d.open = true })`)
	p.sees("Uncertainty and decision: kept as a finding on the hairspring", "Contribution 1, Size: 3",
		"Combined standard uncertainty: 5 s/d",
		"Mainspring: kept as a part", "Barrel inside: 12 mm")
	p.accessible("/dockets/" + number + "/bench/mainspring")
}

// typesThreeAndFour fills in a figure whose uncertainties of 3 and 4 make one of 5.
func typesThreeAndFour(form *person) {
	form.fillAll("what", "mean rate", "figure", "20", "part1", "Clock", "size1", "3", "part2", "Reading", "lower", "-40",
		"upper", "40")
	for _, kind := range []string{"kind1", "kind2"} {
		form.fill(kind, "standard")
	}
}

// toolAlone finds a tool by the navigation, is refused what can't be worked out, and gets an answer that has an
// address.
func toolAlone(p *person) {
	p.open("/")
	p.press("nav-bench-tools")
	p.arrives("/bench")
	p.press("bench-uncertainty")
	form := p.within("bench-form")
	typesThreeAndFour(form)
	form.fill("size2", "four")
	form.press("work-out")
	p.refused("size2", "number")
	if got := p.value("size1"); got != "3" {
		p.errorf("the page keeps %q", got)
	}
	form.fill("size2", "4")
	form.press("work-out")
	p.within("bench-answer").sees("+20 ± 10 s/d", "5 s/d", "pass")
	if p.has(byTest("bench-keep")) {
		p.errorf("an answer without a docket is offered to be kept")
	}
	p.js(`(document.querySelector(` + quoted(byTest("bench-formulas")) + `).open = true)`)
	p.within("bench-formulas").sees("JCGM 100", "Limits:")
	if n := p.count(byTest("bench-drawing") + " svg desc"); n != 1 {
		p.errorf("%d drawings with a description, want one", n)
	}
	at, err := p.tab.Path()
	p.try(err)
	p.accessible(at)
}

// onTheBench finds the oldest open docket whose calibre knows something of its mainspring: the newest belong to the
// journeys that run beside.
func onTheBench(p *person) string {
	p.t.Helper()
	for _, number := range slices.Backward(demoDockets(p.t, p.client(), p.address)) {
		res, body := p.get("/dockets/" + number + "/bench/mainspring")
		page := string(body)
		if res.StatusCode == http.StatusOK && strings.Contains(page, "Filled in from calibre") &&
			!strings.Contains(page, `>Closed.<`) {
			return number
		}
	}
	p.fatalf("no open docket of the demo shop has a calibre that knows its mainspring")
	return ""
}

func keepsAsFinding(p *person, number string) {
	p.sheet(number, "diagnosis")
	p.within("bench-tools").press("bench-uncertainty")
	form := p.within("bench-form")
	typesThreeAndFour(form)
	form.fill("size2", "4")
	form.press("work-out")
	p.unfold(byTest("keep-form-finding"))
	keep := p.within("keep-form-finding")
	keep.press("save-finding")
	if !p.has(byTest("keep-errors")) || !strings.Contains(p.text(`[id="f-finding.component-error"]`), "omponent") {
		p.fatalf("a finding on nothing was not refused")
	}
	keep.fill("finding.component", "hairspring")
	keep.tick("finding.severity", "observe")
	keep.fill("finding.note", "After demagnetising.")
	keep.press("save-finding")
	p.arrives("/dockets/" + number + "/diagnosis")
	p.within("component-hairspring").sees("Mean rate is +20 ± 10 s/d (k = 2): pass", "After demagnetising.")
}

func keepsAsPart(p *person, number string) {
	p.sheet(number, "parts")
	p.within("bench-tools").press("bench-mainspring")
	p.within("bench-filled").sees("Filled in from calibre")
	form := p.within("bench-form")
	form.fillAll("barrel_inside_diameter", "12", "arbor_diameter", "4", "mainspring_width", "1.5", "mainspring_thickness",
		"", "mainspring_length", "",
		"turns", "6.5", "hours", "")
	form.press("work-out")
	p.within("bench-answer").sees("1.50 × 0.135 × 373 mm", "6.50 turns")
	p.unfold(byTest("keep-form-part"))
	keep := p.within("keep-form-part")
	keep.fillAll("part.quantity", "2", "part.supplier", "Harbour Lane Supplies")
	keep.press("save-part")
	p.arrives("/dockets/" + number + "/parts")
	p.within("parts").sees("Mainspring, 1.50 ×", "barrel 12 mm inside", "Harbour Lane Supplies")

	p.open("/dockets/" + number + "/bench/mainspring")
	p.within("bench-kept").sees("Mainspring", "kept as part", "Uncertainty and decision", "kept as finding")
	p.follow(byTest("kept-again"))
	p.within("bench-answer").sees("barrel 12 mm inside")
}
