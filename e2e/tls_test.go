package e2e

import (
	"bytes"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/base64"
	"encoding/pem"
	"io"
	"math/big"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"ledgerwheel/domain/staff"
	"ledgerwheel/e2e/browser"
)

// trusting is a device that trusts one certificate and nothing else.
func trusting(t *testing.T, certPEM []byte) *http.Client {
	t.Helper()
	roots := x509.NewCertPool()
	if !roots.AppendCertsFromPEM(certPEM) {
		t.Fatalf("no certificate: %q", certPEM)
	}
	return &http.Client{
		Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: roots}, ForceAttemptHTTP2: true,
			DisableKeepAlives: true},
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
	}
}

func taken(t *testing.T, c *http.Client, url string) (*http.Response, string) {
	t.Helper()
	res, err := c.Get(url)
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	body, err := io.ReadAll(res.Body)
	if err != nil {
		t.Fatal(err)
	}
	return res, string(body)
}

// spoken waits until the program has said something, and returns the first group.
func spoken(t *testing.T, p *program, pattern string) string {
	t.Helper()
	re := regexp.MustCompile(pattern)
	for deadline := time.Now().Add(patience); ; time.Sleep(10 * time.Millisecond) {
		if found := re.FindStringSubmatch(p.printed()); found != nil {
			return found[1]
		}
		if time.Now().After(deadline) {
			t.Fatalf("no %s in %q", pattern, p.printed())
		}
	}
}

// TestServeUnderALocalAuthority starts the shop, trusts its authority as a device would, and comes again after a
// restart.
func TestServeUnderALocalAuthority(t *testing.T) {
	t.Parallel()
	data := filepath.Join(openFolder(t), "shop")
	args := []string{"serve", "--tls-local", "--tls-host", "clock.local", "--listen", "127.0.0.1:0", "--listen-http",
		"127.0.0.1:0", "--data", data}
	p := launch(t, args...)
	if !strings.HasPrefix(p.address, "https://") {
		t.Fatalf("served on %s", p.address)
	}
	plain := spoken(t, p, `(http://127\.0\.0\.1:\d+)\n`)

	// A device fetches the authority's certificate where it can't have it yet, and compares its fingerprint.
	_, page := taken(t, http.DefaultClient, plain+"/trust")
	res, fetched := taken(t, http.DefaultClient, plain+"/trust/ledgerwheel-authority.crt")
	kept, err := os.ReadFile(filepath.Join(data, "tls", "authority.crt"))
	if err != nil || fetched != string(kept) || res.Header.Get("Content-Type") != "application/x-x509-ca-cert" {
		t.Errorf("fetched %q (%v), kept %q", fetched, err, kept)
	}
	said, err := exec.Command(binary(t), "certificate", "--data", data).CombinedOutput()
	if err != nil {
		t.Fatalf("certificate: %v: %s", err, said)
	}
	fingerprint := spoken(t, p, `SHA-256 ((?:[0-9A-F]{2}:){31}[0-9A-F]{2})`)
	for _, text := range []string{page, string(said)} {
		if !strings.Contains(text, fingerprint) {
			t.Errorf("no fingerprint %s in %s", fingerprint, text)
		}
	}
	says(t, string(said), filepath.Join(data, "tls", "authority.crt"), "192.168.0.0/16", "What trusting means", "To undo",
		"Windows", "macOS", "iPhone", "Android", "Linux", "Firefox")
	if printed, err := exec.Command(binary(t), "certificate", "--pem", "--data", data).Output(); err != nil ||
		string(printed) != fetched {
		t.Errorf("certificate --pem: %v: %s", err, printed)
	}

	// From then on it is a secure origin, with cookies bound to it and no order beyond it.
	device := trusting(t, []byte(fetched))
	if res, body := taken(t, device, p.address+"/healthz"); res.StatusCode != http.StatusOK || res.ProtoMajor != 2 {
		t.Errorf("/healthz: %s over %s: %s", res.Status, res.Proto, body)
	}
	res, _ = taken(t, device, strings.Replace(p.address, "127.0.0.1", "localhost", 1)+"/setup")
	if res.StatusCode != http.StatusForbidden || res.Header.Get("Strict-Transport-Security") != "" { // by a name the key is asked for
		t.Errorf("/setup: %s, Strict-Transport-Security %q", res.Status, res.Header.Get("Strict-Transport-Security"))
	}
	conn, err := tls.Dial("tcp", strings.TrimPrefix(p.address, "https://"),
		&tls.Config{RootCAs: device.Transport.(*http.Transport).TLSClientConfig.RootCAs, ServerName: "clock.local"})
	if err != nil {
		t.Errorf("under the name asked for with --tls-host: %v", err)
	} else {
		conn.Close()
	}
	themed, err := device.PostForm(p.address+"/theme", map[string][]string{"theme": {"dark"}})
	if err != nil {
		t.Fatal(err)
	}
	themed.Body.Close()
	for _, c := range themed.Cookies() {
		if !c.Secure || !strings.HasPrefix(c.Name, "__Host-") || c.Path != "/" || c.Domain != "" {
			t.Errorf("cookie %s may be sent without TLS, or come from another host", c.Name)
		}
	}
	if len(themed.Cookies()) == 0 {
		t.Error("no cookie seen: this test sees nothing")
	}
	if _, err := http.Get(p.address + "/healthz"); err == nil {
		t.Error("a device that trusts nothing of it accepts the certificate")
	}
	unled := &http.Client{CheckRedirect: device.CheckRedirect}
	if res, _ := taken(t, unled, plain+"/dockets?page=2"); res.Header.Get("Location") != p.address+"/dockets?page=2" {
		t.Errorf("without TLS: %s to %s", res.Status, res.Header.Get("Location"))
	}
	if out, err := exec.Command(binary(t), "health", p.address+"/healthz").CombinedOutput(); err != nil {
		t.Errorf("ledgerwheel health: %v: %s", err, out)
	}
	p.stop(t, syscall.SIGTERM)

	// The next start keeps what devices trust.
	p = launch(t, args...)
	if res, _ := taken(t, device, p.address+"/healthz"); res.StatusCode != http.StatusOK {
		t.Errorf("after a restart: %s", res.Status)
	}
}

// TestBrowserOverTLS signs in with a browser that accepts the certificate, and looks for what a microphone needs: a
// secure origin. The browser is told the one key to accept, so what it thinks of the authority is not in question here.
func TestBrowserOverTLS(t *testing.T) {
	t.Parallel()
	data := filepath.Join(openFolder(t), "demo")
	p := launch(t, "demo", "--tls-local", "--listen", "127.0.0.1:0", "--data", data)
	conn, err := tls.Dial("tcp", strings.TrimPrefix(p.address, "https://"), &tls.Config{InsecureSkipVerify: true})
	if err != nil {
		t.Fatal(err)
	}
	key := sha256.Sum256(conn.ConnectionState().PeerCertificates[0].RawSubjectPublicKeyInfo)
	conn.Close()
	ctx, stop, err := browser.Start(t.Context(), chromedp.Flag("ignore-certificate-errors-spki-list",
		base64.StdEncoding.EncodeToString(key[:])))
	if err != nil {
		t.Fatal(err)
	}
	defer stop()
	tab, end, err := browser.NewTab(ctx, p.address)
	if err != nil {
		t.Fatal(err)
	}
	defer end()
	who, err := signInOf(staff.Watchmaker)
	if err != nil {
		t.Fatal(err)
	}
	if err := tab.SignIn(who.Email, who.Password); err != nil {
		t.Fatal(err)
	}
	secure, err := browser.Eval[bool](tab, `window.isSecureContext && typeof navigator.mediaDevices.getUserMedia === "function"`)
	if err != nil || !secure {
		t.Errorf("no secure origin (%v): a microphone could not be used", err)
	}
	cookies, err := tab.Cookies()
	if err != nil {
		t.Fatal(err)
	}
	bound := false
	for _, c := range cookies {
		bound = bound || c.Name == "__Host-ledgerwheel"
	}
	if !bound {
		t.Errorf("the session's cookie is not bound to the host: %v", cookies)
	}
	if faults := tab.Faults(); len(faults) > 0 {
		t.Errorf("faults: %v", faults)
	}
}

// ownPair makes a certificate as an owner would fetch one.
func ownPair(t *testing.T, serial int64) (certPEM, keyPEM []byte) {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	c := &x509.Certificate{SerialNumber: big.NewInt(serial), Subject: pkix.Name{CommonName: "shop"},
		DNSNames:  []string{"localhost"},
		NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(24 * time.Hour), BasicConstraintsValid: true,
		IsCA: true}
	der, err := x509.CreateCertificate(rand.Reader, c, c, key.Public(), key)
	if err != nil {
		t.Fatal(err)
	}
	pkcs8, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		t.Fatal(err)
	}
	return pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der}),
		pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: pkcs8})
}

// TestServeUnderOwnCertificate renews the owner's files under the running program.
func TestServeUnderOwnCertificate(t *testing.T) {
	t.Parallel()
	dir := openFolder(t)
	certFile, keyFile := filepath.Join(dir, "cert.pem"), filepath.Join(dir, "key.pem")
	put := func(serial int64) (certPEM []byte) {
		certPEM, keyPEM := ownPair(t, serial)
		for name, content := range map[string][]byte{certFile: certPEM, keyFile: keyPEM} {
			if err := os.WriteFile(name, content, 0o600); err != nil {
				t.Fatal(err)
			}
		}
		return certPEM
	}
	first := put(1)
	p := launch(t, "serve", "--tls-cert", certFile, "--tls-key", keyFile, "--listen", "127.0.0.1:0", "--data",
		filepath.Join(dir, "shop"))
	at := strings.Replace(p.address, "127.0.0.1", "localhost", 1)
	res, _ := taken(t, trusting(t, first), at+"/healthz")
	if res.StatusCode != http.StatusOK || res.Header.Get("Strict-Transport-Security") == "" {
		t.Errorf("%s, Strict-Transport-Security %q", res.Status, res.Header.Get("Strict-Transport-Security"))
	}
	renewed := trusting(t, put(2))
	for deadline := time.Now().Add(patience); ; time.Sleep(50 * time.Millisecond) {
		res, err := renewed.Get(at + "/healthz")
		if err == nil {
			res.Body.Close()
			break
		}
		if time.Now().After(deadline) {
			t.Fatalf("the renewed certificate is not served: %v\n%s", err, p.logged())
		}
	}
}

// TestCertificatesThatCannotBeServed ends with exit code 2 and one line that says why, before anything is made.
func TestCertificatesThatCannotBeServed(t *testing.T) {
	t.Parallel()
	dir := openFolder(t)
	certPEM, _ := ownPair(t, 1)
	_, otherKey := ownPair(t, 2)
	certFile, keyFile := filepath.Join(dir, "cert.pem"), filepath.Join(dir, "key.pem")
	for name, content := range map[string][]byte{certFile: certPEM, keyFile: otherKey} {
		if err := os.WriteFile(name, content, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	for _, tc := range []struct {
		args []string
		want []string
	}{
		{[]string{"--tls-cert", certFile, "--tls-key", keyFile}, []string{keyFile, "is not that of the certificate in",
			certFile}},
		{[]string{"--tls-cert", certFile, "--tls-key", filepath.Join(dir, "gone.pem")}, []string{"gone.pem", "no such file"}},
		{[]string{"--tls-cert", certFile}, []string{"--tls-cert and --tls-key go together"}},
		{[]string{"--tls-local", "--tls-cert", certFile, "--tls-key", keyFile}, []string{"exclude each other"}},
		{[]string{"--tls-host", "clock.local"}, []string{"--tls-local"}},
		{[]string{"--tls-local", "--tls-host", "two words"}, []string{"--tls-host", "two words"}},
		{[]string{"--listen-http", "127.0.0.1:0"}, []string{"--listen-http"}},
		{[]string{"--tls-local", "--public-url", "http://clock.local"}, []string{"--public-url", "https://"}},
	} {
		cmd := exec.CommandContext(t.Context(), binary(t), append([]string{"serve", "--listen", "127.0.0.1:0", "--data",
			filepath.Join(dir, "shop")}, tc.args...)...)
		cmd.Env = cleanEnv()
		var stderr bytes.Buffer
		cmd.Stderr = &stderr
		err := cmd.Run()
		line := strings.TrimSuffix(stderr.String(), "\n")
		if code := cmd.ProcessState.ExitCode(); code != 2 || strings.Contains(line, "\n") {
			t.Errorf("%v: %v, %q; want exit code 2 and one line", tc.args, err, line)
		}
		says(t, line, tc.want...)
	}
	if _, err := os.Stat(filepath.Join(dir, "shop", "postgres")); !os.IsNotExist(err) {
		t.Errorf("a database was made for nothing: %v", err)
	}
	says(t, refused(t, "certificate", "--data", filepath.Join(dir, "shop")), "no local authority", "--tls-local")
}
