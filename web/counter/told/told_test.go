package told_test

import (
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"testing"

	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/message"
	"ledgerwheel/store"
	"ledgerwheel/store/storetest"
	"ledgerwheel/web/webtest"
)

func TestMain(m *testing.M) { storetest.Main(m) }

// rather has the docket's customer reached so from now on.
func rather(s *webtest.Site, number string, by customer.Contact, change func(*customer.Customer)) {
	s.T.Helper()
	h, err := s.Store.Head(s.T.Context(), s.Number(number))
	if err != nil {
		s.T.Fatal(err)
	}
	c := h.Customer
	c.PreferredContact = by
	if change != nil {
		change(&c)
	}
	if err := s.Store.SaveCustomer(s.T.Context(), s.Actor(s.Clerk), s.Clock(), c, 1); err != nil {
		s.T.Fatal(err)
	}
}

func id(n int64) string { return strconv.FormatInt(n, 10) }

func messages(s *webtest.Site, number string) []store.MessageRow {
	s.T.Helper()
	sheet, err := s.Store.ToldSheet(s.T.Context(), s.Number(number))
	if err != nil {
		s.T.Fatal(err)
	}
	return sheet.Messages
}

// Whoever sends an estimate sees before it how the customer is told, with what they would rather have chosen, and may tell
// nobody.
func TestHowTheCustomerIsToldIsSeenBeforeSaving(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.TakeIn("email", "ada@example.org")
	rather(s, number, customer.ContactText, nil)
	bench := s.As(s.Watchmaker)
	f := webtest.DraftForm(s.Version(number), webtest.ThreeLines...)
	bench.Post("/dockets/"+number+"/estimate", f).Want(http.StatusSeeOther)
	page := bench.Get("/dockets/" + number + "/estimate").Want(http.StatusOK)
	if got := page.Text("telling"); !strings.HasPrefix(got, "Tell Ada Quillmarsh") || !strings.Contains(got, "By text message to") ||
		!strings.Contains(got, "By e-mail to ada@example.org") || !strings.Contains(got, "Nobody is told now") {
		t.Errorf("asks %q", got)
	}
	if got := chosen(page, "tell"); got != string(message.Text) {
		t.Errorf("chosen beforehand: %q", got)
	}
	clerk := s.As(s.Clerk)
	page = clerk.Get("/dockets/" + number + "/estimate").Want(http.StatusOK)
	send := url.Values{"version": {page.Hidden("version")}, "revision": {page.Hidden("revision")}, "tell": {"letter"}}
	clerk.Post("/dockets/"+number+"/estimate/send", send).Want(http.StatusUnprocessableEntity)
	if len(messages(s, number)) != 0 {
		t.Fatal("a refused sending told something")
	}
	send.Set("tell", "text")
	send.Set("tell_own", "Mind <b>the</b> step.")
	clerk.Post("/dockets/"+number+"/estimate/send", send).Want(http.StatusSeeOther)
	page = clerk.Get("/dockets/" + number + "/told").Want(http.StatusOK)
	if got := page.Text("to-do"); !strings.Contains(got, "Estimate ready, by text message") || !strings.Contains(got, "€299.40") ||
		!strings.Contains(got, "Mind <b>the</b> step.") || !strings.Contains(got, "http://ledger.example/c/") {
		t.Errorf("to tell: %q", got)
	}
	if !strings.Contains(page.Body, `href="sms:+44`) || strings.Contains(page.Body, "<b>the") {
		t.Error("no text message is ready to send, or what was typed became markup")
	}
	if got := clerk.Get("/?show=tell").Want(http.StatusOK).Text("docket-row"); !strings.Contains(got, "Tell by text message: estimate ready") {
		t.Errorf("Today says %q", got)
	}
}

// What waits for a person is dealt with on one sheet: a call that reached nobody, telling, another way, withdrawing.
func TestWhatIsToBeToldIsDealtWith(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.TakeIn()
	rather(s, number, customer.ContactPhone, func(c *customer.Customer) { c.Address = "1 Quay\nSaltby" })
	who := s.As(s.Watchmaker)
	path := "/dockets/" + number + "/told"
	ask := func(way string) string {
		t.Helper()
		who.Post(path, url.Values{"topic": {string(message.Question)}, "question": {"Keep the glass?"}, "tell": {way}}).Want(http.StatusSeeOther)
		return path + "/" + id(messages(s, number)[0].ID)
	}
	who.Post(path, url.Values{"topic": {string(message.Question)}, "tell": {"telephone"}}).Want(http.StatusUnprocessableEntity)
	one := ask("telephone")
	who.Post(one, url.Values{"do": {"no answer"}, "number": {"01632 960123"}}).Want(http.StatusSeeOther)
	page := who.Get(path).Want(http.StatusOK)
	if len(page.All("to-do")) != 1 || !strings.Contains(page.Text("story"), "Rang, no answer, 01632 960123") {
		t.Errorf("after a call in vain: %q", page.Text("story"))
	}
	who.Post(one, url.Values{"do": {"told"}, "said": {"Yes, keep it."}}).Want(http.StatusSeeOther)
	if page := who.Post(one, url.Values{"do": {"told"}}).Want(http.StatusUnprocessableEntity); !strings.Contains(page.Body, "Somebody has dealt with this message already") {
		t.Error("told twice")
	}
	two := ask("letter")
	if page := who.Post(two, url.Values{"do": {"withdraw"}}).Want(http.StatusUnprocessableEntity); page.Problem("why") == "" {
		t.Error("withdrawn without a reason")
	}
	letter := who.Get("/dockets/" + number + "/papers/letter/" + id(messages(s, number)[0].ID)).Want(http.StatusOK)
	if !strings.Contains(letter.Body, "Keep the glass?") || !strings.Contains(letter.Body, "1 Quay") {
		t.Error("the letter lacks its words or its address")
	}
	who.Post(two, url.Values{"do": {"otherwise"}, "way": {"pigeon"}}).Want(http.StatusUnprocessableEntity)
	who.Post(two, url.Values{"do": {"otherwise-done"}, "way": {"in person"}}).Want(http.StatusSeeOther)
	page = who.Get(path).Want(http.StatusOK)
	if len(page.All("to-do")) != 0 || !strings.Contains(page.Text("story"), "Yes, keep it.") {
		t.Errorf("in the end: %q", page.Text("story"))
	}
	if got := who.Get("/dockets/" + number + "/journal").Want(http.StatusOK).Text("journal"); !strings.Contains(got, "Rang, no answer") {
		t.Errorf("the journal: %q", got)
	}
}

func TestCallsAndNotesAreWrittenDown(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.TakeIn()
	for _, m := range s.Everyone() {
		s.As(m).Post("/dockets/"+number+"/contacts", url.Values{"contact": {"note"}, "words": {"نص <script>alert(1)</script> by " + m.Name}}).
			Want(http.StatusSeeOther)
	}
	who := s.As(s.Clerk)
	page := who.Post("/dockets/"+number+"/contacts", url.Values{"contact": {"spoke"}, "spoke_to": {"Ada"}}).Want(http.StatusUnprocessableEntity)
	if page.Problem("words") == "" || page.Value("spoke_to") != "Ada" {
		t.Error("a call without what was said is kept, or what was typed is lost")
	}
	who.Post("/dockets/"+number+"/contacts", url.Values{"contact": {"shouted"}}).Want(http.StatusUnprocessableEntity)
	page = who.Get("/dockets/" + number + "/told").Want(http.StatusOK)
	if got := len(page.All("story-line")); got != 3 || strings.Contains(page.Body, "<script>alert") {
		t.Errorf("%d lines", got)
	}
}

// A customer without any way is told when they come, and nothing is chosen beforehand that nobody can do.
func TestCustomerWithoutAnyWay(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.TakeIn("phone", "", "email", "")
	page := s.As(s.Clerk).Get("/dockets/" + number + "/told").Want(http.StatusOK)
	if got := chosen(page, "now-tell"); got == string(message.Mail) || got == string(message.Telephone) {
		t.Errorf("chosen beforehand: %q", got)
	}
}

// chosen is the value of the option that a list opens with.
func chosen(a *webtest.Answer, testID string) string {
	a.T.Helper()
	for n := range a.One(testID).Descendants() {
		if n.Data == "option" && webtest.HasAttr(n.Attr, "selected") {
			for _, at := range n.Attr {
				if at.Key == "value" {
					return at.Val
				}
			}
		}
	}
	return ""
}
