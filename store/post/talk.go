package post

import (
	"bytes"
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"net"
	"net/netip"
	"net/textproto"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/wneessen/go-mail/smtp"

	"ledgerwheel/domain/message"
)

// Account is a mail server with the password for it.
type Account struct {
	message.Server
	Password string
}

// ReadAccount reads a mail server with its password from an address, by message.ReadServer.
func ReadAccount(address string) (Account, error) {
	server, password, err := message.ReadServer(address)
	return Account{server, password}, err
}

// talk is one conversation with a mail server.
type talk struct {
	account Account
	tls     *tls.Config
	may     func() bool // asked before the last line: it is not too late
	seen    func(message.Done)
	step    message.Step
	client  *smtp.Client
}

const reachWithin = 30 * time.Second

// hand gives a letter to the account's server, by the steps of RFC 5321. It ends with ctx.
func (t *talk) hand(ctx context.Context, l Letter) message.Answer {
	if t.seen == nil {
		t.seen = func(message.Done) {}
	}
	err := t.whole(ctx, l)
	if t.client != nil {
		t.client.Close()
	}
	if err == nil {
		return message.Answer{Step: message.Content, Taken: true}
	}
	return answerOf(t.step, err)
}

// errLost reports that the whole letter was handed over and no answer came.
type errLost struct{ error }

func (e errLost) Unwrap() error { return e.error }

func (t *talk) whole(ctx context.Context, l Letter) error {
	t.step = message.ToAddress
	m, err := l.compose()
	if err != nil {
		return &textproto.Error{Code: 553, Msg: "5.1.3 " + err.Error()} // RFC 3463: bad recipient's address syntax
	}
	var text bytes.Buffer
	if _, err := m.WriteTo(&text); err != nil {
		return err
	}
	to, err := asciiDomain(l.To)
	if err != nil {
		return err
	}
	stop, err := t.open(ctx)
	if err != nil {
		return err
	}
	defer stop()
	if err := t.signIn(); err != nil {
		return err
	}
	t.step = message.FromAddress
	if err := t.client.Mail("<" + l.From.Address + ">"); err != nil {
		return err
	}
	t.seen(message.Done{Step: t.step, Said: l.From.Address})
	t.step = message.ToAddress
	if ok, _ := t.client.Extension("SMTPUTF8"); !ok && !ascii(to) {
		return &textproto.Error{Code: 553, Msg: "5.6.7 the mail server takes no address with such letters before the @"} // RFC 6531
	}
	if err := t.client.Rcpt("<" + to + ">"); err != nil {
		return err
	}
	t.seen(message.Done{Step: t.step, Said: to})
	t.step = message.Content
	return t.content(text.Bytes())
}

func (t *talk) content(text []byte) error {
	w, err := t.client.Data()
	if err != nil {
		return err
	}
	if _, err := w.Write(text); err != nil {
		return err
	}
	if t.may != nil && !t.may() {
		return errors.New("it took so long that another copy of the program may be at it")
	}
	if err := w.Close(); err != nil {
		var said *textproto.Error
		if errors.As(err, &said) {
			return err
		}
		return errLost{err}
	}
	said := ""
	if answer, ok := w.(*smtp.DataCloser); ok {
		said = answer.ServerResponse()
	}
	t.seen(message.Done{Step: t.step, Said: said})
	_ = t.client.Quit() // it has the message, whatever becomes of the farewell
	return nil
}

// open reaches the server and secures the way to it. stop lets go of ctx.
func (t *talk) open(ctx context.Context) (stop func(), err error) {
	ctx, cancel := context.WithTimeout(ctx, message.SessionLimit)
	t.step = message.FindName
	at, err := t.find(ctx)
	if err != nil {
		cancel()
		return nil, err
	}
	t.step = message.Connect
	conn, err := (&net.Dialer{Timeout: reachWithin}).DialContext(ctx, "tcp", at)
	if err != nil {
		cancel()
		return nil, err
	}
	release := context.AfterFunc(ctx, func() { conn.Close() })
	stop = func() { release(); cancel() }
	if err = conn.SetDeadline(time.Now().Add(message.SessionLimit)); err == nil {
		err = t.greet(conn)
	}
	if err != nil {
		conn.Close()
		stop()
		return nil, err
	}
	return stop, nil
}

func (t *talk) find(ctx context.Context) (string, error) {
	port := strconv.Itoa(t.account.Port)
	if _, err := netip.ParseAddr(t.account.Host); err == nil {
		return net.JoinHostPort(t.account.Host, port), nil
	}
	found, err := net.DefaultResolver.LookupHost(ctx, t.account.Host)
	if err != nil {
		return "", err
	}
	t.seen(message.Done{Step: t.step, Said: strings.Join(found, ", ")})
	return net.JoinHostPort(t.account.Host, port), nil
}

// greet reads the server's greeting and what it can do, with TLS as the account says.
func (t *talk) greet(conn net.Conn) (err error) {
	if t.account.Security == message.TLS {
		t.seen(message.Done{Step: message.Connect, Said: conn.RemoteAddr().String()})
		t.step = message.Secure
		secured := tls.Client(conn, t.config())
		if err := secured.Handshake(); err != nil {
			return err
		}
		t.secured(secured.ConnectionState())
		conn = secured
	}
	if t.client, err = smtp.NewClient(conn, t.account.Host); err != nil {
		return err
	}
	if err := t.client.Hello(ownName()); err != nil {
		return err
	}
	if t.account.Security != message.TLS {
		t.seen(message.Done{Step: message.Connect, Said: conn.RemoteAddr().String()})
	}
	if t.account.Security == message.StartTLS {
		t.step = message.Secure
		if ok, _ := t.client.Extension("STARTTLS"); !ok {
			return errors.New("the server does not offer STARTTLS; does it want TLS from the start, on another port?")
		}
		if err := t.client.StartTLS(t.config()); err != nil {
			return err
		}
		state, _ := t.client.TLSConnectionState()
		t.secured(state)
	}
	return nil
}

func (t *talk) config() *tls.Config {
	c := &tls.Config{}
	if t.tls != nil {
		c = t.tls.Clone()
	}
	c.ServerName, c.MinVersion = t.account.Host, tls.VersionTLS12
	return c
}

func (t *talk) secured(state tls.ConnectionState) {
	t.seen(message.Done{Step: message.Secure, Said: tls.VersionName(state.Version)})
}

// signIn gives user and password by the strongest way that both know.
func (t *talk) signIn() error {
	if t.account.User == "" {
		return nil
	}
	t.step = message.SignIn
	_, offered := t.client.Extension("AUTH")
	a := t.account
	open := a.Security == message.Open // to this machine alone
	for _, way := range []struct {
		name string
		auth smtp.Auth
	}{
		{"SCRAM-SHA-256", smtp.ScramSHA256Auth(a.User, a.Password)},
		{"PLAIN", smtp.PlainAuth("", a.User, a.Password, a.Host, open)},
		{"LOGIN", smtp.LoginAuth(a.User, a.Password, a.Host, open)},
		{"CRAM-MD5", smtp.CRAMMD5Auth(a.User, a.Password)},
	} {
		if slices.Contains(strings.Fields(offered), way.name) {
			if err := t.client.Auth(way.auth); err != nil {
				return err
			}
			t.seen(message.Done{Step: t.step, Said: a.User})
			return nil
		}
	}
	return fmt.Errorf("the server offers no way of signing in that is known here (it offers %q)", offered)
}

var enhanced = regexp.MustCompile(`^([245]\.\d{1,3}\.\d{1,3})\s+`)

// answerOf reads what came of a conversation that ended at a step with an error.
func answerOf(step message.Step, err error) message.Answer {
	a := message.Answer{Step: step, Said: err.Error()}
	var lost errLost
	var said *textproto.Error
	switch {
	case errors.As(err, &lost):
		a.Lost, a.Said = true, plainError(lost.error)
	case errors.As(err, &said):
		a.Code, a.Said = said.Code, said.Msg
		if m := enhanced.FindStringSubmatch(a.Said); m != nil {
			a.Enhanced = m[1]
			a.Said = strings.ReplaceAll(strings.TrimPrefix(a.Said, m[0]), "\n"+m[1]+" ", " ")
		}
	default:
		a.Said = plainError(err)
	}
	return a
}

// plainError says the usual failures of a line in plain words.
func plainError(err error) string {
	var name *net.DNSError
	var wait net.Error
	switch {
	case errors.As(err, &name) && name.IsNotFound:
		return "there is no server called " + name.Name
	case errors.As(err, &wait) && wait.Timeout(), errors.Is(err, os.ErrDeadlineExceeded):
		return "it did not answer in time"
	case errors.Is(err, net.ErrClosed), strings.HasSuffix(err.Error(), "EOF"):
		return "the connection was closed"
	}
	return err.Error()
}

// ownName is what the program calls itself to the server: a host name, or RFC 5321's literal for a machine without one.
func ownName() string {
	name, err := os.Hostname()
	if err != nil || !strings.Contains(name, ".") || !hostLike.MatchString(name) {
		return "[127.0.0.1]"
	}
	return name
}

var hostLike = regexp.MustCompile(`^[A-Za-z0-9.-]+$`)

func ascii(s string) bool {
	return !strings.ContainsFunc(s, func(r rune) bool { return r > 126 })
}
