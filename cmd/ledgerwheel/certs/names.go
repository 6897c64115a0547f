package certs

import (
	"net"
	"net/netip"
	"os"
	"regexp"
	"slices"
	"strings"
)

// Names is what a certificate stands for.
type Names struct {
	DNS []string     // lower case
	IPs []netip.Addr // without zone
}

// localDomains are the names that no public name service gives out: RFC 6761 (localhost), RFC 6762 (local), RFC 8375
// (home.arpa), ICANN's reservation of 2024 (internal), and lan, which routers use by common practice.
var localDomains = []string{"localhost", "local", "home.arpa", "internal", "lan"}

// localRanges are the addresses that no public network routes: RFC 1122 and 4291 (this machine), RFC 1918 and 4193
// (private), RFC 3927 and 4291 (the link).
var localRanges = []netip.Prefix{
	netip.MustParsePrefix("127.0.0.0/8"), netip.MustParsePrefix("10.0.0.0/8"), netip.MustParsePrefix("172.16.0.0/12"),
	netip.MustParsePrefix("192.168.0.0/16"), netip.MustParsePrefix("169.254.0.0/16"), netip.MustParsePrefix("::1/128"),
	netip.MustParsePrefix("fc00::/7"), netip.MustParsePrefix("fe80::/10"),
}

// Ours are the names and local addresses under which this machine is found.
func Ours() Names {
	n := Names{}
	if host, err := os.Hostname(); err == nil {
		n = hostNames(host)
	}
	n.DNS = append(n.DNS, "localhost")
	addrs, err := net.InterfaceAddrs()
	if err != nil {
		addrs = nil // then the loopback's alone, which every machine has
	}
	for _, a := range addrs {
		prefix, err := netip.ParsePrefix(a.String())
		if err != nil {
			continue
		}
		// An address of the link needs its zone in version 6, which no address in a browser can carry.
		if ip := prefix.Addr().Unmap(); isLocal(ip) && !(ip.Is6() && ip.IsLinkLocalUnicast()) {
			n.IPs = append(n.IPs, ip)
		}
	}
	n.IPs = append(n.IPs, netip.MustParseAddr("127.0.0.1"), netip.IPv6Loopback())
	return n.tidy()
}

// hostNames are the machine's own name, and the one that multicast name service (RFC 6762) gives it.
func hostNames(host string) Names {
	host = strings.TrimSuffix(strings.ToLower(host), ".")
	if !isDNSName(host) {
		return Names{}
	}
	n := Names{DNS: []string{host}}
	if first, _, _ := strings.Cut(host, "."); first != "localhost" {
		n.DNS = append(n.DNS, first+".local")
	}
	return n
}

// ParseNames reads names and addresses as typed. Bad ones are returned apart.
func ParseNames(typed []string) (n Names, bad []string) {
	for _, t := range typed {
		host := strings.Trim(strings.ToLower(strings.TrimSpace(t)), "[]")
		if ip, err := netip.ParseAddr(host); err == nil && ip.Zone() == "" {
			n.IPs = append(n.IPs, ip.Unmap())
		} else if host = strings.TrimSuffix(host, "."); isDNSName(host) {
			n.DNS = append(n.DNS, host)
		} else {
			bad = append(bad, t)
		}
	}
	return n.tidy(), bad
}

// dnsLabel is a label of a host name (RFC 1123, 2.1).
var dnsLabel = regexp.MustCompile(`^[a-z0-9]([a-z0-9-]{0,61}[a-z0-9])?$`)

func isDNSName(s string) bool {
	labels := strings.Split(s, ".")
	if _, err := netip.ParseAddr(s); err == nil || len(s) > 253 {
		return false
	}
	// A last label of digits is read as an address by browsers.
	return !slices.ContainsFunc(labels, func(l string) bool { return !dnsLabel.MatchString(l) }) &&
		strings.Trim(labels[len(labels)-1], "0123456789") != ""
}

func isLocal(ip netip.Addr) bool {
	return slices.ContainsFunc(localRanges, func(p netip.Prefix) bool { return p.Contains(ip) })
}

// IsLocal reports whether no public name service or network knows the name or address.
func IsLocal(host string) bool {
	if ip, err := netip.ParseAddr(host); err == nil {
		return isLocal(ip.Unmap())
	}
	return slices.ContainsFunc(localDomains, func(d string) bool { return under(host, d) })
}

// under reports whether a name is the domain or lies below it.
func under(name, domain string) bool { return name == domain || strings.HasSuffix(name, "."+domain) }

// With returns the names of both.
func (n Names) With(more Names) Names {
	return Names{DNS: slices.Concat(n.DNS, more.DNS), IPs: slices.Concat(n.IPs, more.IPs)}.tidy()
}

// tidy drops what stands twice and keeps the order, which says what people know the machine by.
func (n Names) tidy() Names { return Names{DNS: once(n.DNS), IPs: once(n.IPs)} }

func once[T comparable](list []T) []T {
	var kept []T
	for _, x := range list {
		if !slices.Contains(kept, x) {
			kept = append(kept, x)
		}
	}
	return kept
}

// missing reports whether n has a name or address that have lacks.
func (n Names) missing(have Names) bool {
	return slices.ContainsFunc(n.DNS, func(s string) bool { return !slices.Contains(have.DNS, s) }) ||
		slices.ContainsFunc(n.IPs, func(ip netip.Addr) bool { return !slices.Contains(have.IPs, ip) })
}

// Hosts lists the names, then the addresses, as text.
func (n Names) Hosts() []string {
	hosts := slices.Clone(n.DNS)
	for _, ip := range n.IPs {
		hosts = append(hosts, ip.String())
	}
	return hosts
}
