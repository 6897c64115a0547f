package estimates

import (
	"errors"
	"net/http"
	"slices"

	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/message"
	"ledgerwheel/domain/money"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/priced"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

func (s *Room) estimateRoutes() []page.Route {
	return slices.Concat([]page.Route{
		page.Get("/dockets/{number}/estimate", page.Needs(staff.ViewDockets), s.showEstimate),
		page.Post("/dockets/{number}/estimate", page.Needs(staff.PriceEstimate), s.editEstimate),
		page.Post("/dockets/{number}/estimate/discard", page.Needs(staff.PriceEstimate), s.discardDraft),
		page.Post("/dockets/{number}/estimate/send", page.Needs(staff.SendEstimate), s.sendEstimate),
		page.Post("/dockets/{number}/estimate/answer", page.Needs(staff.RecordApproval), s.answerAtCounter),
		page.Post("/dockets/{number}/link", page.Needs(staff.SendEstimate), s.makeLink),
		page.Post("/dockets/{number}/link/end", page.Needs(staff.SendEstimate), s.endLink),
	}, s.estimatePaperRoutes())
}

// estimateTyped is what was typed on the estimate sheet and is shown again.
type estimateTyped struct {
	form  *page.Form
	draft *draftTyped // the editor's; nil when nobody typed in it
}

func (s *Room) showEstimate(w http.ResponseWriter, r *http.Request) error {
	return s.renderEstimate(w, r, http.StatusOK, estimateTyped{form: page.EmptyForm()})
}

func (s *Room) renderEstimate(w http.ResponseWriter, r *http.Request, status int, typed estimateTyped) error {
	n, err := page.PathNumber(r)
	if err != nil {
		return err
	}
	sheet, err := s.store.EstimateSheet(r.Context(), n)
	if err != nil {
		return err
	}
	return s.renderEstimateSheet(w, r, status, sheet, typed)
}

func (s *Room) renderEstimateSheet(w http.ResponseWriter, r *http.Request, status int, sheet store.EstimateSheet,
	typed estimateTyped) error {
	viewer, _ := page.ViewerOf(r.Context())
	m := priced.Of(sheet.Head.Docket.Currency, viewer.Shop)
	p, d := s.DocketPage(r, sheet.Head, "estimate")
	p.Scripts = []string{"js/estimate.js", "js/copy.js"}
	v := estimateView{Form: typed.form.View(), Limit: limitSaid(m, sheet.Head), History: s.revisionRows(r, sheet)}
	if typed.draft == nil && s.editorOpens(r, sheet) {
		draft := freshDraft(sheet, viewer.Shop, s.Today(r))
		typed.draft = &draft
	}
	if typed.draft != nil {
		v.Editor = typed.draft.view(typed.form, sheet, m)
		if page.May(r, staff.SendEstimate) {
			v.Editor.Tell = tellOfEstimate(r, v.Editor.Form, sheet)
			if v.Editor.Tell.Own.Error == "" { // the form of the answer may stand below, with fields of the same names
				v.Editor.Tell.Way.ID, v.Editor.Tell.Own.ID = "editor-tell", "editor-tell-own"
			}
		}
	}
	if shown, ok := s.standing(r, sheet); ok {
		revision := s.revisionView(r, shown, sheet.Row(shown.Number).Shop)
		revision.Within = withinSaid(sheet.Head, shown)
		v.Call = s.consentTerms(r, shown, m)
		v.Standing = &revision
		s.offerSteps(r, &v, sheet, shown, typed)
	}
	var err error
	if page.May(r, staff.SendEstimate) {
		if v.Link, err = s.linkPanel(r, sheet, m); err != nil {
			return err
		}
	}
	return page.Render(w, r, status, estimatePage(p, d, v))
}

// editorOpens reports whether the page opens with the editor: there is a draft, or nothing yet, or the last revision
// is to be revised.
func (s *Room) editorOpens(r *http.Request, sheet store.EstimateSheet) bool {
	_, draft := sheet.Estimate.OpenDraft()
	return page.May(r, staff.PriceEstimate) && !sheet.Head.Docket.Closed() &&
		(draft || len(sheet.Estimate.Revisions) == 0 || r.URL.Query().Get("revise") != "")
}

// standing is the revision that the page shows for reading: the one the customer has, or, to those who can't price it,
// the draft.
func (s *Room) standing(r *http.Request, sheet store.EstimateSheet) (estimate.Revision, bool) {
	if draft, open := sheet.Estimate.OpenDraft(); open && !page.May(r, staff.PriceEstimate) {
		return draft, true
	}
	return sheet.Estimate.Shown()
}

// offerSteps adds what may be done about the revision shown.
func (s *Room) offerSteps(r *http.Request, v *estimateView, sheet store.EstimateSheet, shown estimate.Revision,
	typed estimateTyped) {
	if sheet.Head.Docket.Closed() {
		return
	}
	number := sheet.Head.Docket.Number.String()
	if shown.State == estimate.Draft {
		v.SendURL, v.Tell = view.DocketURL(number, "estimate/send"), tellOfEstimate(r, typed.form.View(), sheet)
		return
	}
	if v.Editor == nil && page.May(r, staff.PriceEstimate) {
		v.ReviseURL = view.DocketURL(number, "estimate") + "?revise=yes"
	}
	if shown.State == estimate.Sent && page.May(r, staff.RecordApproval) {
		v.Answers = s.answerForms(r, sheet, shown, typed)
	}
}

// tellOfEstimate asks how the customer is told that an estimate waits for their answer.
func tellOfEstimate(r *http.Request, f view.Form, record store.EstimateSheet) view.TellView {
	return sheet.Telling(f, message.Reach{Customer: record.Head.Customer}, sheet.HomeOf(r), "", "When it is sent, with the private link.")
}

func (s *Room) answerAtCounter(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.ChangeForm(w, r)
	if err != nil {
		return err
	}
	record, err := s.store.EstimateSheet(r.Context(), c.Number)
	if err != nil {
		return err
	}
	a := priced.ReadAnswer(f)
	a.By, a.At, c.Tell = estimate.AtCounter, c.At, sheet.ReadTell(f)
	if f.Text("by") == string(estimate.ByTelephone) {
		a.By = estimate.ByTelephone
		a.Consent = readConsent(f, page.ZoneOf(r), record.Head.Docket.Currency, page.LocaleOf(r), a.Approve)
	}
	f.FailAll(a.Problems())
	var failed error
	if f.OK() {
		// The last day for an answer is over by the clock that the estimate was sent under.
		today := s.Today(page.AsStood(r, record.Row(a.Revision).Shop))
		failed = refusedAnswer(f, s.store.AnswerEstimate(r.Context(), c, a, today), record.Head.Docket.Currency)
	}
	said := "Declined by " + a.Name + "."
	if a.Approve {
		said = "Approved by " + a.Name + "." + sheet.ToldWords(c.Tell, record.Head.Customer)
	}
	return s.Settle(w, r, sheet.Ending{Form: f, Change: c, Err: failed, Said: said, To: view.DocketURL(c.Number.String(),
		"estimate"),
		Again: func(status int) error { return s.renderEstimate(w, r, status, estimateTyped{form: f}) }})
}

// refusedAnswer turns the refusals of an answer into what the form says of them.
func refusedAnswer(f *page.Form, err error, currency string) error {
	var wrong *estimate.TotalError
	if errors.As(err, &wrong) {
		f.Fail("agreed_total", "The lines that are approved come to "+currency+" "+money.Plain(wrong.ComesToMinor, currency)+
			". Leave out what was left out, or write the total that was said.")
		return nil
	}
	for _, refusal := range []struct {
		err  error
		name string
		said string
	}{
		{estimate.ErrExpired, "decision", "This revision's time for approval is over: send a new one."},
		{estimate.ErrSuperseded, "", "A newer revision has taken this one's place: look at it below."},
		{estimate.ErrNotWaiting, "", "This revision has been answered already: look at the answer below."},
		{estimate.ErrNoRevision, "", "There is no such revision."},
		{estimate.ErrNotOptional, "leave_out", "Only lines that are offered can be left out."},
	} {
		if errors.Is(err, refusal.err) {
			f.Fail(refusal.name, refusal.said)
			return nil
		}
	}
	return err
}

func (s *Room) sendEstimate(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.ChangeForm(w, r)
	if err != nil {
		return err
	}
	number := f.Int("revision")
	c.Tell = sheet.ReadTell(f)
	if f.OK() {
		err = refusedSending(f, s.store.SendEstimate(r.Context(), c, number, s.Today(r)))
	}
	return s.afterSending(w, r, f, c, err, nil)
}

// refusedSending turns the refusals of a sending into what the form says of them.
func refusedSending(f *page.Form, err error) error {
	switch {
	case errors.Is(err, estimate.ErrNotSaveable):
		f.Fail("valid_until", "The last day for approval lies in the past: give a later one.")
	case errors.Is(err, estimate.ErrNotDraft), errors.Is(err, estimate.ErrNoRevision):
		f.Fail("", "There is no such draft any more: look at the revisions below.")
	default:
		return err
	}
	return nil
}

func (s *Room) afterSending(w http.ResponseWriter, r *http.Request, f *page.Form, c store.Change, err error,
	draft *draftTyped) error {
	return s.Settle(w, r, sheet.Ending{Form: f, Change: c, Err: err, Words: draft.words,
		Said:  sentWords(c.Tell),
		To:    view.DocketURL(c.Number.String(), "estimate") + "#link",
		Again: func(status int) error { return s.renderEstimate(w, r, status, estimateTyped{form: f, draft: draft}) }})
}

// sentWords say what is left to do after a sending.
func sentWords(t store.Tell) string {
	switch {
	case t.Way == message.Mail:
		return "The estimate is sent, and the customer is told by e-mail."
	case t.Way == "":
		return "The estimate is sent. Give the customer the private link below."
	case t.Done:
		return "The estimate is sent. Written down that the customer knows."
	}
	return "The estimate is sent. The customer is still to be told " + t.Way.Words() + ": Today keeps it."
}

func (s *Room) discardDraft(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.ChangeForm(w, r)
	if err != nil {
		return err
	}
	err = refusedSending(f, s.store.DiscardDraft(r.Context(), c))
	return s.Settle(w, r, sheet.Ending{Form: f, Change: c, Err: err, Said: "The draft is thrown away. The journal " +
		"keeps what it said.",
		To:    view.DocketURL(c.Number.String(), "estimate"),
		Again: func(status int) error { return s.renderEstimate(w, r, status, estimateTyped{form: f}) }})
}
