package certs

import (
	"bytes"
	"crypto/ecdsa"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"errors"
	"io/fs"
	"log/slog"
	"net"
	"net/netip"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync/atomic"
	"testing"
	"time"
)

// made is a day in the test machine's life.
var made = time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC)

// bench is a machine of the workshop whose clock and names the test sets.
type bench struct {
	t     *testing.T
	dir   string
	now   time.Time
	names Names
	asked Names
	log   bytes.Buffer
}

func newBench(t *testing.T) *bench {
	return &bench{t: t, dir: filepath.Join(t.TempDir(), "tls"), now: made, names: machineNames("bench")}
}

// machineNames are what a machine of that name in a private network would answer to.
func machineNames(host string, more ...string) Names {
	n := hostNames(host)
	n.DNS = append(n.DNS, "localhost")
	for _, a := range append(more, "192.168.7.20", "127.0.0.1", "::1") {
		n.IPs = append(n.IPs, netip.MustParseAddr(a))
	}
	return n
}

func (b *bench) open() (*Local, error) {
	return OpenLocal(LocalOptions{Dir: b.dir, Ours: func() Names { return b.names }, Asked: b.asked,
		Now: func() time.Time { return b.now }, Log: slog.New(slog.NewTextHandler(&b.log, nil))})
}

func (b *bench) mustOpen() *Local {
	b.t.Helper()
	l, err := b.open()
	if err != nil {
		b.t.Fatal(err)
	}
	return l
}

// leaf is what a connection is given now.
func leaf(t *testing.T, s Source) *x509.Certificate {
	t.Helper()
	cert, err := s.Certificate(&tls.ClientHelloInfo{})
	if err != nil {
		t.Fatal(err)
	}
	return cert.Leaf
}

// accepts says whether a device that trusts the authority and nothing else accepts the certificate for a host.
func accepts(a Authority, leaf *x509.Certificate, host string, at time.Time) error {
	roots := x509.NewCertPool()
	roots.AddCert(a.Cert)
	if net.ParseIP(host) != nil {
		host = "[" + host + "]"
	}
	_, err := leaf.Verify(x509.VerifyOptions{DNSName: host, Roots: roots, CurrentTime: at, KeyUsages: []x509.ExtKeyUsage{
		x509.ExtKeyUsageServerAuth}})
	return err
}

func TestLocalCertificateIsAccepted(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	l := b.mustOpen()
	got := leaf(t, l)
	for _, host := range []string{"bench", "bench.local", "localhost", "192.168.7.20", "127.0.0.1", "::1"} {
		if err := accepts(l.Authority(), got, host, made); err != nil {
			t.Errorf("%s: %v", host, err)
		}
	}
	for _, host := range []string{"other.local", "192.168.7.21", "shop.example"} {
		if accepts(l.Authority(), got, host, made) == nil {
			t.Errorf("%s is accepted", host)
		}
	}
	// CA/Browser Forum, Baseline Requirements, 6.3.2: at most 398 days.
	if days := got.NotAfter.Sub(got.NotBefore).Hours() / 24; days > 397 || days < 390 {
		t.Errorf("good for %v days", days)
	}
	if ca := l.Authority().Cert; !ca.NotAfter.Equal(made.AddDate(10, 0, 0)) || !ca.IsCA || !ca.MaxPathLenZero {
		t.Errorf("authority until %v, CA %v, path %v", ca.NotAfter, ca.IsCA, ca.MaxPathLenZero)
	}
}

// TestAuthorityVouchesForLocalNamesAlone forges certificates as a thief of the authority's key would.
func TestAuthorityVouchesForLocalNamesAlone(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	b.asked, _ = ParseNames([]string{"clock.ternquay.example", "203.0.113.9"})
	l := b.mustOpen()
	if !l.Authority().Cert.PermittedDNSDomainsCritical {
		t.Error("the name constraints are not critical")
	}
	for host, good := range map[string]bool{
		"anything.local": true, "bench": true, "shelf.home.arpa": true, "10.2.3.4": true, "172.31.0.1": true, "fd00::7": true,
		"clock.ternquay.example": true, "203.0.113.9": true,
		"ternquay.example": false, "bank.example": false, "notlocal": false, "local.example": false,
		"203.0.113.10": false, "172.32.0.1": false, "8.8.8.8": false, "2001:db8::1": false,
	} {
		n, bad := ParseNames([]string{host})
		if len(bad) > 0 {
			t.Fatal(bad)
		}
		forged, _, err := makeServer(l.Authority(), l.signer, n, made)
		if err != nil {
			t.Fatal(err)
		}
		err = accepts(l.Authority(), forged, host, made)
		var outside x509.CertificateInvalidError
		switch {
		case good && err != nil:
			t.Errorf("%s: %v", host, err)
		case !good && (!errors.As(err, &outside) || outside.Reason != x509.CANotAuthorizedForThisName):
			t.Errorf("%s: %v, want that the authority may not vouch for it", host, err)
		case good != l.Authority().Permits(host):
			t.Errorf("Permits(%s) = %v", host, !good)
		}
	}
	// A further authority below it is not believed either.
	below := &x509.Certificate{SerialNumber: serial(), Subject: pkix.Name{CommonName: "below"}, NotBefore: made,
		NotAfter: made.AddDate(1, 0, 0),
		IsCA:     true, BasicConstraintsValid: true, KeyUsage: x509.KeyUsageCertSign}
	key := l.signer
	mid, err := sign(below, l.Authority().Cert, key.Public(), key)
	if err != nil {
		t.Fatal(err)
	}
	forged, _, err := makeServer(Authority{Cert: mid}, key, machineNames("bench"), made)
	if err != nil {
		t.Fatal(err)
	}
	roots, between := x509.NewCertPool(), x509.NewCertPool()
	roots.AddCert(l.Authority().Cert)
	between.AddCert(mid)
	if _, err := forged.Verify(x509.VerifyOptions{DNSName: "bench", Roots: roots, Intermediates: between,
		CurrentTime: made.Add(time.Hour)}); err == nil {
		t.Error("an authority below the local one is believed")
	}
}

func TestLocalKeepsItsFiles(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	first := b.mustOpen()
	again := b.mustOpen()
	if !again.Authority().Cert.Equal(first.Authority().Cert) || !leaf(t, again).Equal(leaf(t, first)) {
		t.Error("the second start made other certificates")
	}
	read, err := ReadAuthority(b.dir)
	if err != nil || !read.Cert.Equal(first.Authority().Cert) {
		t.Errorf("ReadAuthority: %v", err)
	}
	if runtime.GOOS == "windows" {
		return
	}
	for name, want := range map[string]fs.FileMode{".": 0o700, authorityKey: 0o600, serverPair: 0o600,
		authorityCert: 0o644} {
		info, err := os.Stat(filepath.Join(b.dir, name))
		if err != nil || info.Mode().Perm() != want {
			t.Errorf("%s: %v (%v), want %v", name, info.Mode().Perm(), err, want)
		}
	}
	// What was opened up is closed again, with a word of it.
	for _, name := range []string{authorityKey, serverPair} {
		if err := os.Chmod(filepath.Join(b.dir, name), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	b.mustOpen()
	for _, name := range []string{authorityKey, serverPair} {
		if info, err := os.Stat(filepath.Join(b.dir, name)); err != nil || info.Mode().Perm() != 0o600 {
			t.Errorf("%s stands open: %v", name, err)
		}
	}
	if n := strings.Count(b.log.String(), "others could read this private key"); n != 2 {
		t.Errorf("%d warnings: %s", n, b.log.String())
	}
	left, _ := filepath.Glob(filepath.Join(b.dir, "new-*"))
	if len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
}

func TestLocalRenews(t *testing.T) {
	t.Parallel()
	day := 24 * time.Hour
	b := newBench(t)
	l := b.mustOpen()
	first := leaf(t, l)
	b.now = first.NotAfter.Add(-31 * day)
	if !leaf(t, l).Equal(first) {
		t.Error("renewed with 31 days to go")
	}
	b.now = first.NotAfter.Add(-29 * day)
	second := leaf(t, l)
	if second.Equal(first) || second.NotAfter.Sub(b.now) < 390*day {
		t.Errorf("with 29 days to go: until %v", second.NotAfter)
	}
	if err := accepts(l.Authority(), second, "bench.local", b.now); err != nil {
		t.Error(err)
	}
	if !leaf(t, b.mustOpen()).Equal(second) {
		t.Error("the renewed certificate was not kept")
	}
	// Another address: noticed within a minute, and kept by the next start.
	b.names = machineNames("bench", "10.0.0.5")
	b.now = b.now.Add(2 * time.Minute)
	third := leaf(t, l)
	if err := accepts(l.Authority(), third, "10.0.0.5", b.now); err != nil {
		t.Error(err)
	}
	// A name less needs no new certificate.
	b.names = machineNames("bench")
	b.now = b.now.Add(2 * time.Minute)
	if !leaf(t, l).Equal(third) {
		t.Error("renewed for a name less")
	}
	// In the authority's last year the server's certificate ends with it and is not made anew at each look.
	b.now = l.Authority().Cert.NotAfter.Add(-20 * day)
	last := leaf(t, l)
	if !last.NotAfter.Equal(l.Authority().Cert.NotAfter) || !strings.Contains(b.log.String(), "runs out soon") {
		t.Errorf("until %v; %s", last.NotAfter, b.log.String())
	}
	b.now = b.now.Add(time.Hour)
	if !leaf(t, l).Equal(last) {
		t.Error("renewed without need")
	}
	// After it the next start has a new authority.
	b.now = l.Authority().Cert.NotAfter.Add(day)
	next := b.mustOpen()
	if next.Authority().Cert.Equal(l.Authority().Cert) || !strings.Contains(b.log.String(),
		"has run out and is replaced") {
		t.Error("an authority that has run out serves on")
	}
	if err := accepts(next.Authority(), leaf(t, next), "bench", b.now); err != nil {
		t.Error(err)
	}
}

func TestLocalUnderAnotherName(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	b.mustOpen()
	b.names = machineNames("lathe")
	l := b.mustOpen()
	got := leaf(t, l)
	if !slices.Contains(got.DNSNames, "lathe.local") || slices.Contains(got.DNSNames, "lathe") {
		t.Errorf("names %v: want lathe.local, which the authority may vouch for, and not lathe", got.DNSNames)
	}
	if !strings.Contains(b.log.String(), "may not vouch for all its names") {
		t.Errorf("no word of the name left out: %s", b.log.String())
	}
	b.asked, _ = ParseNames([]string{"watch.ternquay.example"})
	if _, err := b.open(); err == nil || !strings.Contains(err.Error(), "watch.ternquay.example") ||
		!strings.Contains(err.Error(), b.dir) {
		t.Errorf("a name that cannot be vouched for: %v", err)
	}
}

func TestLocalFilesThatCannotBeUsed(t *testing.T) {
	t.Parallel()
	other := newBench(t).mustOpen()
	otherKey, err := privatePEM(other.signer)
	if err != nil {
		t.Fatal(err)
	}
	for name, tc := range map[string]struct {
		file    string
		content []byte // nil: the file is deleted
		want    string // in the error; "" when the start mends it
	}{
		"no key":              {authorityKey, nil, "authority.key is missing"},
		"key is no key":       {authorityKey, []byte("brass"), "authority.key is damaged"},
		"key of another":      {authorityKey, otherKey, "authority.key is damaged"},
		"certificate is none": {authorityCert, []byte("brass"), "authority.crt is damaged"},
		"certificate empty":   {authorityCert, []byte{}, "authority.crt is damaged"},
		"server damaged":      {serverPair, []byte("brass"), ""},
		"server missing":      {serverPair, nil, ""},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			b := newBench(t)
			first := b.mustOpen()
			path := filepath.Join(b.dir, tc.file)
			if err := os.Remove(path); err != nil {
				t.Fatal(err)
			}
			if tc.content != nil {
				if err := os.WriteFile(path, tc.content, 0o600); err != nil {
					t.Fatal(err)
				}
			}
			l, err := b.open()
			switch {
			case tc.want == "" && err != nil:
				t.Error(err)
			case tc.want == "":
				if !l.Authority().Cert.Equal(first.Authority().Cert) || accepts(l.Authority(), leaf(t, l), "bench", made) != nil {
					t.Error("not mended")
				}
			case err == nil || !strings.Contains(err.Error(), tc.want) || strings.Contains(err.Error(), "\n"):
				t.Errorf("got %v, want one line with %q", err, tc.want)
			}
		})
	}
}

func TestReadAuthorityWithoutOne(t *testing.T) {
	t.Parallel()
	if _, err := ReadAuthority(t.TempDir()); !errors.Is(err, ErrNoAuthority) {
		t.Errorf("got %v", err)
	}
}

func TestFingerprint(t *testing.T) {
	t.Parallel()
	// SHA-256 of nothing (FIPS 180-4 test value).
	want := "E3:B0:C4:42:98:FC:1C:14:9A:FB:F4:C8:99:6F:B9:24:27:AE:41:E4:64:9B:93:4C:A4:95:99:1B:78:52:B8:55"
	if got := (Authority{Cert: &x509.Certificate{}}).Fingerprint(); got != want {
		t.Errorf("got %s", got)
	}
}

func TestNames(t *testing.T) {
	t.Parallel()
	n, bad := ParseNames([]string{"Shop.Local.", " 10.0.0.1 ", "[fd00::1]", "::ffff:10.0.0.1", "two words", "-x",
		"fe80::1%eth0", "", "300.1.1.1", "*.local"})
	if !slices.Equal(n.DNS, []string{"shop.local"}) || len(n.IPs) != 2 || len(bad) != 6 {
		t.Errorf("got %v, refused %q", n, bad)
	}
	for host, want := range map[string]bool{"localhost": true, "a.b.local": true, "10.9.9.9": true, "::1": true,
		"fe80::1":       true,
		"local.example": false, "xlocal": false, "11.0.0.1": false, "2001:db8::1": false} {
		if IsLocal(host) != want {
			t.Errorf("IsLocal(%s) = %v", host, !want)
		}
	}
	ours := Ours()
	if !slices.Contains(ours.DNS, "localhost") || !slices.Contains(ours.IPs, netip.MustParseAddr("127.0.0.1")) {
		t.Errorf("ours: %v", ours)
	}
}

// TestRenewalWhileServing makes connections while the certificate is renewed under them.
func TestRenewalWhileServing(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	var clock atomic.Int64
	clock.Store(made.UnixNano())
	l, err := OpenLocal(LocalOptions{Dir: b.dir, Ours: func() Names { return machineNames("bench") },
		Now: func() time.Time { return time.Unix(0, clock.Load()) }})
	if err != nil {
		t.Fatal(err)
	}
	first := leaf(t, l)
	done := make(chan error)
	for range 4 {
		go func() {
			for range 50 {
				clock.Add(int64(100 * time.Hour))
				cert, err := l.Certificate(nil)
				if err == nil && !cert.PrivateKey.(*ecdsa.PrivateKey).PublicKey.Equal(cert.Leaf.PublicKey) {
					err = errors.New("a certificate with another's key")
				}
				if err != nil {
					done <- err
					return
				}
			}
			done <- nil
		}()
	}
	for range 4 {
		if err := <-done; err != nil {
			t.Error(err)
		}
	}
	if leaf(t, l).Equal(first) {
		t.Error("not renewed in two years")
	}
}
