package web

import (
	"context"
	"net/http"
	"time"

	"github.com/go-chi/chi/v5"

	"ledgerwheel/domain/warranty"
	"ledgerwheel/store"
	"ledgerwheel/web/view"
)

type cardCheckStore interface {
	CardCheck(ctx context.Context, code warranty.Code) (store.CardCheck, error)
}

// Checks are bounded for one machine: whoever holds a card needs a few, and nobody finds one by trying codes.
const (
	checksPerMachine = 120
	checkWindow      = time.Minute
)

func (s *Server) warrantyCheckRoutes() []route {
	limited := s.perMachine(bound{times: checksPerMachine, within: checkWindow, title: "Too many checks",
		text: "This machine has checked many cards within a minute. Wait a minute and scan the card again."})
	return []route{
		{http.MethodGet, "/w", public, s.askForCard},
		{http.MethodGet, "/w/{code}", public, limited(s.checkCard)},
	}
}

// unlisted keeps a page out of search engines.
func unlisted(w http.ResponseWriter) { w.Header().Set("X-Robots-Tag", "noindex, nofollow") }

// askForCard is the form for a code that can't be scanned. A code typed into it leads to its page.
func (s *Server) askForCard(w http.ResponseWriter, r *http.Request) error {
	unlisted(w)
	typed := r.URL.Query().Get("code")
	if typed == "" {
		return s.renderCheck(w, r, http.StatusOK, emptyForm(), nil)
	}
	code, err := warranty.ParseCode(cleanText(typed))
	if err != nil {
		f := &form{Values: r.URL.Query(), Problems: map[string]string{}}
		f.Fail("code", "This is no card's number: it has sixteen letters and digits, in four groups of four.")
		return s.renderCheck(w, r, http.StatusUnprocessableEntity, f, nil)
	}
	return seeOther(w, r, "/w/"+string(code))
}

// checkCard says what a card is worth, and nothing that its holder may not tell everyone.
func (s *Server) checkCard(w http.ResponseWriter, r *http.Request) error {
	unlisted(w)
	typed := chi.URLParam(r, "code")
	code, err := warranty.ParseCode(typed)
	if err != nil {
		f := emptyForm()
		f.Values.Set("code", typed)
		f.Fail("code", "This is no card's number: it has sixteen letters and digits, in four groups of four.")
		return s.renderCheck(w, r, http.StatusNotFound, f, nil)
	}
	if typed != string(code) {
		return seeOther(w, r, "/w/"+string(code)) // one address for each card
	}
	check, err := s.store.CardCheck(r.Context(), code)
	if err != nil {
		return err
	}
	facts, err := check.Check(code, s.now())
	if err != nil {
		s.log.Error("a card that is kept does not prove itself", "id", requestIDOf(r.Context()), "card", code, "error", err)
	}
	status := http.StatusOK
	if facts.Standing == warranty.Unknown {
		status = http.StatusNotFound
	}
	return s.renderCheck(w, r, status, emptyForm(), s.checkView(r, facts))
}

func (s *Server) renderCheck(w http.ResponseWriter, r *http.Request, status int, f *form, result *view.CheckResult) error {
	p := s.plainPage(r, "Warranty check")
	p.Home = "/w"
	if result != nil {
		p.Shop = result.Shop
	}
	return render(w, r, status, view.WarrantyCheck(p, view.WarrantyCheckView{Form: f.view(), Result: result}))
}

// checkView shows the public facts, all of them and no others.
func (s *Server) checkView(r *http.Request, facts warranty.PublicFacts) *view.CheckResult {
	v := &view.CheckResult{Mark: standingMark(facts.Standing), Word: checkWords[facts.Standing], Text: facts.Standing.Words(),
		Number: facts.Code.Grouped(), Shop: facts.Shop}
	if facts.Shop == "" {
		return v
	}
	v.Terms = []view.TermView{view.Term("Shop", facts.Shop), view.Term("From", s.day(r, facts.StartsOn)), view.Term("Until", s.day(r, facts.ExpiresOn))}
	if !facts.HasFigures() {
		return v
	}
	v.Watch = facts.Maker
	if facts.Model != "" {
		v.Watch += " " + facts.Model
	}
	for _, t := range []view.TermView{view.Term("Case number ends in", facts.CaseSerial), view.Term("Movement number ends in", facts.MovementSerial)} {
		if t.Cell.Text != "" {
			v.Terms = append(v.Terms, t)
		}
	}
	v.Covers = facts.Covers
	final := warranty.Final{MeanSPerDay: facts.MeanSPerDay, DeltaSPerDay: facts.DeltaSPerDay, USPerDay: facts.USPerDay}
	v.Figures = []view.FigureView{
		{Label: "Mean rate", Value: final.RateWords(facts.MeanSPerDay), Unit: "s/d", Note: "+ gains"},
		{Label: "Delta", Value: final.SpreadWords(), Unit: "s/d", Note: "greatest less least rate"}}
	if u := final.UncertaintyWords(); u != "" {
		v.Figures = append(v.Figures, view.FigureView{Label: "Uncertainty of a rate", Value: "± " + u, Unit: "s/d", Note: "k = 2"})
	}
	v.Verdict = facts.Verdict
	return v
}

// checkWords stand beside the lozenge.
var checkWords = map[warranty.Standing]string{warranty.Genuine: "genuine", warranty.Expired: "genuine, ended",
	warranty.Superseded: "replaced", warranty.Void: "void", warranty.Unknown: "not genuine"}
