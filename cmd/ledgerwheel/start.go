package main

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"os"
	"strings"
	"time"

	"ledgerwheel/cmd/ledgerwheel/certs"
	"ledgerwheel/domain"
	rules "ledgerwheel/domain/backup"
	"ledgerwheel/store"
	"ledgerwheel/store/backup"
	"ledgerwheel/store/files"
	"ledgerwheel/store/keyring"
	"ledgerwheel/store/pgserver"
	"ledgerwheel/store/post"
)

// lastWords is how long requests under way may take once the program is told to stop.
const lastWords = 10 * time.Second

// shopFlags are what demo and serve share.
type shopFlags struct {
	Listen    string   `help:"Address to serve on; port 0 takes a free one." default:"127.0.0.1:8080" env:"LEDGERWHEEL_LISTEN" placeholder:"ADDR"`
	Data      string   `help:"Folder for everything that is kept: the private PostgreSQL and the photographs." type:"path" env:"LEDGERWHEEL_DATA" placeholder:"DIR"`
	Database  string   `help:"Use the PostgreSQL at this address instead of a private one." env:"LEDGERWHEEL_DATABASE" placeholder:"URL"`
	PublicURL string   `name:"public-url" help:"Address at which customers reach the program, as papers and cards give it. Unset, it is the one served on." env:"LEDGERWHEEL_PUBLIC_URL" placeholder:"URL"`
	SealsTo   []string `name:"seals-to" help:"Also keep every seal of the record in this folder, on another disk say; may be given several times." type:"path" env:"LEDGERWHEEL_SEALS_TO" placeholder:"DIR"`
	NoInstall bool     `help:"Do not install PostgreSQL when it is missing." env:"LEDGERWHEEL_NO_INSTALL"`
	tlsFlags
	doorFlags

	mailServer *post.Account // read from serve's flags; nil for none
}

func (f shopFlags) folder(demo bool) (dataFolder, error) {
	if f.Data != "" {
		return dataFolder(f.Data), nil
	}
	return defaultFolder(demo)
}

// program is the running program. Close undoes, in reverse order, what was started.
type program struct {
	env      *env
	listener net.Listener
	server   *http.Server
	certs    certs.Source // nil without TLS
	local    *certs.Local // set where certs is the local authority
	deps     deps
	folder   dataFolder
	database backup.Database // for PostgreSQL's own programs
	closers  []func() error

	plainListener net.Listener // without TLS beside the one with it; nil when there is none
	plainServer   *http.Server
}

// start brings everything up but the answering of requests. What is said of nightly backups is for the owner's page;
// checkAt is when the record is checked every night.
func (f shopFlags) start(e *env, demo bool, setupKey, nightly string, checkAt rules.Clock) (_ *program, err error) {
	p := &program{env: e}
	defer func() {
		if err != nil {
			err = errors.Join(err, p.close())
		}
	}()
	if err := f.openPorts(p); err != nil {
		return nil, err
	}
	if err := addPaperType(); err != nil {
		e.log.Warn("papers go without a type for Chinese, Japanese and Korean", "error", err)
	}
	folder, err := f.folder(demo)
	if err != nil {
		return nil, err
	}
	if err := folder.prepare(demo); err != nil {
		return nil, err
	}
	p.folder = folder
	if err := f.openTLS(p, folder); err != nil {
		return nil, err
	}
	st, err := f.openStore(p, folder)
	if err != nil {
		return nil, err
	}
	if err := f.openKeys(st, folder); err != nil {
		return nil, err
	}
	if err := st.Migrate(e.ctx); err != nil {
		return nil, err
	}
	if err := takeOutSeeds(e, st, folder); err != nil {
		return nil, err
	}
	seals, err := f.startSealing(p, st, folder)
	if err != nil {
		return nil, err
	}
	if _, err := files.Open(folder.uploads()); err != nil {
		return nil, err
	}
	watch, err := f.startWatching(p, st, folder)
	if err != nil {
		return nil, err
	}
	p.deps = deps{Store: st, Uploads: folder.uploads(), Watching: watch, PublicURL: strings.TrimRight(f.PublicURL, "/"),
		SetupKey: setupKey, StrictTLS: f.TLSCert != "", Demo: demo, Nightly: nightly, Log: e.log,
		Hosts: f.hosts(p), Proxies: f.proxies(), Checks: startChecking(p, st, folder, checkAt), Sealing: seals,
		Erased: &erasedList{folders: []string{string(folder)}}}
	if p.deps.PublicURL == "" {
		p.deps.PublicURL = p.publicURL(f.scheme())
	}
	st.UsePublicAddress(p.deps.PublicURL)
	if err := p.openPost(f.mailServer); err != nil {
		return nil, err
	}
	handler, err := buildHandler(e.ctx, p.deps)
	if err != nil {
		return nil, err
	}
	p.server = newHTTPServer(handler, e.log)
	if p.plainListener == nil {
		return p, nil
	}
	return p, p.unencrypted()
}

// openPorts opens the program's ports before anything else is started, as they may well be taken.
func (f shopFlags) openPorts(p *program) (err error) {
	if p.listener, err = listen("--listen", f.Listen); err != nil {
		return err
	}
	p.closers = append(p.closers, closer(p.listener))
	if f.ListenHTTP == "" {
		return nil
	}
	if p.plainListener, err = listen("--listen-http", f.ListenHTTP); err != nil {
		return err
	}
	p.closers = append(p.closers, closer(p.plainListener))
	return nil
}

// closer closes a listener that its HTTP server closes too, which is no fault.
func closer(l net.Listener) func() error {
	return func() error {
		if err := l.Close(); err != nil && !errors.Is(err, net.ErrClosed) {
			return err
		}
		return nil
	}
}

// openStore connects to the database given, or to a private one that it starts.
func (f shopFlags) openStore(p *program, folder dataFolder) (*store.Store, error) {
	e, url := p.env, f.Database
	if url == "" {
		pg, err := startPostgres(e, folder.postgres(), !f.NoInstall)
		if err != nil {
			return nil, err
		}
		p.closers = append(p.closers, pg.Stop)
		p.database = backup.Private(pg)
		url = p.database.URL
	} else {
		var err error
		if p.database, err = backup.External(url); err != nil {
			return nil, oneLine{err}
		}
	}
	st, err := store.Open(e.ctx, url)
	if err != nil {
		return nil, oneLine{err}
	}
	p.closers = append(p.closers, func() error { st.Close(); return nil })
	return st, nil
}

// openKeys has the store sign, and mark the journals' entries, with the keys of the data folder and of the environment.
func (f shopFlags) openKeys(st *store.Store, folder dataFolder) error {
	keys, err := keyring.Open(folder.keys(), os.Getenv(keyring.EnvName))
	if err != nil {
		return err
	}
	st.UseKeys(keys)
	return st.MarkEntries()
}

// startSealing has entries taken into the log and the log sealed until the program ends.
func (f shopFlags) startSealing(p *program, st *store.Store, folder dataFolder) (*sealer, error) {
	s, err := newSealer(st, folder, f.SealsTo, p.env.log)
	if err != nil {
		return nil, err
	}
	ctx, stop := context.WithCancel(context.WithoutCancel(p.env.ctx))
	done := make(chan struct{})
	go func() {
		defer close(done)
		s.run(ctx)
	}()
	p.closers = append(p.closers, func() error { stop(); <-done; return nil })
	return s, nil
}

// takeOutSeeds takes the private halves that an older release kept in the database out of it.
func takeOutSeeds(e *env, st *store.Store, folder dataFolder) error {
	moved, err := st.TakeOutSeeds(e.ctx, time.Now())
	if moved == 0 {
		return err
	}
	e.log.Info("signing keys were taken out of the database; back up their folder", "keys", moved, "folder", folder.keys())
	if err != nil { // they are out, but the table's file was not written anew
		e.log.Warn("what was taken out may still lie in the database's files: begin a new key", "error", err)
	}
	return nil
}

// oneLine is an error whose message, as the database driver's are, would run over several lines.
type oneLine struct{ error }

func (e oneLine) Error() string { return strings.Join(strings.Fields(e.error.Error()), " ") }
func (e oneLine) Unwrap() error { return e.error }

// startPostgres starts the private server in dir, installing PostgreSQL first where that is possible and allowed.
func startPostgres(e *env, dir string, install bool, opts ...pgserver.Option) (*pgserver.Server, error) {
	if err := ensurePostgres(e, dir, install); err != nil {
		return nil, err
	}
	return pgserver.Start(e.ctx, dir, append(opts, pgserver.Log(e.log))...)
}

// newHTTPServer allows a slow line its time to send a photograph, and nobody to hold a connection for nothing.
func newHTTPServer(h http.Handler, log *slog.Logger) *http.Server {
	return &http.Server{
		Handler:           h,
		ReadHeaderTimeout: 10 * time.Second,
		ReadTimeout:       5 * time.Minute,
		WriteTimeout:      6 * time.Minute, // counted from the end of the header, so longer than the reading
		IdleTimeout:       2 * time.Minute,
		MaxHeaderBytes:    64 << 10,
		ErrorLog:          slog.NewLogLogger(log.Handler(), slog.LevelWarn),
	}
}

// serve answers requests until the program is told to stop, then lets those under way finish and closes everything.
func (p *program) serve() error {
	servers := p.servers()
	failed := make(chan error, len(servers))
	for _, answer := range servers {
		go func() { failed <- answer() }()
	}
	var err error
	select {
	case err = <-failed:
	case <-p.env.ctx.Done():
		p.env.log.Info("stopping")
		ctx, cancel := context.WithTimeout(context.Background(), lastWords)
		defer cancel()
		for server := range servers {
			if err := server.Shutdown(ctx); err != nil {
				p.env.log.Warn("requests were cut off", "err", err)
				server.Close()
			}
		}
	}
	return errors.Join(err, p.close())
}

func (p *program) close() error {
	var errs []error
	for i := len(p.closers) - 1; i >= 0; i-- {
		errs = append(errs, p.closers[i]())
	}
	p.closers = nil
	return errors.Join(errs...)
}

// needsOwner reports whether the shop is still without its first owner.
func (p *program) needsOwner() (bool, error) {
	_, err := p.deps.Store.Shop(p.env.ctx)
	if errors.Is(err, domain.ErrNotFound) {
		return true, nil
	}
	return false, err
}

func (p *program) say(format string, args ...any) {
	fmt.Fprintf(p.env.stdout, format+"\n", args...)
}

// newKey is a key that can't be guessed, in letters and digits that are easy to type.
func newKey() string { return strings.ToLower(rand.Text()) }
