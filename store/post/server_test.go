package post_test

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"errors"
	"io"
	"log"
	"math/big"
	"net"
	"sync"
	"testing"
	"time"

	"github.com/emersion/go-sasl"
	"github.com/emersion/go-smtp"

	"ledgerwheel/domain/message"
	"ledgerwheel/store/post"
	"ledgerwheel/store/post/letterbox"
)

// mailServer is a real SMTP server that does with each mail what its test says.
type mailServer struct {
	t      *testing.T
	server *smtp.Server
	trust  *tls.Config // trusts its certificate
	port   int
	kind   message.Security

	mu     sync.Mutex
	rcpt   func(to string) error // nil for yes
	before func()                // the content is read, as the answer to it is due
	data   error                 // the answer to the content; nil for taken
	die    int                   // how many of the next mails lose their line with half of them read
	drop   int                   // how many of the next mails lose their line once they are taken, before the answer
	taken  []taken
	lines  map[string]int // dropped, by Message-ID
}

// droppedOf is how many takings of that Message-ID were never answered.
func (m *mailServer) droppedOf(mailID string) int {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.lines["<"+mailID+">"]
}

// taken is a mail that the server took.
type taken struct {
	from, to string
	raw      []byte
	letterbox.Letter
}

// serveMail starts a server; user and password are those that it lets in.
func serveMail(t *testing.T, kind message.Security) *mailServer {
	t.Helper()
	m := &mailServer{t: t, kind: kind, lines: map[string]int{}}
	own, trust := certificate(t)
	m.trust = trust
	m.server = smtp.NewServer(smtp.BackendFunc(func(c *smtp.Conn) (smtp.Session, error) { return &visit{m: m, c: c}, nil }))
	m.server.Domain, m.server.EnableSMTPUTF8, m.server.AllowInsecureAuth = "mail.example", true, kind == message.Open
	m.server.ErrorLog = log.New(io.Discard, "", 0)
	if kind != message.Open {
		m.server.TLSConfig = own
	}
	m.listen("127.0.0.1:0")
	t.Cleanup(func() { m.server.Close() })
	return m
}

func (m *mailServer) listen(at string) {
	m.t.Helper()
	l, err := net.Listen("tcp", at)
	if err != nil {
		m.t.Fatal(err)
	}
	m.port = l.Addr().(*net.TCPAddr).Port
	if m.kind == message.TLS {
		l = tls.NewListener(l, m.server.TLSConfig)
	}
	go m.server.Serve(l)
}

// account is one that the server lets in.
func (m *mailServer) account() post.Account {
	return post.Account{Server: message.Server{Host: "localhost", Port: m.port, Security: m.kind, User: "counter"}, Password: "ticket harbour bell"}
}

// set changes what the server does.
func (m *mailServer) set(do func()) {
	m.mu.Lock()
	defer m.mu.Unlock()
	do()
}

func (m *mailServer) got() []taken {
	m.mu.Lock()
	defer m.mu.Unlock()
	return append([]taken(nil), m.taken...)
}

// visit is one conversation.
type visit struct {
	m        *mailServer
	c        *smtp.Conn
	signedIn bool
	from, to string
}

func (v *visit) Reset()        {}
func (v *visit) Logout() error { return nil }

func (v *visit) AuthMechanisms() []string { return []string{sasl.Plain} }

func (v *visit) Auth(string) (sasl.Server, error) {
	return sasl.NewPlainServer(func(_, user, password string) error {
		if user != "counter" || password != "ticket harbour bell" {
			return &smtp.SMTPError{Code: 535, EnhancedCode: smtp.EnhancedCode{5, 7, 8}, Message: "authentication credentials invalid"}
		}
		v.signedIn = true
		return nil
	}), nil
}

func (v *visit) Mail(from string, _ *smtp.MailOptions) error {
	if !v.signedIn {
		return smtp.ErrAuthRequired
	}
	v.from = from
	return nil
}

func (v *visit) Rcpt(to string, _ *smtp.RcptOptions) error {
	v.m.mu.Lock()
	rcpt := v.m.rcpt
	v.m.mu.Unlock()
	v.to = to
	if rcpt != nil {
		return rcpt(to)
	}
	return nil
}

func (v *visit) Data(r io.Reader) error {
	if v.dies() {
		_, _ = io.ReadFull(r, make([]byte, 1000))
		v.c.Conn().Close()
		return errors.New("the server died")
	}
	raw, err := io.ReadAll(r)
	if err != nil {
		return err
	}
	l, err := letterbox.Read(raw)
	if err != nil {
		v.m.t.Errorf("a mail can't be read: %v\n%s", err, raw)
	}
	v.m.mu.Lock()
	defer v.m.mu.Unlock()
	if v.m.before != nil {
		v.m.before()
	}
	if v.m.data != nil {
		return v.m.data
	}
	v.m.taken = append(v.m.taken, taken{v.from, v.to, raw, l})
	if v.m.drop > 0 {
		v.m.drop--
		v.m.lines[l.Header.Get("Message-Id")]++
		v.c.Conn().Close()
		return errors.New("the line broke")
	}
	return nil
}

// dies reports whether the server ends with half of this mail read.
func (v *visit) dies() bool {
	v.m.mu.Lock()
	defer v.m.mu.Unlock()
	if v.m.die == 0 {
		return false
	}
	v.m.die--
	return true
}

// certificate is for localhost, with what trusts it.
func certificate(t *testing.T) (own, trust *tls.Config) {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	body := &x509.Certificate{SerialNumber: big.NewInt(1), Subject: pkix.Name{CommonName: "localhost"}, DNSNames: []string{"localhost"},
		NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(time.Hour), IsCA: true, BasicConstraintsValid: true,
		KeyUsage: x509.KeyUsageDigitalSignature | x509.KeyUsageCertSign, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}}
	raw, err := x509.CreateCertificate(rand.Reader, body, body, &key.PublicKey, key)
	if err != nil {
		t.Fatal(err)
	}
	cert, err := x509.ParseCertificate(raw)
	if err != nil {
		t.Fatal(err)
	}
	pool := x509.NewCertPool()
	pool.AddCert(cert)
	return &tls.Config{Certificates: []tls.Certificate{{Certificate: [][]byte{raw}, PrivateKey: key}}}, &tls.Config{RootCAs: pool}
}
