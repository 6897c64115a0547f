package paper

import (
	"cmp"
	"slices"
	"strings"

	"ledgerwheel/web/paper/drawing"
)

// VisitTicket is the customer's copy of an intake of several watches: one paper, one code, and each with its docket.
type VisitTicket struct {
	Issuer    Issuer
	Lang      string
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
func (w TicketWatch) note() string {
	complaint := w.Complaint
	if complaint != "" {
		complaint = "“" + complaint + "”"
	}
	return inOneLine(w.Details, complaint, w.Condition)
}

// inOneLine sets what is said of its parts apart.
func inOneLine(parts ...string) string {
	return strings.Join(slices.DeleteFunc(parts, func(p string) bool { return p == "" }), " · ")
}

func (t VisitTicket) document() document {
	size := a6
	size.pages = 0 // a bag of ten watches takes a second sheet
	watches := table{id: "ticket-watches", caption: "Watches", row: "ticket-watch", columns: []column{
		{"Docket", 0.23, drawing.Left}, {"Watch", 0.52, drawing.Left}, {"Promised for", 0.25, drawing.Left}}}
	for _, w := range t.Watches {
		watches.rows = append(watches.rows, []cell{{text: w.Docket, strong: true}, {text: w.Watch, note: w.note()},
			{text: cmp.Or(w.Promised, "no day"), note: inOneLine("value "+cmp.Or(w.DeclaredValue, "not stated"), "limit "+
				cmp.Or(w.ApprovalLimit, "not stated"))}})
	}
	signed := "For the shop"
	if t.TakenInBy != "" {
		signed += ": " + t.TakenInBy
	}
	return document{size: size, title: "Claim ticket", number: t.Visit, issuer: t.Issuer, lang: t.Lang, parts: []part{
		letterhead{t.Issuer, true},
		fields{list: []Field{{"Claim ticket", t.Visit}, {"Customer", t.Customer}, {"Taken in", inOneLine(t.Count, t.Received)}}, strong: 2,
			perRow: 1, qr: cmp.Or(t.Code, t.Visit), ruled: true},
		watches,
		prose{paragraphs: t.Terms, manner: inFine},
		signatures{roles: []string{"Customer", signed}, atBottom: true},
	}}
}
