package outside

import (
	"net/http"
	"time"

	"github.com/go-chi/chi/v5"

	"ledgerwheel/domain/warranty"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

// Checks are bounded for one machine: whoever holds a card needs a few, and nobody finds one by trying codes.
const (
	ChecksPerMachine = 120
	checkWindow      = time.Minute
)

func (s *Room) warrantyCheckRoutes() []page.Route {
	limited := s.PerMachine(page.Bound{Times: ChecksPerMachine, Within: checkWindow, Title: "Too many checks",
		Text: "This machine has checked many cards within a minute. Wait a minute and scan the card again."})
	return []page.Route{
		page.Get("/w", page.Public, s.askForCard),
		page.Get("/w/{code}", page.Public, limited(s.checkCard)),
	}
}

// unlisted keeps a page out of search engines.
func unlisted(w http.ResponseWriter) { w.Header().Set("X-Robots-Tag", "noindex, nofollow") }

// askForCard is the form for a code that can't be scanned. A code typed into it leads to its page.
func (s *Room) askForCard(w http.ResponseWriter, r *http.Request) error {
	unlisted(w)
	typed := r.URL.Query().Get("code")
	if typed == "" {
		return s.renderCheck(w, r, http.StatusOK, page.EmptyForm(), nil)
	}
	code, err := warranty.ParseCode(page.CleanText(typed))
	if err != nil {
		f := &page.Form{Values: r.URL.Query(), Problems: map[string]string{}}
		f.Fail("code", "This is no card's number: it has sixteen letters and digits, in four groups of four.")
		return s.renderCheck(w, r, http.StatusUnprocessableEntity, f, nil)
	}
	return page.SeeOther(w, r, "/w/"+string(code))
}

// checkCard says what a card is worth, and nothing that its holder may not tell everyone.
func (s *Room) checkCard(w http.ResponseWriter, r *http.Request) error {
	unlisted(w)
	typed := chi.URLParam(r, "code")
	code, err := warranty.ParseCode(typed)
	if err != nil {
		f := page.EmptyForm()
		f.Values.Set("code", typed)
		f.Fail("code", "This is no card's number: it has sixteen letters and digits, in four groups of four.")
		return s.renderCheck(w, r, http.StatusNotFound, f, nil)
	}
	if typed != string(code) {
		return page.SeeOther(w, r, "/w/"+string(code)) // one address for each card
	}
	check, err := s.store.CardCheck(r.Context(), code)
	if err != nil {
		return err
	}
	facts, err := check.Check(code, s.Now())
	if err != nil {
		s.Log.Error("a card that is kept does not prove itself", "id", page.RequestIDOf(r.Context()), "card", code, "error",
			err)
	}
	status := http.StatusOK
	if facts.Standing == warranty.Unknown || facts.Standing == warranty.Mistyped {
		status = http.StatusNotFound
	}
	return s.renderCheck(w, r, status, page.EmptyForm(), s.checkView(r, facts))
}

func (s *Room) renderCheck(w http.ResponseWriter, r *http.Request, status int, f *page.Form,
	result *checkResult) error {
	p := s.outsidePage(r, "Warranty check")
	p.Home = "/w"
	if result != nil {
		p.Shop = result.Shop
	}
	return page.Render(w, r, status, warrantyCheck(p, warrantyCheckView{Form: f.View(), Result: result}))
}

// checkView shows the public facts, all of them and no others.
func (s *Room) checkView(r *http.Request, facts warranty.PublicFacts) *checkResult {
	v := &checkResult{Mistyped: facts.Standing == warranty.Mistyped, Mark: page.StandingMark(facts.Standing), Word: checkWords[facts.Standing],
		Text:   facts.Standing.Words(),
		Number: facts.Code.Grouped(), Shop: facts.Shop}
	if facts.Shop == "" {
		return v
	}
	v.Statement = "/w/" + string(facts.Code) + "/statement"
	v.Terms = []view.TermView{view.Term("Shop", facts.Shop), view.Term("From", s.Day(r, facts.StartsOn)),
		view.Term("Until", s.Day(r, facts.ExpiresOn))}
	if !facts.HasFigures() {
		return v
	}
	v.Watch = facts.Maker
	if facts.Model != "" {
		v.Watch += " " + facts.Model
	}
	for _, t := range []view.TermView{view.Term("Case number ends in", facts.CaseSerial),
		view.Term("Movement number ends in", facts.MovementSerial)} {
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
		v.Figures = append(v.Figures, view.FigureView{Label: "Uncertainty of a rate", Value: "± " + u, Unit: "s/d",
			Note: "k = 2"})
	}
	v.Verdict = facts.Verdict
	return v
}

// checkWords stand beside the lozenge.
var checkWords = map[warranty.Standing]string{warranty.Genuine: "genuine", warranty.Expired: "genuine, ended",
	warranty.Superseded: "replaced", warranty.Void: "void", warranty.Mistyped: "mistyped",
	warranty.Unknown: "not genuine"}
