package paper

import "cmp"

// TicketSize is the paper a claim ticket is printed on.
type TicketSize int

const (
	TicketA6   TicketSize = iota // 105 x 148 mm
	TicketRoll                   // 80 mm roll, as long as it needs
)

// ClaimTicket is the customer's copy of an intake.
type ClaimTicket struct {
	Issuer        Issuer
	Lang          string
	Size          TicketSize
	Docket        string
	Code          string // what the QR says: docket number or claim link; empty is the docket number
	CodeWords     string // what scanning does, as "Follow your watch"; may be empty
	Customer      string
	Watch         string  // maker and model
	Details       []Field // reference, serial, strap ...
	Complaint     string  // in the customer's words
	Condition     string
	Received      string
	Promised      string // empty is said as "no day"
	DeclaredValue string
	ApprovalLimit string
	Terms         []string
	TakenInBy     string
}

func (c ClaimTicket) document() document {
	doc := document{size: a6, title: "Claim ticket", number: c.Docket, issuer: c.Issuer, lang: c.Lang}
	if c.Size == TicketRoll {
		doc.size = roll
	}
	watch := append([]Field{{"Watch", c.Watch}, {"Promised for", cmp.Or(c.Promised, "no day")}}, c.Details...)
	signed := "For the shop"
	if c.TakenInBy != "" {
		signed += ": " + c.TakenInBy
	}
	doc.parts = []part{
		letterhead{c.Issuer, true},
		head{name: "Claim ticket", under: c.Received, code: c.Docket, codeWords: c.Docket},
		fields{list: watch, strong: 2, perRow: ticketColumns(c.Size), qr: cmp.Or(c.Code, c.Docket), words: c.CodeWords,
			ruled: true},
		fields{list: []Field{{"Customer", c.Customer}, {"Declared value", cmp.Or(c.DeclaredValue, "not stated")},
			{"Approval limit", cmp.Or(c.ApprovalLimit, "not stated")}}, perRow: 3},
		prose{heading: "What you told us", paragraphs: []string{c.Complaint}, manner: inQuotes},
		prose{heading: "Condition at intake", paragraphs: []string{c.Condition}, manner: inQuotes},
		prose{paragraphs: c.Terms, manner: inFine},
		signatures{roles: []string{"Customer", signed}, atBottom: true},
	}
	return doc
}

func ticketColumns(s TicketSize) int {
	if s == TicketRoll {
		return 1
	}
	return 2
}
