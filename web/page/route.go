package page

import (
	"net/http"
	"strings"

	"ledgerwheel/domain/staff"
)

// Handler answers a request or returns why it could not; one place turns errors into pages.
type Handler func(w http.ResponseWriter, r *http.Request) error

// Access says who may use a route. Exactly one of its fields is set.
type Access struct {
	Public bool             // anyone, signed in or not
	Any    bool             // everyone who is signed in
	Perm   staff.Permission // those whose role holds it
}

var Public = Access{Public: true}

var SignedIn = Access{Any: true}

func Needs(p staff.Permission) Access { return Access{Perm: p} }

// Route is one row of the table of everything the program answers.
type Route struct {
	Method, Pattern string
	Who             Access
	Handle          Handler
}

// Get is the row of a page to be read.
func Get(pattern string, who Access, handle Handler) Route {
	return Route{http.MethodGet, pattern, who, handle}
}

// Post is the row of a form.
func Post(pattern string, who Access, handle Handler) Route {
	return Route{http.MethodPost, pattern, who, handle}
}

// Serve lets in those whom the route admits and answers for what the handler could not do.
func (s *Host) Serve(who Access, h Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if err := s.admit(who, r); err != nil {
			s.Fail(w, r, err)
			return
		}
		if err := s.answer(w, r, h); err != nil {
			s.Fail(w, r, err)
		}
	})
}

// answer lets a handler answer: what was sent twice once, and a page with what was typed on it before.
func (s *Host) answer(w http.ResponseWriter, r *http.Request, h Handler) error {
	if r.Method == http.MethodPost {
		return s.answerPost(w, r, h)
	}
	r, err := s.withKeptForm(r)
	if err != nil {
		return err
	}
	return h(w, r)
}

// admit reports errSignIn to strangers and errForbidden to those whose role does not reach.
func (s *Host) admit(who Access, r *http.Request) error {
	if who.Public {
		return nil
	}
	v, ok := ViewerOf(r.Context())
	if !ok {
		return errSignIn
	}
	if s.MustEnrol(r.Context()) && !strings.HasPrefix(r.URL.Path, EnrolPath) && r.URL.Path != "/sign-out" {
		return errEnrol
	}
	if who.Any || staff.Can(v.Member.Role, who.Perm) {
		return nil
	}
	return ErrForbidden
}
