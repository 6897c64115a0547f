package outside_test

import (
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"ledgerwheel/web/outside"
	"ledgerwheel/web/page"
)

func unencrypted(t *testing.T, publicURL string, authority []byte) http.Handler {
	t.Helper()
	h, err := outside.Unencrypted(outside.UnencryptedConfig{PublicURL: publicURL, Port: "8443", Authority: authority,
		Name:        "Ledgerwheel bench",
		Fingerprint: "AB:CD", Until: time.Date(2036, 11, 25, 0, 0, 0, 0, time.UTC),
		Log: slog.New(slog.NewTextHandler(io.Discard, nil))})
	if err != nil {
		t.Fatal(err)
	}
	return h
}

func ask(h http.Handler, method, host, path string) *http.Response {
	r := httptest.NewRequest(method, path, strings.NewReader(""))
	r.Host = host
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w.Result()
}

// TestUnencryptedLeadsToTLS: a visitor keeps the name they came by, and its port is that of the listener with TLS, or
// the public address's own.
func TestUnencryptedLeadsToTLS(t *testing.T) {
	t.Parallel()
	h := unencrypted(t, "https://shop.example", nil)
	for host, want := range map[string]string{
		"bench.local:8080": "https://bench.local:8443", "bench.local": "https://bench.local:8443",
		"192.168.7.20:8080": "https://192.168.7.20:8443", "[fd00::7]:8080": "https://[fd00::7]:8443",
		"shop.example": "https://shop.example", "SHOP.example:80": "https://SHOP.example",
		"": "https://shop.example", "a/b": "https://shop.example", `a\b`: "https://shop.example",
		"x@y": "https://shop.example",
	} {
		res := ask(h, "GET", host, "/dockets?q=a%26b")
		if got := res.Header.Get("Location"); res.StatusCode != http.StatusTemporaryRedirect ||
			got != want+"/dockets?q=a%26b" {
			t.Errorf("%q: %s to %q, want %s/dockets?q=a%%26b", host, res.Status, got, want)
		}
	}
	for _, method := range []string{"POST", "PUT", "DELETE"} {
		if res := ask(h, method, "bench.local", "/sign-in"); res.StatusCode != http.StatusMethodNotAllowed ||
			res.Header.Get("Location") != "" {
			t.Errorf("%s: %s: a password sent here must not be sent on as if that were right", method, res.Status)
		}
	}
	// With a certificate that everybody accepts there is nothing to trust.
	if res := ask(h, "GET", "bench.local", outside.TrustPath); res.StatusCode != http.StatusTemporaryRedirect {
		t.Errorf("%s: %s", outside.TrustPath, res.Status)
	}
	// A path that looks like a host leads nowhere else.
	to, err := url.Parse(ask(h, "GET", "bench.local", "//evil.example/x").Header.Get("Location"))
	if err != nil || to.Host != "" && to.Host != "bench.local:8443" {
		t.Errorf("leads to %v (%v)", to, err)
	}
}

func TestUnencryptedHandsOutTheAuthority(t *testing.T) {
	t.Parallel()
	h := unencrypted(t, "https://127.0.0.1:8443", []byte("-----BEGIN CERTIFICATE-----\n"))
	res := ask(h, "GET", "192.168.7.20:8080", outside.TrustPath)
	body, _ := io.ReadAll(res.Body)
	page := string(body)
	for _, part := range []string{"AB:CD", "Ledgerwheel bench", "25 November 2036", `href="` + outside.AuthorityPath + `"`,
		`href="https://192.168.7.20:8443/"`,
		`data-testid="trust-windows"`, `data-testid="trust-macos"`, `data-testid="trust-ios"`, `data-testid="trust-android"`,
		`data-testid="trust-linux"`, `data-testid="trust-firefox"`, `data-testid="trust-caution"`} {
		if res.StatusCode != http.StatusOK || !strings.Contains(page, part) {
			t.Errorf("%s: the page lacks %s", res.Status, part)
		}
	}
	if strings.Contains(page, "<form") {
		t.Error("the page has a form, which could be sent nowhere")
	}
	if n := strings.Count(page, "To undo:"); n != len(outside.TrustPlatforms) {
		t.Errorf("%d ways to undo for %d kinds of devices", n, len(outside.TrustPlatforms))
	}
	cert := ask(h, "GET", "192.168.7.20:8080", outside.AuthorityPath)
	if got, _ := io.ReadAll(cert.Body); string(got) != "-----BEGIN CERTIFICATE-----\n" ||
		cert.Header.Get("Content-Type") != "application/x-x509-ca-cert" {
		t.Errorf("the certificate: %q as %s", got, cert.Header.Get("Content-Type"))
	}
	for _, header := range []string{"Content-Security-Policy", "X-Content-Type-Options", "X-Request-Id"} {
		if res.Header.Get(header) == "" {
			t.Errorf("no %s", header)
		}
	}
}

// TestStrictTLS: only with a certificate that everybody accepts is a browser told never to come without TLS again.
func TestStrictTLS(t *testing.T) {
	t.Parallel()
	for _, strict := range []bool{true, false} {
		h := page.SecureHeaders(strict)(http.NotFoundHandler())
		srv := httptest.NewTLSServer(h)
		defer srv.Close()
		res, err := srv.Client().Get(srv.URL)
		if err != nil {
			t.Fatal(err)
		}
		res.Body.Close()
		if got := res.Header.Get("Strict-Transport-Security") != ""; got != strict {
			t.Errorf("strict %v: header %v", strict, got)
		}
		if got := ask(h, "GET", "shop.example", "/").Header.Get("Strict-Transport-Security"); got != "" {
			t.Errorf("without TLS: %q", got)
		}
	}
}
