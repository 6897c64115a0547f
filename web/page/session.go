package page

import (
	"context"
	"net/http"
	"time"

	"github.com/alexedwards/scs/v2"

	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
)

// sessionHours is one long working day: a bench tablet stays signed in through it and not overnight.
const sessionHours = 14

const (
	sessionStaff = "staff"
	sessionEpoch = "epoch"
	sessionFlash = "flash"
)

type failFunc func(http.ResponseWriter, *http.Request, error)

func NewSessions(kept scs.Store, secure bool, fail failFunc) *scs.SessionManager {
	m := scs.New()
	m.Store = kept
	m.Lifetime = sessionHours * time.Hour
	m.HashTokenInStore = true
	m.Cookie.Name = "ledgerwheel"
	m.Cookie.HttpOnly = true
	m.Cookie.SameSite = http.SameSiteLaxMode
	m.Cookie.Path = "/"
	m.Cookie.Secure = secure
	if secure {
		m.Cookie.Name = "__Host-ledgerwheel"
	}
	m.ErrorFunc = func(w http.ResponseWriter, r *http.Request, err error) { fail(w, r, store.Translate(err)) }
	return m
}

type viewerKey struct{}

// WithViewer returns a context in which v is the person signed in.
func WithViewer(ctx context.Context, v store.Viewer) context.Context {
	return context.WithValue(ctx, viewerKey{}, v)
}

// ViewerOf returns the person signed in and the shop's settings as they stand now.
func ViewerOf(ctx context.Context) (store.Viewer, bool) {
	v, ok := ctx.Value(viewerKey{}).(store.Viewer)
	return v, ok
}

// AsStood returns r as it would have come while the shop's settings were sh: days, moments, amounts and words made with
// it read as they did then. A document is made with it, and the frame of the page around the document with r itself.
func AsStood(r *http.Request, sh shop.Shop) *http.Request {
	v, signedIn := ViewerOf(r.Context())
	if !signedIn {
		return r // nobody's settings to put others in the place of
	}
	v.Shop = sh
	return r.WithContext(WithViewer(r.Context(), v))
}

// LoadViewer looks the person up on every request, so that whoever is disabled is out at once.
func (s *Host) LoadViewer(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		ctx := r.Context()
		id := s.Sessions.GetInt64(ctx, sessionStaff)
		if id == 0 {
			next.ServeHTTP(w, r)
			return
		}
		v, err := s.Viewers.Viewer(ctx, id)
		if err != nil {
			s.Fail(w, r, err)
			return
		}
		if v.Member.Disabled || v.SessionEpoch != s.Sessions.GetInt(ctx, sessionEpoch) {
			if err := s.Sessions.Destroy(ctx); err != nil {
				s.Fail(w, r, err)
				return
			}
			next.ServeHTTP(w, r)
			return
		}
		next.ServeHTTP(w, r.WithContext(WithViewer(ctx, v)))
	})
}

// Begin starts a session of its own for the person; the old token is no longer good.
func (s *Host) Begin(ctx context.Context, id int64, epoch int) error {
	if err := s.Sessions.RenewToken(ctx); err != nil {
		return err
	}
	s.Sessions.Put(ctx, sessionStaff, id)
	s.Sessions.Put(ctx, sessionEpoch, epoch)
	return nil
}

// Say leaves one sentence to be shown on the next page.
func (s *Host) Say(ctx context.Context, text string) { s.Sessions.Put(ctx, sessionFlash, text) }

// Actor is who does it, for the journal.
func Actor(r *http.Request) store.Actor {
	v, _ := ViewerOf(r.Context())
	return store.Actor{StaffID: v.Member.ID, Name: v.Member.Name, Role: v.Member.Role}
}

func May(r *http.Request, p staff.Permission) bool {
	v, ok := ViewerOf(r.Context())
	return ok && staff.Can(v.Member.Role, p)
}
