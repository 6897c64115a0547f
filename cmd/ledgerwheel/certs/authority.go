package certs

import (
	"crypto"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"errors"
	"fmt"
	"io/fs"
	"math/big"
	"net"
	"net/netip"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"
)

// The terms. Apple's and other systems refuse server certificates of more than 825 days whoever signed them, and
// public ones of more than 398 (CA/Browser Forum, Baseline Requirements, 6.3.2, from memory); an authority that people
// must trust by hand on every device should not have to be trusted again soon.
const (
	authorityYears = 10
	serverDays     = 397
	renewDays      = 30
	// skew lets devices whose clocks are behind trust a certificate made just now.
	skew = time.Hour
)

// The files of a local authority in its folder. What holds a private key is for the owner's eyes only.
const (
	authorityCert = "authority.crt"
	authorityKey  = "authority.key"
	serverPair    = "server.pem"
)

// Authority is the public half of a local authority.
type Authority struct {
	File string // where it is kept
	Cert *x509.Certificate
}

// ErrNoAuthority reports a folder without one.
var ErrNoAuthority = errors.New("there is no local authority")

// ReadAuthority finds the authority's certificate in its folder. Where there is none the error is ErrNoAuthority.
func ReadAuthority(dir string) (Authority, error) {
	file := filepath.Join(dir, authorityCert)
	text, err := os.ReadFile(file)
	if errors.Is(err, fs.ErrNotExist) {
		return Authority{}, fmt.Errorf("%w in %s", ErrNoAuthority, dir)
	} else if err != nil {
		return Authority{}, fmt.Errorf("the local authority cannot be read: %w", err)
	}
	block, _ := pem.Decode(text)
	if block == nil || block.Type != "CERTIFICATE" {
		return Authority{}, damaged(file)
	}
	cert, err := x509.ParseCertificate(block.Bytes)
	if err != nil || !cert.IsCA {
		return Authority{}, damaged(file)
	}
	return Authority{file, cert}, nil
}

func damaged(file string) error {
	return fmt.Errorf("%s is damaged: restore it from a backup, or delete the folder %s to have a new authority made, "+
		"which every device must then be told to trust",
		file, filepath.Dir(file))
}

// PEM is the certificate as devices take it.
func (a Authority) PEM() []byte {
	return pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: a.Cert.Raw})
}

// Fingerprint is the SHA-256 of the certificate in the form in which systems show it: pairs of hexadecimal digits.
func (a Authority) Fingerprint() string {
	sum := sha256.Sum256(a.Cert.Raw)
	pairs := make([]string, len(sum))
	for i, b := range sum {
		pairs[i] = fmt.Sprintf("%02X", b)
	}
	return strings.Join(pairs, ":")
}

// Permits reports whether the authority may vouch for a name or address, by the name constraints in its certificate.
func (a Authority) Permits(host string) bool {
	if ip, err := netip.ParseAddr(host); err == nil {
		return slices.ContainsFunc(a.Cert.PermittedIPRanges, func(r *net.IPNet) bool { return r.Contains(ip.AsSlice()) })
	}
	return slices.ContainsFunc(a.Cert.PermittedDNSDomains, func(d string) bool { return under(host, d) })
}

// Permitted lists what the authority may vouch for.
func (a Authority) Permitted() []string {
	list := slices.Clone(a.Cert.PermittedDNSDomains)
	for _, r := range a.Cert.PermittedIPRanges {
		list = append(list, r.String())
	}
	return list
}

// permitted keeps of n what the authority may vouch for, and returns the rest apart.
func (a Authority) permitted(n Names) (may Names, not []string) {
	for _, name := range n.DNS {
		if a.Permits(name) {
			may.DNS = append(may.DNS, name)
		} else {
			not = append(not, name)
		}
	}
	for _, ip := range n.IPs {
		if a.Permits(ip.String()) {
			may.IPs = append(may.IPs, ip)
		} else {
			not = append(not, ip.String())
		}
	}
	return may, not
}

// makeAuthority makes an authority that may vouch for local names and addresses, the ones given, and nothing else
// (name constraints, RFC 5280, 4.2.1.10, critical): should its key be stolen, it is good for no site of the internet.
func makeAuthority(names Names, now time.Time) (*x509.Certificate, *ecdsa.PrivateKey, error) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, nil, err
	}
	who := "this machine"
	if len(names.DNS) > 0 {
		who = names.DNS[0]
	}
	t := &x509.Certificate{
		SerialNumber: serial(),
		Subject: pkix.Name{CommonName: commonName(fmt.Sprintf("Ledgerwheel %s %s",
			now.UTC().Format(time.DateOnly), who))},
		NotBefore:                   now.Add(-skew),
		NotAfter:                    now.AddDate(authorityYears, 0, 0),
		IsCA:                        true,
		BasicConstraintsValid:       true,
		MaxPathLenZero:              true, // it signs servers, no further authority
		KeyUsage:                    x509.KeyUsageCertSign | x509.KeyUsageCRLSign,
		ExtKeyUsage:                 []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
		PermittedDNSDomainsCritical: true,
		PermittedDNSDomains:         slices.Clone(localDomains),
	}
	for _, r := range localRanges {
		t.PermittedIPRanges = append(t.PermittedIPRanges, &net.IPNet{IP: r.Addr().AsSlice(), Mask: net.CIDRMask(r.Bits(),
			r.Addr().BitLen())})
	}
	for _, name := range names.DNS {
		if !IsLocal(name) {
			t.PermittedDNSDomains = append(t.PermittedDNSDomains, name)
		}
	}
	for _, ip := range names.IPs {
		if !isLocal(ip) {
			t.PermittedIPRanges = append(t.PermittedIPRanges, &net.IPNet{IP: ip.AsSlice(), Mask: net.CIDRMask(ip.BitLen(),
				ip.BitLen())})
		}
	}
	cert, err := sign(t, t, key.Public(), key)
	return cert, key, err
}

// makeServer makes the certificate of the machine itself.
func makeServer(a Authority, signer crypto.Signer, names Names, now time.Time) (*x509.Certificate, *ecdsa.PrivateKey,
	error) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, nil, err
	}
	from := now.Add(-skew)
	until := from.AddDate(0, 0, serverDays)
	if until.After(a.Cert.NotAfter) {
		until = a.Cert.NotAfter
	}
	t := &x509.Certificate{
		SerialNumber:          serial(),
		Subject:               pkix.Name{CommonName: commonName(slices.Concat(names.Hosts(), []string{"localhost"})[0])},
		NotBefore:             from,
		NotAfter:              until,
		BasicConstraintsValid: true,
		KeyUsage:              x509.KeyUsageDigitalSignature,
		ExtKeyUsage:           []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
		DNSNames:              names.DNS,
	}
	for _, ip := range names.IPs {
		t.IPAddresses = append(t.IPAddresses, ip.AsSlice())
	}
	cert, err := sign(t, a.Cert, key.Public(), signer)
	return cert, key, err
}

func sign(t, parent *x509.Certificate, public crypto.PublicKey, signer crypto.Signer) (*x509.Certificate, error) {
	der, err := x509.CreateCertificate(rand.Reader, t, parent, public, signer)
	if err != nil {
		return nil, fmt.Errorf("the certificate cannot be made: %w", err)
	}
	return x509.ParseCertificate(der)
}

// serial is a positive number of 127 random bits (RFC 5280, 4.1.2.2).
func serial() *big.Int {
	var b [16]byte
	rand.Read(b[:]) // never fails
	b[0] = b[0]&0x7f | 0x01
	return new(big.Int).SetBytes(b[:])
}

// commonName keeps to the 64 characters that a certificate has for it (RFC 5280, appendix A.1).
func commonName(s string) string {
	if len(s) > 64 {
		return s[:64]
	}
	return s
}
