package invoices

import (
	"ledgerwheel/domain/invoice"
	"ledgerwheel/domain/shop"
	"ledgerwheel/web/page"
	"ledgerwheel/web/paper"
	"ledgerwheel/web/priced"
)

// Standing is how a document stands on the day it is printed; a credit note has none.
type Standing struct {
	Paid     []paper.Payment // what came for it, not what came for a deposit that it takes off
	DueMinor int64           // of the docket
	HowToPay []string
	Notes    []string // besides those that were issued with it, such as the seal
}

// DocumentPaper is the paper of what was issued. All but logo, telephone and mail of the shop, by the settings that it was
// issued under, comes from the document itself.
func DocumentPaper(d invoice.Document, under shop.Shop, st Standing) (paper.Invoice, error) {
	say := page.VoiceOf(d.Tongue, under)
	w := writer{d: d, say: say, m: priced.Of(d.Currency, say.Shop).In(say.Tongue)}
	sh := say.Shop
	sh.Name, sh.Address = d.Seller.Name, d.Seller.Address
	inv := paper.Invoice{Issuer: page.IssuerOf(sh), Lang: say.Lang(), Tongue: say.Tongue, Title: say.Say("paper.document." + string(d.Kind)), Number: d.Number,
		Docket: d.Docket, Date: say.Day(d.IssuedOn), Facts: w.facts(),
		Customer: append([]string{d.Buyer.Name}, page.NonEmptyLines(d.Buyer.Address)...), Sentence: d.Sentence,
		Payments: st.Paid, HowToPay: st.HowToPay, Settled: st.DueMinor <= 0, Due: w.m.Format(max(0, st.DueMinor))}
	inv.Issuer.TaxNumber = say.TaxNumbers(d.TaxName, d.Seller.TaxNumber, d.Seller.OtherNumber)
	if number := say.TaxNumbers(d.TaxName, d.Buyer.TaxNumber, d.Buyer.OtherNumber); number != "" {
		inv.Customer = append(inv.Customer, number)
	}
	if d.About != "" {
		inv.Watch = []paper.Field{{Label: say.Say("paper.watch"), Value: d.About}}
		for _, f := range []paper.Field{{Label: say.Say("paper.reference"), Value: d.AboutReference}, {Label: say.Say("paper.serial"), Value: d.AboutSerial}} {
			if f.Value != "" {
				inv.Watch = append(inv.Watch, f)
			}
		}
	}
	if err := w.lines(&inv); err != nil {
		return inv, err
	}
	sum, err := d.Totals()
	if err != nil {
		return inv, err
	}
	switch d.Kind {
	case invoice.Credit:
		inv.DueWords, inv.Due, inv.Payments, inv.HowToPay = say.Say("paper.credited"), w.m.Format(sum.GrossMinor), nil, nil
	case invoice.Deposit:
		inv.DueDate = say.Say("paper.before_work")
	case invoice.Bill:
		inv.DueDate = say.Say("paper.on_collection")
	}
	inv.Notes = append(append(append([]string{}, d.Notes...), w.m.RuleWords(d.Rule)), st.Notes...)
	return inv, nil
}

// writer writes one document in its language.
type writer struct {
	d   invoice.Document
	say page.Voice
	m   priced.Money
}

// facts are what the document says of itself besides its date.
func (w writer) facts() []paper.Field {
	d := w.d
	var list []paper.Field
	add := func(label, value string) {
		if value != "" {
			list = append(list, paper.Field{Label: label, Value: value})
		}
	}
	if d.SuppliedOn != d.IssuedOn {
		add(w.say.Say("paper.supplied"), w.say.Day(d.SuppliedOn))
	}
	add(w.say.Say("paper.answers"), d.Answers)
	add(w.say.Say("paper.why"), d.Why)
	add(w.say.Say("paper.your_order"), d.Reference)
	return list
}

// lines writes what is charged, what is taken off, and what it comes to.
func (w writer) lines(inv *paper.Invoice) error {
	d, m := w.d, w.m
	asPriced := int64(0) // what the lines come to, as their prices are written
	for _, l := range d.Lines {
		amount, err := l.AmountMinor(d.Rule.Rounding)
		if err != nil {
			return err
		}
		asPriced += amount
		tax := m.Percent(l.TaxBasisPoints)
		if d.Treatment != invoice.Standard {
			tax = w.say.Say("paper.no_tax")
		}
		inv.Lines = append(inv.Lines, paper.Line{Description: l.Description, Quantity: m.Quantity(l.QuantityMilli), UnitPrice: m.Format(l.UnitMinor), Tax: tax,
			Amount: m.Format(amount)})
	}
	add := func(label string, minor int64, strong bool) {
		inv.Totals = append(inv.Totals, paper.Total{Label: label, Amount: m.Format(minor), Strong: strong})
	}
	sum, err := d.Totals()
	if err != nil {
		return err
	}
	notCharged := int64(0) // tax that the prices hold and nobody owes
	if d.Treatment != invoice.Standard {
		notCharged = asPriced - sum.GrossMinor
		for _, s := range d.SetOffs {
			notCharged -= s.Totals.GrossMinor
		}
	}
	if notCharged != 0 || len(d.SetOffs) > 0 && d.Rule.PricesIncludeTax {
		add(w.say.Say("paper.lines_come_to"), asPriced, false)
	}
	if notCharged != 0 {
		add(w.say.Say("paper.tax_not_charged", "tax", d.TaxName), -notCharged, false)
	}
	for _, s := range d.SetOffs {
		off := s.Totals.NetMinor
		if d.Rule.PricesIncludeTax {
			off = s.Totals.GrossMinor
		}
		add(w.say.Say("paper.set_off", "number", s.Number), -off, false)
	}
	if d.Treatment == invoice.Standard {
		w.taxes(inv)
	}
	add(w.say.Say("paper.total"), sum.GrossMinor, true)
	return nil
}

// taxes writes the base and the tax of each rate (VAT Directive 2006/112/EC, article 226(8) and (10)).
func (w writer) taxes(inv *paper.Invoice) {
	sum, err := w.d.Totals()
	if err != nil {
		return // said by lines
	}
	if !w.d.Rule.PricesIncludeTax {
		inv.Totals = append(inv.Totals, paper.Total{Label: w.say.Say("paper.net"), Amount: w.m.Format(sum.NetMinor)})
	}
	for _, r := range sum.ByRate {
		if r.NetMinor == 0 && r.TaxMinor == 0 {
			continue
		}
		label := w.say.Say("paper.tax_on", "tax", w.d.TaxName+" "+w.m.Percent(r.TaxBasisPoints), "net", w.m.Format(r.NetMinor))
		if w.d.Rule.PricesIncludeTax {
			label = w.say.Say("paper.tax_included", "tax", label)
		}
		inv.Totals = append(inv.Totals, paper.Total{Label: label, Amount: w.m.Format(r.TaxMinor)})
	}
}
