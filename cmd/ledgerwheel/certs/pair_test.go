package certs

import (
	"bytes"
	"context"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"io"
	"log/slog"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/coder/websocket"
)

// pairPEM makes a certificate and key as an owner would fetch them.
func pairPEM(t *testing.T, host string, until time.Time) (cert, key []byte) {
	t.Helper()
	k, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	c := &x509.Certificate{SerialNumber: serial(), Subject: pkix.Name{CommonName: host}, NotBefore: made.AddDate(-1, 0, 0),
		NotAfter: until,
		DNSNames: []string{"*." + host, host}, BasicConstraintsValid: true, IsCA: true,
		KeyUsage: x509.KeyUsageCertSign | x509.KeyUsageDigitalSignature}
	signed, err := sign(c, c, k.Public(), k)
	if err != nil {
		t.Fatal(err)
	}
	key, err = privatePEM(k)
	if err != nil {
		t.Fatal(err)
	}
	return pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: signed.Raw}), key
}

func put(t *testing.T, path string, content []byte) {
	t.Helper()
	if err := os.WriteFile(path, content, 0o600); err != nil {
		t.Fatal(err)
	}
}

func TestPairReloads(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	certFile, keyFile := filepath.Join(dir, "cert.pem"), filepath.Join(dir, "key.pem")
	cert, key := pairPEM(t, "first.example", made.AddDate(0, 2, 0))
	put(t, certFile, cert)
	put(t, keyFile, key)
	now := made
	var log bytes.Buffer
	p, err := OpenPair(certFile, keyFile, func() time.Time { return now }, slog.New(slog.NewTextHandler(&log, nil)))
	if err != nil {
		t.Fatal(err)
	}
	if p.Host() != "first.example" {
		t.Errorf("host %q: want the name that is no pattern", p.Host())
	}
	serves := func() string {
		now = now.Add(2 * time.Second)
		return leaf(t, p).Subject.CommonName
	}
	// A renewal that has written one file of two: the old pair serves, with one word of it.
	cert, key = pairPEM(t, "second.example", made.AddDate(0, 3, 0))
	put(t, certFile, cert)
	for range 3 {
		if got := serves(); got != "first.example" {
			t.Errorf("half renewed: %s", got)
		}
	}
	if n := strings.Count(log.String(), "cannot be used yet"); n != 1 {
		t.Errorf("said %d times: %s", n, log.String())
	}
	put(t, keyFile, key)
	if got := serves(); got != "second.example" {
		t.Errorf("renewed: %s", got)
	}
	// As renewals do that turn a link over; the files that the links lead to are of the same size and moment.
	for _, v := range []string{"one", "two"} {
		if err := os.Mkdir(filepath.Join(dir, v), 0o700); err != nil {
			t.Fatal(err)
		}
		cert, key = pairPEM(t, v+".example", made.AddDate(0, 3, 0))
		put(t, filepath.Join(dir, v, "cert.pem"), cert)
		put(t, filepath.Join(dir, v, "key.pem"), key)
	}
	turn := func(to string) {
		link := filepath.Join(dir, "live")
		if err := os.Symlink(to, link+".new"); err != nil {
			t.Fatal(err)
		}
		if err := os.Rename(link+".new", link); err != nil {
			t.Fatal(err)
		}
	}
	turn("one")
	p, err = OpenPair(filepath.Join(dir, "live", "cert.pem"), filepath.Join(dir, "live", "key.pem"),
		func() time.Time { return now }, nil)
	if err != nil {
		t.Fatal(err)
	}
	turn("two")
	if got := serves(); got != "two.example" {
		t.Errorf("after the link turned: %s", got)
	}
	// Files that went away change nothing.
	if err := os.Remove(filepath.Join(dir, "live")); err != nil {
		t.Fatal(err)
	}
	if got := serves(); got != "two.example" {
		t.Errorf("without files: %s", got)
	}
}

func TestPairsThatCannotBeUsed(t *testing.T) {
	t.Parallel()
	cert, key := pairPEM(t, "shop.example", made.AddDate(0, 2, 0))
	_, otherKey := pairPEM(t, "other.example", made.AddDate(0, 2, 0))
	locked := pem.EncodeToMemory(&pem.Block{Type: "ENCRYPTED PRIVATE KEY", Bytes: []byte("nobody can read this")})
	for name, tc := range map[string]struct {
		cert, key []byte // nil: no file
		want      string
	}{
		"no certificate file": {nil, key, "cert.pem: no such file"},
		"no key file":         {cert, nil, "key.pem: no such file"},
		"empty":               {[]byte{}, key, "cert.pem holds no certificate in PEM form"},
		"swapped":             {key, cert, "cert.pem holds a private key and no certificate"},
		"key of another":      {cert, otherKey, "is not that of the certificate in"},
		"locked key":          {cert, locked, "locked by a passphrase"},
		"key is a letter":     {cert, []byte("Dear shop"), "key.pem holds no private key"},
		"certificate cut":     {bytes.Replace(cert, []byte("M"), []byte("!"), 1), key, "cert.pem"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			dir := t.TempDir()
			certFile, keyFile := filepath.Join(dir, "cert.pem"), filepath.Join(dir, "key.pem")
			if tc.cert != nil {
				put(t, certFile, tc.cert)
			}
			if tc.key != nil {
				put(t, keyFile, tc.key)
			}
			_, err := OpenPair(certFile, keyFile, time.Now, nil)
			if err == nil || !strings.Contains(err.Error(), tc.want) || strings.Contains(err.Error(), "\n") {
				t.Errorf("got %v, want one line with %q", err, tc.want)
			}
		})
	}
}

func TestPairWarnsOfItsTerm(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	certFile, keyFile := filepath.Join(dir, "cert.pem"), filepath.Join(dir, "key.pem")
	cert, key := pairPEM(t, "shop.example", made.AddDate(0, -1, 0))
	put(t, certFile, cert)
	put(t, keyFile, key)
	var log bytes.Buffer
	if _, err := OpenPair(certFile, keyFile, func() time.Time { return made },
		slog.New(slog.NewTextHandler(&log, nil))); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(log.String(), "has run out") {
		t.Errorf("no word of it: %s", log.String())
	}
}

// TestConfig serves pages and sockets as the program does, and asks as browsers do: HTTP/2 for pages, a connection of
// its own in HTTP/1.1 for a socket (RFC 6455; the server offers no extended CONNECT of RFC 8441).
func TestConfig(t *testing.T) {
	t.Parallel()
	l, err := OpenLocal(LocalOptions{Dir: filepath.Join(t.TempDir(), "tls"), Ours: Ours, Now: time.Now})
	if err != nil {
		t.Fatal(err)
	}
	mux := http.NewServeMux()
	mux.HandleFunc("/page", func(w http.ResponseWriter, r *http.Request) { io.WriteString(w, r.Proto) })
	mux.HandleFunc("/socket", func(w http.ResponseWriter, r *http.Request) {
		c, err := websocket.Accept(w, r, nil)
		if err != nil {
			return
		}
		defer c.CloseNow()
		kind, said, err := c.Read(r.Context())
		if err == nil {
			c.Write(r.Context(), kind, append([]byte(r.Proto+" "), said...))
		}
	})
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	server := &http.Server{Handler: mux, TLSConfig: Config(l), ErrorLog: slog.NewLogLogger(slog.DiscardHandler,
		slog.LevelWarn)}
	go server.ServeTLS(listener, "", "")
	t.Cleanup(func() { server.Close() })
	at := listener.Addr().String()

	roots := x509.NewCertPool()
	roots.AddCert(l.Authority().Cert)
	pages := &http.Client{Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: roots},
		ForceAttemptHTTP2: true}}
	res, err := pages.Get("https://" + at + "/page")
	if err != nil {
		t.Fatal(err)
	}
	body, _ := io.ReadAll(res.Body)
	res.Body.Close()
	if string(body) != "HTTP/2.0" {
		t.Errorf("a page came over %s", body)
	}

	ctx, cancel := context.WithTimeout(t.Context(), 10*time.Second)
	defer cancel()
	sockets := &http.Client{Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: roots,
		NextProtos: []string{"http/1.1"}}}}
	c, _, err := websocket.Dial(ctx, "wss://"+at+"/socket", &websocket.DialOptions{HTTPClient: sockets})
	if err != nil {
		t.Fatal(err)
	}
	defer c.CloseNow()
	if err := c.Write(ctx, websocket.MessageText, []byte("tick")); err != nil {
		t.Fatal(err)
	}
	if _, said, err := c.Read(ctx); err != nil || string(said) != "HTTP/1.1 tick" {
		t.Errorf("the socket says %q (%v)", said, err)
	}

	// Without the authority, and with what is no longer secure, nothing is served.
	for name, config := range map[string]*tls.Config{
		"a stranger's authority": {RootCAs: x509.NewCertPool()},
		"TLS 1.1":                {RootCAs: roots, MinVersion: tls.VersionTLS10, MaxVersion: tls.VersionTLS11},
		"a suite without authenticated encryption": {RootCAs: roots, MaxVersion: tls.VersionTLS12,
			CipherSuites: []uint16{tls.TLS_ECDHE_ECDSA_WITH_AES_128_CBC_SHA}},
	} {
		if conn, err := tls.Dial("tcp", at, config); err == nil {
			conn.Close()
			t.Errorf("%s: connected", name)
		}
	}
	for _, version := range []uint16{tls.VersionTLS12, tls.VersionTLS13} {
		conn, err := tls.Dial("tcp", at, &tls.Config{RootCAs: roots, MinVersion: version, MaxVersion: version})
		if err != nil {
			t.Errorf("%s: %v", tls.VersionName(version), err)
			continue
		}
		conn.Close()
	}
}
