package main

import (
	"fmt"
	"net/netip"
	"strings"

	"ledgerwheel/cmd/ledgerwheel/certs"
)

// doorFlags say who is believed and answered.
type doorFlags struct {
	Hosts          []string `name:"host" help:"A further name or address, without port, by which the program is reached. Under others than its own it answers nobody. May be repeated." env:"LEDGERWHEEL_HOSTS" placeholder:"NAME"`
	TrustedProxies []string `name:"trusted-proxy" help:"Believe this address, or all of this range, in its X-Forwarded-For: for whom it asks. Nobody is believed unasked, this machine neither. May be repeated." env:"LEDGERWHEEL_TRUSTED_PROXIES" placeholder:"CIDR"`
}

// hosts are the names by which the program is known besides that of its public address.
func (f shopFlags) hosts(p *program) []string {
	asked, _ := certs.ParseNames(append(f.Hosts, f.TLSHosts...))
	names := certs.Names{DNS: certs.Ours().DNS}.With(asked).Hosts()
	if p.local != nil {
		names = append(names, p.local.Hosts()...)
	}
	return names
}

// parseProxies reads addresses and ranges of addresses (RFC 4632, RFC 4291) as typed.
func parseProxies(typed []string) ([]netip.Prefix, error) {
	var list []netip.Prefix
	for _, t := range typed {
		t = strings.TrimSpace(t)
		if p, err := netip.ParsePrefix(t); err == nil {
			list = append(list, p.Masked())
			continue
		}
		a, err := netip.ParseAddr(t)
		if err != nil || a.Zone() != "" {
			return nil, fmt.Errorf("--trusted-proxy: %q is no address, such as 127.0.0.1, and no range of them, such as 10.0.0.0/24", t)
		}
		a = a.Unmap()
		list = append(list, netip.PrefixFrom(a, a.BitLen()))
	}
	return list, nil
}

// proxies are those that [shopFlags.Validate] has found to be readable.
func (f doorFlags) proxies() []netip.Prefix {
	list, _ := parseProxies(f.TrustedProxies)
	return list
}
