package web_test

import (
	"log/slog"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/message"
	"ledgerwheel/domain/tongue"
	"ledgerwheel/store"
	"ledgerwheel/store/post"
	"ledgerwheel/store/post/letterbox"
	"ledgerwheel/web/webtest"
)

// written is a docket whose customer reads German and is told by mail, with the mail server that takes the letters.
type written struct {
	*webtest.Leaving
	carrier *post.Carrier
	box     *letterbox.Box
	read    int // letters so far
}

func newWritten(t *testing.T) *written {
	t.Helper()
	w := &written{Leaving: webtest.NewLeaving(t)}
	var err error
	if w.box, err = letterbox.Open(w.Clock, slog.New(slog.DiscardHandler)); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { w.box.Close() })
	_, version, err := w.Store.MailSettings(t.Context())
	if err == nil {
		err = w.Store.SaveMailSettings(t.Context(), message.Settings{SenderName: "Tern Quay", SenderAddress: "counter@ternquay.example",
			Server: message.Server{Security: message.StartTLS}}, version, w.Actor(w.Owner), w.Clock())
	}
	if err != nil {
		t.Fatal(err)
	}
	w.carrier = post.New(post.Config{Store: w.Store, Log: slog.New(slog.DiscardHandler), Now: w.Clock, PublicURL: "http://ledger.example",
		Given: &post.Account{Server: w.box.Server()}})
	h, err := w.Store.Head(t.Context(), w.N)
	if err != nil {
		t.Fatal(err)
	}
	h.Customer.Email, h.Customer.Tongue, h.Customer.PreferredContact = "ada@quillmarsh.example", tongue.German, customer.ContactEmail
	if err := w.Store.SaveCustomer(t.Context(), w.Actor(w.Clerk), w.Clock(), h.Customer, 1); err != nil {
		t.Fatal(err)
	}
	return w
}

// letter has what waits carried, and is the one letter that came of it.
func (w *written) letter(subject string, says ...string) letterbox.Letter {
	w.T.Helper()
	sheet, err := w.Store.ToldSheet(w.T.Context(), w.N)
	if err != nil {
		w.T.Fatal(err)
	}
	for _, m := range sheet.Messages {
		if m.State == message.Queued {
			if _, err := w.carrier.Carry(w.T.Context(), m.ID); err != nil {
				w.T.Fatal(err)
			}
		}
	}
	letters := w.box.Letters()
	if len(letters) != w.read+1 {
		w.T.Fatalf("%q: %d letters came, want one more than %d", subject, len(letters), w.read)
	}
	w.read++
	l := letters[0]
	if !strings.HasPrefix(l.Subject, subject) || l.To != "ada@quillmarsh.example" {
		w.T.Errorf("a letter to %s about %q, want %q", l.To, l.Subject, subject)
	}
	for _, want := range append(says, "Guten Tag Ada Quillmarsh,") {
		if !strings.Contains(strings.ReplaceAll(l.Text, "\r\n", "\n"), want) || !strings.Contains(l.HTML, "Ada Quillmarsh") {
			w.T.Errorf("%q lacks %q:\n%s", l.Subject, want, l.Text)
		}
	}
	return l
}

// A customer is written to at each step in her own language, by SMTP, and answers by the link in the letter.
func TestACustomerIsWrittenToAtEachStep(t *testing.T) {
	t.Parallel()
	w := newWritten(t)
	number := w.N.String()
	clerk, bench := w.As(w.Clerk), w.As(w.Watchmaker)

	f := webtest.DraftForm(w.Version(number), webtest.ThreeLines...)
	f.Set("do", "send")
	f.Set("tell", "mail")
	f.Set("tell_own", "Das Glas bleibt.")
	bench.Post(w.Path+"/estimate", f).Want(http.StatusSeeOther)
	l := w.letter("Der Kostenvoranschlag für Ihre Uhr", "299,40", "Das Glas bleibt.")
	at := strings.Index(l.Text, "http://ledger.example/c/")
	if at < 0 {
		t.Fatalf("the letter has no link:\n%s", l.Text)
	}
	link := strings.TrimPrefix(strings.Fields(l.Text[at:])[0], "http://ledger.example")

	her := w.Stranger()
	page := her.Get(link).Want(http.StatusOK)
	if !strings.Contains(page.Body, `lang="de`) {
		t.Error("the private page does not speak German")
	}
	w.Pass(time.Minute)
	var sent bool
	for _, form := range page.Forms(func(_, _, holds string) string { return holds }) {
		if form.Fields.Has("decision") || strings.HasSuffix(form.Action, "/answer") {
			form.Fields.Set("decision", "approve")
			form.Fields.Set("name", "Ada Quillmarsh")
			her.Post(form.Action, form.Fields).Want(http.StatusSeeOther)
			sent = true
		}
	}
	if !sent {
		t.Fatal("the private page takes no answer")
	}
	w.letter("Ihre Zusage zum Kostenvoranschlag")

	promise := func(day, tell string) {
		t.Helper()
		w.Pass(time.Minute)
		clerk.Post(w.Path+"/intake", url.Values{"version": {w.Version(number)}, "complaint": {"Gains a minute a day"}, "service_wanted": {"full-service"},
			"promised_on": {day}, "tell": {tell}}).Want(http.StatusSeeOther)
	}
	promise("2026-12-10", "mail") // a first day is no delay
	promise("2026-12-18", "mail")
	w.letter("Ein späterer Tag für Ihre Uhr", "Neuer Tag: 18. Dezember 2026", "Bisher versprochen: 10. Dezember 2026")
	promise("2026-12-20", "nobody")

	w.Pass(time.Minute)
	bench.Post(w.Path+"/final-test", w.TestForm()).Want(http.StatusSeeOther)
	w.Pass(time.Minute)
	bench.Post(w.Path+"/move", w.MoveForm(number, docket.StageReady, "place", "safe", "place_detail", "", "tell", "mail")).Want(http.StatusSeeOther)
	w.letter("Ihre Uhr ist fertig", "Noch zu zahlen: ")

	head, err := w.Store.Head(t.Context(), w.N)
	if err != nil {
		t.Fatal(err)
	}
	w.Pass(time.Minute)
	err = w.Store.TakePayment(t.Context(), store.Change{Number: w.N, By: w.Actor(w.Clerk), At: w.Clock()}, docket.Payment{Minor: head.Facts.DueMinor, Method: docket.Cash})
	if err != nil {
		t.Fatal(err)
	}
	clerk.Post(w.Path+"/hand-over", w.LeaveForm()).Want(http.StatusSeeOther)
	story := clerk.Get(w.Path + "/told").Want(http.StatusOK).All("story-line")
	if len(story) != w.read {
		t.Errorf("the sheet tells of %d words, and %d letters came", len(story), w.read)
	}
	for _, line := range story {
		if !strings.Contains(webtest.TextOf(line), "sent") {
			t.Errorf("a letter that came stands as %q", webtest.TextOf(line))
		}
	}
}
