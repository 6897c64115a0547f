package page

import (
	"fmt"
	"net"
	"net/http"
	"net/netip"
	"net/url"
	"slices"
	"strings"
)

// HealthPath is answered under every name: a supervisor knows the program by an address alone, and learns nothing.
const HealthPath = "/healthz"

// KnownHosts answers only those who ask for the program by one of the names, in small letters and without port, by
// localhost, by a literal address of the loopback, or by the very address at which they reached it. Under any other name a
// foreign page could have a browser of the shop take the program for its own (DNS rebinding). Ports are not looked at: a
// foreign page can't choose our name, and what forwards a port may change it.
func KnownHosts(names []string) func(http.Handler) http.Handler {
	return func(next http.Handler) http.Handler {
		return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			if r.URL.Path == HealthPath || hostKnown(names, r) {
				next.ServeHTTP(w, r)
				return
			}
			w.Header().Set("Content-Type", "text/plain; charset=utf-8")
			w.WriteHeader(http.StatusMisdirectedRequest)
			host := hostOf(r.Host)
			fmt.Fprintf(w, "This program does not answer to the name %q.\n\nIf you run it: start it with --host NAME for every further "+
				"name or address by which it is reached, or with --public-url where customers reach it by that one.\n", host)
		})
	}
}

// hostOf is the name or address in a Host header, in small letters, without port and final dot.
func hostOf(host string) string {
	name := strings.ToLower((&url.URL{Host: host}).Hostname())
	return strings.TrimSuffix(name, ".")
}

func hostKnown(names []string, r *http.Request) bool {
	host := hostOf(r.Host)
	if host == "localhost" || slices.Contains(names, host) {
		return true
	}
	addr, err := netip.ParseAddr(host)
	if err != nil {
		return false
	}
	if addr = addr.Unmap(); addr.IsLoopback() {
		return true
	}
	reached, ok := r.Context().Value(http.LocalAddrContextKey).(net.Addr)
	if !ok {
		return false
	}
	at, ok := plainAddress(reached.String())
	return ok && at == addr.WithZone("")
}

// AtThisMachine reports a page that was opened on the machine of the program itself: by a literal address of the loopback,
// over the loopback, and with no sign of a proxy.
func AtThisMachine(r *http.Request) bool {
	from, ok := plainAddress(r.RemoteAddr)
	at, err := netip.ParseAddr(hostOf(r.Host))
	if origin := r.Header.Get("Origin"); origin != "" {
		if u, err := url.Parse(origin); err != nil || u.Host != r.Host {
			return false
		}
	}
	return ok && from.IsLoopback() && err == nil && at.IsLoopback() && !ThroughProxy(r)
}
