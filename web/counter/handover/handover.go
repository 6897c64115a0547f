package web

import (
	"context"
	"errors"
	"net/http"
	"strings"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/money"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/text"
	"ledgerwheel/store"
	"ledgerwheel/web/view"
)

type handOverStore interface {
	HandOverSheet(ctx context.Context, n docket.Number) (store.HandOverSheet, error)
	HandOver(ctx context.Context, c store.Change, l docket.Leaving, reason string) error
	TakePayment(ctx context.Context, c store.Change, p docket.Payment) error
	Charge(ctx context.Context, c store.Change, ch docket.Charge) error
}

func (s *Server) handOverRoutes() []route {
	return []route{
		{http.MethodGet, "/dockets/{number}/hand-over", needs(staff.ViewDockets), s.showHandOver},
		{http.MethodPost, "/dockets/{number}/hand-over", needs(staff.HandOver), s.handOver},
		{http.MethodPost, "/dockets/{number}/hand-over/payment", needs(staff.TakePayment), s.takePayment(formPayment)},
		{http.MethodPost, "/dockets/{number}/hand-over/refund", needs(staff.TakePayment), s.takePayment(formRefund)},
		{http.MethodPost, "/dockets/{number}/hand-over/charge", needs(staff.TakePayment), s.charge},
		{http.MethodGet, "/dockets/{number}/papers/invoice", needs(staff.PrintPapers), s.showInvoice},
		{http.MethodGet, "/dockets/{number}/papers/invoice.pdf", needs(staff.PrintPapers), s.sendInvoice},
	}
}

// The forms of the hand-over sheet, by the last part of their addresses.
const (
	formLeaving = "hand-over"
	formPayment = "payment"
	formRefund  = "refund"
	formCharge  = "charge"
)

func (s *Server) showHandOver(w http.ResponseWriter, r *http.Request) error {
	return s.renderHandOver(w, r, http.StatusOK, refused{})
}

// handOver lets the watch leave.
func (s *Server) handOver(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.readSeen(w, r)
	if err != nil {
		return err
	}
	l := docket.Leaving{CollectedBy: f.Text("collected_by"), Proof: docket.Proof(f.Text("proof")), Ticket: f.Text("ticket"),
		Identity: f.Text("identity"), OldParts: docket.OldParts(f.Text("old_parts"))}
	err = s.store.HandOver(r.Context(), c, l, f.Text("reason"))
	var refusal *docket.Refusal
	if errors.As(err, &refusal) {
		f.Fail("", strings.Join(refusal.Sentences(), " "))
		return s.renderHandOver(w, r, refusedStatus(refusal), refused{formLeaving, f})
	}
	return s.answerHandOver(w, r, f, c, formLeaving, err, "The watch has left the shop with "+l.CollectedBy+". The docket is closed.")
}

// takePayment takes money, or gives it back.
func (s *Server) takePayment(what string) handler {
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
		p.Minor, err = money.Parse(f.Text("amount"), code, localeOf(r))
		switch {
		case err != nil:
			f.Fail("amount", money.Problem(err, code))
		case p.Minor < 0:
			f.Fail("amount", "Give an amount above nought.")
		}
		said := formatMoney(r, p.Minor, code) + " taken, " + p.Method.Words() + "."
		if what == formRefund {
			p.Minor = -p.Minor
			said = formatMoney(r, -p.Minor, code) + " given back."
		}
		if !f.OK() {
			f.FailAll(p.Problems(h.Head.PaidMinor, h.Head.Facts.DueMinor))
			return s.renderHandOver(w, r, http.StatusUnprocessableEntity, refused{what, f})
		}
		return s.answerHandOver(w, r, f, c, what, s.store.TakePayment(r.Context(), c, p), said)
	}
}

// charge sets what is owed in all, or goes back to the estimate where the amount is left empty.
func (s *Server) charge(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.readSeen(w, r)
	if err != nil {
		return err
	}
	h, err := s.store.HandOverSheet(r.Context(), c.Number)
	if err != nil {
		return err
	}
	code := h.Head.Docket.Currency
	ch := docket.Charge{Reason: f.Text("reason")}
	said := "The docket is charged as the estimate says."
	if typed := f.Text("charged"); typed != "" {
		minor, err := money.Parse(typed, code, localeOf(r))
		if err != nil {
			f.Fail("charged", money.Problem(err, code))
		}
		ch.Minor = &minor
		said = formatMoney(r, minor, code) + " is charged in all."
	}
	if !f.OK() {
		f.FailAll(ch.Problems(docket.AgreedMinor(h.Head.Docket.Stage, h.Head.Facts), c.By.Role))
		return s.renderHandOver(w, r, http.StatusUnprocessableEntity, refused{formCharge, f})
	}
	return s.answerHandOver(w, r, f, c, formCharge, s.store.Charge(r.Context(), c, ch), said)
}

// readSeen reads a form that must name the version it was drawn from: money and a watch change hands once.
func (s *Server) readSeen(w http.ResponseWriter, r *http.Request) (*form, store.Change, error) {
	f, c, err := s.changeForm(w, r)
	if err == nil && c.Version == 0 {
		err = badRequest(errors.New("the form needs the version that was seen"))
	}
	return f, c, err
}

// answerHandOver goes back to the sheet when it was done, and otherwise says beside the fields why not.
func (s *Server) answerHandOver(w http.ResponseWriter, r *http.Request, f *form, c store.Change, what string, err error, said string) error {
	return s.settle(w, r, ending{form: f, change: c, err: err, said: said, to: view.DocketURL(c.Number.String(), "hand-over"),
		words: func() map[string]string { return handOverWords(f) },
		again: func(status int) error { return s.renderHandOver(w, r, status, refused{what, f}) }})
}

// handOverWords are the plain words for what the forms send as slugs.
func handOverWords(f *form) map[string]string {
	words := map[string]string{}
	if p := f.Text("proof"); p != "" {
		words["proof"] = proofWords(docket.Proof(p))
	}
	if o := f.Text("old_parts"); o != "" {
		words["old_parts"] = text.Capital(docket.OldParts(o).Words())
	}
	if m := f.Text("method"); m != "" {
		words["method"] = text.Capital(docket.Method(m).Words())
	}
	return words
}

func proofWords(p docket.Proof) string {
	if p == docket.ProofTicket {
		return "The claim ticket was shown"
	}
	return "Without the ticket, checked otherwise"
}

// formatMoney writes an amount in the manner of the shop.
func formatMoney(r *http.Request, minor int64, currency string) string {
	return money.Format(minor, currency, localeOf(r))
}
