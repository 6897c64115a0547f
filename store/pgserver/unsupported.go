//go:build !linux && !darwin && !freebsd && !netbsd && !openbsd

package pgserver

import (
	"context"
	"os"
	"os/exec"
	"runtime"
)

// Server is a running private PostgreSQL; on this operating system there is none.
type Server struct{}

// Start fails: the private server needs unix sockets and file locks that this system does not have.
func Start(context.Context, string, ...Option) (*Server, error) {
	return nil, fail(ErrUnsupported, nil,
		"the private PostgreSQL does not run on %s: start a PostgreSQL server and give its address with --database",
		runtime.GOOS)
}

// Reach fails as Start does.
func Reach(ctx context.Context, dir string, opts ...Option) (*Server, error) {
	return Start(ctx, dir, opts...)
}

// Remove fails as Start does.
func Remove(string) error {
	_, err := Start(context.Background(), "")
	return err
}

// Supported reports whether the private server runs on this operating system.
func Supported() error {
	_, err := Start(context.Background(), "")
	return err
}

// URL is the address of a database of the server.
func (s *Server) URL(database string) string { return socketURL("", database) }

// Attached reports whether the server is another copy's.
func (s *Server) Attached() bool { return false }

// Command prepares one of PostgreSQL's own programs.
func (s *Server) Command(program string, args ...string) *exec.Cmd {
	return exec.Command(program, args...)
}

// Stop stops the server.
func (s *Server) Stop() error { return nil }

// MakeFolder makes the folder dir and its missing parents.
func MakeFolder(dir string) error {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return fail(ErrFolder, err, "the data folder %s cannot be used: %v", dir, err)
	}
	return nil
}
