// Package web configures the program's pages, lists the rooms that answer them and mounts the rooms. What a page asks
// and shows is in the rooms.
package web

import (
	"fmt"
	"log/slog"
	"net/http"
	"net/netip"
	"net/url"
	"runtime/debug"
	"strings"
	"time"

	"github.com/alexedwards/scs/v2"
	"github.com/go-chi/chi/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/health"
	"ledgerwheel/store"
	"ledgerwheel/web/api"
	"ledgerwheel/web/bench/hearing"
	"ledgerwheel/web/office"
	"ledgerwheel/web/office/post"
	"ledgerwheel/web/page"
	"ledgerwheel/web/static"
)

// Config is what the web side is given by the command that starts it.
type Config struct {
	Store    *store.Store
	Sessions scs.Store    // where sessions are kept
	Uploads  page.Uploads // where photographs and sounds are kept
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
	// Hosts are further names and addresses by which the program is reached, without ports; PublicURL's is known by itself.
	Hosts []string
	// Proxies may say for whom they ask; nobody else is believed.
	Proxies []netip.Prefix
	// Troubles names what stands in the way of keeping the record just now; nil finds nothing.
	Troubles func() []health.Trouble
	// Nightly says in a sentence what is done about backups every night; "" for nothing.
	Nightly string
	Checks  *store.Checker
	Sealing office.Sealing // nil where nothing is sealed
	Post    post.Carrier   // nil where nothing is carried
	Letters post.Letters   // of the demo; nil elsewhere
	// NoteErased keeps beside the record whose data were erased, for when an older record is restored; nil keeps nothing.
	NoteErased func([]store.ErasedID) error
}

// Server is the web side: what every room is given, and the rooms.
type Server struct {
	*page.Host
	store     *store.Store
	rooms     []room
	papers    http.Handler  // the routes that make papers, for exports
	Hearing   *hearing.Room // one of the rooms, by name for tests of what it hears
	strictTLS bool
	compress  func(http.Handler) http.Handler
	hosts     func(http.Handler) http.Handler // lets through those who know the program's name
}

// New returns the whole web side as one handler.
func New(c Config) (http.Handler, error) {
	s, err := NewServer(c)
	if err != nil {
		return nil, err
	}
	return s.Handler(), nil
}

// NewServer makes the rooms; its handler serves them.
func NewServer(c Config) (*Server, error) {
	base, err := url.Parse(c.PublicURL)
	if err != nil || base.Host == "" || (base.Scheme != "http" && base.Scheme != "https") {
		return nil, fmt.Errorf("the public address %q is not an http or https address", c.PublicURL)
	}
	host := &page.Host{Viewers: c.Store, Uploads: c.Uploads, Log: c.Log, Now: c.Now, Demo: c.Demo,
		Proxies: c.Proxies, Troubles: c.Troubles,
		PublicURL: strings.TrimRight(c.PublicURL, "/")}
	host.Sessions = page.NewSessions(c.Sessions, base.Scheme == "https", host.Fail)
	s := &Server{Host: host, store: c.Store, strictTLS: c.StrictTLS, hosts: page.KnownHosts(append([]string{
		strings.ToLower(base.Hostname())}, c.Hosts...))}
	if s.compress, err = page.Compress(); err != nil {
		return nil, fmt.Errorf("compression: %w", err)
	}
	s.furnish(c)
	s.papers = s.paperRouter()
	return s, nil
}

// Handler answers every request.
func (s *Server) Handler() http.Handler {
	r := chi.NewRouter()
	r.Use(page.RequestID, page.LogRequests(s.Log), s.recoverPanics, page.SecureHeaders(s.strictTLS), s.hosts)
	r.Handle("/static/*", static.Handler())
	r.Get(page.HealthPath, s.health)
	api.Mount(r, s.Host, s.store)
	r.Group(func(r chi.Router) {
		r.Use(s.compress, page.Private, s.refuseForged, s.Sessions.LoadAndSave, s.LoadViewer)
		s.mount(r)
		r.NotFound(s.Serve(page.Public, notFound).ServeHTTP)
		r.MethodNotAllowed(s.Serve(page.Public, notFound).ServeHTTP)
	})
	return r
}

// refuseForged turns away posts that another site made a browser send.
func (s *Server) refuseForged(next http.Handler) http.Handler {
	guard := http.NewCrossOriginProtection()
	guard.SetDenyHandler(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		s.Fail(w, r, page.ErrForbidden)
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
				s.Fail(w, r, fmt.Errorf("panic: %v\n%s", cause, debug.Stack()))
			}
		}()
		next.ServeHTTP(w, r)
	})
}

func notFound(http.ResponseWriter, *http.Request) error { return domain.ErrNotFound }
