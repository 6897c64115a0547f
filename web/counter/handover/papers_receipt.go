package handover

import (
	"context"
	"net/http"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/till"
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
	v := paper.Receipt{Issuer: page.BillerOf(say), Lang: say.Lang(), Tongue: say.Tongue, Docket: h.Docket.Number.String(),
		Date: say.Moment(newest.At), Customer: h.Customer.Name, Watch: sheet.WatchWords(h), Paid: m.Format(h.PaidMinor), WrittenDown: writtenDown(sh)}
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
		if p.Rounded != 0 {
			amount += ", " + say.Say("receipt.rounded", "by", m.Format(p.Rounded))
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
	for _, d := range record.Invoices {
		v.Notes = append(v.Notes, say.Say("paper.document."+string(d.Kind))+" "+d.Number)
	}
	return v, nil
}

func (s *Room) showReceipt(w http.ResponseWriter, r *http.Request) error {
	v, _, err := s.receipt(r)
	if err != nil {
		return err
	}
	v.Roll = s.onRoll(w, r)
	name := receiptName(v.WrittenDown)
	return page.ShowPaper(w, r, view.PrintView{Page: s.Page(r, name+" "+v.Docket), Heading: name, Advice: rollAdvice(v.Roll),
		BackHref: view.DocketURL(v.Docket, "hand-over"), BackText: "Back to the hand-over", Also: otherSize(view.DocketURL(v.Docket, "papers/receipt"), v.Roll),
		PDF: &view.LinkView{Text: "As PDF", Href: sizeURL(view.DocketURL(v.Docket, "papers/receipt.pdf"), v.Roll), TestID: "pdf"}}, v)
}

// writtenDown reports whether money is only written down here, as the place asks for a certified till.
func writtenDown(sh shop.Shop) bool {
	asked, _ := till.Certified(sh.CertifiedTill, sh.PhoneRegion)
	return asked
}

func receiptName(writtenDown bool) string {
	if writtenDown {
		return "Payment note"
	}
	return "Receipt"
}

// sizeRoll asks for a receipt on a roll of 80 mm, sizeA6 for one on A6. The choice is the device's, as its printer is.
const (
	sizeRoll    = "roll"
	sizeA6      = "a6"
	sizesCookie = "receipt-size"
	sizeKept    = 365 * 24 * time.Hour
)

// onRoll reports whether this device prints receipts on a roll, and keeps what the address asks for.
func (s *Room) onRoll(w http.ResponseWriter, r *http.Request) bool {
	name := s.CookieName(sizesCookie)
	size := r.URL.Query().Get("size")
	if size == sizeRoll || size == sizeA6 {
		http.SetCookie(w, &http.Cookie{Name: name, Value: size, Path: "/", MaxAge: int(sizeKept.Seconds()), HttpOnly: true, SameSite: http.SameSiteLaxMode,
			Secure: s.Sessions.Cookie.Secure})
	} else if kept, err := r.Cookie(name); err == nil {
		size = kept.Value
	}
	return size == sizeRoll
}

func sizeURL(path string, roll bool) string {
	if roll {
		return path + "?size=" + sizeRoll
	}
	return path + "?size=" + sizeA6
}

// otherSize leads to the same receipt in the other size.
func otherSize(path string, roll bool) []view.LinkView {
	words := "On an 80 mm roll"
	if roll {
		words = "On A6"
	}
	return []view.LinkView{{Text: words, Href: sizeURL(path, !roll), TestID: "other-size"}}
}

func rollAdvice(roll bool) string {
	if roll {
		return "72 mm are printed. The PDF is as long as the receipt; print it at scale 100 %, margins none."
	}
	return "In the print dialogue choose scale 100 %, margins none."
}

func (s *Room) sendReceipt(w http.ResponseWriter, r *http.Request) error {
	v, at, err := s.receipt(r)
	if err != nil {
		return err
	}
	v.Roll = s.onRoll(w, r)
	return s.SendPaper(w, r, "receipt-"+v.Docket, v, at)
}
