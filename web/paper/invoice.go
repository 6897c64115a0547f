package paper

import (
	"cmp"

	"ledgerwheel/domain/tongue"
	"ledgerwheel/web/paper/drawing"
)

// Payment is money received against an invoice, formatted.
type Payment struct {
	Date, Method, Amount string
}

// Invoice is the bill for a docket (A4).
type Invoice struct {
	Issuer   Issuer
	Lang     string
	Tongue   tongue.Tongue
	Title    string // what it is where it is no plain invoice, as "Credit note"
	Number   string
	Docket   string
	Date     string
	DueDate  string
	Facts    []Field // what it says of itself besides its date, as the buyer's order number
	Customer []string
	Watch    []Field
	Lines    []Line
	Totals   []Total
	Payments []Payment
	Sentence string   // by which no tax is charged
	DueWords string   // what Due is called where that is no matter of paying, as "Credited"
	Due      string   // amount still due
	Settled  bool     // nothing is due any more
	HowToPay []string // paragraphs; printed only while something is due
	Notes    []string
}

func (v Invoice) document() document {
	t := v.Tongue
	name := cmp.Or(v.Title, t.Say("paper.invoice"))
	doc := document{size: a4, title: name, number: v.Number, issuer: v.Issuer, lang: v.Lang, tongue: t}
	doc.running = name + " " + v.Number + " · " + doc.docket(v.Docket)
	doc.parts = []part{
		letterhead{Issuer: v.Issuer},
		head{name: name, under: t.Say("paper.number", "number", v.Number), code: v.Docket,
			codeWords: t.Say("paper.docket", "number", v.Docket)},
		parties{v.Customer, append([]Field{{t.Say("paper.date"), v.Date}, {t.Say("paper.payable"), v.DueDate}}, v.Facts...)},
		fields{list: v.Watch, perRow: 3},
		pricedLines(t, "invoice-lines", "invoice-line", v.Lines),
		totals{v.Totals},
	}
	if v.Sentence != "" {
		doc.parts = append(doc.parts, prose{paragraphs: []string{v.Sentence}, manner: inStrong})
	}
	if len(v.Payments) > 0 {
		paid := table{heading: t.Say("paper.paid"), id: "invoice-paid", columns: []column{
			{t.Say("paper.date"), 0.26, drawing.Left}, {t.Say("paper.how"), 0.54, drawing.Left},
			{t.Say("paper.amount"), 0.2, drawing.Right}}}
		for _, p := range v.Payments {
			paid.rows = append(paid.rows, []cell{{text: p.Date}, {text: p.Method}, {text: p.Amount}})
		}
		doc.parts = append(doc.parts, paid)
	}
	switch {
	case v.DueWords != "":
		doc.parts = append(doc.parts, due{v.DueWords, v.Due})
	case v.Settled:
		doc.parts = append(doc.parts, due{t.Say("paper.settled"), v.Due})
	default:
		doc.parts = append(doc.parts, due{t.Say("paper.due"), v.Due}, prose{paragraphs: v.HowToPay})
	}
	doc.parts = append(doc.parts, prose{heading: t.Say("paper.notes"), paragraphs: v.Notes})
	return doc
}
