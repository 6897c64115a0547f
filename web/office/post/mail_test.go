package post_test

import (
	"log/slog"
	"net/http"
	"net/mail"
	"net/url"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/message"
	"ledgerwheel/store/keyring"
	carrier "ledgerwheel/store/post"
	"ledgerwheel/store/post/letterbox"
	"ledgerwheel/store/storetest"
	"ledgerwheel/web"
	"ledgerwheel/web/webtest"
)

func TestMain(m *testing.M) { storetest.Main(m) }

func settings(fields ...string) url.Values {
	f := url.Values{"version": {"0"}, "host": {"smtp.tern.example"}, "port": {"587"}, "security": {"starttls"}, "user": {"counter"},
		"password": {"loupe tweezers tide"}, "sender_name": {"Tern Quay"}, "sender_address": {"counter@ternquay.example"}, "reply_to": {""}}
	for i := 0; i < len(fields); i += 2 {
		f.Set(fields[i], fields[i+1])
	}
	return f
}

// TestTheOwnerSeesMailThatWaits: mail that waits or was refused stands on the owner's page and on that of mail, with since when,
// until its customer is told otherwise.
func TestTheOwnerSeesMailThatWaits(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	owner, clerk := s.As(s.Owner), s.As(s.Clerk)
	if len(owner.Get("/owner").All("owner-asks")) > 0 {
		t.Error("mail is spoken of before there is any")
	}
	number := s.TakeIn()
	for range 2 {
		clerk.Post("/dockets/"+number+"/told", url.Values{"topic": {"question"}, "question": {"Keep the glass?"}, "tell": {"mail"}}).Want(http.StatusSeeOther)
	}
	webtest.Contains(t, "two wait", owner.Get("/owner").Text("owner-asks"), "2 messages wait, since 24 Nov 2026")
	list, err := s.Store.Messages(t.Context(), s.Number(number))
	if err != nil || len(list) != 2 {
		t.Fatal(len(list), err)
	}
	at := s.Clock()
	_, row, err := s.Store.BeginDelivery(t.Context(), list[0].ID, true, at)
	if err == nil {
		_, err = s.Store.EndDelivery(t.Context(), row, at, message.Answer{Step: message.ToAddress, Code: 550, Said: "no such box"}, at)
	}
	if err != nil {
		t.Fatal(err)
	}
	ask := owner.Get("/owner").Want(http.StatusOK)
	webtest.Contains(t, "one waits, one was refused", ask.Text("owner-asks"), "1 message waits, since", "1 was refused, since 24 Nov 2026")
	webtest.Contains(t, "the page of mail", owner.Get("/mail").Want(http.StatusOK).Text("mail-refused"), "1 message was refused", "Today")
	webtest.Contains(t, "Today", owner.Get("/?show=tell").Want(http.StatusOK).Text("docket-row"), number, "The mail was refused")
	if page := clerk.Get("/owner"); page.Status != http.StatusForbidden {
		t.Errorf("a clerk sees the owner's page: %d", page.Status)
	}
}

// TestSettingsOfMail: what can't work is said beside its field, and the password lies in the key ring and goes back out on no page.
func TestSettingsOfMail(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t, func(c *web.Config) {
		c.Post = carrier.New(carrier.Config{Store: c.Store, Log: slog.New(slog.DiscardHandler), Now: time.Now})
	})
	owner := s.As(s.Owner)
	if text := owner.Get("/mail").Want(http.StatusOK).Text("mail-standing"); !strings.Contains(text, "No mail server is set up.") {
		t.Errorf("it says %q", text)
	}
	for field, wrong := range map[string][]string{"host": {"https://smtp.tern.example", "a b"}, "port": {"0", "70000", "five"}, "security": {"none", "magic"},
		"sender_address": {"", "counter", "A <a@b.example>"}, "reply_to": {"x"}, "password": {""}} {
		for _, value := range wrong {
			if body := owner.Post("/mail", settings(field, value)).Want(http.StatusUnprocessableEntity).Body; strings.Contains(body, "loupe tweezers") {
				t.Errorf("%s %q: the password goes back out", field, value)
			}
		}
	}
	owner.Post("/mail", settings()).Want(http.StatusSeeOther)
	m, version, err := s.Store.MailSettings(t.Context())
	if err != nil || version != 1 || m.Host != "smtp.tern.example" || m.Port != 587 || !m.Ready() {
		t.Fatalf("%+v, version %d, %v", m, version, err)
	}
	if word, ok, err := s.Store.Keys().Word(keyring.Mail, m.Server.Whom()); err != nil || !ok || word != "loupe tweezers tide" {
		t.Errorf("the password: %t, %v", ok, err)
	}
	if strings.Contains(owner.Get("/mail").Body, "loupe tweezers") {
		t.Error("the page has the password")
	}
	owner.Post("/mail", settings("version", "0")).Want(http.StatusConflict)
	owner.Post("/mail", settings("version", "1", "password", "")).Want(http.StatusSeeOther)
	// Another server never gets this one's password.
	owner.Post("/mail", settings("version", "2", "password", "", "host", "smtp.other.example")).Want(http.StatusUnprocessableEntity)
}

// TestTestMailAndLetters sends a test mail to the demo's own server and reads it on its page.
func TestTestMailAndLetters(t *testing.T) {
	t.Parallel()
	box, err := letterbox.Open(time.Now, slog.New(slog.DiscardHandler))
	if err != nil {
		t.Fatal(err)
	}
	defer box.Close()
	account := carrier.Account{Server: box.Server()}
	s := webtest.NewSite(t, func(c *web.Config) {
		c.Post, c.Letters = carrier.New(carrier.Config{Store: c.Store, Log: slog.New(slog.DiscardHandler), Now: time.Now, Given: &account}), box
	})
	owner := s.As(s.Owner)
	if err := s.Store.SaveMailSettings(t.Context(), message.Settings{Server: message.Server{Security: message.StartTLS},
		SenderAddress: "counter@ternquay.example"}, 0, s.Actor(s.Owner), s.Clock()); err != nil {
		t.Fatal(err)
	}
	owner.Post("/mail/test", url.Values{"to": {"nobody"}}).Want(http.StatusUnprocessableEntity)
	tested := owner.Post("/mail/test", url.Values{"to": {"una@tern.example"}}).Want(http.StatusOK).Text("mail-tested")
	for _, step := range []string{"Connected", "Sender accepted", "Recipient accepted", "Message accepted"} {
		if !strings.Contains(tested, step) {
			t.Errorf("the steps are %q, without %q", tested, step)
		}
	}
	if list := owner.Get("/letters").Want(http.StatusOK).Body; !strings.Contains(list, "/letters/1") {
		t.Error("no letter is listed")
	}
	one := owner.Get("/letters/1").Want(http.StatusOK)
	if !strings.Contains(one.Text("letter-text"), "Nothing needs to be done.") || !strings.Contains(one.Header.Get("Content-Security-Policy"), "frame-src 'self'") {
		t.Error("the letter's page lacks its text or its frame")
	}
	framed := owner.Get("/letters/1/html").Want(http.StatusOK)
	if p := framed.Header.Get("Content-Security-Policy"); !strings.Contains(p, "sandbox") || !strings.Contains(p, "default-src 'none'") {
		t.Errorf("the letter's own page may %q", p)
	}
	raw := owner.Get("/letters/1/letter.eml").Want(http.StatusOK)
	if m, err := mail.ReadMessage(strings.NewReader(raw.Body)); err != nil || m.Header.Get("Message-Id") == "" || raw.Header.Get("Content-Type") != "message/rfc822" {
		t.Errorf("the letter as it came: %v, %v", err, raw.Header)
	}
	owner.Get("/letters/2").Want(http.StatusNotFound)
	owner.Get("/letters/2/letter.eml").Want(http.StatusNotFound)
	box.Close()
	tested = owner.Post("/mail/test", url.Values{"to": {"una@tern.example"}}).Want(http.StatusOK).Text("mail-tested")
	if !strings.Contains(tested, "The mail server was not reached") {
		t.Errorf("without a server the test says %q", tested)
	}
}

// TestWhereSealsAreMailed: the address is kept and shown, a wrong one is refused beside its field with what was typed, and the
// page says why a seal should lie elsewhere.
func TestWhereSealsAreMailed(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	keys, err := keyring.Open(t.TempDir()+"/keys", "")
	if err != nil {
		t.Fatal(err)
	}
	s.Store.UseKeys(keys)
	owner := s.As(s.Owner)
	webtest.Contains(t, "the page", webtest.TextOf(owner.Get("/mail").Want(http.StatusOK).Document), "The day’s seal", "can’t make it agree with a seal that lies elsewhere")
	refused := owner.Post("/mail", settings("seals_to", "my accountant")).Want(http.StatusUnprocessableEntity)
	if refused.Problem("seals_to") == "" || refused.Value("seals_to") != "my accountant" {
		t.Errorf("refused with %q, kept %q", refused.Problem("seals_to"), refused.Value("seals_to"))
	}
	if m, _, err := s.Store.MailSettings(t.Context()); err != nil || m.SealsTo != "" || m.Host != "" {
		t.Errorf("kept half: %+v, %v", m, err)
	}
	owner.Post("/mail", settings("seals_to", "keeper@elsewhere.example")).Want(http.StatusSeeOther)
	if got := owner.Get("/mail").Want(http.StatusOK).Value("seals_to"); got != "keeper@elsewhere.example" {
		t.Errorf("shown is %q", got)
	}
	owner.Post("/mail", settings("version", "1", "seals_to", "")).Want(http.StatusSeeOther)
	if m, _, err := s.Store.MailSettings(t.Context()); err != nil || m.SealsTo != "" {
		t.Errorf("it can't be taken off: %+v, %v", m, err)
	}
}
