package words_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ledgerwheel/store/storetest"
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
