package outside

import (
	"net/http"
	"net/url"
	"time"

	"github.com/go-chi/chi/v5"

	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/tongue"
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
	typed, in := r.URL.Query().Get("code"), readerTongue(r, "", "")
	if typed == "" {
		return s.renderCheck(w, r, http.StatusOK, in, page.EmptyForm(), nil)
	}
	code, err := warranty.ParseCode(page.CleanText(typed))
	if err != nil {
		f := &page.Form{Values: r.URL.Query(), Problems: map[string]string{}}
		f.Fail("code", in.Say("check.no_number"))
		return s.renderCheck(w, r, http.StatusUnprocessableEntity, in, f, nil)
	}
	return page.SeeOther(w, r, askedAgain(r, "/w/"+string(code)))
}

// checkCard says what a card is worth, and nothing that its holder may not tell everyone.
func (s *Room) checkCard(w http.ResponseWriter, r *http.Request) error {
	unlisted(w)
	typed := chi.URLParam(r, "code")
	code, err := warranty.ParseCode(typed)
	if err != nil {
		f := page.EmptyForm()
		f.Values.Set("code", typed)
		in := readerTongue(r, "", "")
		f.Fail("code", in.Say("check.no_number"))
		return s.renderCheck(w, r, http.StatusNotFound, in, f, nil)
	}
	if typed != string(code) {
		return page.SeeOther(w, r, askedAgain(r, "/w/"+string(code))) // one address for each card
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
	in := readerTongue(r, "", "")
	if check.Card != nil { // it speaks the language that it is printed in
		in = readerTongue(r, check.Card.Tongue, "")
	}
	return s.renderCheck(w, r, status, in, page.EmptyForm(), checkView(in, facts))
}

// askedAgain keeps in an address the language that was asked for.
func askedAgain(r *http.Request, address string) string {
	if t := askedTongue(r); t != "" {
		return address + "?in=" + string(t)
	}
	return address
}

func (s *Room) renderCheck(w http.ResponseWriter, r *http.Request, status int, in tongue.Tongue, f *page.Form,
	result *checkResult) error {
	p := s.strangersPage(r, in, in.Say("check.title"), (&url.URL{Path: r.URL.Path}).EscapedPath())
	if result != nil {
		p.Shop = result.Shop
	}
	return page.Render(w, r, status, warrantyCheck(p, warrantyCheckView{T: in, Asked: askedTongue(r), Keys: askedAgain(r, keysPagePath), Form: f.View(), Result: result}))
}

// checkView shows the public facts, all of them and no others.
func checkView(in tongue.Tongue, facts warranty.PublicFacts) *checkResult {
	say := page.VoiceOf(in, shop.Defaults())
	v := &checkResult{Mistyped: facts.Standing == warranty.Mistyped, Mark: page.StandingMark(facts.Standing), Word: in.Say("check.word." + string(facts.Standing)),
		Text:   in.Say("check.says." + string(facts.Standing)),
		Number: facts.Code.Grouped(), Shop: facts.Shop}
	if facts.Shop == "" {
		return v
	}
	v.Statement = "/w/" + string(facts.Code) + "/statement"
	v.Terms = []view.TermView{view.Term(in.Say("check.shop"), facts.Shop), view.Term(in.Say("check.from"), say.Day(facts.StartsOn)),
		view.Term(in.Say("check.until"), say.Day(facts.ExpiresOn))}
	if !facts.HasFigures() {
		return v
	}
	v.Watch = facts.Maker
	if facts.Model != "" {
		v.Watch += " " + facts.Model
	}
	for _, t := range []view.TermView{view.Term(in.Say("check.case_ends"), facts.CaseSerial),
		view.Term(in.Say("check.movement_ends"), facts.MovementSerial)} {
		if t.Cell.Text != "" {
			v.Terms = append(v.Terms, t)
		}
	}
	v.Covers = facts.Covers
	final := warranty.Final{MeanSPerDay: facts.MeanSPerDay, DeltaSPerDay: facts.DeltaSPerDay, USPerDay: facts.USPerDay}
	v.Figures = []view.FigureView{
		{Label: in.Say("check.mean"), Value: say.Figures(final.RateWords(facts.MeanSPerDay)), Unit: "s/d", Note: in.Say("check.mean.note")},
		{Label: in.Say("check.delta"), Value: say.Figures(final.SpreadWords()), Unit: "s/d", Note: in.Say("check.delta.note")}}
	if u := final.UncertaintyWords(); u != "" {
		v.Figures = append(v.Figures, view.FigureView{Label: in.Say("check.uncertainty"), Value: "± " + say.Figures(u), Unit: "s/d",
			Note: "k = 2"})
	}
	v.Verdict = facts.Verdict
	return v
}
