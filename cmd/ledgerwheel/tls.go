package main

import (
	"errors"
	"fmt"
	"net"
	"net/http"
	"net/url"
	"strings"
	"time"

	"ledgerwheel/cmd/ledgerwheel/certs"
	"ledgerwheel/web/outside"
)

// tlsFlags say under which certificate the program is served. Without any it is served without TLS.
type tlsFlags struct {
	TLSCert    string   `name:"tls-cert" help:"Serve over TLS under the certificate in this PEM file. It is read again when it is renewed." type:"path" env:"LEDGERWHEEL_TLS_CERT" placeholder:"FILE"`
	TLSKey     string   `name:"tls-key" help:"The private key of --tls-cert, in PEM form without a passphrase." type:"path" env:"LEDGERWHEEL_TLS_KEY" placeholder:"FILE"`
	TLSLocal   bool     `name:"tls-local" help:"Serve over TLS under a certificate of this machine's own, signed by a local authority that devices must be told to trust once (see ledgerwheel certificate)." env:"LEDGERWHEEL_TLS_LOCAL"`
	TLSHosts   []string `name:"tls-host" help:"A further name or address that the local certificate stands for. May be repeated." env:"LEDGERWHEEL_TLS_HOSTS" placeholder:"NAME"`
	ListenHTTP string   `name:"listen-http" help:"Also listen here without TLS, only to lead to the address with TLS and to hand out the local authority's certificate." env:"LEDGERWHEEL_LISTEN_HTTP" placeholder:"ADDR"`
}

func (f tlsFlags) on() bool { return f.TLSLocal || f.TLSCert != "" }

func (f tlsFlags) scheme() string {
	if f.on() {
		return "https"
	}
	return "http"
}

// Validate is asked by the command line's parser before anything runs.
func (f shopFlags) Validate() error {
	public, err := url.Parse(f.PublicURL)
	_, bad := certs.ParseNames(f.TLSHosts)
	_, notHosts := certs.ParseNames(f.Hosts)
	_, notProxies := parseProxies(f.TrustedProxies)
	switch {
	case notProxies != nil:
		return notProxies
	case len(notHosts) > 0:
		return fmt.Errorf("--host: %q is neither a name nor an address, such as ledger.example or 192.168.1.5, without port", notHosts[0])
	case (f.TLSCert == "") != (f.TLSKey == ""):
		return errors.New("--tls-cert and --tls-key go together: give both files")
	case f.TLSLocal && f.TLSCert != "":
		return errors.New("--tls-local and --tls-cert exclude each other: choose the local certificate or your own")
	case len(f.TLSHosts) > 0 && !f.TLSLocal:
		return errors.New("--tls-host names what the certificate of --tls-local stands for: give that too")
	case len(bad) > 0:
		return fmt.Errorf("--tls-host: %q is neither a name nor an address", bad[0])
	case f.ListenHTTP != "" && !f.on():
		return errors.New("--listen-http is for a program served over TLS: give --tls-cert and --tls-key, or --tls-local")
	case f.on() && err == nil && public.Scheme == "http":
		return errors.New("--public-url begins with http:// but the program is served over TLS: write https://")
	}
	return nil
}

// openTLS readies the certificate to serve under.
func (f shopFlags) openTLS(p *program, folder dataFolder) error {
	switch {
	case f.TLSLocal:
		asked, _ := certs.ParseNames(f.TLSHosts)
		if public, err := url.Parse(f.PublicURL); err == nil && certs.IsLocal(public.Hostname()) {
			named, _ := certs.ParseNames([]string{public.Hostname()})
			asked = asked.With(named)
		}
		local, err := certs.OpenLocal(certs.LocalOptions{Dir: folder.tls(), Ours: certs.Ours, Asked: asked, Now: time.Now,
			Log: p.env.log})
		if err != nil {
			return err
		}
		p.local, p.certs = local, local
	case f.TLSCert != "":
		pair, err := certs.OpenPair(f.TLSCert, f.TLSKey, time.Now, p.env.log)
		if err != nil {
			return unusable{err}
		}
		p.certs = pair
	}
	return nil
}

// unencrypted readies the port without TLS.
func (p *program) unencrypted() error {
	c := outside.UnencryptedConfig{PublicURL: p.deps.PublicURL, Port: portOf(p.listener), Log: p.env.log}
	if p.local != nil {
		a := p.local.Authority()
		c.Authority, c.Name, c.Fingerprint, c.Until = a.PEM(), a.Cert.Subject.CommonName, a.Fingerprint(), a.Cert.NotAfter
	}
	handler, err := outside.Unencrypted(c)
	if err != nil {
		return err
	}
	p.plainServer = newHTTPServer(handler, p.env.log)
	return nil
}

// servers are all that the program answers with, and how each is made to answer.
func (p *program) servers() map[*http.Server]func() error {
	answer := func() error { return p.server.Serve(p.listener) }
	if p.certs != nil {
		p.server.TLSConfig = certs.Config(p.certs)
		answer = func() error { return p.server.ServeTLS(p.listener, "", "") }
	}
	all := map[*http.Server]func() error{p.server: answer}
	if p.plainServer != nil {
		all[p.plainServer] = func() error { return p.plainServer.Serve(p.plainListener) }
	}
	return all
}

// publicURL is the address that papers and links give where the owner states none.
func (p *program) publicURL(scheme string) string {
	if p.certs != nil {
		if host := p.certs.Host(); host != "" {
			return atHost(scheme, host, p.listener)
		}
	}
	return address(scheme, p.listener)
}

// sayTLS tells what the owner of a local authority must know.
func (p *program) sayTLS() {
	if p.plainListener != nil {
		p.say("Without TLS, to lead there: %s", address("http", p.plainListener))
	}
	if p.local == nil {
		return
	}
	if p.listener.Addr().(*net.TCPAddr).IP.IsUnspecified() {
		var there []string
		for _, host := range p.local.Hosts() {
			if ip := net.ParseIP(host); host != "localhost" && (ip == nil || !ip.IsLoopback()) {
				there = append(there, atHost("https", host, p.listener))
			}
		}
		if len(there) > 0 {
			p.say("From other devices, as far as your network knows the name: %s", strings.Join(there, " "))
		}
	}
	a := p.local.Authority()
	p.say("Devices must be told once to trust its certificate, %s", a.File)
	p.say("  SHA-256 %s", a.Fingerprint())
	if p.plainListener != nil {
		p.say("  On a device, open %s", address("http", p.plainListener)+outside.TrustPath)
	}
	p.say("  How, what it means and how to undo it: ledgerwheel certificate")
}
