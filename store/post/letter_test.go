package post_test

import (
	"bytes"
	"encoding/json"
	"mime"
	"net/mail"
	"os/exec"
	"strings"
	"testing"

	"ledgerwheel/domain/message"
	"ledgerwheel/store"
)

// independent reads a mail by Python's email package, none of whose code is ours, where there is one.
const independent = `import sys, json, email, email.policy
m = email.message_from_bytes(sys.stdin.buffer.read(), policy=email.policy.default)
print(json.dumps({"subject": str(m["subject"]), "from": m["from"].addresses[0].display_name, "parts": [p.get_content_type() for p in m.iter_parts()],
  "text": m.get_body(("plain",)).get_content(), "html": m.get_body(("html",)).get_content(),
  "charsets": [p.get_content_charset() for p in m.iter_parts()], "defects": len(m.defects) + sum(len(p.defects) for p in m.iter_parts())}))`

// TestMailsAreReadByOthers: any script, by the standard library's readers and by Python's.
func TestMailsAreReadByOthers(t *testing.T) {
	t.Parallel()
	b := newBench(t, message.Open)
	b.saveSettings(message.Settings{Server: message.Server{Security: message.StartTLS}, SenderName: "Törn Quäy, Uhren", SenderAddress: "counter@ternquay.example"})
	for name, words := range map[string]string{"German": "Ihre Uhr ist fertig: Größe, Öl & <Feder>", "Greek": "Το ρολόι σας είναι έτοιμο",
		"Hebrew": "השעון שלך מוכן", "Arabic": "ساعتك جاهزة", "Chinese": "您的手表已修好", "emoji": "Ready ⌚ 🎉", "long": strings.Repeat("Écran de très longue longueur ", 12)} {
		text := "Grüß Gott,\n\n" + words + "\n.\nFrom here on\n\n" + strings.Repeat(words+" ", 60) + "\n\nhttps://ternquay.example/c/abc?x=1&y=2"
		subject := words
		if r := []rune(subject); len(r) > 150 {
			subject = string(r[:150])
		}
		id, err := b.WriteMessage(t.Context(), store.Change{Number: b.number, By: b.owner, At: b.now}, message.Message{Topic: message.Ready, Tongue: "de",
			Way: message.Mail, To: "ana@brook.example", Subject: subject, Text: text, State: message.Queued})
		if err != nil {
			t.Fatal(err)
		}
		b.carry(id)
		got := b.server.got()
		l := got[len(got)-1]
		if strings.TrimRight(subject, " ") != strings.TrimRight(l.Subject, " ") || !strings.HasPrefix(l.Text, text) || !strings.Contains(l.Text, "\n-- \nTern Quay Watch Works\n") {
			t.Errorf("%s: subject %q, text %.80q", name, l.Subject, l.Text)
		}
		for _, line := range bytes.Split(l.raw, []byte("\r\n")) {
			if len(line) > 78 && !bytes.HasPrefix(line, []byte("List-")) || bytes.ContainsFunc(line, func(r rune) bool { return r > 126 }) {
				t.Errorf("%s: a line of %d octets (RFC 5322 asks for 78), or not ASCII: %.100q", name, len(line), line)
			}
		}
		h := mail.Header(l.Header)
		from, err := (&mail.AddressParser{WordDecoder: new(mime.WordDecoder)}).Parse(h.Get("From"))
		if err != nil || from.Name != "Törn Quäy, Uhren" {
			t.Errorf("%s: from %v, %v", name, from, err)
		}
		stop := h.Get("List-Unsubscribe")
		if h.Get("Auto-Submitted") != "auto-generated" || h.Get("List-Unsubscribe-Post") != "List-Unsubscribe=One-Click" || !strings.HasPrefix(stop, "<https://ternquay.example/no-mail/") {
			t.Errorf("%s: header %v", name, h)
		}
		if date, err := h.Date(); err != nil || !date.Equal(b.now) {
			t.Errorf("%s: date %v, %v", name, date, err)
		}
		if !strings.Contains(l.HTML, strings.Trim(stop, "<>")) || !strings.Contains(l.HTML, `href="https://ternquay.example/c/abc?x=1&amp;y=2"`) || strings.Contains(l.HTML, "<Feder>") {
			t.Errorf("%s: the second form lacks a link, or takes words for marks", name)
		}
		readByPython(t, name, l.raw, subject, text)
	}
}

func readByPython(t *testing.T, name string, raw []byte, subject, text string) {
	t.Helper()
	python, err := exec.LookPath("python3")
	if err != nil {
		t.Log("no python3: not read by another")
		return
	}
	cmd := exec.Command(python, "-c", independent)
	cmd.Stdin = bytes.NewReader(raw)
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	var read struct {
		Subject, From, Text, HTML string
		Parts, Charsets           []string
		Defects                   int
	}
	if err := json.Unmarshal(out, &read); err != nil {
		t.Fatal(err)
	}
	read.Text = strings.ReplaceAll(read.Text, "\r\n", "\n") // it leaves line ends as they came
	// The header is folded before its first word, which this reader shows as a space.
	if strings.TrimSpace(read.Subject) != strings.TrimSpace(subject) || read.From != "Törn Quäy, Uhren" || !strings.HasPrefix(read.Text, text) || read.Defects != 0 ||
		strings.Join(read.Parts, " ") != "text/plain text/html" || strings.Join(read.Charsets, " ") != "utf-8 utf-8" || !strings.Contains(read.HTML, "</html>") {
		t.Errorf("%s: Python reads subject %q, from %q, parts %v %v, %d defects, text %.80q", name, read.Subject, read.From, read.Parts, read.Charsets, read.Defects, read.Text)
	}
}

// TestNothingIsSmuggledIntoAMail: line ends in what people type make no header, no further recipient and no second mail (RFC 5321
// and RFC 5322 both hang on lines).
func TestNothingIsSmuggledIntoAMail(t *testing.T) {
	t.Parallel()
	b := newBench(t, message.Open)
	const evil = "\r\nBcc: eve@mallory.example\r\n\r\nHello\r\n.\r\nMAIL FROM:<eve@mallory.example>\r\nRCPT TO:<eve@mallory.example>\r\nDATA\r\nevil\r\n.\r\n"
	b.saveSettings(message.Settings{Server: message.Server{Security: message.StartTLS}, SenderName: "Tern" + evil[:20], SenderAddress: "counter@ternquay.example"})
	for _, m := range []message.Message{{Subject: "Ready" + evil, Text: "Text" + evil}, {Subject: "Ready\nBcc: eve@mallory.example", Text: "\n.\n\r\n.\r\n"}} {
		m.Topic, m.Way, m.To, m.State = message.Ready, message.Mail, "ana@brook.example", message.Queued
		id, err := b.WriteMessage(t.Context(), store.Change{Number: b.number, By: b.owner, At: b.now}, m)
		if err != nil {
			t.Fatal(err)
		}
		before := len(b.server.got())
		b.carry(id)
		got := b.server.got()[before:]
		if len(got) != 1 || got[0].to != "ana@brook.example" || len(got[0].Header["Bcc"]) != 0 || !strings.Contains(got[0].HTML, "</html>") {
			t.Errorf("%q: %d mails, header %v", m.Subject, len(got), got)
		}
	}
	// An address that holds a line end goes nowhere.
	id, err := b.WriteMessage(t.Context(), store.Change{Number: b.number, By: b.owner, At: b.now}, message.Message{Topic: message.Ready, Way: message.Mail,
		To: "ana@brook.example>\r\nRCPT TO:<eve@mallory.example", Subject: "S", Text: "T", State: message.Queued})
	if err != nil {
		t.Fatal(err)
	}
	before := len(b.server.got())
	b.carry(id)
	if n := len(b.server.got()); n != before {
		t.Errorf("%d mails went out", n-before)
	}
	b.want(id, message.Refused, "553")
}
