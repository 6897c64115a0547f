package handover

import (
	"fmt"
	"maps"
	"net/http"
	"slices"
	"strings"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/text"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/paper"
	"ledgerwheel/web/priced"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

// visitReceipt is what was paid for the watches of a visit, in the customer's language, and when the newest of it was; the
// error wraps domain.ErrNotFound where nothing was. It is printed by the shop as it stood when the first of them was billed.
func (s *Room) visitReceipt(v store.VisitLeaving) (paper.VisitReceipt, time.Time, error) {
	r := receiptBuilder{newest: time.Time{}}
	for _, sh := range v.Sheets {
		if len(sh.Payments) > 0 || sh.Head.Docket.Closed() {
			r.sheets = append(r.sheets, sh)
		} else {
			r.here = append(r.here, sh.Head.Docket.Number.String()+" "+sheet.WatchWords(sh.Head))
		}
		for _, p := range sh.Payments {
			if p.At.After(r.newest) {
				r.newest = p.At
			}
		}
	}
	if r.newest.IsZero() {
		return paper.VisitReceipt{}, r.newest, domain.ErrNotFound
	}
	r.say = page.VoiceOf(r.sheets[0].Head.Docket.Tongue, r.sheets[0].Shop)
	r.money = priced.Of(r.sheets[0].Head.Docket.Currency, r.say.Shop).In(r.say.Tongue)
	out, err := r.receipt()
	out.Visit, out.WrittenDown = v.ID.String(), writtenDown(r.say.Shop)
	return out, r.newest, err
}

// receiptBuilder makes the receipt of several watches.
type receiptBuilder struct {
	sheets []store.HandOverSheet // those that it speaks of; at least one
	here   []string              // the others
	newest time.Time
	say    page.Voice
	money  priced.Money
}

func (r receiptBuilder) receipt() (paper.VisitReceipt, error) {
	say, m := r.say, r.money
	out := paper.VisitReceipt{Issuer: page.BillerOf(say), Lang: say.Lang(), Tongue: say.Tongue, Date: say.Moment(r.newest),
		Customer: r.sheets[0].Head.Customer.Name, Payments: r.payments()}
	var totals estimate.Totals
	var paid, due int64
	for _, sh := range r.sheets {
		bill, err := billOf(say, sh, say.Shop.TaxBasisPoints, say.Shop.PricesIncludeTax)
		if err != nil {
			return out, err
		}
		totals = totals.Plus(bill.totals)
		paid, due = paid+sh.Head.PaidMinor, due+sh.Head.Facts.DueMinor
		w := paper.ReceiptWatch{Docket: sh.Head.Docket.Number.String(), Watch: sheet.WatchWords(sh.Head), Charge: m.Format(bill.totals.GrossMinor),
			Paid: m.Format(sh.Head.PaidMinor), Left: say.Say("receipt.not_left")}
		if sh.Head.Docket.Closed() {
			w.Left = say.Say("receipt.left", "moment", say.Moment(sh.Head.Docket.HandedBackAt), "to", sh.Left.CollectedBy) + " " +
				say.Say("receipt.old_parts") + ": " + say.Say("receipt.old_parts."+sh.Head.OldParts) + "."
		}
		out.Watches = append(out.Watches, w)
	}
	out.Totals = append(out.Totals, paper.Field{Label: say.Say("receipt.total_charge"), Value: m.Format(totals.GrossMinor)})
	for _, t := range totals.ByRate {
		out.Totals = append(out.Totals, paper.Field{Label: say.Say("receipt.of_which", "tax", say.Shop.TaxName+" "+m.Percent(t.TaxBasisPoints)),
			Value: m.Format(t.TaxMinor)})
	}
	out.Paid = m.Format(paid)
	switch {
	case due > 0:
		out.Standing = say.Say("receipt.still_due", "amount", m.Format(due))
	case due < 0:
		out.Standing = say.Say("receipt.beyond", "amount", m.Format(-due))
	default:
		out.Standing = say.Say("paper.settled") + "."
	}
	out.Notes = append(out.Notes, say.Say("receipt.invoices"))
	if len(r.here) > 0 {
		out.Notes = append(out.Notes, say.Say("receipt.still_here", "watches", strings.Join(r.here, "; ")))
	}
	return out, nil
}

// payments are what was given, in order: what was given at one moment by one method for several watches is one payment.
func (r receiptBuilder) payments() []paper.Payment {
	type key struct {
		at           time.Time
		method, note string
		back         bool
	}
	sums := map[key]store.PaymentRow{}
	for _, sh := range r.sheets {
		for _, p := range sh.Payments {
			k := key{p.At, string(p.Method), p.Note, p.Minor < 0}
			sum := sums[k]
			sum.Minor, sum.Given = sum.Minor+p.Minor, sum.Given+p.Given
			sums[k] = sum
		}
	}
	keys := slices.SortedFunc(maps.Keys(sums), func(a, b key) int {
		if c := a.at.Compare(b.at); c != 0 {
			return c
		}
		return strings.Compare(fmt.Sprint(a.method, a.note, a.back), fmt.Sprint(b.method, b.note, b.back))
	})
	var list []paper.Payment
	for _, k := range keys {
		p := sums[k]
		how, amount := r.say.Say("method."+k.method), r.money.Format(p.Minor)
		if k.back {
			how = r.say.Say("paper.given_back", "how", how)
		} else if p.Given > p.Minor {
			amount = r.say.Say("receipt.change", "amount", amount, "given", r.money.Format(p.Given), "change", r.money.Format(p.Given-p.Minor))
		}
		list = append(list, paper.Payment{Date: r.say.Moment(k.at), Method: text.Capital(how), Amount: amount})
	}
	return list
}

func (s *Room) showVisitReceipt(w http.ResponseWriter, r *http.Request) error {
	v, err := s.leaving(r)
	if err != nil {
		return err
	}
	if len(v.Sheets) == 1 {
		return toOne(w, r, v, "papers/receipt")
	}
	doc, _, err := s.visitReceipt(v)
	if err != nil {
		return err
	}
	doc.Roll = s.onRoll(w, r)
	name := receiptName(doc.WrittenDown)
	return page.ShowPaper(w, r, view.PrintView{Page: s.Page(r, name+" "+doc.Visit), Heading: name, Advice: rollAdvice(doc.Roll),
		BackHref: togetherURL(v.ID), BackText: "Back to the hand-over", Also: otherSize(sheet.VisitURL(v.ID)+"/papers/receipt", doc.Roll),
		PDF: &view.LinkView{Text: "As PDF", Href: sizeURL(sheet.VisitURL(v.ID)+"/papers/receipt.pdf", doc.Roll), TestID: "pdf"}}, doc)
}

func (s *Room) sendVisitReceipt(w http.ResponseWriter, r *http.Request) error {
	v, err := s.leaving(r)
	if err != nil {
		return err
	}
	if len(v.Sheets) == 1 {
		return toOne(w, r, v, "papers/receipt.pdf")
	}
	doc, at, err := s.visitReceipt(v)
	if err != nil {
		return err
	}
	doc.Roll = s.onRoll(w, r)
	return s.SendPaper(w, r, "receipt-"+doc.Visit, doc, at)
}

// showVisitCards shows the cards that stand of the watches of a visit, to be printed one after another.
func (s *Room) showVisitCards(w http.ResponseWriter, r *http.Request) error {
	v, err := s.leaving(r)
	if err != nil {
		return err
	}
	if len(v.Sheets) == 1 {
		return toOne(w, r, v, "papers/warranty-card")
	}
	var parts []page.Part
	for _, sh := range v.Sheets {
		if sh.Card == nil || !sh.Card.Live() {
			continue
		}
		card, err := sh.Card.Card()
		if err != nil {
			return err
		}
		number := sh.Head.Docket.Number.String()
		parts = append(parts, page.Part{Name: "card-" + number, Heading: "Card of " + number, PDF: view.DocketURL(number, "papers/warranty-card.pdf"),
			Paper: s.issuedPaper(card, *sh.Card)})
	}
	if len(parts) == 0 {
		return errNoCard
	}
	return page.ShowPapers(w, r, view.PrintView{Page: s.Page(r, "Warranty cards "+v.ID.String()), Heading: "Warranty cards",
		Advice: "Both faces of each, on card of 85.60 × 53.98 mm (ISO/IEC 7810 ID-1): in the print dialogue choose that size, " +
			"scale 100 %, margins none.",
		BackHref: togetherURL(v.ID), BackText: "Back to the hand-over"}, parts...)
}
