package office

import (
	"errors"
	"net/http"

	"github.com/go-chi/chi/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

func (s *Room) ownRoutes() []page.Route {
	own := page.Needs(staff.ManageOwn)
	return []page.Route{
		page.Get("/account/sign-in", own, s.showOwn),
		page.Post("/account/sign-in/sessions/others/end", own, s.endOthers),
		page.Post("/account/sign-in/sessions/{session}/end", own, s.endOne),
	}
}

func (s *Room) showOwn(w http.ResponseWriter, r *http.Request) error {
	return s.renderOwn(w, r, http.StatusOK, "")
}

func (s *Room) renderOwn(w http.ResponseWriter, r *http.Request, status int, problem string) error {
	v, _ := page.ViewerOf(r.Context())
	own, err := s.store.OwnSignIn(r.Context(), v.Member.ID)
	if err != nil {
		return err
	}
	shown := ownView{Idle: v.Shop.IdleMinutes, Enrol: s.MustEnrol(r.Context()), Problem: problem,
		Factors: s.factorsView(r, own.Factors)}
	for _, n := range own.Sessions {
		shown.Sessions = append(shown.Sessions, sessionRow{ID: n.ID, Device: n.From.Device, Address: n.From.Address,
			Begun: s.Moment(r, n.BegunAt), Seen: s.Moment(r, n.LastSeenAt), Here: n.ID == v.Session.ID})
	}
	for _, e := range own.Accesses {
		shown.Accesses = append(shown.Accesses, s.accessRow(r, e))
	}
	return page.Render(w, r, status, ownPage(s.ownPage(r, "Your sign-in"), shown))
}

// ownPage has nothing that leads away for somebody who has to set up a second factor first.
func (s *Room) ownPage(r *http.Request, title string) view.Page {
	p := s.Page(r, title)
	if s.MustEnrol(r.Context()) {
		p.Nav, p.Find = nil, nil
	}
	return p
}

// sessionsEnd is asked before somebody's sessions elsewhere are ended.
func sessionsEnd(title, button string) view.SureView {
	return view.SureView{Title: title, Button: button, Text: "Whoever sits there has to sign in again, so only you may do it."}
}

// endOne ends one of the viewer's sessions, this one too.
func (s *Room) endOne(w http.ResponseWriter, r *http.Request) error {
	v, _ := page.ViewerOf(r.Context())
	id := chi.URLParam(r, "session")
	if id == v.Session.ID {
		return s.signOut(w, r)
	}
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	if ok, err := s.Proven(w, r, f, sessionsEnd("End this session?", "End it")); !ok {
		return err
	}
	err = s.store.EndSession(r.Context(), v.Member.ID, id, s.Access(r, v.Member.ID, staff.SessionEnded, ""))
	if err != nil && !errors.Is(err, domain.ErrNotFound) {
		return err
	}
	s.Say(r.Context(), "That session is over.")
	return page.SeeOther(w, r, "/account/sign-in")
}

func (s *Room) endOthers(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	if ok, err := s.Proven(w, r, f, sessionsEnd("End your other sessions?", "End them")); !ok {
		return err
	}
	v, _ := page.ViewerOf(r.Context())
	if err := s.store.EndOtherSessions(r.Context(), v.Member.ID, v.Session.ID,
		s.Access(r, v.Member.ID, staff.OthersEnded, "")); err != nil {
		return err
	}
	s.Say(r.Context(), "Your other sessions are over.")
	return page.SeeOther(w, r, "/account/sign-in")
}

func (s *Room) accessRow(r *http.Request, e store.AccessEvent) accessRow {
	row := accessRow{At: s.Moment(r, e.LastAt), Name: e.Name, What: e.Kind.Words(), Detail: e.Detail, By: e.ByName,
		Address: e.From.Address, Device: e.From.Device, Refused: e.Kind.Refused(), Times: e.Times}
	if e.Kind == staff.PasskeyAdded {
		row.Detail = "called " + e.Detail
	}
	if e.Times > 1 {
		row.Since = s.Moment(r, e.At)
	}
	return row
}
