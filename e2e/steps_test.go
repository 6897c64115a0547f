package e2e

import (
	"slices"
	"strconv"
	"strings"
)

// Steps that several journeys share.

// handedIn is a watch as it comes over the counter.
type handedIn struct {
	customer, phone, maker, model, serial string
	complaint                             string
	more                                  []string // further fields of the form, in pairs
}

// takesIn takes in a watch without marks and returns the docket's number.
func (p *person) takesIn(w handedIn) string {
	p.t.Helper()
	p.open("/intake")
	form := p.unfoldsIntake()
	form.fillAll("phone", w.phone, "name", w.customer, "maker", w.maker, "model", w.model, "serial", w.serial, "complaint",
		w.complaint)
	form.fillAll(w.more...)
	for _, part := range []string{"dial", "crystal", "case", "crown", "bracelet"} {
		form.tick("clear", part)
	}
	form.press("take-in")
	return p.docket()
}

// unfoldsIntake opens every fold of the form that takes in a watch.
func (p *person) unfoldsIntake() *person {
	p.t.Helper()
	form := p.within("intake-form")
	p.js(`document.querySelectorAll(` + quoted(strings.TrimSpace(form.scope)+" details") + `).forEach(d => d.open = true)`)
	return form
}

// sheet opens a sheet of a docket; the empty slug is its first.
func (p *person) sheet(number, slug string) {
	p.t.Helper()
	p.open(strings.TrimSuffix("/dockets/"+number+"/"+slug, "/"))
}

// move is one move of a docket: where the watch is then, at which bench, and why.
type move struct{ to, place, detail, reason string }

// tries fills in the form of a move and sends it.
func (p *person) tries(number string, m move) {
	p.t.Helper()
	p.sheet(number, "")
	p.fillMove(m)
	p.press("do-" + m.to)
}

// fillMove opens the fold of a move and fills in its form.
func (p *person) fillMove(m move) {
	p.t.Helper()
	p.unfold(byTest("move-" + m.to))
	form := p.within("move-form-" + m.to)
	if m.place != "" {
		form.tick("place", m.place)
	}
	if m.detail != "" {
		form.fill("place_detail", m.detail)
	}
	if m.reason != "" {
		form.fill("reason", m.reason)
	}
}

// cannot checks that the page offers no form for a move and says what it needs.
func (p *person) cannot(number, to string, needs ...string) {
	p.t.Helper()
	p.sheet(number, "")
	if p.has(byTest("move-form-" + to)) {
		p.errorf("the move to %s is offered", to)
	}
	p.unfold(byTest("needs-" + to))
	p.within("needs-" + to).sees(needs...)
}

// moves moves the docket and checks that it got there.
func (p *person) moves(number string, m move) {
	p.t.Helper()
	p.tries(number, m)
	p.arrives("/dockets/" + number)
	p.stage(strings.ReplaceAll(m.to, "-", " "))
}

// findsWrong notes a finding on a component.
func (p *person) findsWrong(number, component, fault, severity, note string) {
	p.t.Helper()
	p.sheet(number, "diagnosis")
	p.unfold(byTest("finding-form-" + component))
	form := p.within("finding-form-" + component)
	form.fillAll("fault", fault, "note", note)
	form.tick("severity", severity)
	form.press("save-" + component)
	p.within("component-"+component).sees(fault, note)
}

// readsCautions acknowledges every hazard of the docket, one after another.
func (p *person) readsCautions(number string) {
	p.t.Helper()
	p.sheet(number, "diagnosis")
	const button = `[data-testid^="acknowledge-"]`
	for n := p.count(button); n > 0; n-- {
		p.follow(button)
		if left := p.count(button); left != n-1 {
			p.fatalf("%d cautions wait to be read, want %d", left, n-1)
		}
	}
}

// addsLine adds a line to the estimate being drafted, which the page does in place.
func (p *person) addsLine(then int) {
	p.t.Helper()
	p.try(p.tab.Click(byTest("add-line")))
	p.until(`document.querySelectorAll('` + byTest("editor-line") + `').length === ` + strconv.Itoa(then))
}

// estimates prices the work in one line, sends it and returns the customer's private address.
func (p *person) estimates(number, description, price string) string {
	p.t.Helper()
	p.sheet(number, "estimate")
	for n := p.count(byTest("editor-line")); n > 1; n-- { // what was taken over from the findings is priced as a whole
		p.try(p.tab.Click(byTest("remove-1")))
		p.until(`document.querySelectorAll('` + byTest("editor-line") + `').length === ` + strconv.Itoa(n-1))
	}
	if p.count(byTest("editor-line")) == 0 {
		p.addsLine(1)
	}
	p.within("estimate-form").fillAll("lines.0.kind", "labour", "lines.0.description", description, "lines.0.quantity",
		"1", "lines.0.unit_price", price)
	p.press("save-and-send")
	p.within("standing").sees(description)
	return p.text(byTest("private-link"))
}

// answers opens a private link in a stranger's window and answers the estimate.
func (p *person) answers(link, decision, name, note string) {
	p.t.Helper()
	p.open(strings.TrimPrefix(link, p.address))
	form := p.within("answer-form")
	if note != "" {
		form.unfold(byTest("note-fold"))
		form.fill("note", note)
	}
	form.fill("name", name)
	if decision == "decline" {
		form.unfold(byTest("decline-fold"))
	}
	form.press(decision)
	p.within("answered").sees(name)
}

// works enters bench work.
func (p *person) works(number string, steps ...string) {
	p.t.Helper()
	p.sheet(number, "service")
	form := p.within("work-form")
	for _, s := range steps {
		form.tick("step", s)
	}
	form.press("enter")
	if p.has(byTest("form-errors")) || !p.has(byTest("work")) {
		p.fatalf("the work was not entered")
	}
}

// soundReadings pass the limits shipped for modern calibres: a row for each position, CH, FH, 3H, 6H, 9H, 12H, of rate,
// amplitude and beat error at full wind, and the same after a day.
const soundReadings = "3\t290\t0.1\t1\t262\t0.1\n4\t288\t0.2\t2\t260\t0.2\n2\t265\t0.2\t0\t238\t0.2\n" +
	"1\t262\t0.1\t-1\t235\t0.1\n5\t268\t0.3\t3\t240\t0.3\n3\t264\t0.2\t1\t236\t0.2\n"

// measures takes a run of the kind with the readings pasted as a block from a spreadsheet.
func (p *person) measures(number, kind, readings string) {
	p.t.Helper()
	p.open("/dockets/" + number + "/regulation")
	p.press("take-" + kind)
	if p.has(p.field("grade")) { // asked where the calibre does not say
		p.fill("grade", "modern")
	}
	p.js(`document.querySelector('[name="rate-CH-0"]').focus()`)
	p.try(p.tab.Paste(readings))
	p.until(`document.querySelector('[name="beat_error-12H-24"]').value !== ""`)
	p.press("save-run")
	if p.has(byTest("form-errors")) {
		p.fatalf("the run was refused")
	}
}

// tests records a final test in which everything passes but those named.
func (p *person) tests(number string, failing ...string) {
	p.t.Helper()
	p.sheet(number, "final-test")
	form := p.within("final-test-form")
	for _, test := range []string{"power-reserve", "water-resistance", "winding-and-setting", "date-change",
		"hands-clearance", "case-and-strap"} {
		outcome := "pass"
		switch {
		case slices.Contains(failing, test):
			outcome = "fail"
			form.fill(test+"-note", "does not hold")
		case test == "date-change" || test == "water-resistance":
			outcome = "not-applicable"
			form.fill(test+"-note", "the watch has none")
		}
		if test == "power-reserve" {
			form.fill(test+"-figure", "44.5")
		}
		form.tick(test+"-outcome", outcome)
	}
	form.press("record-final-test")
	if p.has(byTest("form-errors")) {
		p.fatalf("the final test was refused")
	}
}

// handsOver lets the watch go against its ticket and, where a way of paying is given, takes what is due in the same press.
func (p *person) handsOver(number, ticket, to, oldParts string, pay ...string) {
	p.t.Helper()
	p.sheet(number, "hand-over")
	form := p.within("leave-form")
	for _, way := range pay {
		form.tick("pay", way)
	}
	form.fill("ticket", ticket)
	form.tick("old_parts", oldParts)
	form.press("hand-over")
	p.arrives("/dockets/" + number + "/hand-over")
	p.within("left").sees(to)
}

// repairs takes a docket from intake through to regulated, all by one who may do everything, with work that lies within
// the approval limit.
func (p *person) repairs(number string) {
	p.t.Helper()
	p.moves(number, move{to: "diagnosis", place: "bench", detail: "South bench"})
	p.readsCautions(number)
	p.findsWrong(number, "escapement", "oil gone", "require", "Clean and oil.")
	p.moves(number, move{to: "estimate", place: "safe", reason: "It does not run as it came in."})
	p.estimates(number, "Clean and oil", "75.00")
	p.moves(number, move{to: "service", place: "bench", detail: "South bench"})
	p.works(number, "clean", "lubricate")
	p.moves(number, move{to: "regulation", place: "bench", detail: "South bench"})
	p.measures(number, "final", soundReadings)
	p.moves(number, move{to: "final-test", place: "bench", detail: "South bench"})
}
