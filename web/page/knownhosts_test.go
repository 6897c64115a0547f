package page_test

import (
	"context"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"ledgerwheel/web/page"
)

func TestKnownHosts(t *testing.T) {
	t.Parallel()
	answered := page.KnownHosts([]string{"ledger.example", "workshop", "2001:db8::7"})(http.HandlerFunc(
		func(w http.ResponseWriter, r *http.Request) { w.WriteHeader(http.StatusNoContent) }))
	reached := &net.TCPAddr{IP: net.IPv4(192, 168, 1, 5), Port: 8080}
	for host, want := range map[string]bool{
		"ledger.example": true, "LEDGER.example.:443": true, "workshop:8080": true, "localhost:8080": true, "127.0.0.1:8080": true,
		"127.0.0.2": true, "[::1]:8080": true, "[::ffff:127.0.0.1]": true, "192.168.1.5:8080": true, "[2001:db8::7]:8080": true,
		"192.168.1.6:8080": false, "evil.example": false, "evil.example:8080": false, "ledger.example.evil.example": false,
		"127.0.0.1.evil.example": false, "xlocalhost": false, "localhost.evil.example": false, "": false, "ledger.example@evil.example": false,
		"evil.example/ledger.example": false, "2130706433": false, "0x7f.1": false,
	} {
		r := httptest.NewRequest(http.MethodGet, "/setup", nil)
		r = r.WithContext(context.WithValue(r.Context(), http.LocalAddrContextKey, net.Addr(reached)))
		r.Host = host
		w := httptest.NewRecorder()
		answered.ServeHTTP(w, r)
		if got := w.Code == http.StatusNoContent; got != want {
			t.Errorf("%q: answered %v, want %v", host, got, want)
		}
		if !want && (w.Code != http.StatusMisdirectedRequest || !strings.Contains(w.Body.String(), "--host") ||
			w.Header().Get("Content-Type") != "text/plain; charset=utf-8") {
			t.Errorf("%q: %d %s", host, w.Code, w.Body)
		}
		r.URL.Path = page.HealthPath
		w = httptest.NewRecorder()
		if answered.ServeHTTP(w, r); w.Code != http.StatusNoContent {
			t.Errorf("%q: health is not told: %d", host, w.Code)
		}
	}
}

func TestAtThisMachine(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		remote, host, header, value string
		want                        bool
	}{
		{"127.0.0.1:5000", "127.0.0.1:8080", "", "", true},
		{"[::1]:5000", "[::1]:8080", "", "", true},
		{"127.0.0.1:5000", "127.0.0.1:8080", "Origin", "http://127.0.0.1:8080", true},
		{"127.0.0.1:5000", "127.0.0.1:8080", "Origin", "https://ledger.example", false}, // a proxy that says nothing else
		{"127.0.0.1:5000", "127.0.0.1:8080", "Origin", "null", false},
		{"127.0.0.1:5000", "localhost:8080", "", "", false}, // a name: its owner may not be this machine
		{"127.0.0.1:5000", "evil.example:8080", "", "", false},
		{"192.168.1.9:5000", "127.0.0.1:8080", "", "", false},
		{"127.0.0.1:5000", "192.168.1.5:8080", "", "", false},
		{"127.0.0.1:5000", "127.0.0.1:8080", "X-Forwarded-For", "127.0.0.1", false},
		{"127.0.0.1:5000", "127.0.0.1:8080", "X-Forwarded-Proto", "https", false},
		{"127.0.0.1:5000", "127.0.0.1:8080", "Forwarded", "for=127.0.0.1", false},
		{"127.0.0.1:5000", "127.0.0.1:8080", "Via", "1.1 gate", false},
	} {
		r := &http.Request{RemoteAddr: c.remote, Host: c.host, Header: http.Header{}}
		if c.header != "" {
			r.Header.Set(c.header, c.value)
		}
		if got := page.AtThisMachine(r); got != c.want {
			t.Errorf("%+v: %v", c, got)
		}
	}
}
