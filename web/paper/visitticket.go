package paper

import (
	"cmp"
	"slices"
	"strings"

	"ledgerwheel/domain/tongue"
	"ledgerwheel/web/paper/drawing"
)

// VisitTicket is the customer's copy of an intake of several watches: one paper, one code, and each with its docket.
type VisitTicket struct {
	Issuer    Issuer
	Lang      string
	Tongue    tongue.Tongue
	Visit     string // its number
	Code      string // what the QR says; empty is the number
	Customer  string
	Received  string
	Count     string // as "3 watches"
	Watches   []TicketWatch
	Terms     []string
	TakenInBy string
}

// TicketWatch is one watch on a ticket of several.
type TicketWatch struct {
	Docket, Watch                string
	Details                      string // serial, case, strap, in one line
	Complaint                    string // in the customer's words
	Condition                    string
	Promised                     string // empty is said as "no day"
	DeclaredValue, ApprovalLimit string
}

// note is what stands below the watch: what it is told by, what the customer said, and how it looked.
func (w TicketWatch) note(t tongue.Tongue) string {
	complaint := w.Complaint
	if complaint != "" {
		complaint = t.Say("paper.quoted", "words", complaint)
	}
	return inOneLine(w.Details, complaint, w.Condition)
}

// inOneLine sets what is said of its parts apart.
func inOneLine(parts ...string) string {
	return strings.Join(slices.DeleteFunc(parts, func(p string) bool { return p == "" }), " · ")
}

func (v VisitTicket) document() document {
	t := v.Tongue
	size := a6
	size.pages = 0 // a bag of ten watches takes a second sheet
	watches := table{id: "ticket-watches", caption: t.Say("paper.watches"), row: "ticket-watch", columns: []column{
		{t.Say("paper.docket_word"), 0.23, drawing.Left}, {t.Say("paper.watch"), 0.52, drawing.Left}, {t.Say("paper.promised_for"), 0.25, drawing.Left}}}
	for _, w := range v.Watches {
		watches.rows = append(watches.rows, []cell{{text: w.Docket, strong: true}, {text: w.Watch, note: w.note(t)},
			{text: cmp.Or(w.Promised, t.Say("paper.no_day")), note: inOneLine(
				t.Say("paper.value_of", "amount", cmp.Or(w.DeclaredValue, t.Say("paper.not_stated"))),
				t.Say("paper.limit_of", "amount", cmp.Or(w.ApprovalLimit, t.Say("paper.not_stated"))))}})
	}
	signed := t.Say("paper.for_the_shop")
	if v.TakenInBy != "" {
		signed += ": " + v.TakenInBy
	}
	return document{size: size, title: t.Say("paper.ticket"), number: v.Visit, issuer: v.Issuer, lang: v.Lang, tongue: t, parts: []part{
		letterhead{v.Issuer, true},
		fields{list: []Field{{t.Say("paper.ticket"), v.Visit}, {t.Say("paper.customer"), v.Customer},
			{t.Say("paper.taken_in"), inOneLine(v.Count, v.Received)}}, strong: 2,
			perRow: 1, qr: cmp.Or(v.Code, v.Visit), ruled: true},
		watches,
		prose{paragraphs: v.Terms, manner: inFine},
		signatures{roles: []string{t.Say("paper.customer"), signed}, atBottom: true},
	}}
}
