package outside

import (
	"errors"
	"fmt"
	"net/http"
	"strconv"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/warranty"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/priced"
	"ledgerwheel/web/view"
)

// accountOf is what is due, once there is something to pay for: money passed, or the watch is ready or gone.
func accountOf(o opened) *accountView {
	a := o.found.Account
	if !a.AnyAmount || !workDone(o.found) && a.PaidMinor == 0 {
		return nil
	}
	m := priced.Of(a.Currency, inReaders(o.shop, o.in))
	v := &accountView{Terms: []view.TermView{view.Term(o.say("page.account.owed"), m.Format(a.OwedMinor)),
		view.Term(o.say("page.account.paid"), m.Format(a.PaidMinor))}}
	switch {
	case a.DueMinor <= 0:
		v.Words = o.say("page.account.settled")
	default:
		v.Terms = append(v.Terms, view.Term(o.say("page.account.due"), m.Format(a.DueMinor)))
		if !o.found.Closed {
			v.Words = o.say("page.account.collect")
		}
	}
	if a.Billed {
		v.Invoice = o.at("/invoice.pdf")
	}
	if a.Passed {
		v.Receipt = o.at("/receipt.pdf")
	}
	return v
}

// workDone reports whether the watch is ready or has left, repaired or not.
func workDone(found store.LinkPage) bool {
	return found.Stage == docket.StageReady || found.Stage.Terminal() || found.Stage.Exit()
}

// warrantyOf is the state of the docket's newest card.
func (s *Room) warrantyOf(o opened) *warrantyView {
	card := o.found.Card
	if card == nil {
		return nil
	}
	facts, err := store.CardCheck{Card: card}.Check(card.Code, s.Now())
	if err != nil {
		s.Log.Error("a card that is kept does not prove itself", "card", card.Code, "error", err)
	}
	v := &warrantyView{Mark: page.StandingMark(facts.Standing), Href: "/w/" + string(card.Code),
		Check: o.say("page.warranty.check", "number", card.Code.Grouped())}
	switch facts.Standing {
	case warranty.Genuine:
		v.Words = o.say("page.warranty.genuine", "from", o.in.Day(facts.StartsOn), "until", o.in.Day(facts.ExpiresOn))
	case warranty.Expired:
		v.Words = o.say("page.warranty.expired", "until", o.in.Day(facts.ExpiresOn))
	case warranty.Void:
		v.Words = o.say("page.warranty.void")
	default:
		v.Words = o.say("page.warranty.unsure")
	}
	return v
}

// nextService says when the shop advises a service, after one was done and the watch is home; else "".
func nextService(o opened) string {
	if o.found.Stage != docket.StageHandedOver || o.found.LeftAt.IsZero() || o.found.ServiceYears == 0 {
		return ""
	}
	due := o.found.LeftAt.In(o.shop.Location()).AddDate(o.found.ServiceYears, 0, 0)
	return o.say("page.service.due", "month", o.say("month."+strconv.Itoa(int(due.Month())))+" "+strconv.Itoa(due.Year()))
}

// sendLinkInvoice sends the invoice of the link's own docket, once one was made.
func (s *Room) sendLinkInvoice(w http.ResponseWriter, r *http.Request) error {
	o, ok, err := s.open(w, r)
	if err != nil || !ok {
		return err
	}
	inv, at, draft, err := s.bills.InvoiceOf(r.Context(), o.found.Number)
	if err == nil && draft {
		err = fmt.Errorf("invoice by private link: %w", domain.ErrNotFound)
	}
	if errors.Is(err, domain.ErrNotFound) {
		return s.linkFailed(w, r, o, err)
	}
	if err != nil {
		return err
	}
	return s.SendPaper(w, r, "invoice-"+inv.Number, inv, at)
}

// sendLinkReceipt sends the receipt of the link's own docket, once money passed.
func (s *Room) sendLinkReceipt(w http.ResponseWriter, r *http.Request) error {
	o, ok, err := s.open(w, r)
	if err != nil || !ok {
		return err
	}
	receipt, at, err := s.bills.ReceiptOf(r.Context(), o.found.Number)
	if errors.Is(err, domain.ErrNotFound) {
		return s.linkFailed(w, r, o, err)
	}
	if err != nil {
		return err
	}
	return s.SendPaper(w, r, "receipt-"+receipt.Docket, receipt, at)
}
