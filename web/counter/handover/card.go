package web

import (
	"context"
	"errors"
	"net/http"
	"strconv"
	"strings"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/warranty"
	"ledgerwheel/store"
	"ledgerwheel/web/view"
)

type cardStore interface {
	CardSheet(ctx context.Context, n docket.Number) (store.CardSheet, error)
	IssueCard(ctx context.Context, c store.Change, w warranty.Wording) (warranty.Code, error)
	ReissueCard(ctx context.Context, c store.Change, w warranty.Wording, reason string) (warranty.Code, error)
	VoidCard(ctx context.Context, c store.Change, reason string) error
}

func (s *Server) cardRoutes() []route {
	return []route{
		{http.MethodGet, "/dockets/{number}/card", needs(staff.ViewDockets), s.showCard},
		{http.MethodPost, "/dockets/{number}/card", needs(staff.IssueCard), s.issueCard},
		{http.MethodPost, "/dockets/{number}/card/reissue", needs(staff.IssueCard), s.reissueCard},
		{http.MethodPost, "/dockets/{number}/card/void", needs(staff.VoidCard), s.voidCard},
		{http.MethodGet, "/dockets/{number}/papers/warranty-card", needs(staff.PrintCard), s.showCardPaper},
		{http.MethodGet, "/dockets/{number}/papers/warranty-card.pdf", needs(staff.PrintCard), s.sendCardPaper},
	}
}

// The forms of the card's page.
const (
	formIssue   = "issue"
	formReissue = "reissue"
	formVoid    = "void"
)

func (s *Server) showCard(w http.ResponseWriter, r *http.Request) error {
	return s.renderCard(w, r, http.StatusOK, refused{})
}

// issueCard signs and keeps a card or, asked only to show it, draws it with what was typed.
func (s *Server) issueCard(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.readSeen(w, r)
	if err != nil {
		return err
	}
	wording := readWording(f)
	if f.Text("do") == "show" || !f.OK() {
		return s.showTyped(w, r, c, f, formIssue)
	}
	code, err := s.store.IssueCard(r.Context(), c, wording)
	return s.answerCard(w, r, f, c, formIssue, err, "Card "+code.Grouped()+" is issued.")
}

func (s *Server) reissueCard(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.readSeen(w, r)
	if err != nil {
		return err
	}
	wording := readWording(f)
	if f.Text("do") == "show" || !f.OK() {
		return s.showTyped(w, r, c, f, formReissue)
	}
	code, err := s.store.ReissueCard(r.Context(), c, wording, f.Text("reason"))
	return s.answerCard(w, r, f, c, formReissue, err, "Card "+code.Grouped()+" is issued in place of the one before.")
}

func (s *Server) voidCard(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.readSeen(w, r)
	if err != nil {
		return err
	}
	err = s.store.VoidCard(r.Context(), c, f.Text("reason"))
	return s.answerCard(w, r, f, c, formVoid, err, "The card is declared void.")
}

// readWording reads what the owner decides for a card.
func readWording(f *form) warranty.Wording {
	return warranty.Wording{WorkDone: strings.Split(f.Text("work_done"), "\n"), Covers: f.Text("covers"),
		Months: f.Int("months"), StartsOn: f.Day("starts_on")}.Tidied()
}

// showTyped draws the page with what was typed, and says what is wrong with it so far.
func (s *Server) showTyped(w http.ResponseWriter, r *http.Request, c store.Change, f *form, what string) error {
	sheet, err := s.store.CardSheet(r.Context(), c.Number)
	if err != nil {
		return err
	}
	wording, today := readWording(f), s.today(r)
	bad := sheet.Basis.Problems(wording, today)
	if what == formReissue {
		delete(bad, "months") // a reissue keeps the term
		delete(bad, "starts_on")
	}
	if f.FailAll(bad); !f.OK() {
		return s.renderCard(w, r, http.StatusUnprocessableEntity, refused{what, f})
	}
	return s.renderCard(w, r, http.StatusOK, refused{what, f})
}

// answerCard goes back to the page when it was done, and otherwise says beside the fields why not.
func (s *Server) answerCard(w http.ResponseWriter, r *http.Request, f *form, c store.Change, what string, err error, said string) error {
	switch {
	case errors.Is(err, warranty.ErrSpent):
		f.Fail("", "No card stands any more: it was declared void or replaced meanwhile.")
		err = nil
	case isAltered(err):
		f.Fail("", "What is kept of the card was altered outside the program, so it can't be reissued. "+
			"Declare it void and issue another.")
		err = nil
	}
	return s.settle(w, r, ending{form: f, change: c, err: err, said: said, to: view.DocketURL(c.Number.String(), "card"),
		again: func(status int) error { return s.renderCard(w, r, status, refused{what, f}) }})
}

// isAltered reports whether a kept card no longer proves itself.
func isAltered(err error) bool {
	for _, e := range []error{warranty.ErrSignature, warranty.ErrPayload, warranty.ErrUnknownKey, warranty.ErrKeyRetired} {
		if errors.Is(err, e) {
			return true
		}
	}
	return false
}

// renderCard shows the page of a docket's warranty cards.
func (s *Server) renderCard(w http.ResponseWriter, r *http.Request, status int, typed refused) error {
	n, err := pathNumber(r)
	if err != nil {
		return err
	}
	sheet, err := s.store.CardSheet(r.Context(), n)
	if err != nil {
		return err
	}
	p, d := s.docketPage(r, sheet.Head, "hand-over")
	p.Title = "Warranty card of " + d.Number
	b := cardBuilder{s: s, r: r, sheet: sheet, typed: typed}
	v, err := b.page()
	if err != nil {
		return err
	}
	v.Version = d.Version
	return render(w, r, status, view.WarrantyCardPage(p, d, v))
}

// checkURL is where anyone may check a card.
func (s *Server) checkURL(code warranty.Code) string { return s.publicURL + "/w/" + string(code) }

// comebackURL leads to taking the watch in again, from where the docket it returns from is offered.
func comebackURL(h store.Head) string {
	return "/intake?customer=" + strconv.FormatInt(h.Customer.ID, 10) + "&watch=" + strconv.FormatInt(h.Watch.ID, 10)
}
