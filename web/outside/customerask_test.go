package outside_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/link"
	"ledgerwheel/web/webtest"
)

// TestCustomerAsksAndIsAnswered follows a question from the private page to the docket and back.
func TestCustomerAsksAndIsAnswered(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.Sent()
	path := linkPath(s, number)
	ada, clerk := s.Stranger(), s.As(s.Clerk)
	ask := func(words string) *webtest.Answer {
		return ada.Post(path+"/question?in=de", url.Values{"question": {words}})
	}
	drawn := s.Version(number) // a form of the counter's, opened before the question
	if a := ask("").Want(http.StatusUnprocessableEntity); !strings.Contains(a.Problem("question"), "wissen möchten") {
		t.Errorf("nothing asked: %q", a.Problem("question"))
	}
	if a := ask(strings.Repeat("x", link.MaxQuestion+1)).Want(http.StatusUnprocessableEntity); a.Problem("question") == "" ||
		len(a.Typed("question")) != link.MaxQuestion+1 {
		t.Error("what was too long is lost")
	}
	ask("Bleibt das Glas <b>erhalten</b>?").Want(http.StatusSeeOther)
	ask("Bleibt das Glas <b>erhalten</b>?").Want(http.StatusSeeOther) // sent twice, kept once
	if page := ada.Get(path + "?in=de").Want(http.StatusOK); len(page.All("asked")) != 1 ||
		!strings.Contains(page.Text("asked"), "Bleibt das Glas <b>erhalten</b>?") || !strings.Contains(page.Text("asked"), "Noch nicht beantwortet") {
		t.Errorf("asked: %q", page.Text("asked"))
	}
	entries, err := s.Store.Journal(t.Context(), s.Sheet(number).Head.Docket.ID, 0)
	if err != nil || entries[0].Kind != docket.CustomerAsked || entries[0].By.Kind != docket.ByCustomer ||
		entries[0].Why != "Bleibt das Glas <b>erhalten</b>?" {
		t.Errorf("journalled as %+v, %v", entries[0], err)
	}
	overview := clerk.Get("/dockets/" + number).Want(http.StatusOK)
	action := webtest.Attr(overview.One("answer-question"), "action")
	if !strings.Contains(overview.Text("asks"), "Bleibt das Glas") || action == "" {
		t.Fatalf("the docket says %q", overview.Text("asks"))
	}
	if a := clerk.Post(action, url.Values{"version": {drawn}, "answer": {""}}).Want(http.StatusUnprocessableEntity); a.Problem("answer") == "" {
		t.Error("an empty answer is taken")
	}
	other := s.TakeIn("name", "Berit Aas", "phone", "01632 960999", "email", "", "serial", "77", "customer_choice", "new", "watch_choice", "new")
	elsewhere := strings.Replace(action, number, other, 1)
	clerk.Post(elsewhere, url.Values{"version": {s.Version(other)}, "answer": {"Ja."}}).Want(http.StatusNotFound)
	clerk.Post(action, url.Values{"version": {drawn}, "answer": {"Ja, es bleibt."}}).Want(http.StatusSeeOther)
	clerk.Post(action, url.Values{"version": {s.Version(number)}, "answer": {"Nein."}}).Want(http.StatusUnprocessableEntity)
	page := ada.Get(path).Want(http.StatusOK)
	if page.Text("answer-text") != "Ja, es bleibt." || strings.Contains(page.Body, s.Clerk.Name) {
		t.Errorf("answered %q", page.Text("answer-text"))
	}
	if got := clerk.Get("/dockets/" + number).Text("answered-question"); !strings.Contains(got, "Ja, es bleibt.") || !strings.Contains(got, s.Clerk.Name) {
		t.Errorf("the docket says %q", got)
	}
	for _, words := range []string{"eins?", "zwei?", "drei?"} {
		ask(words).Want(http.StatusSeeOther)
	}
	if a := ask("vier?").Want(http.StatusUnprocessableEntity); !strings.Contains(a.Problem("question"), "Mehrere Fragen") {
		t.Errorf("a fourth open question: %q", a.Problem("question"))
	}
	s.Pass(link.LifeDays * 24 * time.Hour)
	ask("noch etwas?").Want(http.StatusGone)
	s.Stranger().Post("/c/x/question", url.Values{"question": {"?"}}).Want(http.StatusNotFound)
}
