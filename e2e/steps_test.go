package e2e

import "strings"

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
	form := p.within("intake-form")
	form.fillAll("phone", w.phone, "name", w.customer, "maker", w.maker, "model", w.model, "serial", w.serial, "complaint", w.complaint)
	form.fillAll(w.more...)
	for _, part := range []string{"dial", "crystal", "case", "crown", "bracelet"} {
		form.tick("clear", part)
	}
	form.press("take-in")
	return p.docket()
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

// moves moves the docket and checks that it got there.
func (p *person) moves(number string, m move) {
	p.t.Helper()
	p.tries(number, m)
	p.arrives("/dockets/" + number)
	p.stage(strings.ReplaceAll(m.to, "-", " "))
}
