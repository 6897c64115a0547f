package paper

import "ledgerwheel/web/paper/drawing"

// Order is what the shop orders from a supplier (A4), in English as the shop's own papers are.
type Order struct {
	Issuer   Issuer
	Lang     string
	Code     string // the order's number, also in bars
	Draft    bool   // nothing was ordered yet
	Date     string
	Account  string // the number by which the supplier knows the shop
	Supplier []string
	Lines    []OrderLine
	Totals   []Total // without tax; nothing where a price lacks
	Notes    []string
}

// OrderLine is one line of an order, formatted.
type OrderLine struct {
	Number      string // the supplier's
	Description string
	For         string // the docket, by which the shop knows the part again
	Pieces      string
	UnitPrice   string
	Amount      string
}

func (o Order) document() document {
	name := "Order"
	if o.Draft {
		name = "Draft of an order"
	}
	t := table{id: "order-lines", row: "order-line", caption: "What is ordered", columns: []column{{"Your number", 0.2, drawing.Left}, {"Part", 0.36, drawing.Left},
		{"Pieces", 0.1, drawing.Right}, {"Unit price", 0.16, drawing.Right}, {"Amount", 0.18, drawing.Right}}}
	for _, l := range o.Lines {
		c := cell{text: l.Description}
		if l.For != "" {
			c.note = "Our docket " + l.For
		}
		t.rows = append(t.rows, []cell{{text: l.Number}, c, {text: l.Pieces, strong: true}, {text: l.UnitPrice}, {text: l.Amount}})
	}
	return document{size: a4, title: name, number: o.Code, issuer: o.Issuer, lang: o.Lang, running: name + " " + o.Code, parts: []part{
		letterhead{Issuer: o.Issuer},
		head{name: name, under: "No. " + o.Code, code: o.Code, codeWords: "Order " + o.Code},
		parties{o.Supplier, []Field{{"Date", o.Date}, {"Our number at yours", o.Account}}},
		t, totals{o.Totals},
		prose{heading: "Notes", paragraphs: o.Notes},
		prose{paragraphs: []string{"Please confirm with the day on which it comes, and name the order’s number on what you send."}, manner: inFine},
	}}
}
