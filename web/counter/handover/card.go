package handover

import (
	"errors"
	"net/http"
	"strconv"
	"strings"

	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/warranty"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

func (s *Room) cardRoutes() []page.Route {
	return []page.Route{
		page.Get("/dockets/{number}/card", page.Needs(staff.ViewDockets), s.showCard),
		page.Post("/dockets/{number}/card", page.Needs(staff.IssueByOrder), s.issueCard),
		page.Post("/dockets/{number}/card/reissue", page.Needs(staff.IssueCard), s.reissueCard),
		page.Post("/dockets/{number}/card/void", page.Needs(staff.VoidCard), s.voidCard),
		page.Get("/dockets/{number}/papers/warranty-card", page.Needs(staff.PrintCard), s.showCardPaper),
		page.Get("/dockets/{number}/papers/warranty-card.pdf", page.Needs(staff.PrintCard), s.sendCardPaper),
	}
}

// The forms of the card's page.
const (
	formIssue   = "issue"
	formReissue = "reissue"
	formVoid    = "void"
)

func (s *Room) showCard(w http.ResponseWriter, r *http.Request) error {
	return s.renderCard(w, r, http.StatusOK, sheet.Refused{})
}

// issueCard signs and keeps a card or, asked only to show it, draws it with what was typed. Who issues it under the
// owner's standing order types nothing.
func (s *Room) issueCard(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.readSeen(w, r)
	if err != nil {
		return err
	}
	if !page.May(r, staff.IssueCard) {
		code, err := s.store.IssueCard(r.Context(), c, warranty.Wording{})
		return s.answerCard(w, r, f, c, formIssue, err, "Card "+code.Grouped()+" is issued.")
	}
	wording := readWording(f)
	if f.Text("do") == "show" || !f.OK() {
		return s.showTyped(w, r, c, f, formIssue)
	}
	code, err := s.store.IssueCard(r.Context(), c, wording)
	return s.answerCard(w, r, f, c, formIssue, err, "Card "+code.Grouped()+" is issued.")
}

func (s *Room) reissueCard(w http.ResponseWriter, r *http.Request) error {
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

func (s *Room) voidCard(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.readSeen(w, r)
	if err != nil {
		return err
	}
	if f.Text("reason") != "" {
		sure, err := s.Sure(w, r, f, view.SureView{Title: "Declare the card void?", Button: "Declare it void", Prove: true,
			Text: "Whoever checks this card is told from now on that it is void, with your reason. The same card can't be made " +
				"good again; a new one can be issued."})
		if !sure {
			return err
		}
	}
	err = s.store.VoidCard(r.Context(), c, f.Text("reason"))
	return s.answerCard(w, r, f, c, formVoid, err, "The card is declared void.")
}

// readWording reads what the owner decides for a card.
func readWording(f *page.Form) warranty.Wording {
	return warranty.Wording{WorkDone: strings.Split(f.Text("work_done"), "\n"), Covers: f.Text("covers"),
		Months: f.Int("months"), StartsOn: f.Day("starts_on")}.Tidied()
}

// showTyped draws the page with what was typed, and says what is wrong with it so far.
func (s *Room) showTyped(w http.ResponseWriter, r *http.Request, c store.Change, f *page.Form, what string) error {
	record, err := s.store.CardSheet(r.Context(), c.Number)
	if err != nil {
		return err
	}
	wording, today := readWording(f), s.Today(r)
	bad := record.Basis.Problems(wording, today)
	if what == formReissue {
		delete(bad, "months") // a reissue keeps the term
		delete(bad, "starts_on")
	}
	if f.FailAll(bad); !f.OK() {
		return s.renderCard(w, r, http.StatusUnprocessableEntity, sheet.Refused{What: what, Form: f})
	}
	return s.renderCard(w, r, http.StatusOK, sheet.Refused{What: what, Form: f})
}

// answerCard goes back to the page when it was done, and otherwise says beside the fields why not.
func (s *Room) answerCard(w http.ResponseWriter, r *http.Request, f *page.Form, c store.Change, what string, err error,
	said string) error {
	switch {
	case errors.Is(err, warranty.ErrSpent):
		f.Fail("", "No card stands any more: it was declared void or replaced meanwhile.")
		err = nil
	case isAltered(err):
		f.Fail("", "What is kept of the card was altered outside the program, so it can't be reissued. "+
			"Declare it void and issue another.")
		err = nil
	}
	return s.Settle(w, r, sheet.Ending{Form: f, Change: c, Err: err, Said: said, To: view.DocketURL(c.Number.String(),
		"card"),
		Again: func(status int) error { return s.renderCard(w, r, status, sheet.Refused{What: what, Form: f}) }})
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
func (s *Room) renderCard(w http.ResponseWriter, r *http.Request, status int, typed sheet.Refused) error {
	n, err := page.PathNumber(r)
	if err != nil {
		return err
	}
	sheet, err := s.store.CardSheet(r.Context(), n)
	if err != nil {
		return err
	}
	p, d := s.DocketPage(r, sheet.Head, "hand-over")
	p.Title = "Warranty card of " + d.Number
	b := cardBuilder{s: s, r: r, sheet: sheet, typed: typed}
	v, err := b.page()
	if err != nil {
		return err
	}
	v.Version = d.Version
	return page.Render(w, r, status, warrantyCardPage(p, d, v))
}

// checkURL is where anyone may check a card.
func (s *Room) checkURL(code warranty.Code) string { return s.PublicURL + "/w/" + string(code) }

// comebackURL leads to taking the watch in again, from where the docket it returns from is offered.
func comebackURL(h store.Head) string {
	return "/intake?customer=" + strconv.FormatInt(h.Customer.ID, 10) + "&watch=" + strconv.FormatInt(h.Watch.ID, 10)
}
