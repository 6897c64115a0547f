package paper

import "ledgerwheel/web/paper/drawing"

// Payment is money received against an invoice, formatted.
type Payment struct {
	Date, Method, Amount string
}

// Invoice is the bill for a docket (A4).
type Invoice struct {
	Issuer   Issuer
	Lang     string
	Number   string
	Docket   string
	Date     string
	DueDate  string
	Customer []string
	Watch    []Field
	Lines    []Line
	Totals   []Total
	Payments []Payment
	Due      string   // amount still due
	Settled  bool     // nothing is due any more
	HowToPay []string // paragraphs; printed only while something is due
	Notes    []string
}

func (v Invoice) document() document {
	doc := document{size: a4, title: "Invoice", number: v.Number, issuer: v.Issuer, lang: v.Lang,
		running: "Invoice " + v.Number + " · docket " + v.Docket, parts: []part{
			letterhead{Issuer: v.Issuer},
			head{name: "Invoice", under: "No. " + v.Number, code: v.Docket, codeWords: "Docket " + v.Docket},
			parties{v.Customer, []Field{{"Date", v.Date}, {"Due", v.DueDate}}},
			fields{list: v.Watch, perRow: 3},
			pricedLines("invoice-lines", "invoice-line", v.Lines),
			totals{v.Totals},
		}}
	if len(v.Payments) > 0 {
		paid := table{heading: "Paid", id: "invoice-paid", columns: []column{
			{"Date", 0.26, drawing.Left}, {"How", 0.54, drawing.Left}, {"Amount", 0.2, drawing.Right}}}
		for _, p := range v.Payments {
			paid.rows = append(paid.rows, []cell{{text: p.Date}, {text: p.Method}, {text: p.Amount}})
		}
		doc.parts = append(doc.parts, paid)
	}
	if v.Settled {
		doc.parts = append(doc.parts, due{"Paid in full, nothing due", v.Due})
	} else {
		doc.parts = append(doc.parts, due{"Due", v.Due}, prose{paragraphs: v.HowToPay})
	}
	doc.parts = append(doc.parts, prose{heading: "Notes", paragraphs: v.Notes})
	return doc
}
