package web

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

func newSessions(kept scs.Store, secure bool, fail failFunc) *scs.SessionManager {
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

// viewerOf returns the person signed in and the shop's settings as they stand now.
func viewerOf(ctx context.Context) (store.Viewer, bool) {
	v, ok := ctx.Value(viewerKey{}).(store.Viewer)
	return v, ok
}

// loadViewer looks the person up on every request, so that whoever is disabled is out at once.
func (s *Server) loadViewer(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		ctx := r.Context()
		id := s.sessions.GetInt64(ctx, sessionStaff)
		if id == 0 {
			next.ServeHTTP(w, r)
			return
		}
		v, err := s.store.Viewer(ctx, id)
		if err != nil {
			s.fail(w, r, err)
			return
		}
		if v.Member.Disabled || v.SessionEpoch != s.sessions.GetInt(ctx, sessionEpoch) {
			if err := s.sessions.Destroy(ctx); err != nil {
				s.fail(w, r, err)
				return
			}
			next.ServeHTTP(w, r)
			return
		}
		next.ServeHTTP(w, r.WithContext(context.WithValue(ctx, viewerKey{}, v)))
	})
}

// begin starts a session of its own for the person; the old token is no longer good.
func (s *Server) begin(ctx context.Context, id int64, epoch int) error {
	if err := s.sessions.RenewToken(ctx); err != nil {
		return err
	}
	s.sessions.Put(ctx, sessionStaff, id)
	s.sessions.Put(ctx, sessionEpoch, epoch)
	return nil
}

// say leaves one sentence to be shown on the next page.
func (s *Server) say(ctx context.Context, text string) { s.sessions.Put(ctx, sessionFlash, text) }

// actor is who does it, for the journal.
func actor(r *http.Request) store.Actor {
	v, _ := viewerOf(r.Context())
	return store.Actor{StaffID: v.Member.ID, Name: v.Member.Name, Role: v.Member.Role}
}

func may(r *http.Request, p staff.Permission) bool {
	v, ok := viewerOf(r.Context())
	return ok && staff.Can(v.Member.Role, p)
}

type viewerStore interface {
	Viewer(ctx context.Context, id int64) (store.Viewer, error)
	Shop(ctx context.Context) (shop.Shop, error)
}
