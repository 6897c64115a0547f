package paper

import (
	"cmp"

	"ledgerwheel/domain/tongue"
)

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
	Tongue        tongue.Tongue
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
	t := c.Tongue
	name := t.Say("paper.ticket")
	doc := document{size: a6, title: name, number: c.Docket, issuer: c.Issuer, lang: c.Lang, tongue: t}
	if c.Size == TicketRoll {
		doc.size = roll
	}
	watch := append([]Field{{t.Say("paper.watch"), c.Watch},
		{t.Say("paper.promised_for"), cmp.Or(c.Promised, t.Say("paper.no_day"))}}, c.Details...)
	signed := t.Say("paper.for_the_shop")
	if c.TakenInBy != "" {
		signed += ": " + c.TakenInBy
	}
	doc.parts = []part{
		letterhead{c.Issuer, true},
		head{name: name, under: c.Received, code: c.Docket, codeWords: c.Docket},
		fields{list: watch, strong: 2, perRow: ticketColumns(c.Size), qr: cmp.Or(c.Code, c.Docket), words: c.CodeWords,
			ruled: true},
		fields{list: []Field{{t.Say("paper.customer"), c.Customer},
			{t.Say("paper.declared_value"), cmp.Or(c.DeclaredValue, t.Say("paper.not_stated"))},
			{t.Say("paper.approval_limit"), cmp.Or(c.ApprovalLimit, t.Say("paper.not_stated"))}}, perRow: 3},
		prose{heading: t.Say("paper.you_told_us"), paragraphs: []string{c.Complaint}, manner: inQuotes},
		prose{heading: t.Say("paper.condition"), paragraphs: []string{c.Condition}, manner: inQuotes},
		prose{paragraphs: c.Terms, manner: inFine},
		signatures{roles: []string{t.Say("paper.customer"), signed}, atBottom: true},
	}
	return doc
}

func ticketColumns(s TicketSize) int {
	if s == TicketRoll {
		return 1
	}
	return 2
}
