package web

import (
	"ledgerwheel/domain/staff"
	"net/http"
)

// handler answers a request or returns why it could not; one place turns errors into pages.
type handler func(w http.ResponseWriter, r *http.Request) error

// access says who may use a route. Exactly one of its fields is set.
type access struct {
	public bool             // anyone, signed in or not
	any    bool             // everyone who is signed in
	perm   staff.Permission // those whose role holds it
}

var public = access{public: true}

var signedIn = access{any: true}

func needs(p staff.Permission) access { return access{perm: p} }

// route is one row of the table of everything the program answers.
type route struct {
	method, pattern string
	who             access
	handle          handler
}

// serve lets in those whom the route admits and answers for what the handler could not do.
func (s *Server) serve(who access, h handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if err := s.admit(who, r); err != nil {
			s.fail(w, r, err)
			return
		}
		if err := h(w, r); err != nil {
			s.fail(w, r, err)
		}
	})
}

// admit reports errSignIn to strangers and errForbidden to those whose role does not reach.
func (s *Server) admit(who access, r *http.Request) error {
	if who.public {
		return nil
	}
	v, ok := viewerOf(r.Context())
	if !ok {
		return errSignIn
	}
	if who.any || staff.Can(v.Member.Role, who.perm) {
		return nil
	}
	return errForbidden
}
