//go:build linux || darwin || freebsd || netbsd || openbsd

package pgserver

import (
	"context"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"
)

// Reach is for commands beside a shop that is running or stopped: it returns the server of the folder dir that another
// copy of the program keeps running, or, where none does, one that it starts. Stop ends what Reach started and leaves
// the other copy's alone; [Server.Attached] tells which it is. Unlike [Start] it makes no cluster: the error wraps
// ErrNoCluster where there is none. The server of another user's program is reached by root and by that user alone,
// since the socket's folder is closed to everyone else.
func Reach(ctx context.Context, dir string, opts ...Option) (*Server, error) {
	if _, err := os.Stat(filepath.Join(dir, "data", "PG_VERSION")); err != nil {
		if errors.Is(err, os.ErrPermission) {
			return nil, folderError(dir, err)
		}
		return nil, fail(ErrNoCluster, err, "no shop is kept in %s", filepath.Dir(dir))
	}
	// The lock decides. Whoever holds it may still be on the way up, or down, when the next start may have it.
	for deadline := time.Now().Add(startPatience); ; {
		s, err := Start(ctx, dir, opts...)
		if !errors.Is(err, ErrInUse) {
			return s, err
		}
		if s, aerr := attach(ctx, dir, opts...); aerr == nil {
			return s, nil
		} else if time.Now().After(deadline) {
			return nil, fail(ErrInUse, aerr, "%v; its database does not answer: %s", err, strings.Join(strings.Fields(aerr.Error()), " "))
		}
		select {
		case <-ctx.Done():
			return nil, ctx.Err()
		case <-time.After(100 * time.Millisecond):
		}
	}
}

// attach connects to the server that another copy of the program keeps running on dir.
func attach(ctx context.Context, dir string, opts ...Option) (_ *Server, err error) {
	s := &Server{cfg: newConfig(opts), attached: true}
	abs, err := filepath.Abs(dir)
	if err != nil {
		return nil, folderError(dir, err)
	}
	if s.acct, err = serverAccount(abs, s.cfg.user); err != nil {
		return nil, err
	}
	if s.dir, err = filepath.EvalSymlinks(abs); err != nil {
		return nil, folderError(abs, err)
	}
	s.data = filepath.Join(s.dir, "data")
	if s.bin, err = Find(s.dir); err != nil {
		return nil, err
	}
	s.sock = s.dir
	if note, err := os.ReadFile(s.dir + ".socket"); err == nil {
		s.sock = strings.TrimSpace(string(note))
	}
	return s, s.isOurs(ctx)
}

// isOurs makes sure that the server behind the socket is that of this cluster.
func (s *Server) isOurs(ctx context.Context) error {
	ctx, cancel := context.WithTimeout(ctx, 5*time.Second)
	defer cancel()
	conn, err := pgx.Connect(ctx, s.URL(s.cfg.database))
	if err != nil {
		return err
	}
	defer conn.Close(context.WithoutCancel(ctx))
	var data string
	if err := conn.QueryRow(ctx, "SELECT current_setting('data_directory')").Scan(&data); err != nil {
		return err
	}
	if data != s.data {
		return errors.New("the server that answers is that of " + data)
	}
	return nil
}

// Attached reports whether the server is another copy's, which Stop leaves running.
func (s *Server) Attached() bool { return s.attached }

// Command prepares one of PostgreSQL's own programs, such as pg_dump, to run as the server's user, who alone may pass
// to the socket, from the release that runs the cluster. It gets none of this program's environment.
func (s *Server) Command(program string, args ...string) *exec.Cmd {
	return s.acct.command(s.dir, s.bin.Program(program), args...)
}
