package main

import (
	"context"
	"crypto/tls"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/url"
	"strings"
	"time"
)

type healthCmd struct {
	URL      string `arg:"" optional:"" help:"Address to ask. Unset, it is this machine's port 8080, over TLS if the program's settings in the environment say so."`
	TLSCert  string `hidden:"" name:"tls-cert" env:"LEDGERWHEEL_TLS_CERT"`
	TLSLocal bool   `hidden:"" name:"tls-local" env:"LEDGERWHEEL_TLS_LOCAL"`
}

// Run asks once: no error means that the program answers and reaches its records.
func (c *healthCmd) Run(e *env) error {
	ctx, cancel := context.WithTimeout(e.ctx, 5*time.Second)
	defer cancel()
	if c.URL == "" {
		c.URL = tlsFlags{TLSCert: c.TLSCert, TLSLocal: c.TLSLocal}.scheme() + "://127.0.0.1:8080/healthz"
	}
	req, err := http.NewRequestWithContext(ctx, http.MethodGet, c.URL, nil)
	if err != nil {
		return err
	}
	res, err := healthClient(req.URL).Do(req)
	if err != nil {
		return err
	}
	defer res.Body.Close()
	said, err := io.ReadAll(io.LimitReader(res.Body, 4096))
	if err != nil {
		return err
	}
	if res.StatusCode != http.StatusOK {
		return fmt.Errorf("%s answers %s: %s", c.URL, res.Status, strings.Join(strings.Split(strings.TrimSpace(string(said)), "\n"), ", "))
	}
	fmt.Fprintln(e.stdout, strings.TrimSpace(string(said)))
	return nil
}

// healthClient asks this very machine whatever name stands in its certificate: nothing is sent that another could
// want, and the certificate of a shop is seldom made out to 127.0.0.1.
func healthClient(u *url.URL) *http.Client {
	ip := net.ParseIP(u.Hostname())
	if u.Scheme != "https" || u.Hostname() != "localhost" && (ip == nil || !ip.IsLoopback()) {
		return http.DefaultClient
	}
	return &http.Client{
		Transport:     &http.Transport{TLSClientConfig: &tls.Config{InsecureSkipVerify: true}},
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
	}
}
