package page_test

import (
	"io"
	"log/slog"
	"net/http"
	"net/netip"
	"testing"

	"ledgerwheel/web/page"
)

func TestClientAddress(t *testing.T) {
	t.Parallel()
	named := []netip.Prefix{netip.MustParsePrefix("10.0.0.0/24"), netip.MustParsePrefix("2001:db8:9::/48")}
	for _, c := range []struct {
		remote    string
		forwarded []string
		want      string
	}{
		{"192.0.2.7:5000", nil, "192.0.2.7"},
		{"192.0.2.7:5000", []string{"198.51.100.1"}, "192.0.2.7"},
		{"127.0.0.1:5000", []string{"198.51.100.1"}, "127.0.0.1"}, // near, and yet named by nobody
		{"[::1]:5000", []string{"198.51.100.1"}, "::"},
		{"192.168.1.2:5000", []string{"198.51.100.1"}, "192.168.1.2"},
		{"10.0.1.2:5000", []string{"198.51.100.1"}, "10.0.1.2"}, // beside the range
		{"10.0.0.2:5000", []string{"198.51.100.1"}, "198.51.100.1"},
		{"[::ffff:10.0.0.2]:5000", []string{"198.51.100.1"}, "198.51.100.1"},
		{"[2001:db8:9::1]:5000", []string{"198.51.100.1:4711"}, "198.51.100.1"},
		{"10.0.0.2:5000", []string{"203.0.113.9, 198.51.100.1"}, "198.51.100.1"}, // the visitor forged the first
		{"10.0.0.2:5000", []string{"203.0.113.9", "198.51.100.1"}, "198.51.100.1"},
		{"10.0.0.2:5000", []string{"203.0.113.9, 198.51.100.1, 10.0.0.3"}, "198.51.100.1"}, // two proxies of ours
		{"10.0.0.2:5000", []string{"10.0.0.4, 10.0.0.3"}, "10.0.0.4"},                      // a proxy that asks for itself
		{"10.0.0.2:5000", []string{"203.0.113.9, unknown"}, "10.0.0.2"},
		{"10.0.0.2:5000", nil, "10.0.0.2"},
		{"[2001:db8:1:2:3:4:5:6]:5000", nil, "2001:db8:1:2::"}, // one IPv6 household is one machine
		{"10.0.0.2:5000", []string{"2001:db8:1:2:3:4:5:6"}, "2001:db8:1:2::"},
	} {
		r := &http.Request{RemoteAddr: c.remote, Header: http.Header{}}
		for _, f := range c.forwarded {
			r.Header.Add("X-Forwarded-For", f)
		}
		h := &page.Host{Log: slog.New(slog.NewTextHandler(io.Discard, nil)), Proxies: named}
		if got := h.ClientAddress(r); got != c.want {
			t.Errorf("%s forwarded %q: got %s, want %s", c.remote, c.forwarded, got, c.want)
		}
	}
}

func TestThroughProxy(t *testing.T) {
	t.Parallel()
	for name, want := range map[string]bool{"X-Forwarded-For": true, "x-forwarded-proto": true, "X-Forwarded-Host": true,
		"Forwarded": true, "Via": true, "X-Real-IP": true, "Origin": false, "User-Agent": false} {
		r := &http.Request{Header: http.Header{}}
		r.Header.Set(name, "1")
		if got := page.ThroughProxy(r); got != want {
			t.Errorf("%s is taken for a proxy's: %v", name, got)
		}
	}
}
