package pgserver

import (
	"errors"
	"fmt"
)

// What may stop a private server, to be tested with errors.Is.
var (
	// ErrNoBinaries reports that no PostgreSQL server programs were found on this machine.
	ErrNoBinaries = errors.New("no PostgreSQL programs")
	// ErrBadPGBIN reports that PGBIN names a folder without usable PostgreSQL server programs.
	ErrBadPGBIN = errors.New("PGBIN holds no PostgreSQL programs")
	// ErrVersion reports that the programs found cannot run this cluster: too old, or of another major release.
	ErrVersion = errors.New("unsuitable PostgreSQL release")
	// ErrInUse reports that another copy of the program holds the data folder.
	ErrInUse = errors.New("data folder in use")
	// ErrNoCluster reports a folder in which no server was ever made.
	ErrNoCluster = errors.New("no cluster")
	// ErrCopied reports a cluster that was copied while its server was writing to it.
	ErrCopied = errors.New("data folder copied while in use")
	// ErrNotTraversable reports a parent folder that the server's user may not pass through.
	ErrNotTraversable = errors.New("folder closed to the server's user")
	// ErrFolder reports a data folder that cannot be made or written.
	ErrFolder = errors.New("data folder not writable")
	// ErrNoUser reports a program started as root on a machine without a user to run the server as.
	ErrNoUser = errors.New("no user to run the server as")
	// ErrStart reports a server that did not come up.
	ErrStart = errors.New("server did not start")
	// ErrUnsupported reports an operating system on which the private server does not run.
	ErrUnsupported = errors.New("private server not supported here")
	// ErrInstall reports that PostgreSQL could not be installed.
	ErrInstall = errors.New("PostgreSQL not installed")
)

// Error is what this package returns: one clear line for the person who started the program.
type Error struct {
	Kind  error  // one of the Err values above
	Line  string // what is wrong and what to do about it
	Cause error  // what the system said; may be nil
}

func (e *Error) Error() string { return e.Line }

// Unwrap gives the kind and the cause to errors.Is and errors.As.
func (e *Error) Unwrap() []error {
	if e.Cause == nil {
		return []error{e.Kind}
	}
	return []error{e.Kind, e.Cause}
}

func fail(kind, cause error, format string, args ...any) error {
	return &Error{Kind: kind, Line: fmt.Sprintf(format, args...), Cause: cause}
}
