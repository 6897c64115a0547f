package paper

import "ledgerwheel/domain/tongue"

// Receipt says what was paid for a docket, when and how (A6, or a roll of 80 mm as long as it needs): the customer's copy of a
// hand-over.
type Receipt struct {
	Issuer Issuer
	Lang   string
	Tongue tongue.Tongue
	Roll   bool // on a roll
	// WrittenDown says that it is no receipt of a till: the place asks for a certified one, whose receipt counts.
	WrittenDown bool
	Docket      string
	Date        string // of the newest payment
	Customer    string
	Watch       string
	Left        []Field // who took the watch, and when; nothing while it is here
	Payments    []Payment
	Totals      []Field // total charge, and the tax in it
	Paid        string
	Standing    string // what is still due, or that nothing is
	Notes       []string
}

func (v Receipt) document() document {
	t := v.Tongue
	name, notes := receiptWords(t, v.WrittenDown, v.Notes)
	size, abreast := receiptSize(v.Roll)
	doc := document{size: size, title: name, number: v.Docket, issuer: v.Issuer, lang: v.Lang, tongue: t, parts: []part{
		letterhead{v.Issuer, true},
		head{name: name, under: v.Date, code: v.Docket, codeWords: v.Docket},
		fields{list: append([]Field{{t.Say("paper.watch"), v.Watch}, {t.Say("paper.customer"), v.Customer}}, v.Left...), strong: 1,
			perRow: abreast, ruled: true},
	}}
	var paid []Field
	for _, p := range v.Payments {
		paid = append(paid, Field{p.Date, p.Method + " " + p.Amount})
	}
	doc.parts = append(doc.parts, fields{list: paid, perRow: 1, id: "receipt-paid"}, fields{list: v.Totals, perRow: abreast},
		due{t.Say("paper.paid"), v.Paid}, prose{paragraphs: []string{v.Standing}, manner: inStrong},
		prose{paragraphs: notes, manner: inFine})
	return doc
}

// receiptSize is what a receipt is printed on, and how many fields stand abreast.
func receiptSize(onRoll bool) (size, int) {
	if onRoll {
		return roll, 1
	}
	return a6, 2
}

// receiptWords are the name of a receipt and its notes; one that was only written down is named so and says which counts.
func receiptWords(t tongue.Tongue, writtenDown bool, notes []string) (string, []string) {
	if !writtenDown {
		return t.Say("receipt.name"), notes
	}
	return t.Say("receipt.written_name"), append([]string{t.Say("receipt.written_down")}, notes...)
}
