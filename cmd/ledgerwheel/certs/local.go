package certs

import (
	"bytes"
	"crypto/ecdsa"
	"crypto/tls"
	"crypto/x509"
	"encoding/pem"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"net"
	"net/netip"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"time"
)

// namesEvery bounds how often the machine's names and addresses are looked at anew.
const namesEvery = time.Minute

// Local serves under a certificate that a local authority of this machine's own signs and renews.
type Local struct {
	dir       string
	ours      func() Names // the machine's names now
	asked     Names        // those that the owner asked for beside them
	now       Clock
	log       *slog.Logger
	authority Authority
	signer    *ecdsa.PrivateKey

	mu     sync.Mutex
	cert   *tls.Certificate
	looked time.Time
}

// LocalOptions is how a local authority is opened.
type LocalOptions struct {
	Dir   string       // made if it is missing
	Ours  func() Names // Ours, outside tests
	Asked Names        // names that the certificate must carry too
	Now   Clock
	Log   *slog.Logger
}

// OpenLocal opens the local authority in a folder, making what is missing, has run out or fits the machine's names no
// longer. Its errors are sentences for people.
func OpenLocal(o LocalOptions) (*Local, error) {
	l := &Local{dir: o.Dir, ours: o.Ours, asked: o.Asked, now: o.Now, log: quiet(o.Log)}
	if err := os.MkdirAll(l.dir, 0o700); err != nil {
		return nil, fmt.Errorf("the folder for certificates cannot be made: %w", err)
	}
	l.guard(l.dir, 0o700)
	if err := l.openAuthority(); err != nil {
		return nil, err
	}
	if _, not := l.authority.permitted(l.asked); len(not) > 0 {
		return nil, fmt.Errorf("the local authority in %s was made before %s was asked for and may not vouch for it: "+
			"delete the folder to have a new one made, which every device must then be told to trust",
			l.dir, strings.Join(not, ", "))
	}
	l.readServer()
	l.mu.Lock()
	defer l.mu.Unlock()
	if err := l.renewIfDue(); err != nil {
		return nil, err
	}
	return l, nil
}

// guard closes what only the owner may read, and says so if it stood open.
func (l *Local) guard(path string, mode fs.FileMode) {
	info, err := os.Stat(path)
	if err != nil || runtime.GOOS == "windows" || info.Mode().Perm()&^mode == 0 {
		return
	}
	if err := os.Chmod(path, mode); err != nil {
		l.log.Warn("others may read the local authority's files, and that cannot be corrected", "err", err)
		return
	}
	if !info.IsDir() {
		l.log.Warn("others could read this private key; it is closed now. If they may have, delete the folder and trust "+
			"the new authority instead", "file", path)
	}
}

// openAuthority reads the authority, or makes one where there is none or the last one has run out.
func (l *Local) openAuthority() error {
	a, err := ReadAuthority(l.dir)
	if errors.Is(err, ErrNoAuthority) {
		return l.newAuthority()
	} else if err != nil {
		return err
	}
	if l.now().After(a.Cert.NotAfter) {
		l.log.Warn("the local authority has run out and is replaced: tell every device to trust the new one", "until",
			a.Cert.NotAfter)
		return l.newAuthority()
	}
	file := filepath.Join(l.dir, authorityKey)
	text, err := os.ReadFile(file)
	if errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("%s is missing beside %s: restore it from a backup, or delete the folder to have a new "+
			"authority made, which every device must then be told to trust",
			file, authorityCert)
	} else if err != nil {
		return fmt.Errorf("the local authority's key cannot be read: %w", err)
	}
	key := ecdsaKey(text)
	if public, ok := a.Cert.PublicKey.(*ecdsa.PublicKey); key == nil || !ok || !key.PublicKey.Equal(public) {
		return damaged(file)
	}
	l.guard(file, 0o600)
	l.authority, l.signer = a, key
	return nil
}

func ecdsaKey(text []byte) *ecdsa.PrivateKey {
	block, _ := pem.Decode(text)
	if block == nil {
		return nil
	}
	key, err := x509.ParsePKCS8PrivateKey(block.Bytes)
	if err != nil {
		return nil
	}
	k, _ := key.(*ecdsa.PrivateKey)
	return k
}

func (l *Local) newAuthority() error {
	cert, key, err := makeAuthority(l.machine().With(l.asked), l.now())
	if err != nil {
		return err
	}
	keyPEM, err := privatePEM(key)
	if err != nil {
		return err
	}
	l.authority = Authority{filepath.Join(l.dir, authorityCert), cert}
	l.signer = key
	// The key first: a certificate without its key would look like a loss.
	if err := write(filepath.Join(l.dir, authorityKey), keyPEM, 0o600); err != nil {
		return err
	}
	return write(l.authority.File, l.authority.PEM(), 0o644)
}

func privatePEM(key *ecdsa.PrivateKey) ([]byte, error) {
	der, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		return nil, err
	}
	return pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: der}), nil
}

// write puts a file in place whole or not at all, readable as mode says from its first byte on.
func write(name string, content []byte, mode fs.FileMode) (err error) {
	defer func() {
		if err != nil {
			err = fmt.Errorf("the certificate cannot be kept: %w", err)
		}
	}()
	f, err := os.CreateTemp(filepath.Dir(name), "new-") // for its maker alone
	if err != nil {
		return err
	}
	defer os.Remove(f.Name()) // fails once it is renamed, as it should
	_, werr := f.Write(content)
	if err := errors.Join(werr, f.Chmod(mode), f.Sync(), f.Close()); err != nil {
		return err
	}
	return os.Rename(f.Name(), name)
}

// readServer takes up the server's certificate of the last run. A damaged one is made anew.
func (l *Local) readServer() {
	file := filepath.Join(l.dir, serverPair)
	text, err := os.ReadFile(file)
	if err != nil {
		return
	}
	cert, err := tls.X509KeyPair(text, text)
	if err != nil || cert.Leaf == nil || cert.Leaf.CheckSignatureFrom(l.authority.Cert) != nil {
		return
	}
	l.guard(file, 0o600)
	l.cert = &cert
}

// machine is the machine's names as they are now.
func (l *Local) machine() Names { return l.ours().tidy() }

// renewIfDue makes the server's certificate anew where there is none, it runs out soon, or it lacks a name.
func (l *Local) renewIfDue() error {
	now := l.now()
	l.looked = now
	want, not := l.authority.permitted(l.machine().With(l.asked))
	if l.cert != nil {
		leaf := l.cert.Leaf
		ends := now.AddDate(0, 0, renewDays).After(leaf.NotAfter) && leaf.NotAfter.Before(l.authority.Cert.NotAfter)
		if !ends && !now.Before(leaf.NotBefore) && !want.missing(namesOf(leaf)) {
			return nil
		}
	}
	if len(not) > 0 {
		l.log.Warn("the local authority was made when this machine was called otherwise and may not vouch for all its "+
			"names; delete its folder to have a new one made, which every device must then be told to trust",
			"names", strings.Join(not, ", "), "folder", l.dir)
	}
	if now.AddDate(0, 0, renewDays).After(l.authority.Cert.NotAfter) {
		l.log.Warn("the local authority runs out soon; the start after that makes a new one, which every device must be "+
			"told to trust",
			"until", l.authority.Cert.NotAfter)
	}
	return l.renew(want, now)
}

func (l *Local) renew(names Names, now time.Time) error {
	leaf, key, err := makeServer(l.authority, l.signer, names, now)
	if err != nil {
		return err
	}
	keyPEM, err := privatePEM(key)
	if err != nil {
		return err
	}
	certPEM := pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: leaf.Raw})
	if err := write(filepath.Join(l.dir, serverPair), bytes.Join([][]byte{certPEM, keyPEM}, nil), 0o600); err != nil {
		return err
	}
	l.cert = &tls.Certificate{Certificate: [][]byte{leaf.Raw, l.authority.Cert.Raw}, PrivateKey: key, Leaf: leaf}
	l.log.Info("a certificate for this machine was made", "until", leaf.NotAfter, "names",
		strings.Join(names.Hosts(), ", "))
	return nil
}

func namesOf(leaf *x509.Certificate) Names {
	n := Names{DNS: leaf.DNSNames}
	for _, ip := range leaf.IPAddresses {
		if a, ok := netip.AddrFromSlice(ip); ok {
			n.IPs = append(n.IPs, a.Unmap())
		}
	}
	return n
}

// Certificate returns the server's certificate, renewed first where that is due.
func (l *Local) Certificate(hello *tls.ClientHelloInfo) (*tls.Certificate, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	since := l.now().Sub(l.looked)
	if since < 0 || since >= namesEvery || since >= lookEvery && l.reachedAnew(hello) {
		if err := l.renewIfDue(); err != nil {
			l.log.Warn("the certificate could not be renewed", "err", err)
		}
	}
	return l.cert, nil
}

// reachedAnew reports whether a browser reached the machine at an address that the certificate lacks.
func (l *Local) reachedAnew(hello *tls.ClientHelloInfo) bool {
	if hello == nil || hello.Conn == nil {
		return false
	}
	tcp, ok := hello.Conn.LocalAddr().(*net.TCPAddr)
	if !ok {
		return false
	}
	ip := tcp.AddrPort().Addr().Unmap().WithZone("")
	return l.authority.Permits(ip.String()) && Names{IPs: []netip.Addr{ip}}.missing(namesOf(l.cert.Leaf))
}

// Authority is what devices must be told to trust.
func (l *Local) Authority() Authority { return l.authority }

// Host is the address of this machine itself, since no other is known to reach it from everywhere.
func (l *Local) Host() string { return "" }

// Hosts lists what the certificate stands for now.
func (l *Local) Hosts() []string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return namesOf(l.cert.Leaf).Hosts()
}
