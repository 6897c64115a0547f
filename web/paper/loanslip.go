package paper

import (
	"cmp"

	"ledgerwheel/domain/tongue"
)

// LoanSlip is what a customer signs for a watch that the shop lends (A6).
type LoanSlip struct {
	Issuer   Issuer
	Lang     string
	Tongue   tongue.Tongue
	Docket   string // of the customer's own watch
	Customer string
	Watch    string
	State    string
	Value    string
	Out      string
	Due      string // empty is when their own watch is handed over
	Deposit  string // empty is none
	By       string
}

func (l LoanSlip) document() document {
	t := l.Tongue
	return document{size: a6, title: t.Say("paper.loan"), number: l.Docket, issuer: l.Issuer, lang: l.Lang, tongue: t, parts: []part{
		letterhead{l.Issuer, true},
		head{name: t.Say("paper.loan"), under: l.Out, code: l.Docket, codeWords: l.Docket},
		fields{list: []Field{{t.Say("paper.loan.lent"), l.Watch}, {t.Say("paper.loan.to"), l.Customer}, {t.Say("paper.loan.worth"), l.Value},
			{t.Say("paper.loan.back_by"), cmp.Or(l.Due, t.Say("paper.loan.with_own"))},
			{t.Say("paper.loan.deposit"), cmp.Or(l.Deposit, t.Say("paper.loan.no_deposit"))}}, strong: 2, perRow: 2, ruled: true},
		prose{heading: t.Say("paper.loan.state"), paragraphs: []string{l.State}, manner: inQuotes},
		prose{paragraphs: []string{t.Say("paper.loan.promise")}, manner: inFine},
		signatures{roles: []string{t.Say("paper.customer"), t.Say("paper.for_the_shop") + ": " + l.By}, atBottom: true},
	}}
}
