package paper

import (
	"cmp"

	"ledgerwheel/domain/tongue"
	"ledgerwheel/web/paper/drawing"
)

// VisitReceipt says what was paid for the watches of one ticket, when and how (A6): the customer's copy where several leave at
// once.
type VisitReceipt struct {
	Issuer Issuer
	Lang   string
	Tongue tongue.Tongue
	Roll   bool // on a roll
	// WrittenDown is as of [Receipt].
	WrittenDown bool
	Visit       string // its number
	Date        string // of the newest payment
	Customer    string
	Watches     []ReceiptWatch // those that have left, or for which money passed
	Payments    []Payment      // what was given at once is one payment
	Totals      []Field        // total charge of these, and the tax in it
	Paid        string
	Standing    string // what is still due, or that nothing is
	Notes       []string
}

// ReceiptWatch is one watch on a receipt for several; its invoice has its docket's number.
type ReceiptWatch struct {
	Docket, Watch string
	Left          string // when it left, to whom, and its old parts; or that it has not
	Charge, Paid  string
}

func (v VisitReceipt) document() document {
	t := v.Tongue
	name, notes := receiptWords(t, v.WrittenDown, v.Notes)
	size, abreast := receiptSize(v.Roll)
	if !v.Roll {
		size.pages = 0 // many watches take a second sheet
	}
	watches := table{id: "receipt-watches", caption: t.Say("paper.watches"), row: "receipt-watch", columns: []column{
		{t.Say("receipt.invoice_number"), 0.24, drawing.Left}, {t.Say("paper.watch"), 0.40, drawing.Left},
		{t.Say("receipt.total_charge"), 0.18, drawing.Right}, {t.Say("paper.paid"), 0.18, drawing.Right}}}
	for _, w := range v.Watches {
		watches.rows = append(watches.rows, []cell{{text: w.Docket, strong: true}, {text: w.Watch, note: w.Left}, {text: w.Charge}, {text: w.Paid}})
	}
	var listed part = watches
	if v.Roll {
		listed = v.onRoll()
	}
	var paid []Field
	for _, p := range v.Payments {
		paid = append(paid, Field{p.Date, p.Method + " " + p.Amount})
	}
	return document{size: size, title: name, number: v.Visit, issuer: v.Issuer, lang: v.Lang, tongue: t, parts: []part{
		letterhead{v.Issuer, true},
		head{name: name, under: cmp.Or(v.Date, "–"), code: v.Visit, codeWords: v.Visit},
		fields{list: []Field{{t.Say("paper.customer"), v.Customer}}, perRow: 1, ruled: true},
		listed,
		fields{list: paid, perRow: 1, id: "receipt-paid"}, fields{list: v.Totals, perRow: abreast},
		due{t.Say("paper.paid"), v.Paid}, prose{paragraphs: []string{v.Standing}, manner: inStrong},
		prose{paragraphs: notes, manner: inFine}}}
}

// onRoll are the watches one below the other, as a roll has no room for columns.
func (v VisitReceipt) onRoll() fields {
	f := fields{perRow: 1, ruled: true, id: "receipt-watches"}
	for _, w := range v.Watches {
		f.list = append(f.list, Field{w.Docket, w.Watch + ". " + w.Left}, Field{v.Tongue.Say("receipt.total_charge"), w.Charge},
			Field{v.Tongue.Say("paper.paid"), w.Paid})
	}
	return f
}
