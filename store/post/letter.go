package post

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"html/template"
	"net/mail"
	"regexp"
	"strings"
	"time"

	gomail "github.com/wneessen/go-mail"
	"golang.org/x/net/idna"

	"ledgerwheel/domain/message"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/tongue"
)

// Letter is one mail as it goes out. Composed twice it is the same to the byte, so that a mail that is sent again is the same
// mail.
type Letter struct {
	MailID    string // Message-ID without its brackets
	Date      time.Time
	From      mail.Address
	ReplyTo   string // "" for From
	To        string
	Subject   string
	Text      string
	HTML      string // the second form as a whole document; "" to make it of Text
	Shop      string
	Tongue    tongue.Tongue
	StopURL   string // where the customer asks for no more mail; "" for none
	Automatic bool   // written by the program, not by a person at that moment
	Files     []File // that go with it; it has no second form then
}

// File is a file that goes with a mail.
type File struct {
	Name string
	Type string // as in RFC 6838
	Data []byte
}

// compose makes the message of RFC 5322 with both forms of its text (RFC 2046 section 5.1.4). The error says what is wrong
// with an address.
func (l Letter) compose() (*gomail.Msg, error) {
	to, err := asciiDomain(l.To)
	if err != nil {
		return nil, err
	}
	sum := sha256.Sum256([]byte(l.MailID + "\n" + l.Text))
	m := gomail.NewMsg(gomail.WithNoDefaultUserAgent(), gomail.WithEncoding(gomail.EncodingQP), gomail.WithBoundary("lw_"+hex.EncodeToString(sum[:12])))
	m.FromMailAddress(&l.From)
	m.ToMailAddress(&mail.Address{Address: to})
	if l.ReplyTo != "" {
		m.ReplyToMailAddress(&mail.Address{Address: l.ReplyTo})
	}
	m.SetMessageIDWithValue(l.MailID)
	m.SetDateWithValue(l.Date)
	m.Subject(text.Line(l.Subject)) // of one line
	m.SetGenHeader(gomail.HeaderContentLang, string(l.Tongue.Or(tongue.English)))
	if l.Automatic {
		m.SetGenHeader("Auto-Submitted", "auto-generated") // RFC 3834 section 5: nobody's holiday answers it
	}
	switch {
	case strings.HasPrefix(l.StopURL, "https://"): // RFC 8058 has one click over https alone
		if err := m.SetListUnsubscribeOneClick(l.StopURL); err != nil {
			return nil, err
		}
	case l.StopURL != "":
		m.SetListUnsubscribe(l.StopURL)
	}
	m.SetBodyString(gomail.TypeTextPlain, l.plain())
	if len(l.Files) == 0 { // with files it is text alone: one boundary can't part two things
		m.AddAlternativeString(gomail.TypeTextHTML, l.page())
	}
	for _, f := range l.Files {
		err := m.AttachReader(f.Name, bytes.NewReader(f.Data), gomail.WithFileContentType(gomail.ContentType(f.Type)))
		if err != nil {
			return nil, err
		}
	}
	return m, nil
}

// asciiDomain writes an address's domain as servers know it (RFC 5891).
func asciiDomain(address string) (string, error) {
	at := strings.LastIndexByte(address, '@')
	if at < 1 || !message.IsAddress(address) {
		return "", fmt.Errorf("%q is no e-mail address", address)
	}
	domain, err := idna.Lookup.ToASCII(address[at+1:])
	if err != nil {
		return "", fmt.Errorf("%q is no e-mail address: %w", address, err)
	}
	return address[:at+1] + domain, nil
}

// plain is the text with what stands below the line that RFC 3676 section 4.3 sets before a signature.
func (l Letter) plain() string {
	words := strings.TrimRight(l.Text, "\n") + "\n\n-- \n" + l.Shop + "\n"
	if l.StopURL != "" {
		words += l.Tongue.Say("mail.stop") + "\n" + l.StopURL + "\n"
	}
	return words
}

var pageOf = template.Must(template.New("letter").Parse(`<!doctype html>
<html lang="{{.Lang}}"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width"><title>{{.Subject}}</title></head>
<body style="margin:0;padding:24px 16px;background:#F7F3EA;color:#211C16;font:16px/1.5 sans-serif">
<div style="max-width:600px;margin:0 auto;padding:24px;background:#FFFDF8;border:1px solid #D9D0BD">
{{.Content}}
</div></body></html>
`))

var footOf = template.Must(template.New("foot").Parse(`<div style="max-width:612px;overflow-wrap:anywhere;margin:24px auto 0;padding-top:16px;border-top:1px solid #D9D0BD;color:#6A6053;font-size:14px" dir="auto">{{.Shop}}{{if .StopURL}}<br>{{.Stop}}<br><a href="{{.StopURL}}" style="color:#24456B">{{.StopURL}}</a>{{end}}</div>
`))

// page is the second form, with no picture and nothing fetched from anywhere. What the message has of it is a whole document, at
// whose end the shop and the way to no more mail are set.
func (l Letter) page() string {
	foot := l.made(footOf, "")
	if before, after, ok := strings.Cut(l.HTML, "</body>"); ok {
		return before + foot + "</body>" + after
	}
	return l.made(pageOf, paragraphs(l.Text)+template.HTML(foot)) //nolint:gosec // both are made by templates
}

func (l Letter) made(form *template.Template, content template.HTML) string {
	var b strings.Builder
	err := form.Execute(&b, map[string]any{"Lang": string(l.Tongue.Or(tongue.English)), "Subject": l.Subject, "Content": content, "Shop": l.Shop,
		"StopURL": l.StopURL, "Stop": l.Tongue.Say("mail.stop")})
	if err != nil {
		panic(err) // nothing is asked of the template that it could not do
	}
	return b.String()
}

var webAddress = regexp.MustCompile(`https?://[^\s<>"']*[^\s<>"'.,;:!?)]`)

// paragraphs writes plain text as HTML: blank lines part paragraphs, and web addresses become links. Each paragraph finds its
// own direction.
func paragraphs(text string) template.HTML {
	var b strings.Builder
	for _, p := range strings.Split(strings.TrimSpace(text), "\n\n") {
		if strings.TrimSpace(p) == "" {
			continue
		}
		b.WriteString(`<p dir="auto" style="margin:0 0 16px">`)
		last := 0
		for _, at := range webAddress.FindAllStringIndex(p, -1) {
			link := template.HTMLEscapeString(p[at[0]:at[1]])
			b.WriteString(lines(p[last:at[0]]) + `<a href="` + link + `" style="color:#24456B">` + link + `</a>`)
			last = at[1]
		}
		b.WriteString(lines(p[last:]) + "</p>\n")
	}
	return template.HTML(b.String()) //nolint:gosec // every piece is escaped above
}

func lines(text string) string {
	return strings.ReplaceAll(template.HTMLEscapeString(text), "\n", "<br>\n")
}
