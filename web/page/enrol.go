package page

import (
	"context"
	"net/http"
)

// EnrolPath is where somebody sets up a second factor; all that belongs to it lies below.
const EnrolPath = "/account/sign-in"

const (
	sessionEnrol     = "enrol"      // a second factor has to be set up before anything else
	sessionEnrolNext = "enrol-next" // where its person wanted to go
)

// Enrol has the person who has just signed in set up a second factor before anything else.
func (s *Host) Enrol(ctx context.Context) { s.Sessions.Put(ctx, sessionEnrol, true) }

// MustEnrol reports whether the person signed in has to set one up first.
func (s *Host) MustEnrol(ctx context.Context) bool { return s.Sessions.GetBool(ctx, sessionEnrol) }

// Enrolled lets the person go on who has set one up, and says where they wanted to go.
func (s *Host) Enrolled(ctx context.Context) (next string) {
	s.Sessions.Remove(ctx, sessionEnrol)
	return LocalPath(s.Sessions.PopString(ctx, sessionEnrolNext))
}

// leadToEnrol remembers where somebody wanted to go; what they sent is kept for them.
func (s *Host) leadToEnrol(w http.ResponseWriter, r *http.Request) {
	next := r.URL.RequestURI()
	if r.Method != http.MethodGet {
		id, err := s.keepTyped(w, r)
		if err != nil {
			s.Fail(w, r, err)
			return
		}
		next = "/"
		if id != "" {
			v, _ := ViewerOf(r.Context())
			if next, err = s.AfterSignIn(r.Context(), v.Member.ID, "", id); err != nil {
				s.Fail(w, r, err)
				return
			}
		}
	}
	s.Sessions.Put(r.Context(), sessionEnrolNext, next)
	http.Redirect(w, r, EnrolPath, http.StatusSeeOther)
}
