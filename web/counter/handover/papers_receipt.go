package handover

import (
	"context"
	"net/http"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/text"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/paper"
	"ledgerwheel/web/priced"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

// receipt reads the receipt of the docket in the address; see [Room.ReceiptOf].
func (s *Room) receipt(r *http.Request) (paper.Receipt, time.Time, error) {
	n, err := page.PathNumber(r)
	if err != nil {
		return paper.Receipt{}, time.Time{}, err
	}
	return s.ReceiptOf(r.Context(), n)
}

// ReceiptOf reads what was paid for a docket, and when the newest of it was; the error wraps domain.ErrNotFound where
// nothing was. It is printed by the shop as it stood when the docket was first billed.
func (s *Room) ReceiptOf(ctx context.Context, n docket.Number) (paper.Receipt, time.Time, error) {
	record, err := s.store.HandOverSheet(ctx, n)
	if err != nil {
		return paper.Receipt{}, time.Time{}, err
	}
	if len(record.Payments) == 0 {
		return paper.Receipt{}, time.Time{}, domain.ErrNotFound
	}
	v, err := receiptOf(record)
	return v, record.Payments[len(record.Payments)-1].At, err
}

// receiptOf is what the receipt says, in the customer's language.
func receiptOf(record store.HandOverSheet) (paper.Receipt, error) {
	h := record.Head
	say := page.VoiceOf(h.Docket.Tongue, record.Shop)
	sh, m := say.Shop, priced.Of(h.Docket.Currency, say.Shop).In(say.Tongue)
	newest := record.Payments[len(record.Payments)-1]
	v := paper.Receipt{Issuer: page.IssuerOf(sh), Lang: say.Lang(), Tongue: say.Tongue, Docket: h.Docket.Number.String(),
		Date: say.Moment(newest.At), Customer: h.Customer.Name, Watch: sheet.WatchWords(h), Paid: m.Format(h.PaidMinor)}
	if h.Docket.Closed() {
		v.Left = []paper.Field{{Label: say.Say("receipt.handed_over"), Value: say.Moment(h.Docket.HandedBackAt)},
			{Label: say.Say("receipt.to"), Value: record.Left.CollectedBy},
			{Label: say.Say("receipt.old_parts"), Value: say.Say("receipt.old_parts." + h.OldParts)}}
	}
	for _, p := range record.Payments {
		how, amount := say.Say("method."+string(p.Method)), m.Format(p.Minor)
		if p.Minor < 0 {
			how = say.Say("paper.given_back", "how", how)
		} else if p.Given > p.Minor {
			amount = say.Say("receipt.change", "amount", amount, "given", m.Format(p.Given), "change", m.Format(p.Given-p.Minor))
		}
		v.Payments = append(v.Payments, paper.Payment{Date: say.Moment(p.At), Method: text.Capital(how), Amount: amount})
	}
	bill, err := billOf(say, record, sh.TaxBasisPoints, sh.PricesIncludeTax)
	if err != nil {
		return v, err
	}
	v.Totals = append(v.Totals, paper.Field{Label: say.Say("receipt.total_charge"), Value: m.Format(bill.totals.GrossMinor)})
	for _, t := range bill.totals.ByRate {
		v.Totals = append(v.Totals, paper.Field{Label: say.Say("receipt.of_which", "tax", sh.TaxName+" "+m.Percent(t.TaxBasisPoints)),
			Value: m.Format(t.TaxMinor)})
	}
	switch due := h.Facts.DueMinor; {
	case due > 0:
		v.Standing = say.Say("receipt.still_due", "amount", m.Format(due))
	case due < 0:
		v.Standing = say.Say("receipt.beyond", "amount", m.Format(-due))
	default:
		v.Standing = say.Say("paper.settled") + "."
	}
	if record.HasInvoice() {
		v.Notes = append(v.Notes, say.Say("receipt.invoice"))
	}
	return v, nil
}

func (s *Room) showReceipt(w http.ResponseWriter, r *http.Request) error {
	v, _, err := s.receipt(r)
	if err != nil {
		return err
	}
	return page.ShowPaper(w, r, view.PrintView{Page: s.Page(r, "Receipt "+v.Docket), Heading: "Receipt",
		Advice:   "In the print dialogue choose scale 100 %, margins none.",
		BackHref: view.DocketURL(v.Docket, "hand-over"), BackText: "Back to the hand-over",
		PDF: &view.LinkView{Text: "As PDF", Href: view.DocketURL(v.Docket, "papers/receipt.pdf"), TestID: "pdf"}}, v)
}

func (s *Room) sendReceipt(w http.ResponseWriter, r *http.Request) error {
	v, at, err := s.receipt(r)
	if err != nil {
		return err
	}
	return s.SendPaper(w, r, "receipt-"+v.Docket, v, at)
}
