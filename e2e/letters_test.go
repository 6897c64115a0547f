package e2e

import (
	"bytes"
	"encoding/json"
	"io"
	"mime"
	"mime/multipart"
	"net/mail"
	"os/exec"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/html"
)

// letter is a mail as it came, read by the standard library, which made none of it.
type letter struct {
	t                   *testing.T
	at                  string // where it stands among the demo's letters
	header              mail.Header
	subject, text, html string
}

// readLetter takes a mail apart and checks that any mail program can: RFC 5322 asks for lines of at most 78 octets, RFC 2046
// section 5.1.4 for the plainest of the alternatives first, RFC 2045 for encodings that are named.
func readLetter(t *testing.T, raw []byte) letter {
	t.Helper()
	m, err := mail.ReadMessage(bytes.NewReader(raw))
	if err != nil {
		t.Fatalf("a letter can't be read: %v\n%s", err, raw)
	}
	l := letter{t: t, header: m.Header}
	if l.subject, err = new(mime.WordDecoder).DecodeHeader(m.Header.Get("Subject")); err != nil {
		t.Errorf("subject: %v", err)
	}
	for line := range bytes.SplitSeq(raw, []byte("\r\n")) {
		if len(line) > 78 && !bytes.HasPrefix(line, []byte("List-")) || bytes.ContainsFunc(line, func(r rune) bool { return r > 126 }) {
			t.Errorf("%q: a line of %d octets, or not ASCII: %.100q", l.subject, len(line), line)
		}
	}
	kind, params, err := mime.ParseMediaType(m.Header.Get("Content-Type"))
	if err != nil || kind != "multipart/alternative" || m.Header.Get("Mime-Version") != "1.0" {
		t.Fatalf("%q is %s (%v), MIME %q", l.subject, kind, err, m.Header.Get("Mime-Version"))
	}
	var kinds []string
	for parts := multipart.NewReader(m.Body, params["boundary"]); ; {
		p, err := parts.NextPart() // undoes quoted-printable
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatalf("%q: %v", l.subject, err)
		}
		kind, params, err := mime.ParseMediaType(p.Header.Get("Content-Type"))
		if err != nil || !strings.EqualFold(params["charset"], "utf-8") {
			t.Errorf("%q: a part is %s in %q: %v", l.subject, kind, params["charset"], err)
		}
		words, err := io.ReadAll(p)
		if err != nil {
			t.Errorf("%q: %v", l.subject, err)
		}
		kinds = append(kinds, kind)
		if kind == "text/html" {
			l.html = string(words)
		} else {
			l.text = strings.ReplaceAll(string(words), "\r\n", "\n")
		}
	}
	if !slices.Equal(kinds, []string{"text/plain", "text/html"}) {
		t.Errorf("%q has %q", l.subject, kinds)
	}
	l.agreesWithPython(raw)
	return l
}

// pythonReads prints what Python's email package makes of a mail: an implementation of its own.
const pythonReads = `import sys, json, email, email.policy
m = email.message_from_bytes(sys.stdin.buffer.read(), policy=email.policy.default)
print(json.dumps({"subject": str(m["subject"]), "text": m.get_body(("plain",)).get_content(), "html": m.get_body(("html",)).get_content(),
  "defects": len(m.defects) + sum(len(p.defects) for p in m.iter_parts())}))`

func (l letter) agreesWithPython(raw []byte) {
	l.t.Helper()
	python, err := exec.LookPath("python3")
	if err != nil {
		return
	}
	cmd := exec.Command(python, "-c", pythonReads)
	cmd.Stdin = bytes.NewReader(raw)
	out, err := cmd.Output()
	if err != nil {
		l.t.Fatal(err)
	}
	var read struct {
		Subject, Text, HTML string
		Defects             int
	}
	if err := json.Unmarshal(out, &read); err != nil {
		l.t.Fatal(err)
	}
	plain := func(s string) string { return strings.TrimRight(strings.ReplaceAll(s, "\r\n", "\n"), "\n") }
	if read.Defects > 0 || strings.TrimSpace(read.Subject) != l.subject || plain(read.Text) != plain(l.text) || plain(read.HTML) != plain(l.html) {
		l.t.Errorf("Python reads another letter: %d defects, %q\n%s", read.Defects, read.Subject, read.Text)
	}
}

// says checks that both forms of the letter read each of the words.
func (l letter) says(words ...string) letter {
	l.t.Helper()
	page, err := html.Parse(strings.NewReader(l.html))
	if err != nil {
		l.t.Fatal(err)
	}
	var seen strings.Builder
	for n := range page.Descendants() {
		if n.Type == html.TextNode {
			seen.WriteString(n.Data)
		}
	}
	plain, shown := strings.Join(strings.Fields(l.text), " "), strings.Join(strings.Fields(seen.String()), " ")
	for _, w := range words {
		if w = strings.Join(strings.Fields(w), " "); !strings.Contains(plain, w) || !strings.Contains(shown, w) {
			l.t.Errorf("%q does not say %q in both forms:\n%s\n%s", l.subject, w, l.text, l.html)
		}
	}
	return l
}

// link is the address in the letter that begins as told, the same in both forms.
func (l letter) link(begins string) string {
	l.t.Helper()
	_, after, there := strings.Cut(l.text, begins)
	if !there {
		l.t.Fatalf("%q has no link to %s:\n%s", l.subject, begins, l.text)
	}
	rest, _, _ := strings.Cut(after, "\n")
	address := begins + strings.TrimSpace(rest)
	if !strings.Contains(l.html, `href="`+address+`"`) {
		l.t.Errorf("%q: its second form has another link than %s", l.subject, address)
	}
	return address
}

// postbag is what the demo's mail server took for one address, read on the page of letters.
type postbag struct {
	*person  // who looks
	to       string
	in       string // language of the letters
	greeting string
	read     int
}

// newest waits for the next letter, which must be the only one since, and reads it.
func (b *postbag) newest(subject string) letter {
	b.t.Helper()
	rows := b.rows(b.read + 1)
	b.read++
	if len(rows) != b.read {
		b.fatalf("%q: %d letters to %s, want %d", subject, len(rows), b.to, b.read)
	}
	b.open(rows[0])
	b.within("letter-text").sees(b.greeting)
	raw := b.attr(byTest("letter-raw"), "href")
	res, body := b.get(raw)
	if res.StatusCode != 200 {
		b.fatalf("%s: %s", raw, res.Status)
	}
	l := readLetter(b.t, body)
	l.at = rows[0]
	if to, err := l.header.AddressList("To"); err != nil || len(to) != 1 || to[0].Address != b.to || !strings.HasPrefix(l.subject, subject) ||
		l.header.Get("Content-Language") != b.in || l.header.Get("Auto-Submitted") == "" && l.header.Get("Message-Id") == "" {
		b.errorf("a letter to %v (%v) about %q in %q, want %q", to, err, l.subject, l.header.Get("Content-Language"), subject)
	}
	return l
}

// rows are the addresses of the letters to whom it may concern, newest first, once there are so many; a letter comes within
// seconds.
func (b *postbag) rows(atLeast int) []string {
	b.t.Helper()
	for deadline := time.Now().Add(45 * time.Second); ; time.Sleep(300 * time.Millisecond) {
		b.open("/letters")
		var rows []string
		for i := range b.count(byTest("letter")) {
			row := `:nth-child(` + strconv.Itoa(i+1) + ` of ` + byTest("letter") + `)`
			if strings.Contains(b.text(row), b.to) {
				rows = append(rows, b.attr(row+" a", "href"))
			}
		}
		if len(rows) >= atLeast {
			return rows
		}
		if time.Now().After(deadline) {
			b.fatalf("%d letters to %s came, want %d", len(rows), b.to, atLeast)
		}
	}
}
