package main

import (
	"errors"
	"fmt"
	"strings"
	"text/tabwriter"

	"ledgerwheel/cmd/ledgerwheel/certs"
	"ledgerwheel/web/outside"
)

type certificateCmd struct {
	Data string `help:"The shop's data folder." type:"path" env:"LEDGERWHEEL_DATA" placeholder:"DIR"`
	Demo bool   `help:"The demo shop's certificate."`
	PEM  bool   `name:"pem" help:"Print the certificate itself, to copy it to a device."`
}

// Run says where the local authority's certificate is, how devices are told to trust it, and what that means.
func (c *certificateCmd) Run(e *env) error {
	folder, err := shopFlags{Data: c.Data}.folder(c.Demo)
	if err != nil {
		return err
	}
	a, err := certs.ReadAuthority(folder.tls())
	if errors.Is(err, certs.ErrNoAuthority) {
		return fmt.Errorf("%w: ledgerwheel serve --tls-local makes one at its first start; another data folder is named with --data", err)
	} else if err != nil {
		return err
	}
	if c.PEM {
		_, err := e.stdout.Write(a.PEM())
		return err
	}
	t := tabwriter.NewWriter(e.stdout, 0, 0, 2, ' ', 0)
	fmt.Fprintf(t, "The local authority's certificate\t%s\n", a.File)
	fmt.Fprintf(t, "Listed on devices as\t%s\n", a.Cert.Subject.CommonName)
	fmt.Fprintf(t, "SHA-256\t%s\n", a.Fingerprint())
	fmt.Fprintf(t, "Good until\t%s\n", a.Cert.NotAfter.UTC().Format("2 January 2006"))
	fmt.Fprintf(t, "May vouch for\t%s\n", strings.Join(a.Permitted(), ", "))
	if err := t.Flush(); err != nil {
		return err
	}
	fmt.Fprintf(e.stdout, "\nWhat trusting means\n")
	for _, line := range outside.TrustMeaning {
		fmt.Fprintf(e.stdout, "  %s\n", line)
	}
	fmt.Fprintf(e.stdout, "\nCopy the certificate to each device (never the keys beside it) and compare the "+
		"fingerprint that the device shows\nwith the one above. With --listen-http devices can fetch it at %s there.\n",
		outside.TrustPath)
	for _, platform := range outside.TrustPlatforms {
		fmt.Fprintf(e.stdout, "\n%s\n", platform.Name)
		for i, step := range platform.Steps {
			fmt.Fprintf(e.stdout, "  %d. %s\n", i+1, step)
		}
		fmt.Fprintf(e.stdout, "  To undo: %s\n", platform.Undo)
	}
	return nil
}
