// Package pgserver runs a private PostgreSQL server for one data folder: it finds the server's programs, makes the
// cluster, starts it on a unix socket only, keeps it running, and stops it.
//
// A folder given to [Start], say DIR/postgres, holds the cluster and the socket and belongs to the user the server
// runs as. Beside it lie DIR/postgres.lock, which one copy of the program holds at a time, and DIR/postgres.log, the
// server's own messages. A program started as root runs the server as the user postgres, or nobody where there is no
// such user, because PostgreSQL refuses to run as root.
package pgserver

import (
	"log/slog"
	"net/url"
	"strings"
)

const (
	superuser       = "postgres"
	socketPort      = "5432" // only a part of the socket's file name; no TCP port is opened
	socketName      = ".s.PGSQL." + socketPort
	defaultDatabase = "ledgerwheel"
	// oldestMajor is the oldest PostgreSQL release whose SQL the migrations may use.
	oldestMajor = 14
)

// An Option changes how [Start] runs the server.
type Option func(*config)

type config struct {
	durable        bool
	database       string
	maxConnections int
	log            *slog.Logger
	user           string // run as this user when started as root; empty chooses
}

func newConfig(opts []Option) config {
	c := config{durable: true, database: defaultDatabase, maxConnections: 100, log: slog.New(slog.DiscardHandler)}
	for _, o := range opts {
		o(&c)
	}
	return c
}

// Durable says whether a committed transaction must survive a power cut. It is on unless turned off, which is for
// tests that throw the data away.
func Durable(on bool) Option { return func(c *config) { c.durable = on } }

// MaxConnections sets how many connections the server takes. Unset, it is 100.
func MaxConnections(n int) Option { return func(c *config) { c.maxConnections = n } }

// Log receives what the supervisor has to say. Unset, it says nothing.
func Log(l *slog.Logger) Option { return func(c *config) { c.log = l } }

// socketURL is the address of one database of the server whose socket lies in dir. It suits pgx and PostgreSQL's own
// programs alike, which read no plus sign as a space.
func socketURL(dir, database string) string {
	q := url.Values{"host": {dir}, "port": {socketPort}, "user": {superuser}, "sslmode": {"disable"}}
	return "postgres:///" + url.PathEscape(database) + "?" + strings.ReplaceAll(q.Encode(), "+", "%20")
}
