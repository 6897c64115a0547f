// Package certs has the certificates that the program serves under: the owner's own files, or a local authority's,
// which the program makes and keeps. Both are looked at again while the program runs.
package certs

import (
	"crypto/tls"
	"log/slog"
	"time"
)

// Source gives the certificate for each connection.
type Source interface {
	// Certificate is what tls.Config.GetCertificate asks for.
	Certificate(*tls.ClientHelloInfo) (*tls.Certificate, error)
	// Host is a name or address that the certificate stands for, the best known by people first.
	Host() string
}

// Clock is the time for what has a term. It is time.Now outside tests.
type Clock func() time.Time

// Config is what a server of people's browsers speaks: TLS 1.2 (RFC 5246) and 1.3 (RFC 8446) with the suites that the
// standard library takes for secure, as RFC 9325 recommends. HTTP/1.1 stays on offer beside HTTP/2: browsers open
// their sockets through it.
func Config(s Source) *tls.Config {
	return &tls.Config{
		MinVersion:     tls.VersionTLS12,
		GetCertificate: s.Certificate,
		NextProtos:     []string{"h2", "http/1.1"},
	}
}

// quiet stands in for a log where none is given.
func quiet(log *slog.Logger) *slog.Logger {
	if log == nil {
		return slog.New(slog.DiscardHandler)
	}
	return log
}
