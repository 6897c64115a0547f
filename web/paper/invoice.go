package paper

import (
	"slices"
	"time"
)

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

// Texts is as [ClaimTicket.Texts].
func (v Invoice) Texts() []string {
	all := slices.Concat(v.Issuer.texts(), v.Customer, fieldTexts(v.Watch), ledgerTexts(v.Lines, v.Totals),
		[]string{v.DueDate, v.Due}, v.HowToPay, v.Notes)
	for _, p := range v.Payments {
		all = append(all, p.Method, p.Amount)
	}
	return all
}

// PDF sets the invoice; errors as [Estimate.PDF].
func (v Invoice) PDF(created time.Time) ([]byte, error) {
	f, err := v.layout(created)
	if err != nil {
		return nil, err
	}
	return f.finish()
}

func (v Invoice) layout(created time.Time) (*flow, error) {
	f, err := newFlow(v.Issuer, "Invoice "+v.Number, v.Docket, v.Lang, created)
	if err != nil {
		return nil, err
	}
	f.letterhead()
	if err := f.title("Invoice", "No. "+v.Number, v.Docket); err != nil {
		return nil, err
	}
	f.addressee(v.Customer, []Field{
		{"Date", v.Date}, {"Due", v.DueDate},
	})
	f.fields(v.Watch, 3)
	f.y += 3
	f.pricedLines(v.Lines, v.Totals)
	f.payments(v)
	f.notes(v.Notes)
	return f, nil
}

// payments sets what was paid and what is due.
func (f *flow) payments(v Invoice) {
	if len(v.Payments) > 0 {
		f.section("Paid", 16)
		t := table{flow: f, columns: []column{
			{"Date", 45, left}, {"How", 95, left}, {"Amount", 30, right},
		}}
		rows := make([][]cell, len(v.Payments))
		for i, p := range v.Payments {
			rows[i] = []cell{{text: p.Date}, {text: p.Method}, {text: p.Amount}}
		}
		t.draw(rows)
		f.y += 2
	}
	f.need(18)
	st := style{serif, 14, accentInk}
	label := "Due"
	if v.Settled {
		label = "Paid in full, nothing due"
	}
	x2 := a4Width - marginSide
	f.line(marginSide, f.y+1, x2, f.y+1, 0.5, accentInk)
	baseline := f.y + 3 + st.ascent()
	f.fitted(marginSide, baseline, a4Inner*0.5, label, st, 8, left)
	f.fitted(x2, baseline, a4Inner*0.45, v.Due, st, 8, right)
	f.y += 3 + st.lineHeight() + 4
	if v.Settled {
		return
	}
	for _, words := range v.HowToPay {
		f.prose(words, bodyStyle)
		f.y += 1.4
	}
}
