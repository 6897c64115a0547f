package page

import (
	"context"
	"crypto/rand"
	"errors"
	"net/http"
	"time"

	"github.com/alexedwards/scs/v2"

	"ledgerwheel/domain"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
)

const (
	sessionStaff  = "staff"
	sessionName   = "name"   // of the row of table staff_session
	sessionProven = "proven" // when its person last said who they are, in seconds since 1970
	sessionHeld   = "held"
	sessionHeldAt = "held-at"
	sessionFlash  = "flash"
)

type failFunc func(http.ResponseWriter, *http.Request, error)

func NewSessions(kept scs.Store, secure bool, fail failFunc) *scs.SessionManager {
	m := scs.New()
	m.Store = kept
	m.Lifetime = staff.SessionFor
	m.HashTokenInStore = true
	m.Cookie.HttpOnly = true
	m.Cookie.SameSite = http.SameSiteLaxMode
	m.Cookie.Path = "/"
	m.Cookie.Secure = secure
	m.Cookie.Name = cookieName("ledgerwheel", secure)
	m.ErrorFunc = func(w http.ResponseWriter, r *http.Request, err error) { fail(w, r, store.Translate(err)) }
	return m
}

// CookieName is the full name of a cookie of ours. Where cookies are bound to TLS the prefix has browsers take it from this
// very host alone, never from a neighbour under the same domain (RFC 6265bis, section 4.1.3.2).
func (s *Host) CookieName(name string) string { return cookieName(name, s.Sessions.Cookie.Secure) }

func cookieName(name string, secure bool) string {
	if secure {
		return "__Host-" + name
	}
	return name
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

// LoadViewer looks the person and their session up on every request, so that whoever is disabled, or whose session was
// ended elsewhere, is out at once.
func (s *Host) LoadViewer(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		ctx := r.Context()
		id := s.Sessions.GetInt64(ctx, sessionStaff)
		if id == 0 {
			next.ServeHTTP(w, r)
			return
		}
		v, err := s.Viewers.Viewer(ctx, id, s.Sessions.GetString(ctx, sessionName))
		if err == nil && (v.Member.Disabled || !v.Session.Live) {
			err = s.Sessions.Destroy(ctx)
		} else if err == nil && staff.Idle(v.Session.Unseen, v.Shop.IdleMinutes) {
			err = s.EndSession(WithViewer(ctx, v), r, staff.EndedIdle)
		} else if err == nil {
			ctx, err = WithViewer(ctx, v), s.seen(r, v.Session)
		}
		if err != nil {
			s.Fail(w, r, err)
			return
		}
		next.ServeHTTP(w, r.WithContext(ctx))
	})
}

// seen notes now and then that the session is used.
func (s *Host) seen(r *http.Request, session store.SessionNow) error {
	if session.Unseen < staff.SeenEvery {
		return nil
	}
	return s.Viewers.SessionSeen(r.Context(), session.ID, s.ClientAddress(r))
}

// From is where a request comes from, as the log of sign-ins says it.
func (s *Host) From(r *http.Request) store.From {
	return store.From{Address: s.ClientAddress(r), Device: staff.DeviceWords(r.UserAgent())}
}

// Access is a line of the log of sign-ins about somebody, made by a request.
func (s *Host) Access(r *http.Request, staffID int64, kind staff.Access, detail string) store.AccessEvent {
	return store.AccessEvent{At: s.Now(), StaffID: staffID, Kind: kind, Detail: detail, From: s.From(r)}
}

// Begin starts a session of its own for the person; the old token is no longer good. how says what they signed in with.
func (s *Host) Begin(ctx context.Context, id int64, epoch int, how store.AccessEvent) error {
	if err := s.Sessions.RenewToken(ctx); err != nil {
		return err
	}
	name, before := rand.Text(), s.Sessions.GetString(ctx, sessionName)
	if err := s.Viewers.BeginSession(ctx, name, before, id, epoch, how); err != nil {
		return err
	}
	s.Sessions.Put(ctx, sessionStaff, id)
	s.Sessions.Put(ctx, sessionName, name)
	s.Proved(ctx, time.Now())
	s.Sessions.Remove(ctx, sessionHeld)
	return nil
}

// HeldFor is how long after the password the second factor may be given.
const HeldFor = 10 * time.Minute

// Hold remembers in the browser's session who gave the right password and has still to give a second factor. Nobody is
// signed in by that.
func (s *Host) Hold(ctx context.Context, staffID int64) error {
	if err := s.Sessions.RenewToken(ctx); err != nil {
		return err
	}
	s.Sessions.Put(ctx, sessionHeld, staffID)
	s.Sessions.Put(ctx, sessionHeldAt, time.Now().Unix())
	return nil
}

// Held is who gave the password in this browser not long ago; 0 for nobody.
func (s *Host) Held(ctx context.Context) int64 {
	if time.Since(time.Unix(s.Sessions.GetInt64(ctx, sessionHeldAt), 0)) > HeldFor {
		return 0
	}
	return s.Sessions.GetInt64(ctx, sessionHeld)
}

// EndSession ends the session of the request and says in the log why.
func (s *Host) EndSession(ctx context.Context, r *http.Request, why staff.Access) error {
	v, _ := ViewerOf(ctx)
	err := s.Viewers.EndSession(ctx, v.Member.ID, v.Session.ID, s.Access(r, v.Member.ID, why, ""))
	if err != nil && !errors.Is(err, domain.ErrNotFound) { // it was ended meanwhile
		return err
	}
	return s.Sessions.Destroy(ctx)
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
