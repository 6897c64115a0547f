//go:build linux || darwin || freebsd || netbsd || openbsd

package pgserver

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"syscall"
	"time"

	"github.com/jackc/pgx/v5"
)

const (
	// startPatience is how long a server that keeps ending is tried again, as a predecessor may still be stopping.
	startPatience = 10 * time.Second
	// stopPatience is how long each way of stopping is given before a harder one.
	stopPatience = 10 * time.Second
	firstDelay   = 50 * time.Millisecond
	longestDelay = 5 * time.Second
	// steady is the age at which a server counts as healthy and the delay before its restart begins anew.
	steady = 30 * time.Second
)

// Server is a running private PostgreSQL.
type Server struct {
	cfg  config
	dir  string // the server folder, absolute
	data string // the cluster
	sock string // the socket's folder
	bin  Binaries
	acct account
	lock *os.File
	logs *os.File
	// attached is true where another copy of the program owns the server, see Reach.
	attached bool
	// logFrom is the length of the log, in bytes, when this server began to write to it.
	logFrom int64

	stopping chan struct{} // closed when Stop begins
	done     chan struct{} // closed when the supervisor has ended

	mu      sync.Mutex
	child   *os.Process // nil between two children
	exits   int         // children that ended unasked
	stopped bool
	stopErr error
	once    sync.Once
}

// Supported reports whether the private server runs on this operating system.
func Supported() error { return nil }

// Start starts the server of the folder dir, making folder, cluster and database where they are missing, and returns
// when it takes connections, which after a crash may be when its recovery is done. The server is then kept running
// until Stop. Every error is an [*Error] of one line.
func Start(ctx context.Context, dir string, opts ...Option) (_ *Server, err error) {
	s := &Server{cfg: newConfig(opts), stopping: make(chan struct{}), done: make(chan struct{})}
	if err := s.take(dir); err != nil {
		return nil, err
	}
	supervised := false
	defer func() {
		if err != nil && supervised {
			s.Stop()
		} else if err != nil {
			s.release()
		}
	}()
	if s.bin, err = Find(s.dir); err != nil {
		return nil, err
	}
	if err := s.acct.probe(s.bin, s.dir); err != nil {
		return nil, err
	}
	if err := s.makeCluster(); err != nil {
		return nil, err
	}
	if err := s.checkHome(); err != nil {
		return nil, err
	}
	if err := s.endPredecessor(); err != nil {
		return nil, err
	}
	if err := s.chooseSocketDir(); err != nil {
		return nil, err
	}
	if err := s.openLog(); err != nil {
		return nil, err
	}
	if err := s.noteHome(true); err != nil {
		return nil, err
	}
	supervised = true
	go s.supervise()
	if err := s.waitReady(ctx); err != nil {
		return nil, err
	}
	if err := s.ensureDatabase(ctx); err != nil {
		return nil, err
	}
	return s, nil
}

// take makes the folder, chooses the user and takes the lock.
func (s *Server) take(dir string) error {
	abs, err := filepath.Abs(dir)
	if err != nil {
		return folderError(dir, err)
	}
	if s.acct, err = serverAccount(abs, s.cfg.user); err != nil {
		return err
	}
	if err := s.acct.prepareFolder(abs); err != nil {
		return err
	}
	if s.dir, err = filepath.EvalSymlinks(abs); err != nil {
		return folderError(abs, err)
	}
	s.data = filepath.Join(s.dir, "data")
	s.lock, err = lockFolder(s.dir)
	return err
}

func (s *Server) release() {
	if s.logs != nil {
		s.logs.Close()
	}
	s.lock.Close()
}

// supervise keeps a server running until Stop. Starting and waiting share one system thread, because the kernel ties
// the child's life to the thread that made it.
func (s *Server) supervise() {
	runtime.LockOSThread()
	defer close(s.done)
	delay := firstDelay
	for {
		began := time.Now()
		err := s.runChild()
		select {
		case <-s.stopping:
			return
		default:
		}
		if time.Since(began) > steady {
			delay = firstDelay
		}
		s.cfg.log.Warn("PostgreSQL ended; starting it again", "why", err, "after", delay)
		select {
		case <-s.stopping:
			return
		case <-time.After(delay):
		}
		delay = min(2*delay, longestDelay)
	}
}

// runChild runs one server from start to end.
func (s *Server) runChild() error {
	s.mu.Lock()
	if s.stopped {
		s.mu.Unlock()
		return nil
	}
	cmd := s.acct.command(s.dir, s.bin.Program("postgres"), s.serverArgs()...)
	childAttr(cmd.SysProcAttr)
	cmd.Stdout, cmd.Stderr = s.logs, s.logs
	err := cmd.Start()
	if err == nil {
		s.child = cmd.Process
	}
	s.mu.Unlock()
	if err == nil {
		err = cmd.Wait()
	}
	s.mu.Lock()
	s.child = nil
	s.exits++
	s.mu.Unlock()
	return err
}

func (s *Server) serverArgs() []string {
	args := []string{"-D", s.data, "-k", s.sock}
	for _, setting := range s.settings() {
		args = append(args, "-c", setting)
	}
	return args
}

func (s *Server) settings() []string {
	list := []string{
		"listen_addresses=", "port=" + socketPort, "unix_socket_permissions=0700",
		fmt.Sprintf("max_connections=%d", s.cfg.maxConnections),
		"timezone=UTC", "log_timezone=UTC", "logging_collector=off", "log_destination=stderr",
		"log_checkpoints=off", "log_line_prefix=%m [%p] ",
	}
	if !s.cfg.durable {
		list = append(list, "fsync=off", "synchronous_commit=off", "full_page_writes=off")
	}
	return list
}

// waitReady returns when the server that this supervisor started takes connections.
func (s *Server) waitReady(ctx context.Context) error {
	var failing time.Time // when a child first ended
	for {
		err := s.tryConnect(ctx)
		if err == nil {
			return nil
		}
		s.mu.Lock()
		exits := s.exits
		s.mu.Unlock()
		if exits > 0 && failing.IsZero() {
			failing = time.Now()
		}
		if exits >= 3 && !s.predecessorLingers() || !failing.IsZero() && time.Since(failing) > startPatience {
			return s.startError(err)
		}
		select {
		case <-ctx.Done():
			return s.startError(ctx.Err())
		case <-time.After(15 * time.Millisecond):
		}
	}
}

// predecessorLingers reports whether the server complains of another one, whose last processes may be on their way
// out. The wording is PostgreSQL's own, in the C locale that the server is started in.
func (s *Server) predecessorLingers() bool {
	complaint := s.lastComplaint()
	return strings.Contains(complaint, "lock file") || strings.Contains(complaint, "shared memory")
}

func (s *Server) tryConnect(ctx context.Context) error {
	ctx, cancel := context.WithTimeout(ctx, 2*time.Second)
	defer cancel()
	conn, err := pgx.Connect(ctx, s.URL("postgres"))
	if err != nil {
		return err
	}
	defer conn.Close(ctx)
	s.mu.Lock()
	child := s.child
	s.mu.Unlock()
	if child == nil || postmasterPID(s.data) != child.Pid {
		return errors.New("the server that answers is not the one started")
	}
	return nil
}

// URL is the address of a database of the server, for pgx and for PostgreSQL's own programs.
func (s *Server) URL(database string) string { return socketURL(s.sock, database) }

// Stop ends the server: first cutting its connections and writing everything out, after ten seconds by an immediate
// shutdown, which the next start recovers from, after ten more by killing it. Further calls return what the first did.
func (s *Server) Stop() error {
	s.once.Do(func() { s.stopErr = s.stop() })
	return s.stopErr
}

func (s *Server) stop() error {
	if s.attached {
		return nil
	}
	s.mu.Lock()
	s.stopped = true
	close(s.stopping)
	s.mu.Unlock()
	var err error
	for _, sig := range []syscall.Signal{syscall.SIGINT, syscall.SIGQUIT, syscall.SIGKILL} {
		s.signal(sig)
		select {
		case <-s.done:
			if s.sock != s.dir {
				s.forgetSocketDir()
			}
			if err == nil && s.shutDown() {
				err = s.noteHome(false)
			}
			s.release()
			return err
		case <-time.After(stopPatience):
			err = fail(ErrStart, nil, "PostgreSQL on %s did not stop cleanly: the next start recovers it", s.data)
		}
	}
	<-s.done
	s.release()
	return err
}

func (s *Server) signal(sig syscall.Signal) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.child != nil {
		// It may have ended this moment, which is what is wanted.
		_ = s.child.Signal(sig)
	}
}

// Remove deletes the server folder dir with all its data, after making sure that no other copy of the program uses
// it. A folder that does not exist is no error.
func Remove(dir string) error {
	if _, err := os.Lstat(dir); errors.Is(err, os.ErrNotExist) {
		return nil
	}
	s := &Server{cfg: newConfig(nil)}
	if err := s.take(dir); err != nil {
		return err
	}
	defer s.release()
	if err := s.endPredecessor(); err != nil {
		return err
	}
	s.forgetSocketDir()
	if err := os.RemoveAll(s.dir); err != nil {
		return folderError(s.dir, err)
	}
	return nil
}
