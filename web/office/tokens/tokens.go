package tokens

import (
	"net/http"
	"strconv"

	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/token"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

func (s *Room) showTokens(w http.ResponseWriter, r *http.Request) error {
	return s.renderTokens(w, r, http.StatusOK, page.EmptyForm(), madeView{})
}

// renderTokens shows the list, the form for another, and one that was just made: its secret is shown this once.
func (s *Room) renderTokens(w http.ResponseWriter, r *http.Request, status int, f *page.Form, made madeView) error {
	sheet, err := s.store.Tokens(r.Context())
	if err != nil {
		return err
	}
	v := tokensView{Form: f.View(), Made: made, Document: s.PublicURL + "/api/v1/openapi.json"}
	for _, scope := range token.Scopes() {
		v.Scopes = append(v.Scopes, view.Option{Value: string(scope), Text: "May " + scope.Words()})
	}
	for _, m := range sheet.Bench {
		if !m.Disabled && staff.Can(m.Role, staff.TakeReadings) {
			v.Bench = append(v.Bench, view.Option{Value: strconv.FormatInt(m.ID, 10), Text: m.Name})
		}
	}
	for _, t := range sheet.Tokens {
		v.Tokens = append(v.Tokens, s.row(r, t))
	}
	return page.Render(w, r, status, tokensPage(s.Page(r, "Access tokens"), v))
}

func (s *Room) row(r *http.Request, t store.TokenRow) tokenRow {
	row := tokenRow{ID: t.ID, Name: t.Name, Does: "May " + t.Does() + ".", Hint: "…" + t.Hint, Made: t.MadeBy + ", " + s.Day(r, t.MadeAt),
		Used: "never", Serves: t.Serves(s.Now())}
	if t.For != "" {
		row.Does += " In the name of " + t.For + "."
	}
	if !t.UsedAt.IsZero() {
		row.Used = s.Moment(r, t.UsedAt)
	}
	switch {
	case !t.EndedAt.IsZero():
		row.State = "ended " + s.Day(r, t.EndedAt)
	case !row.Serves:
		row.State = "ran out " + s.Day(r, t.ExpiresAt)
	case !t.ExpiresAt.IsZero():
		row.State = "until " + s.Moment(r, t.ExpiresAt)
	default:
		row.State = "serves"
	}
	return row
}

func (s *Room) makeToken(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	t := token.Token{Name: f.Text("name"), MadeAt: s.Now(), ActsFor: f.ID("acts_for")}
	for _, scope := range f.Values["scopes"] {
		t.Scopes = append(t.Scopes, token.Scope(scope))
	}
	if f.Text("days") != "" {
		t.ExpiresAt = t.MadeAt.AddDate(0, 0, f.Int("days"))
	}
	t = t.Tidied()
	f.FailAll(t.Problems())
	if !f.OK() {
		return s.renderTokens(w, r, http.StatusUnprocessableEntity, f, madeView{})
	}
	if ok, err := s.Proven(w, r, f, view.SureView{Title: "Make the token?", Text: "Whoever has it may " + t.Does() + ".",
		Button: "Make it", Back: "/tokens"}); !ok {
		return err
	}
	secret, err := s.store.MakeToken(r.Context(), t, page.Actor(r))
	if err != nil {
		if f.Takes(err) {
			return s.renderTokens(w, r, http.StatusUnprocessableEntity, f, madeView{})
		}
		return err
	}
	made := madeView{Name: t.Name, Secret: secret}
	if t.Has(token.Calendar) {
		made.Secret, made.Link = s.PublicURL+calendarPrefix+secret+calendarSuffix, true
	}
	return s.renderTokens(w, r, http.StatusOK, page.EmptyForm(), made)
}

func (s *Room) endToken(w http.ResponseWriter, r *http.Request) error {
	id, err := page.PathID(r, "id")
	if err != nil {
		return err
	}
	if err := s.store.EndToken(r.Context(), id, page.Actor(r), s.Now()); err != nil {
		return err
	}
	s.Say(r.Context(), "The token is ended: it opens nothing any more.")
	return page.SeeOther(w, r, "/tokens")
}
