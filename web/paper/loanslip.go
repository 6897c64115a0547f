package paper

import "cmp"

// LoanSlip is what a customer signs for a watch that the shop lends (A6).
type LoanSlip struct {
	Issuer   Issuer
	Lang     string
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
	return document{size: a6, title: "Loan slip", number: l.Docket, issuer: l.Issuer, lang: l.Lang, parts: []part{
		letterhead{l.Issuer, true},
		head{name: "Loan slip", under: l.Out, code: l.Docket, codeWords: l.Docket},
		fields{list: []Field{{"Lent", l.Watch}, {"To", l.Customer}, {"Worth", l.Value},
			{"Wanted back by", cmp.Or(l.Due, "when your own watch is handed over")}, {"Deposit", cmp.Or(l.Deposit, "none")}}, strong: 2, perRow: 2, ruled: true},
		prose{heading: "State", paragraphs: []string{l.State}, manner: inQuotes},
		prose{paragraphs: []string{"I have this watch on loan, in the state written here. I bring it back when my own is handed over, or by the day written here."},
			manner: inFine},
		signatures{roles: []string{"Customer", "For the shop: " + l.By}, atBottom: true},
	}}
}
