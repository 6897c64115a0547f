// Package web answers requests: it parses what comes in, asks domain and store, and shows views.
package web

import (
	"context"
	"fmt"
	"log/slog"
	"net/http"
	"net/url"
	"runtime/debug"
	"strings"
	"time"

	"github.com/alexedwards/scs/v2"
	"github.com/go-chi/chi/v5"

	"ledgerwheel/domain"
	"ledgerwheel/web/listening"
	"ledgerwheel/web/static"
	"ledgerwheel/web/view"
)

// Config is what the web side is given by the command that starts it.
type Config struct {
	Store    Store
	Sessions scs.Store // where sessions are kept
	Uploads  Uploads   // where photographs are kept
	Log      *slog.Logger
	Now      func() time.Time // the clock; time.Now outside tests
	// PublicURL is the address at which customers reach the program, without a final slash; it
	// stands in the codes on papers and cards. An https address also makes cookies secure.
	PublicURL string
	// SetupKey must be given to create the first owner from another machine; from this one it is not asked for.
	SetupKey string
	// StrictTLS tells browsers never to come without TLS again. It is for a certificate that everybody accepts: where a
	// local authority signs, a device that does not trust it yet could then not even be shown what to do, and the
	// order would also hold for whatever else runs on the machine under the same name, localhost among them.
	StrictTLS bool
	Demo      bool
}

// Server holds what the handlers share.
type Server struct {
	store     Store
	uploads   Uploads
	sessions  *scs.SessionManager
	log       *slog.Logger
	now       func() time.Time
	publicURL string
	setupKey  string
	strictTLS bool
	demo      bool
	hearing   *hearing
	hub       *listening.Hub // those who listen live
	// benchTools lists the links to every bench tool below an address.
	benchTools func(under string) []view.BenchLink
}

// New returns the whole web side as one handler.
func New(c Config) (http.Handler, error) {
	s, err := newServer(c)
	if err != nil {
		return nil, err
	}
	return s.handler(), nil
}

func newServer(c Config) (*Server, error) {
	base, err := url.Parse(c.PublicURL)
	if err != nil || base.Host == "" || (base.Scheme != "http" && base.Scheme != "https") {
		return nil, fmt.Errorf("the public address %q is not an http or https address", c.PublicURL)
	}
	s := &Server{store: c.Store, uploads: c.Uploads, log: c.Log, now: c.Now, hearing: newHearing(), setupKey: c.SetupKey, strictTLS: c.StrictTLS, demo: c.Demo,
		publicURL: strings.TrimRight(c.PublicURL, "/"), hub: listening.NewHub(c.Now, nil), benchTools: benchLinks}
	s.sessions = newSessions(c.Sessions, base.Scheme == "https", s.fail)
	return s, nil
}

func (s *Server) handler() http.Handler {
	r := chi.NewRouter()
	r.Use(requestID, logRequests(s.log), s.recoverPanics, secureHeaders(s.strictTLS))
	r.Handle("/static/*", static.Handler())
	r.Get("/healthz", s.health)
	r.Group(func(r chi.Router) {
		r.Use(private, s.refuseForged, s.sessions.LoadAndSave, s.loadViewer)
		s.mount(r)
		r.NotFound(s.serve(public, notFound).ServeHTTP)
		r.MethodNotAllowed(s.serve(public, notFound).ServeHTTP)
	})
	return r
}

// health answers the supervisor: 200 while the records can be reached.
func (s *Server) health(w http.ResponseWriter, r *http.Request) {
	ctx, cancel := context.WithTimeout(r.Context(), 3*time.Second)
	defer cancel()
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	if err := s.store.Ping(ctx); err != nil {
		w.WriteHeader(http.StatusServiceUnavailable)
		fmt.Fprintln(w, "the records can't be reached")
		return
	}
	fmt.Fprintln(w, "ok")
}

// refuseForged turns away posts that another site made a browser send.
func (s *Server) refuseForged(next http.Handler) http.Handler {
	guard := http.NewCrossOriginProtection()
	guard.SetDenyHandler(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		s.fail(w, r, errForbidden)
	}))
	return guard.Handler(next)
}

func (s *Server) recoverPanics(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		defer func() {
			switch cause := recover(); cause {
			case nil:
			case http.ErrAbortHandler:
				panic(cause)
			default:
				s.fail(w, r, fmt.Errorf("panic: %v\n%s", cause, debug.Stack()))
			}
		}()
		next.ServeHTTP(w, r)
	})
}

func notFound(http.ResponseWriter, *http.Request) error { return domain.ErrNotFound }
