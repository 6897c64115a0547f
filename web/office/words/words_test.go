package words_test

import (
	"log/slog"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/message"
	"ledgerwheel/store/post"
	"ledgerwheel/store/post/letterbox"
	"ledgerwheel/store/storetest"
	"ledgerwheel/web"
	"ledgerwheel/web/webtest"
)

func TestMain(m *testing.M) { storetest.Main(m) }

// The owner's words are looked at with a docket's data, refused beside the field where a placeholder is wrong, kept, and
// given up again.
func TestWordsAreTheOwners(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.TakeIn()
	owner := s.As(s.Owner)
	const path = "/messages/ready/de"
	page := owner.Get(path).Want(http.StatusOK)
	if got := page.Typed("text"); !strings.Contains(got, "{customer}") || !strings.Contains(page.Text("placeholders"), "the customer’s name") {
		t.Errorf("opens with %q", got)
	}
	form := func(text, do string) url.Values {
		return url.Values{"subject": {"Fertig: {watch}"}, "text": {text}, "short": {"Fertig."}, "docket": {number}, "do": {do}}
	}
	page = owner.Post(path, form("Hallo {custmer}, fertig!", "save")).Want(http.StatusUnprocessableEntity)
	if got := page.Problem("text"); !strings.Contains(got, "{customer} is meant") || page.Typed("text") != "Hallo {custmer}, fertig!" {
		t.Errorf("refused with %q, shown again %q", got, page.Typed("text"))
	}
	page = owner.Post(path, form("Hallo {customer}, <b>fertig</b>!\nOffen: {still to pay}", "show")).Want(http.StatusOK)
	if got := page.Text("preview-text"); got != "Hallo Ada Quillmarsh, <b>fertig</b>! Offen: nichts mehr" {
		t.Errorf("previewed as %q", got)
	}
	if got := page.Text("preview-subject"); got != "Fertig: Gannet Harbourmaster" {
		t.Errorf("subject previewed as %q", got)
	}
	if got := owner.Get(path).Want(http.StatusOK).Typed("text"); strings.Contains(got, "Hallo") {
		t.Error("a look kept the words")
	}
	owner.Post(path, form("Hallo {customer}.", "save")).Want(http.StatusSeeOther)
	if page = owner.Get(path).Want(http.StatusOK); page.Typed("text") != "Hallo {customer}." || !strings.Contains(page.Body, "Your words stand, saved by Ottilie Brandt") {
		t.Errorf("kept %q", page.Typed("text"))
	}
	owner.Post(path, form("x", "reset")).Want(http.StatusSeeOther)
	if got := owner.Get(path).Want(http.StatusOK).Typed("text"); !strings.Contains(got, "Guten Tag {customer}") {
		t.Errorf("set back to %q", got)
	}
	owner.Get("/messages/weather/de").Want(http.StatusNotFound)
	owner.Get("/messages/ready/xx").Want(http.StatusNotFound)
	s.As(s.Clerk).Get("/messages").Want(http.StatusForbidden)
}

// TestWordsGoOutAsATestMail: what is typed, filled with a docket's data, goes to an address of the owner's and to nobody else; nothing
// is kept by it.
func TestWordsGoOutAsATestMail(t *testing.T) {
	t.Parallel()
	box, err := letterbox.Open(time.Now, slog.New(slog.DiscardHandler))
	if err != nil {
		t.Fatal(err)
	}
	defer box.Close()
	account := post.Account{Server: box.Server()}
	s := webtest.NewSite(t, func(c *web.Config) {
		c.Post = post.New(post.Config{Store: c.Store, Log: slog.New(slog.DiscardHandler), Now: time.Now, Given: &account})
	})
	owner := s.As(s.Owner)
	if err := s.Store.SaveMailSettings(t.Context(), message.Settings{Server: message.Server{Security: message.StartTLS},
		SenderAddress: "counter@ternquay.example"}, 0, s.Actor(s.Owner), s.Clock()); err != nil {
		t.Fatal(err)
	}
	number := s.TakeIn()
	const path = "/messages/ready/fr"
	form := func(text, to string) url.Values {
		return url.Values{"subject": {"Prête : {watch}"}, "text": {text}, "short": {"Prête."}, "docket": {number}, "do": {"test"}, "to": {to}}
	}
	if page := owner.Post(path, form("Bonjour {customer}", "nobody")).Want(http.StatusUnprocessableEntity); page.Problem("to") == "" || page.Value("to") != "nobody" {
		t.Error("an address that is none is tried, or lost")
	}
	owner.Post(path, form("Bonjour {custmer}", "una@tern.example")).Want(http.StatusUnprocessableEntity)
	if n := len(box.Letters()); n > 0 {
		t.Fatalf("%d letters went out", n)
	}
	page := owner.Post(path, form("Bonjour {customer}, c’est prêt.", "una@tern.example")).Want(http.StatusOK)
	if got := page.Text("words-tested"); !strings.Contains(got, "The mail server has taken it.") {
		t.Errorf("it says %q", got)
	}
	letters := box.Letters()
	if len(letters) != 1 || letters[0].To != "una@tern.example" || letters[0].Subject != "Prête : Gannet Harbourmaster" ||
		!strings.Contains(letters[0].Text, "Bonjour Ada Quillmarsh, c’est prêt.") {
		t.Errorf("the letters are %+v", letters)
	}
	if got := owner.Get(path).Want(http.StatusOK).Typed("text"); strings.Contains(got, "c’est prêt") {
		t.Error("a test kept the words")
	}
	box.Close()
	if got := owner.Post(path, form("Bonjour {customer}", "una@tern.example")).Want(http.StatusOK).Text("words-tested"); !strings.Contains(got, "not reached") {
		t.Errorf("with the server away it says %q", got)
	}
}

func TestRemindersAreTheOwners(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	owner := s.As(s.Owner)
	page := owner.Post("/messages/reminders", url.Values{"not_collected_days": {"soon"}, "warranty_days": {"400"}, "service_years": {""}}).
		Want(http.StatusUnprocessableEntity)
	if page.Problem("not_collected_days") == "" || page.Problem("warranty_days") == "" || page.Value("not_collected_days") != "soon" {
		t.Error("days that are none are kept, or what was typed is lost")
	}
	owner.Post("/messages/reminders", url.Values{"not_collected_days": {"21"}, "warranty_days": {"0"}, "service_years": {""}}).Want(http.StatusSeeOther)
	page = owner.Get("/messages").Want(http.StatusOK)
	if page.Value("not_collected_days") != "21" || page.Value("service_years") != "0" {
		t.Errorf("kept %q and %q", page.Value("not_collected_days"), page.Value("service_years"))
	}
}
