package handover

import (
	"context"
	"net/http"
	"strings"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/warranty"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/paper"
	"ledgerwheel/web/priced"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

// invoice reads the bill of the docket in the address; see [Room.InvoiceOf].
func (s *Room) invoice(r *http.Request) (paper.Invoice, time.Time, error) {
	n, err := page.PathNumber(r)
	if err != nil {
		return paper.Invoice{}, time.Time{}, err
	}
	inv, at, _, err := s.InvoiceOf(r.Context(), n)
	return inv, at, err
}

// InvoiceOf reads a docket's bill and the moment it speaks of: the leaving or, before, now. Once it was first billed it
// keeps to the shop as it stood then; before, it says that it is a draft. The error wraps domain.ErrNotFound where there is
// nothing to bill.
func (s *Room) InvoiceOf(ctx context.Context, n docket.Number) (inv paper.Invoice, at time.Time, draft bool, err error) {
	sheet, err := s.store.HandOverSheet(ctx, n)
	if err != nil {
		return paper.Invoice{}, time.Time{}, false, err
	}
	if bill, stands := sheet.Book().Standing(); stands && s.Issued != nil {
		inv, at, err = s.Issued(sheet, bill.ID)
		return inv, at, false, err
	}
	if !sheet.HasInvoice() {
		return paper.Invoice{}, time.Time{}, false, domain.ErrNotFound
	}
	at = s.Now()
	if back := sheet.Head.Docket.HandedBackAt; !back.IsZero() {
		at = back
	}
	inv, err = s.invoiceOf(sheet, at)
	return inv, at, sheet.Draft, err
}

// invoiceOf is what the bill says. A docket has one, numbered as the docket is.
func (s *Room) invoiceOf(record store.HandOverSheet, at time.Time) (paper.Invoice, error) {
	h := record.Head
	say := page.VoiceOf(h.Docket.Tongue, record.Shop)
	sh, m := say.Shop, priced.Of(h.Docket.Currency, say.Shop).In(say.Tongue)
	number := h.Docket.Number.String()
	inv := paper.Invoice{Issuer: page.BillerOf(say), Lang: say.Lang(), Tongue: say.Tongue, Number: number, Docket: number,
		Date:    say.Day(say.CivilDay(at)),
		DueDate: say.Say("paper.on_collection"), Customer: append([]string{h.Customer.Name}, page.NonEmptyLines(h.Customer.Address)...),
		Watch: append([]paper.Field{{Label: say.Say("paper.watch"), Value: sheet.WatchWords(h)}},
			sheet.PaperDetails(h, say.Tongue)...),
		Due: m.Format(max(0, h.Facts.DueMinor)), Settled: h.Facts.DueMinor <= 0}
	bill, err := billOf(say, record, sh.TaxBasisPoints, sh.PricesIncludeTax)
	if err != nil {
		return inv, err
	}
	for _, l := range bill.lines {
		amount, err := l.AmountMinor(bill.rule.Rounding)
		if err != nil {
			return inv, err
		}
		inv.Lines = append(inv.Lines, paper.Line{Description: l.Description,
			Quantity:  m.Quantity(l.QuantityMilli),
			UnitPrice: m.Format(l.UnitMinor), Tax: m.Percent(l.TaxBasisPoints), Amount: m.Format(amount)})
	}
	for _, t := range m.Totals(bill.totals, bill.rule) {
		inv.Totals = append(inv.Totals, paper.Total{Label: t.Label, Amount: t.Amount, Strong: t.Strong})
	}
	for _, p := range record.Payments {
		what := say.Say("method." + string(p.Method))
		if p.Minor < 0 {
			what = say.Say("paper.given_back", "how", what)
		}
		inv.Payments = append(inv.Payments, paper.Payment{Date: say.Moment(p.At), Method: text.Capital(what), Amount: m.Format(p.Minor)})
	}
	if said := store.TestedSaid(record.Tests, say.Tongue, say.Shop); said != "" {
		inv.Notes = append(inv.Notes, said)
	}
	inv.Notes = append(inv.Notes, m.RuleWords(bill.rule))
	if record.FirstKey != "" {
		inv.Notes = append(inv.Notes, s.keyNote(say, record.FirstKey))
	}
	if !record.Draft {
		inv.Notes = append(inv.Notes, say.SealLine(record.Seal))
	}
	switch {
	case record.Draft:
		inv.HowToPay = []string{say.Say("paper.draft_invoice")}
	case h.Facts.DueMinor > 0:
		inv.HowToPay = []string{say.Say("paper.name_the_docket")}
	}
	return inv, nil
}

// keyNote names the key that signed the warranty card, so that the card can be held against another paper of the shop.
func (s *Room) keyNote(say page.Voice, id warranty.KeyID) string {
	_, at, _ := strings.Cut(s.PublicURL+"/card/keys", "://")
	return say.Say("paper.key_note", "key", id.Grouped(), "at", at)
}

// bill is what a docket comes to.
type bill struct {
	lines  []estimate.Line
	rule   estimate.TaxRule
	totals estimate.Totals
}

// billOf takes the lines that were agreed. Where another amount is charged, a last line makes up the difference, at
// the rate of tax of the lines if they have one in common, else at the shop's.
func billOf(say page.Voice, sheet store.HandOverSheet, taxBasisPoints int, pricesIncludeTax bool) (bill, error) {
	b := bill{rule: estimate.TaxRule{PricesIncludeTax: pricesIncludeTax}}
	if billed, ok := sheet.Billed(); ok {
		b.lines, b.rule = billed.AgreedLines(), billed.Rule
	}
	if sheet.Head.Money.Billed {
		b.totals = sheet.Book().Sum()
		return b, nil
	}
	var err error
	if b.totals, err = estimate.Sum(b.lines, b.rule); err != nil || sheet.Head.ChargedMinor == nil {
		return b, err
	}
	if len(b.totals.ByRate) == 1 {
		taxBasisPoints = b.totals.ByRate[0].TaxBasisPoints
	}
	return b.charging(say, *sheet.Head.ChargedMinor, chargedSaid(say, sheet), taxBasisPoints)
}

// charging adds the line that brings the bill to gross, in minor units, tax included.
func (b bill) charging(say page.Voice, gross int64, reason string, taxBasisPoints int) (bill, error) {
	rest := gross - b.totals.GrossMinor
	if rest == 0 {
		return b, nil
	}
	line := estimate.Line{Kind: estimate.Other, Description: say.Say("paper.adjustment", "why", reason), QuantityMilli: 1000, UnitMinor: rest,
		TaxBasisPoints: taxBasisPoints}
	if len(b.lines) == 0 {
		line.Description = reason
	}
	// The difference is known with its tax, whichever way prices are written.
	extra, err := estimate.Sum([]estimate.Line{line}, estimate.TaxRule{PricesIncludeTax: true, Rounding: b.rule.Rounding})
	if err != nil {
		return b, err
	}
	if !b.rule.PricesIncludeTax {
		line.UnitMinor = extra.NetMinor
	}
	b.lines = append(b.lines, line)
	b.totals = b.totals.Plus(extra)
	return b, nil
}

func (s *Room) showInvoice(w http.ResponseWriter, r *http.Request) error {
	inv, _, err := s.invoice(r)
	if err != nil {
		return err
	}
	return page.ShowPaper(w, r, view.PrintView{Page: s.Page(r, "Invoice "+inv.Docket), Heading: "Invoice",
		BackHref: view.DocketURL(inv.Docket, "hand-over"), BackText: "Back to the hand-over",
		PDF: &view.LinkView{Text: "As PDF", Href: view.DocketURL(inv.Docket, "papers/invoice.pdf"), TestID: "pdf"}}, inv)
}

func (s *Room) sendInvoice(w http.ResponseWriter, r *http.Request) error {
	inv, at, err := s.invoice(r)
	if err != nil {
		return err
	}
	return s.SendPaper(w, r, "invoice-"+inv.Number, inv, at)
}

// chargedSaid says why another amount is charged, and on whose word.
func chargedSaid(say page.Voice, record store.HandOverSheet) string {
	word := record.ChargedWord
	switch word.How {
	case "":
		return record.ChargedReason
	case docket.OwnerDecided:
		return text.Sentence(record.ChargedReason) + " " + say.Say("paper.word.owner", "by", word.By)
	}
	return text.Sentence(record.ChargedReason) + " " + say.Say("paper.word.customer", "how", say.Say("word."+string(word.How)),
		"day", say.Day(word.On), "by", word.By)
}
