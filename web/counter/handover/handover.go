package handover

import (
	"errors"
	"maps"
	"net/http"
	"slices"
	"strings"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/money"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/text"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

func (s *Room) handOverRoutes() []page.Route {
	return []page.Route{
		page.Get("/dockets/{number}/hand-over", page.Needs(staff.ViewDockets), s.showHandOver),
		page.Post("/dockets/{number}/hand-over", page.Needs(staff.HandOver), s.handOver),
		page.Get("/dockets/{number}/hand-over/change", page.Needs(staff.TakePayment), s.sayChange),
		page.Post("/dockets/{number}/hand-over/payment", page.Needs(staff.TakePayment), s.takePayment(formPayment)),
		page.Post("/dockets/{number}/hand-over/refund", page.Needs(staff.TakePayment), s.takePayment(formRefund)),
		page.Post("/dockets/{number}/hand-over/charge", page.Needs(staff.TakePayment), s.charge),
		page.Get("/dockets/{number}/papers/invoice", page.Needs(staff.PrintPapers), s.showInvoice),
		page.Get("/dockets/{number}/papers/invoice.pdf", page.Needs(staff.PrintPapers), s.sendInvoice),
		page.Get("/dockets/{number}/papers/receipt", page.Needs(staff.PrintPapers), s.showReceipt),
		page.Get("/dockets/{number}/papers/receipt.pdf", page.Needs(staff.PrintPapers), s.sendReceipt),
	}
}

// The forms of the hand-over sheet, by the last part of their addresses.
const (
	formLeaving = "hand-over"
	formPayment = "payment"
	formRefund  = "refund"
	formCharge  = "charge"
)

// showHandOver shows the sheet of a docket, or, where other watches of its ticket could leave with it, of all of them.
func (s *Room) showHandOver(w http.ResponseWriter, r *http.Request) error {
	return s.renderHandOver(w, r, http.StatusOK, sheet.Refused{})
}

// handOver takes the money, lets the watch leave and issues its card, all or nothing.
func (s *Room) handOver(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.readSeen(w, r)
	if err != nil {
		return err
	}
	h, err := s.store.HandOverSheet(r.Context(), c.Number)
	if err != nil {
		return err
	}
	if f.Text("do") == doCheck {
		return s.checkTicket(w, r, f, c.Number)
	}
	code, due := h.Head.Docket.Currency, h.Head.Facts.DueMinor
	l := docket.Leaving{CollectedBy: f.Text("collected_by"), Ticket: f.Text("ticket"), Shown: docket.Shown(f.Text("shown")),
		Done: f.Values["done"], Identity: f.Text("identity"), OldParts: docket.OldParts(f.Text("old_parts")),
		Pay: readTender(f, code, page.LocaleOf(r)), IssueCard: f.Checked("card")}
	if !f.OK() {
		return s.renderHandOver(w, r, http.StatusUnprocessableEntity, sheet.Refused{What: formLeaving, Form: f})
	}
	err = s.store.HandOver(r.Context(), c, l, f.Text("reason"))
	var refusal *docket.Refusal
	if errors.As(err, &refusal) {
		failLeaving(f, refusal, l.Pay.Way)
		return s.renderHandOver(w, r, page.RefusedStatus(refusal), sheet.Refused{What: formLeaving, Form: f})
	}
	said := "The watch has left the shop with " + l.CollectedBy + ". The docket is closed."
	if paid, bad := l.Pay.Settle(due, code); len(bad) == 0 && paid.ChangeMinor > 0 {
		said = "Change to give: " + formatMoney(r, paid.ChangeMinor, code) + ". " + said
	}
	return s.answerHandOver(w, r, f, c, formLeaving, view.DocketURL(c.Number.String(), "hand-over"), err, said)
}

// doCheck is the button that only looks at the ticket. It stands first in the form, so that Enter in any field, a scanner's
// too, presses it and never the one by which the watch leaves, with scripts or without.
const doCheck = "check"

// checkTicket says whose ticket it is, and shows the form as it was typed, the keyboard at what it still lacks.
func (s *Room) checkTicket(w http.ResponseWriter, r *http.Request, f *page.Form, n docket.Number) error {
	if typed := f.Text("ticket"); typed != "" {
		why, err := s.store.TicketProblem(r.Context(), n, typed)
		if err != nil {
			return err
		}
		if why != "" {
			f.Fail("ticket", why)
		}
	}
	return s.renderHandOver(w, r, http.StatusOK, sheet.Refused{What: formLeaving, Form: f})
}

// failLeaving puts what stands in the way of a leaving where it can be put right: money that is not there is for its own
// field, unless it was said that it is not paid now.
func failLeaving(f *page.Form, refusal *docket.Refusal, way docket.PayWay) {
	var rest []docket.Need
	for _, n := range refusal.Unmet {
		if n.Key == docket.NeedPaid && way == "" {
			f.Fail("pay", "Say how it is paid.")
			continue
		}
		rest = append(rest, n)
	}
	refusal.Unmet = rest
	if sentences := refusal.Sentences(); len(sentences) > 0 {
		f.Fail("", strings.Join(sentences, " "))
	}
}

// readTender reads what is given for what is due, each amount in the currency named.
func readTender(f *page.Form, code, locale string) docket.Tender {
	t := docket.Tender{Way: docket.PayWay(f.Text("pay")), Note: f.Text("given-note")}
	fields := map[string]*int64{"given-cash": &t.Given}
	switch t.Way {
	case docket.PayInParts:
		fields["given-card"], fields["given-transfer"], fields["given-other"] = &t.Card, &t.Transfer, &t.Other
	case docket.PayCash:
	default:
		return t
	}
	for name, minor := range fields {
		typed := f.Text(name)
		if typed == "" {
			continue
		}
		var err error
		if *minor, err = money.Parse(typed, code, locale); err != nil {
			f.Fail(name, money.Problem(err, code))
		}
	}
	return t
}

// sayChange says what goes back of what is typed so far, or what is still missing: a piece of the page.
func (s *Room) sayChange(w http.ResponseWriter, r *http.Request) error {
	n, err := page.PathNumber(r)
	if err != nil {
		return err
	}
	h, err := s.store.HandOverSheet(r.Context(), n)
	if err != nil {
		return err
	}
	code := h.Head.Docket.Currency
	f := page.EmptyForm()
	f.Values = r.URL.Query()
	paid, bad := readTender(f, code, page.LocaleOf(r)).Settle(h.Head.Facts.DueMinor, code)
	f.FailAll(bad)
	return page.Render(w, r, http.StatusOK, saidChange(firstProblem(f, "Change: "+formatMoney(r, paid.ChangeMinor, code)+".")))
}

// firstProblem is what is wrong with a form, one thing at a time, or else the words given.
func firstProblem(f *page.Form, words string) string {
	if f.OK() {
		return words
	}
	return f.Problems[slices.Sorted(maps.Keys(f.Problems))[0]]
}

// takePayment takes money, or gives it back.
func (s *Room) takePayment(what string) page.Handler {
	return func(w http.ResponseWriter, r *http.Request) error {
		f, c, err := s.readSeen(w, r)
		if err != nil {
			return err
		}
		h, err := s.store.HandOverSheet(r.Context(), c.Number)
		if err != nil {
			return err
		}
		code := h.Head.Docket.Currency
		p := docket.Payment{Method: docket.Method(f.Text("method")), Note: f.Text("note"), Beyond: f.Checked("beyond")}
		p.Minor, err = money.Parse(f.Text("amount"), code, page.LocaleOf(r))
		switch {
		case err != nil:
			f.Fail("amount", money.Problem(err, code))
		case p.Minor < 0:
			f.Fail("amount", "Give an amount above zero.")
		}
		said := formatMoney(r, p.Minor, code) + " taken, " + p.Method.Words() + "."
		if what == formRefund {
			p.Minor = -p.Minor
			said = formatMoney(r, -p.Minor, code) + " given back."
		}
		if !f.OK() {
			f.FailAll(p.Problems(h.Head.PaidMinor, h.Head.Facts.DueMinor))
			return s.renderHandOver(w, r, http.StatusUnprocessableEntity, sheet.Refused{What: what, Form: f})
		}
		if what == formRefund {
			if ok, err := s.Proven(w, r, f, view.SureView{Title: "Give money back?", Button: "Give it back",
				Text: "The refund of " + formatMoney(r, -p.Minor, code) + " goes into the journal under your name."}); !ok {
				return err
			}
		}
		return s.answerHandOver(w, r, f, c, what, moneyTo(h), s.store.TakePayment(r.Context(), c, p), said)
	}
}

// charge sets what is owed in all, or goes back to the estimate where the amount is left empty.
func (s *Room) charge(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.readSeen(w, r)
	if err != nil {
		return err
	}
	h, err := s.store.HandOverSheet(r.Context(), c.Number)
	if err != nil {
		return err
	}
	code := h.Head.Docket.Currency
	ch := docket.Charge{Reason: f.Text("reason"), Word: docket.Word{How: docket.WordHow(f.Text("word")),
		On: f.Day("word_on"), By: f.Text("word_by")}}
	said := "The docket is charged as the estimate says."
	if typed := f.Text("charged"); typed != "" {
		minor, err := money.Parse(typed, code, page.LocaleOf(r))
		if err != nil {
			f.Fail("charged", money.Problem(err, code))
		}
		ch.Minor = &minor
		said = formatMoney(r, minor, code) + " is the total charge."
	}
	if !f.OK() {
		stage, facts := h.Head.Docket.Stage, h.Head.Facts
		f.FailAll(ch.Problems(docket.AgreedMinor(stage, facts), docket.AllowedMinor(stage, facts), c.By.Role, c.At))
		return s.renderHandOver(w, r, http.StatusUnprocessableEntity, sheet.Refused{What: formCharge, Form: f})
	}
	return s.answerHandOver(w, r, f, c, formCharge, moneyTo(h), s.store.Charge(r.Context(), c, ch), said)
}

// readSeen reads a form that must name the version it was drawn from: money and a watch change hands once.
func (s *Room) readSeen(w http.ResponseWriter, r *http.Request) (*page.Form, store.Change, error) {
	f, c, err := s.ChangeForm(w, r)
	if err == nil && c.Version == 0 {
		err = page.BadRequest(errors.New("the form needs the version that was seen"))
	}
	return f, c, err
}

// answerHandOver goes back to the sheet when it was done, and otherwise says beside the fields why not.
func (s *Room) answerHandOver(w http.ResponseWriter, r *http.Request, f *page.Form, c store.Change, what, to string,
	err error, said string) error {
	return s.Settle(w, r, sheet.Ending{Form: f, Change: c, Err: err, Said: said, To: to,
		Words: func() map[string]string { return handOverWords(f) },
		Again: func(status int) error { return s.renderHandOver(w, r, status, sheet.Refused{What: what, Form: f}) }})
}

// moneyTo is where the answer leads after money alone: to the docket's own sheet, whatever else is on its ticket.
func moneyTo(h store.HandOverSheet) string {
	to := view.DocketURL(h.Head.Docket.Number.String(), "hand-over")
	if len(h.Beside) > 0 {
		to += "?" + alone + "=yes"
	}
	return to
}

// handOverWords are the plain words for what the forms send as slugs.
func handOverWords(f *page.Form) map[string]string {
	words := map[string]string{}
	if k := f.Text("shown"); k != "" {
		words["shown"] = text.Capital(docket.Shown(k).Words())
	}
	if o := f.Text("old_parts"); o != "" {
		words["old_parts"] = text.Capital(docket.OldParts(o).Words())
	}
	if p := f.Text("pay"); p != "" {
		words["pay"] = text.Capital(docket.PayWay(p).Words())
	}
	if m := f.Text("method"); m != "" {
		words["method"] = text.Capital(docket.Method(m).Words())
	}
	return words
}

// formatMoney writes an amount in the manner of the shop.
func formatMoney(r *http.Request, minor int64, currency string) string {
	return money.Format(minor, currency, page.LocaleOf(r))
}
