package counter_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"ledgerwheel/web/webtest"
)

// another is a further watch of the customer whose docket stands in the form.
func another(c *webtest.Client, with string, changes ...string) url.Values {
	c.T.Helper()
	page := c.Get("/intake?with=" + with).Want(http.StatusOK)
	return webtest.CounterForm(append([]string{"with", with, "customer_choice", page.Hidden("customer_choice"), "name", "", "phone", "",
		"email", ""}, changes...)...)
}

// TestSeveralWatchesOnOneTicket takes in three watches of one customer: each is kept as it is added, one ticket lists them
// all, and its code leads to them.
func TestSeveralWatchesOnOneTicket(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	c := s.As(s.Clerk)
	to := c.Post("/intake", webtest.CounterForm("do", "take-in-another")).Want(http.StatusSeeOther).Location()
	first, ok := strings.CutPrefix(to, "/intake?with=")
	if !ok {
		t.Fatalf("leads to %q", to)
	}
	if got := c.Get(to).Want(http.StatusOK); !strings.Contains(got.Text("intake-with"), first) || !strings.Contains(got.Text("chosen-customer"),
		"Ada Quillmarsh") {
		t.Errorf("the second watch is asked for as %q of %q", got.Text("intake-with"), got.Text("chosen-customer"))
	}
	to = c.Post("/intake", another(c, first, "do", "take-in-another", "maker", "Pellow", "model", "Merle", "serial", "88-1")).
		Want(http.StatusSeeOther).Location()
	if to == "/intake?with="+first {
		t.Fatal("the second watch was not taken in")
	}
	second := strings.TrimPrefix(to, "/intake?with=")
	to = c.Post("/intake", another(c, second, "do", "take-in-print", "maker", "Skerry", "model", "Tideway", "serial", "S 7", "lume", "radium")).
		Want(http.StatusSeeOther).Location()
	third := strings.Split(to, "/")[2]

	papers := c.Get(to).Want(http.StatusOK)
	rows := papers.All("ticket-watch")
	if len(rows) != 3 {
		t.Fatalf("the ticket lists %d watches", len(rows))
	}
	for i, want := range [][]string{{first, "Gannet Harbourmaster", "1O47-I"}, {second, "Pellow Merle", "88-1"}, {third, "Skerry Tideway", "S 7"}} {
		for _, w := range want {
			if got := webtest.TextOf(rows[i]); !strings.Contains(got, w) {
				t.Errorf("watch %d of the ticket: %q lacks %q", i+1, got, w)
			}
		}
	}
	if got := strings.Count(papers.Body, "RADIUM"); got == 0 {
		t.Error("the third label does not warn")
	}
	for _, n := range []string{first, second, third} {
		if pdf := c.Get("/dockets/" + n + "/papers/claim-ticket.pdf").Want(http.StatusOK); !strings.HasPrefix(pdf.Body, "%PDF") {
			t.Errorf("%s has no ticket as PDF", n)
		}
	}
	head := c.Get("/dockets/" + second).Want(http.StatusOK).Text("head-with")
	if head != "with "+first+", "+third {
		t.Errorf("the head says %q", head)
	}
	if entries := c.Get("/dockets/" + third + "/journal").Want(http.StatusOK); !strings.Contains(webtest.TextOf(entries.Document),
		"Taken in together with "+second) {
		t.Error("the journal does not say what it came with")
	}

	visit := s.Sheet(first).Head.VisitID
	if visit == 0 || s.Sheet(third).Head.VisitID != visit {
		t.Fatalf("visits %d and %d", visit, s.Sheet(third).Head.VisitID)
	}
	at := c.Get("/dockets/" + first)
	href := webtest.Attr(at.One("head-with").FirstChild, "href")
	code := strings.ReplaceAll(strings.TrimPrefix(href, "/visits/"), "-", "")
	for _, scanned := range []string{code, strings.TrimPrefix(href, "/visits/"), s.URL + "/v/" + code} {
		if got := c.Get("/find?q=" + url.QueryEscape(scanned)).Want(http.StatusSeeOther).Location(); got != "/v/"+code {
			t.Errorf("%q leads to %q", scanned, got)
		}
	}
	if got := c.Get("/v/" + code).Want(http.StatusSeeOther).Location(); got != href {
		t.Errorf("the ticket's code leads to %q", got)
	}
	// The one ticket serves for each of its watches, by number or code, and for no other.
	stranger := s.TakeIn("name", "Cory Hale", "phone", "01632 960125", "email", "cory@example.org", "serial", "90-111")
	leaves := func(number, ticket string) *webtest.Answer {
		s.Put(number, "stage = 'withdrawn'")
		return c.Post("/dockets/"+number+"/hand-over", url.Values{"version": {s.Version(number)}, "ticket": {ticket}, "collected_by": {"Ada Quillmarsh"},
			"old_parts": {"none"}})
	}
	if got := leaves(stranger, code).Want(http.StatusUnprocessableEntity).Problem("ticket"); !strings.Contains(got, "ticket of other watches") {
		t.Errorf("another's watch on this ticket: %q", got)
	}
	leaves(first, s.URL+"/v/"+code).Want(http.StatusSeeOther)
	leaves(second, strings.TrimPrefix(href, "/visits/")).Want(http.StatusSeeOther)
	if got := c.Get(href).Want(http.StatusOK); len(got.All("visit-watch")) != 3 || len(got.All("another-of-theirs")) != 1 {
		t.Errorf("the visit: %q", webtest.TextOf(got.Document))
	}
}

// A watch that came alone has its own ticket, and the code of its visit, which nobody printed, leads to it.
func TestOneWatchKeepsItsOwnTicket(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	c := s.As(s.Clerk)
	number := s.TakeIn()
	papers := c.Get("/dockets/" + number + "/papers/ticket-and-label").Want(http.StatusOK)
	if len(papers.All("ticket-watch")) != 0 || len(c.Get("/dockets/"+number).All("head-with")) != 0 {
		t.Error("a watch that came alone is one of several")
	}
	c.Get("/v/V00009X").Want(http.StatusNotFound)
	c.Get("/visits/V-00001-0").Want(http.StatusNotFound)
}

// Another's watch, or one that comes on another day, does not join; what was typed stays, and nothing is kept.
func TestAVisitIsOneCustomersOnOneDay(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	c := s.As(s.Clerk)
	first := s.TakeIn()
	page := c.Post("/intake", webtest.CounterForm("with", first, "name", "Cory Hale", "phone", "01632 960125", "email", "cory@example.org",
		"customer_choice", "new", "maker", "Pellow", "serial", "88-1")).Want(http.StatusUnprocessableEntity)
	if got := page.Text("form-errors"); !strings.Contains(got, "one customer") || page.Value("name") != "Cory Hale" {
		t.Errorf("another customer: %q", got)
	}
	form := another(c, first, "maker", "Pellow", "serial", "88-1")
	s.Pass(26 * time.Hour)
	late := c.Post("/intake", form).Want(http.StatusUnprocessableEntity)
	if got := late.Text("intake-with"); !strings.Contains(got, "another day") || late.Value("maker") != "Pellow" {
		t.Errorf("the day after: %q", got)
	}
	var n int
	if err := s.Store.Pool().QueryRow(t.Context(), `SELECT count(*) FROM docket`).Scan(&n); err != nil || n != 1 {
		t.Errorf("%d dockets, %v", n, err)
	}
}
