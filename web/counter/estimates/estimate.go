package web

import (
	"context"
	"errors"
	"net/http"
	"slices"
	"strconv"
	"time"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
	"ledgerwheel/web/view"
)

type estimateStore interface {
	EstimateSheet(ctx context.Context, n docket.Number) (store.EstimateSheet, error)
	SaveDraft(ctx context.Context, c store.Change, content estimate.Revision) (int, error)
	SaveAndSend(ctx context.Context, c store.Change, content estimate.Revision, today time.Time) (int, error)
	DiscardDraft(ctx context.Context, c store.Change) error
	SendEstimate(ctx context.Context, c store.Change, number int, today time.Time) error
	AnswerEstimate(ctx context.Context, c store.Change, a estimate.Answer, today time.Time) error
}

func (s *Server) estimateRoutes() []route {
	return slices.Concat([]route{
		{http.MethodGet, "/dockets/{number}/estimate", needs(staff.ViewDockets), s.showEstimate},
		{http.MethodPost, "/dockets/{number}/estimate", needs(staff.PriceEstimate), s.editEstimate},
		{http.MethodPost, "/dockets/{number}/estimate/discard", needs(staff.PriceEstimate), s.discardDraft},
		{http.MethodPost, "/dockets/{number}/estimate/send", needs(staff.SendEstimate), s.sendEstimate},
		{http.MethodPost, "/dockets/{number}/estimate/answer", needs(staff.RecordApproval), s.answerAtCounter},
		{http.MethodPost, "/dockets/{number}/link", needs(staff.SendEstimate), s.makeLink},
		{http.MethodPost, "/dockets/{number}/link/end", needs(staff.SendEstimate), s.endLink},
	}, s.estimatePaperRoutes())
}

// estimateTyped is what was typed on the estimate sheet and is shown again.
type estimateTyped struct {
	form  *form
	draft *draftTyped // the editor's; nil when nobody typed in it
}

func (s *Server) showEstimate(w http.ResponseWriter, r *http.Request) error {
	return s.renderEstimate(w, r, http.StatusOK, estimateTyped{form: emptyForm()})
}

func (s *Server) renderEstimate(w http.ResponseWriter, r *http.Request, status int, typed estimateTyped) error {
	n, err := pathNumber(r)
	if err != nil {
		return err
	}
	sheet, err := s.store.EstimateSheet(r.Context(), n)
	if err != nil {
		return err
	}
	return s.renderEstimateSheet(w, r, status, sheet, typed)
}

func (s *Server) renderEstimateSheet(w http.ResponseWriter, r *http.Request, status int, sheet store.EstimateSheet, typed estimateTyped) error {
	viewer, _ := viewerOf(r.Context())
	m := pricesOf(sheet.Head.Docket.Currency, viewer.Shop)
	p, d := s.docketPage(r, sheet.Head, "estimate")
	p.Scripts = []string{"js/estimate.js", "js/copy.js"}
	v := view.EstimateView{Form: typed.form.view(), Limit: limitSaid(m, sheet.Head), History: s.revisionRows(r, sheet, m)}
	if typed.draft == nil && s.editorOpens(r, sheet) {
		draft := freshDraft(sheet, viewer.Shop, s.today(r))
		typed.draft = &draft
	}
	if typed.draft != nil {
		v.Editor = typed.draft.view(typed.form, sheet, m)
	}
	if shown, ok := s.standing(r, sheet); ok {
		revision := s.revisionView(r, shown, m)
		revision.Within = withinSaid(m, sheet.Head, shown)
		v.Standing = &revision
		s.offerSteps(r, &v, sheet, shown, typed)
	}
	var err error
	if may(r, staff.SendEstimate) {
		if v.Link, err = s.linkPanel(r, sheet, m); err != nil {
			return err
		}
	}
	return render(w, r, status, view.Estimate(p, d, v))
}

// editorOpens reports whether the page opens with the editor: there is a draft, or nothing yet, or the last revision
// is to be revised.
func (s *Server) editorOpens(r *http.Request, sheet store.EstimateSheet) bool {
	_, draft := sheet.Estimate.OpenDraft()
	return may(r, staff.PriceEstimate) && !sheet.Head.Docket.Closed() &&
		(draft || len(sheet.Estimate.Revisions) == 0 || r.URL.Query().Get("revise") != "")
}

// standing is the revision that the page shows for reading: the one the customer has, or, to those who can't price it,
// the draft.
func (s *Server) standing(r *http.Request, sheet store.EstimateSheet) (estimate.Revision, bool) {
	if draft, open := sheet.Estimate.OpenDraft(); open && !may(r, staff.PriceEstimate) {
		return draft, true
	}
	return sheet.Estimate.Shown()
}

// offerSteps adds what may be done about the revision shown.
func (s *Server) offerSteps(r *http.Request, v *view.EstimateView, sheet store.EstimateSheet, shown estimate.Revision, typed estimateTyped) {
	if sheet.Head.Docket.Closed() {
		return
	}
	number := sheet.Head.Docket.Number.String()
	if shown.State == estimate.Draft {
		v.SendURL = view.DocketURL(number, "estimate/send")
		return
	}
	if v.Editor == nil && may(r, staff.PriceEstimate) {
		v.ReviseURL = view.DocketURL(number, "estimate") + "?revise=yes"
	}
	if shown.State == estimate.Sent && may(r, staff.RecordApproval) {
		form := typed.form.view()
		if !typed.form.Values.Has("decision") && typed.form.OK() {
			form.Values.Set("name", sheet.Head.Customer.Name)
		}
		v.Answer = &view.AnswerView{Form: form, Revision: strconv.Itoa(shown.Number), Optional: optionalLines(shown), Expired: shown.Expired(s.today(r))}
	}
}

func (s *Server) answerAtCounter(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.changeForm(w, r)
	if err != nil {
		return err
	}
	a := readAnswer(f)
	a.By = estimate.AtCounter
	f.FailAll(a.Problems())
	if f.OK() {
		err = refusedAnswer(f, s.store.AnswerEstimate(r.Context(), c, a, s.today(r)))
	}
	said := "Declined by " + a.Name + "."
	if a.Approve {
		said = "Approved by " + a.Name + "."
	}
	return s.settle(w, r, ending{form: f, change: c, err: err, said: said, to: view.DocketURL(c.Number.String(), "estimate"),
		again: func(status int) error { return s.renderEstimate(w, r, status, estimateTyped{form: f}) }})
}

// refusedAnswer turns the refusals of an answer into what the form says of them.
func refusedAnswer(f *form, err error) error {
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

func (s *Server) sendEstimate(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.changeForm(w, r)
	if err != nil {
		return err
	}
	number := f.Int("revision")
	if f.OK() {
		err = refusedSending(f, s.store.SendEstimate(r.Context(), c, number, s.today(r)))
	}
	return s.afterSending(w, r, f, c, err, nil)
}

// refusedSending turns the refusals of a sending into what the form says of them.
func refusedSending(f *form, err error) error {
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

func (s *Server) afterSending(w http.ResponseWriter, r *http.Request, f *form, c store.Change, err error, draft *draftTyped) error {
	return s.settle(w, r, ending{form: f, change: c, err: err, words: draft.words,
		said:  "The estimate is sent. Give the customer the private link below.",
		to:    view.DocketURL(c.Number.String(), "estimate") + "#link",
		again: func(status int) error { return s.renderEstimate(w, r, status, estimateTyped{form: f, draft: draft}) }})
}

func (s *Server) discardDraft(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.changeForm(w, r)
	if err != nil {
		return err
	}
	err = refusedSending(f, s.store.DiscardDraft(r.Context(), c))
	return s.settle(w, r, ending{form: f, change: c, err: err, said: "The draft is thrown away. The journal keeps what it said.",
		to:    view.DocketURL(c.Number.String(), "estimate"),
		again: func(status int) error { return s.renderEstimate(w, r, status, estimateTyped{form: f}) }})
}
