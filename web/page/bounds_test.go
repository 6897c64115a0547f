package page_test

import (
	"net/http"
	"testing"

	"ledgerwheel/web/page"
)

func TestClientAddress(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ remote, forwarded, want string }{
		{"192.0.2.7:5000", "", "192.0.2.7"},
		{"192.0.2.7:5000", "198.51.100.1", "192.0.2.7"},                // nobody's proxy: its word is not taken
		{"127.0.0.1:5000", "198.51.100.1", "198.51.100.1"},             // our own proxy
		{"10.0.0.2:5000", "203.0.113.9, 198.51.100.1", "198.51.100.1"}, // the visitor forged the first
		{"127.0.0.1:5000", "", "127.0.0.1"},
		{"[2001:db8:1:2:3:4:5:6]:5000", "", "2001:db8:1:2::"}, // one IPv6 household is one machine
	} {
		r := &http.Request{RemoteAddr: c.remote, Header: http.Header{}}
		if c.forwarded != "" {
			r.Header.Set("X-Forwarded-For", c.forwarded)
		}
		if got := page.ClientAddress(r); got != c.want {
			t.Errorf("%s forwarded %q: got %s, want %s", c.remote, c.forwarded, got, c.want)
		}
	}
}
