package certs

import (
	"crypto/tls"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"os"
	"runtime"
	"strings"
	"sync"
	"time"
)

// lookEvery bounds how often the files of a pair are looked at. Connections ask; nothing runs between them.
const lookEvery = time.Second

// Pair is a certificate with its key in two files that somebody else keeps and renews.
type Pair struct {
	certFile, keyFile string
	now               Clock
	log               *slog.Logger

	mu     sync.Mutex
	cert   *tls.Certificate
	seen   [2]stamp // of the files as they were last read
	looked time.Time
}

// stamp tells one state of a file from the next.
type stamp struct {
	info fs.FileInfo // nil when the file is not there
}

func stampOf(name string) stamp {
	info, err := os.Stat(name) // follows the links that renewals turn over
	if err != nil {
		return stamp{}
	}
	return stamp{info}
}

func (s stamp) same(t stamp) bool {
	if s.info == nil || t.info == nil {
		return s.info == t.info
	}
	return os.SameFile(s.info, t.info) && s.info.ModTime().Equal(t.info.ModTime()) && s.info.Size() == t.info.Size()
}

// OpenPair reads a certificate, with any intermediate ones behind it, and its private key from PEM files. Its errors
// are sentences that name the file.
func OpenPair(certFile, keyFile string, now Clock, log *slog.Logger) (*Pair, error) {
	p := &Pair{certFile: certFile, keyFile: keyFile, now: now, log: quiet(log)}
	p.seen = p.stamps()
	cert, err := readPair(certFile, keyFile)
	if err != nil {
		return nil, err
	}
	p.cert, p.looked = cert, now()
	p.warnOfTerm()
	if info := p.seen[1].info; info != nil && runtime.GOOS != "windows" && info.Mode().Perm()&0o007 != 0 {
		p.log.Warn("every user of this machine may read or change the private key: chmod 0600 it", "file", keyFile)
	}
	return p, nil
}

func (p *Pair) stamps() [2]stamp { return [2]stamp{stampOf(p.certFile), stampOf(p.keyFile)} }

// Certificate returns the pair as it is in the files now. While a renewal is half written, the last good one serves.
func (p *Pair) Certificate(*tls.ClientHelloInfo) (*tls.Certificate, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	now := p.now()
	if since := now.Sub(p.looked); since >= 0 && since < lookEvery {
		return p.cert, nil
	}
	p.looked = now
	stamps := p.stamps()
	if stamps[0].same(p.seen[0]) && stamps[1].same(p.seen[1]) {
		return p.cert, nil
	}
	p.seen = stamps
	cert, err := readPair(p.certFile, p.keyFile)
	if err != nil {
		p.log.Warn("the certificate's files changed and cannot be used yet; the last good one serves on", "err", err)
		return p.cert, nil
	}
	p.cert = cert
	p.log.Info("the certificate was read again", "until", cert.Leaf.NotAfter)
	p.warnOfTerm()
	return p.cert, nil
}

func (p *Pair) warnOfTerm() {
	leaf, now := p.cert.Leaf, p.now()
	switch {
	case now.After(leaf.NotAfter):
		p.log.Warn("the certificate has run out: browsers will refuse it", "file", p.certFile, "until", leaf.NotAfter)
	case now.Before(leaf.NotBefore):
		p.log.Warn("the certificate is not valid yet: is this machine's clock right?", "file", p.certFile, "from",
			leaf.NotBefore)
	}
}

// Host is the first name the certificate stands for that an address can be made of.
func (p *Pair) Host() string {
	p.mu.Lock()
	defer p.mu.Unlock()
	for _, name := range p.cert.Leaf.DNSNames {
		if !strings.Contains(name, "*") {
			return name
		}
	}
	for _, ip := range p.cert.Leaf.IPAddresses {
		return ip.String()
	}
	return ""
}

// readPair reads both files and says in one sentence what is wrong with them.
func readPair(certFile, keyFile string) (*tls.Certificate, error) {
	certPEM, err := os.ReadFile(certFile)
	if err != nil {
		return nil, fmt.Errorf("the certificate cannot be read: %w", err)
	}
	keyPEM, err := os.ReadFile(keyFile)
	if err != nil {
		return nil, fmt.Errorf("the certificate's private key cannot be read: %w", err)
	}
	cert, err := tls.X509KeyPair(certPEM, keyPEM)
	if err != nil {
		return nil, errors.New(pairFault(certFile, keyFile, string(certPEM), string(keyPEM), err))
	}
	if cert.Leaf == nil {
		return nil, fmt.Errorf("%s holds no certificate that can be read", certFile)
	}
	return &cert, nil
}

func pairFault(certFile, keyFile, certPEM, keyPEM string, err error) string {
	switch {
	case !strings.Contains(certPEM, "-----BEGIN CERTIFICATE-----") && strings.Contains(certPEM, "PRIVATE KEY-----"):
		return fmt.Sprintf("%s holds a private key and no certificate: the certificate goes with --tls-cert, the key with --tls-key", certFile)
	case !strings.Contains(certPEM, "-----BEGIN CERTIFICATE-----"):
		return fmt.Sprintf("%s holds no certificate in PEM form (-----BEGIN CERTIFICATE-----)", certFile)
	case strings.Contains(keyPEM, "ENCRYPTED"):
		return fmt.Sprintf("the private key in %s is locked by a passphrase: keep it without one in a file that only the "+
			"program's user may read", keyFile)
	case !strings.Contains(keyPEM, "PRIVATE KEY-----"):
		return fmt.Sprintf("%s holds no private key in PEM form", keyFile)
	case strings.Contains(err.Error(), "does not match"):
		return fmt.Sprintf("the private key in %s is not that of the certificate in %s", keyFile, certFile)
	}
	return fmt.Sprintf("the certificate in %s and the private key in %s cannot be used: %s", certFile, keyFile,
		strings.TrimPrefix(err.Error(), "tls: "))
}
