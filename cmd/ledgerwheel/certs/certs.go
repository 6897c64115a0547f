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

// suites are those of TLS 1.2 that RFC 9325, section 4.2, recommends, and their like with ChaCha20 (RFC 7905): forward secrecy
// and authenticated encryption. Those of TLS 1.3 are all of that kind.
var suites = []uint16{tls.TLS_ECDHE_ECDSA_WITH_AES_128_GCM_SHA256, tls.TLS_ECDHE_RSA_WITH_AES_128_GCM_SHA256,
	tls.TLS_ECDHE_ECDSA_WITH_AES_256_GCM_SHA384, tls.TLS_ECDHE_RSA_WITH_AES_256_GCM_SHA384,
	tls.TLS_ECDHE_ECDSA_WITH_CHACHA20_POLY1305_SHA256, tls.TLS_ECDHE_RSA_WITH_CHACHA20_POLY1305_SHA256}

// Config is what a server of people's browsers speaks: TLS 1.2 (RFC 5246) and 1.3 (RFC 8446). HTTP/1.1 stays on offer beside
// HTTP/2: browsers open their sockets through it.
func Config(s Source) *tls.Config {
	return &tls.Config{
		MinVersion:     tls.VersionTLS12,
		CipherSuites:   suites,
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
