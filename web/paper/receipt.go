package paper

import "ledgerwheel/domain/tongue"

// Receipt says what was paid for a docket, when and how (A6): the customer's copy of a hand-over.
type Receipt struct {
	Issuer   Issuer
	Lang     string
	Tongue   tongue.Tongue
	Docket   string
	Date     string // of the newest payment
	Customer string
	Watch    string
	Left     []Field // who took the watch, and when; nothing while it is here
	Payments []Payment
	Totals   []Field // total charge, and the tax in it
	Paid     string
	Standing string // what is still due, or that nothing is
	Notes    []string
}

func (v Receipt) document() document {
	t := v.Tongue
	name := t.Say("receipt.name")
	doc := document{size: a6, title: name, number: v.Docket, issuer: v.Issuer, lang: v.Lang, tongue: t, parts: []part{
		letterhead{v.Issuer, true},
		head{name: name, under: v.Date, code: v.Docket, codeWords: v.Docket},
		fields{list: append([]Field{{t.Say("paper.watch"), v.Watch}, {t.Say("paper.customer"), v.Customer}}, v.Left...), strong: 1,
			perRow: 2, ruled: true},
	}}
	var paid []Field
	for _, p := range v.Payments {
		paid = append(paid, Field{p.Date, p.Method + " " + p.Amount})
	}
	doc.parts = append(doc.parts, fields{list: paid, perRow: 1, id: "receipt-paid"}, fields{list: v.Totals, perRow: 2},
		due{t.Say("paper.paid"), v.Paid}, prose{paragraphs: []string{v.Standing}, manner: inStrong},
		prose{paragraphs: v.Notes, manner: inFine})
	return doc
}
