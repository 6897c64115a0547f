package page

import (
	"net"
	"net/http"
	"net/netip"
	"strings"

	"github.com/go-chi/httprate"
)

// ClientAddress is the machine that asks: the one place that says so. A machine that the owner named as a proxy is
// believed in whom it says that it speaks for, hop by hop from the last; nobody else is, wherever they sit. An IPv6
// address stands for its /64, which is one household.
func (s *Host) ClientAddress(r *http.Request) string {
	client, ok := plainAddress(r.RemoteAddr)
	if !ok {
		return r.RemoteAddr
	}
	hops := strings.Split(strings.Join(r.Header.Values("X-Forwarded-For"), ","), ",")
	if !s.speaksForOthers(client) {
		s.doubtProxy(client, r)
		return httprate.CanonicalizeIP(client.String())
	}
	for i := len(hops) - 1; i >= 0 && s.speaksForOthers(client); i-- {
		hop, ok := plainAddress(strings.TrimSpace(hops[i]))
		if !ok {
			break // what stands before it can't be held for anybody's word
		}
		client = hop
	}
	return httprate.CanonicalizeIP(client.String())
}

// plainAddress reads an address with or without a port.
func plainAddress(s string) (netip.Addr, bool) {
	if host, _, err := net.SplitHostPort(s); err == nil {
		s = host
	}
	addr, err := netip.ParseAddr(strings.Trim(s, "[]"))
	return addr.Unmap().WithZone(""), err == nil
}

func (s *Host) speaksForOthers(a netip.Addr) bool {
	for _, p := range s.Proxies {
		if p.Contains(a) {
			return true
		}
	}
	return false
}

// doubtProxy says once in the log that a proxy near by seems not to have been named: all its visitors are then taken for
// one machine.
func (s *Host) doubtProxy(a netip.Addr, r *http.Request) {
	if ThroughProxy(r) && (a.IsLoopback() || a.IsPrivate()) {
		s.doubted.Do(func() {
			s.Log.Warn("a proxy that is not named speaks for its visitors, who are all counted as one machine; name it with --trusted-proxy",
				"address", a.String())
		})
	}
}

// ThroughProxy reports whether a request bears a sign of having come through a proxy.
func ThroughProxy(r *http.Request) bool {
	for name := range r.Header {
		if strings.HasPrefix(name, "X-Forwarded-") || name == "Forwarded" || name == "Via" || name == "X-Real-Ip" {
			return true
		}
	}
	return false
}
