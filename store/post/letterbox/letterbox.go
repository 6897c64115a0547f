// Package letterbox is a mail server inside the program, for the demo: it takes every letter and sends none on.
package letterbox

import (
	"bytes"
	"errors"
	"io"
	"log"
	"log/slog"
	"mime"
	"mime/multipart"
	"mime/quotedprintable"
	"net"
	"net/mail"
	"net/netip"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/emersion/go-smtp"

	"ledgerwheel/domain/message"
)

// What is kept, in memory alone: the newest letters, none above a size.
const (
	maxLetters = 200
	maxBytes   = 1 << 20
)

// Letter is a mail as it came.
type Letter struct {
	ID       int
	At       time.Time
	From, To string // of the envelope
	Header   mail.Header
	Subject  string
	Text     string
	HTML     string
	Raw      []byte // as it came over the line
}

// Box keeps letters. It is safe for use by many goroutines.
type Box struct {
	server *smtp.Server
	at     netip.AddrPort
	now    func() time.Time

	mu      sync.Mutex
	last    int
	letters []Letter // oldest first
}

// Open listens on a free port of this machine alone.
func Open(now func() time.Time, logger *slog.Logger) (*Box, error) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return nil, err
	}
	b := &Box{now: now, at: l.Addr().(*net.TCPAddr).AddrPort()}
	b.server = smtp.NewServer(smtp.BackendFunc(func(*smtp.Conn) (smtp.Session, error) { return &session{box: b}, nil }))
	b.server.Domain, b.server.EnableSMTPUTF8 = "letterbox.example", true
	b.server.MaxMessageBytes, b.server.MaxRecipients = maxBytes, 10
	b.server.ReadTimeout, b.server.WriteTimeout = time.Minute, time.Minute
	b.server.ErrorLog = log.New(io.Discard, "", 0)
	go func() {
		if err := b.server.Serve(l); err != nil && !errors.Is(err, smtp.ErrServerClosed) && !errors.Is(err, net.ErrClosed) {
			logger.Error("the letter box ended", "error", err)
		}
	}()
	return b, nil
}

// Close takes no more letters.
func (b *Box) Close() error { return b.server.Close() }

// Server is where it listens.
func (b *Box) Server() message.Server {
	return message.Server{Host: b.at.Addr().String(), Port: int(b.at.Port()), Security: message.Open}
}

// Letters are those that are kept, newest first.
func (b *Box) Letters() []Letter {
	b.mu.Lock()
	defer b.mu.Unlock()
	list := slices.Clone(b.letters)
	slices.Reverse(list)
	return list
}

// Letter is one that is kept.
func (b *Box) Letter(id int) (Letter, bool) {
	b.mu.Lock()
	defer b.mu.Unlock()
	for _, l := range b.letters {
		if l.ID == id {
			return l, true
		}
	}
	return Letter{}, false
}

func (b *Box) keep(l Letter) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.last++
	l.ID, l.At = b.last, b.now()
	b.letters = append(b.letters, l)
	if len(b.letters) > maxLetters {
		b.letters = slices.Delete(b.letters, 0, len(b.letters)-maxLetters)
	}
}

// session is one conversation.
type session struct {
	box      *Box
	from, to string
}

func (s *session) Reset()        { s.from, s.to = "", "" }
func (s *session) Logout() error { return nil }

func (s *session) Mail(from string, _ *smtp.MailOptions) error {
	s.from = from
	return nil
}

func (s *session) Rcpt(to string, _ *smtp.RcptOptions) error {
	s.to = to
	return nil
}

func (s *session) Data(r io.Reader) error {
	raw, err := io.ReadAll(r)
	if err != nil {
		return err
	}
	l, err := Read(raw)
	if err != nil {
		return &smtp.SMTPError{Code: 554, EnhancedCode: smtp.EnhancedCode{5, 6, 0}, Message: err.Error()}
	}
	l.From, l.To = s.from, s.to
	s.box.keep(l)
	return nil
}

// Read reads a mail: its header, and its text in both forms.
func Read(raw []byte) (Letter, error) {
	m, err := mail.ReadMessage(bytes.NewReader(raw))
	if err != nil {
		return Letter{}, err
	}
	l := Letter{Header: m.Header, Raw: raw}
	if l.Subject, err = new(mime.WordDecoder).DecodeHeader(m.Header.Get("Subject")); err != nil {
		return Letter{}, err
	}
	return l, l.read(m.Header.Get("Content-Type"), m.Header.Get("Content-Transfer-Encoding"), m.Body)
}

// read takes the forms out of a body, which may be of several parts.
func (l *Letter) read(contentType, encoding string, body io.Reader) error {
	kind, params, err := mime.ParseMediaType(contentType)
	if err != nil {
		return err
	}
	if strings.HasPrefix(kind, "multipart/") {
		parts := multipart.NewReader(body, params["boundary"])
		for {
			p, err := parts.NextRawPart()
			if errors.Is(err, io.EOF) {
				return nil
			}
			if err != nil {
				return err
			}
			if err := l.read(p.Header.Get("Content-Type"), p.Header.Get("Content-Transfer-Encoding"), p); err != nil {
				return err
			}
		}
	}
	if strings.EqualFold(encoding, "quoted-printable") {
		body = quotedprintable.NewReader(body)
	}
	text, err := io.ReadAll(body)
	if err != nil {
		return err
	}
	switch kind {
	case "text/plain":
		l.Text = strings.ReplaceAll(string(text), "\r\n", "\n")
	case "text/html":
		l.HTML = string(text)
	}
	return nil
}
