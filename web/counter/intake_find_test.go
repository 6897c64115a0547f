package counter_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ledgerwheel/web/webtest"
)

// back is a shop in which Ada's watch was, and is not any more.
func back(t *testing.T) (s *webtest.Site, c *webtest.Client, number, customer, watch string) {
	t.Helper()
	s = webtest.NewSite(t)
	number = s.TakeIn()
	h := s.Sheet(number).Head
	s.HandOver(number)
	return s, s.As(s.Clerk), number, webtest.Itoa(h.Customer.ID), webtest.Itoa(h.Watch.ID)
}

// looks presses "Look up", or whatever the form says, without scripts.
func looks(c *webtest.Client, fields ...string) *webtest.Answer {
	f := url.Values{"complaint": {"Stops again"}}
	for i := 0; i < len(fields); i += 2 {
		f.Set(fields[i], fields[i+1])
	}
	return c.Post("/intake", f).Want(http.StatusOK)
}

func TestOneFieldFindsCustomerAndWatch(t *testing.T) {
	t.Parallel()
	_, c, number, customer, watch := back(t)
	for _, typed := range []string{"01632 960123", "(01632) 960-123", "+44 1632 960123", "0044 1632 960123", "960123",
		"ada@example.org", "ADA@ex", "quillmarsh", "Ada Quill"} {
		page := looks(c, "do", "look-up", "sought", typed)
		if got := page.Text("found"); !strings.Contains(got, "Ada Quillmarsh") || !strings.Contains(got, "Gannet Harbourmaster") ||
			!strings.Contains(got, "last here Tue 24 Nov 2026") || !strings.Contains(got, "Another watch of theirs") {
			t.Errorf("%q finds %q", typed, got)
		}
		if page.Value("sought") != typed || strings.TrimSpace(page.Value("complaint")) != "Stops again" ||
			len(page.All("form-errors")) != 0 {
			t.Errorf("%q: looking up complains, or loses what was typed", typed)
		}
		piece := c.Get("/intake/found?q=" + url.QueryEscape(typed)).Want(http.StatusOK)
		if strings.Contains(piece.Body, "<html") || piece.Text("found") != page.Text("found") {
			t.Errorf("%q: with scripts %q is found", typed, piece.Text("found"))
		}
	}
	compact := strings.ReplaceAll(number, "-", "")
	for _, typed := range []string{"1O47-I", "1047i", number, strings.ToLower(compact), "https://shop.example/d/" + compact} {
		page := looks(c, "do", "look-up", "sought", typed)
		if page.Hidden("customer_choice") != customer || page.Hidden("watch_choice") != watch || page.Value("sought") != "" {
			t.Errorf("%q leads to customer %q and watch %q", typed, page.Hidden("customer_choice"), page.Hidden("watch_choice"))
		}
		if got := page.Text("chosen-customer"); !strings.Contains(got, "Ada Quillmarsh") {
			t.Errorf("%q: the customer is %q", typed, got)
		}
	}
	if got := looks(c, "do", "look-up", "sought", "1O4").Text("found"); !strings.Contains(got, "of Ada Quillmarsh") {
		t.Errorf("the beginning of a serial offers %q", got)
	}
}

func TestWhatIsNotFoundFillsItsOwnField(t *testing.T) {
	t.Parallel()
	_, c, _, _, _ := back(t)
	for typed, field := range map[string]string{"01632 960888": "phone", "berit@example.org": "email", "Berit Aas": "name",
		"BT 4471": "serial"} {
		page := looks(c, "do", "look-up", "sought", typed)
		if page.Value(field) != typed || page.Value("sought") != "" || !strings.Contains(page.Text("filled"), "Not in the record") {
			t.Errorf("%q stands in %s as %q; said: %q", typed, field, page.Value(field), page.Text("filled"))
		}
		piece := c.Get("/intake/found?q=" + url.QueryEscape(typed)).Want(http.StatusOK)
		if got := webtest.Attr(piece.One("filled"), "data-fills"); got != field {
			t.Errorf("with scripts %q goes into %q", typed, got)
		}
		// Nobody pressed "Look up": it is done when the form is sent.
		form := webtest.CounterForm("sought", typed, "complaint", "", "email", "", "name", "", "phone", "", "serial", "")
		sent := c.Post("/intake", form).Want(http.StatusUnprocessableEntity)
		if sent.Value(field) != typed || sent.Problem("sought") != "" {
			t.Errorf("sent at once, %q stands in %s as %q, %s", typed, field, sent.Value(field), sent.Problem("sought"))
		}
	}
	page := looks(c, "do", "look-up", "sought", "01632 960888", "phone", "01632 960777")
	if page.Value("sought") != "01632 960888" || page.Value("phone") != "01632 960777" {
		t.Error("what was typed first is lost")
	}
	sent := c.Post("/intake", webtest.CounterForm("sought", "Quillmarsh", "name", "Ada")).Want(http.StatusUnprocessableEntity)
	if !strings.Contains(sent.Problem("sought"), "Say who or what is meant") || !strings.Contains(sent.Text("found"), "Ada Quillmarsh") {
		t.Errorf("somebody found and not chosen: %q", sent.Problem("sought"))
	}
}

func TestFoundAndNoneOfThem(t *testing.T) {
	t.Parallel()
	_, c, _, _, _ := back(t)
	page := looks(c, "choose", "new", "sought", "Ada Quillmarsh")
	if page.Value("name") != "Ada Quillmarsh" || page.Value("sought") != "" || len(page.All("found")) != 0 {
		t.Errorf("a namesake stands in the name as %q", page.Value("name"))
	}
}

func TestChoosingEachWayRound(t *testing.T) {
	t.Parallel()
	_, c, _, customer, watch := back(t)
	page := looks(c, "choose", "watch:"+watch, "sought", "1O4", "name", "Berit", "maker", "Corrie")
	if page.Hidden("customer_choice") != customer || page.Hidden("watch_choice") != watch {
		t.Error("a watch does not say whose it is")
	}
	if page.Hidden("typed.name") != "Berit" || page.Hidden("typed.maker") != "Corrie" {
		t.Error("what was typed before the choice is lost")
	}
	page = looks(c, "choose", "customer:other", "customer_choice", customer, "watch_choice", watch, "typed.name", "Berit")
	if page.Value("name") != "Berit" || page.Hidden("watch_choice") != watch || page.Hidden("customer_choice") != "other" {
		t.Error("a watch brought by somebody else loses its name or itself")
	}
	page = looks(c, "choose", "customer:"+customer)
	if got := page.Text("theirs"); !strings.Contains(got, "Gannet Harbourmaster") || !strings.Contains(got, "Another watch") ||
		len(page.All("maker")) != 0 {
		t.Errorf("of a customer are offered %q", got)
	}
	page = looks(c, "choose", "another:"+customer)
	if page.Hidden("customer_choice") != customer || len(page.All("maker")) != 1 || len(page.All("theirs")) != 0 {
		t.Error("another watch of theirs can't be typed")
	}
	brought := webtest.CounterForm("customer_choice", "other", "watch_choice", watch, "name", "Berit Aas", "phone", "01632 960888",
		"email", "", "maker", "", "model", "", "serial", "")
	sheet := c.Get(c.Post("/intake", brought).Want(http.StatusSeeOther).Location())
	if got := sheet.Text("handed-in"); !strings.Contains(got, "By Berit Aas") || !strings.Contains(got, "1O47-I") {
		t.Errorf("brought by somebody else: %q", got)
	}
	if got := looks(c, "do", "look-up", "sought", "01632 960888").Text("found"); !strings.Contains(got, "in the shop now") {
		t.Errorf("a watch that is in the shop is offered: %q", got)
	}
}

func TestNameOrTelephoneIsEnough(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	c := s.As(s.Clerk)
	short := func(name, phone string) url.Values {
		return url.Values{"do": {"take-in"}, "name": {name}, "phone": {phone}, "maker": {"Corrie"}, "complaint": {"Stops"},
			"service_wanted": {"full-service"}, "place": {"safe"}, "crown_at": {"3"}}
	}
	for _, tt := range []struct{ name, phone, called string }{
		{"Berit Aas", "", "Berit Aas"}, {"", "01632 960888", "01632 960888"},
	} {
		to := c.Post("/intake", short(tt.name, tt.phone)).Want(http.StatusSeeOther).Location()
		if got := c.Get(to).Text("customer-link"); got != tt.called {
			t.Errorf("called %q, want %q", got, tt.called)
		}
	}
	refused := c.Post("/intake", short("", "")).Want(http.StatusUnprocessableEntity)
	if got := refused.Problem("name"); got != "Give a name or a telephone number." {
		t.Errorf("neither: %q", got)
	}
}

func TestTakeInAndPrintLeadsToBothPapers(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	c := s.As(s.Clerk)
	to := c.Post("/intake", webtest.CounterForm("do", "take-in-print")).Want(http.StatusSeeOther).Location()
	number := "26-00001-" + string(check(t, "2600001"))
	if to != "/dockets/"+number+"/papers/ticket-and-label?print=now" {
		t.Fatalf("leads to %q", to)
	}
	page := c.Get(to).Want(http.StatusOK)
	if got := webtest.TextOf(page.Document); !strings.Contains(got, "Claim ticket") || !strings.Contains(got, "1O47-I") ||
		!strings.Contains(got, "Next: condition and photographs") {
		t.Errorf("the page says %q", got)
	}
	for _, id := range []string{"print", "print-ticket", "print-label", "print-apart", "pdf-ticket", "pdf-label"} {
		page.One(id)
	}
	for _, m := range s.Everyone() { // the code is for those who may see dockets, and shows nobody else anything
		got := s.As(m).Get("/d/" + strings.ReplaceAll(number, "-", "")).Want(http.StatusSeeOther).Location()
		if got != "/dockets/"+number+"/intake" {
			t.Errorf("while it is taken in, the code leads to %q", got)
		}
	}
	stranger := s.Stranger().Get("/d/" + strings.ReplaceAll(number, "-", "")).Want(http.StatusSeeOther)
	if !strings.HasPrefix(stranger.Location(), "/sign-in") || strings.Contains(stranger.Body, "Ada") {
		t.Errorf("the code leads a stranger to %q", stranger.Location())
	}
	s.HandOver(number)
	if got := c.Get("/d/" + number).Want(http.StatusSeeOther).Location(); got != "/dockets/"+number {
		t.Errorf("later the code leads to %q", got)
	}
	c.Get("/d/26-00002-" + string(check(t, "2600002"))).Want(http.StatusNotFound)
}

func TestErrorsOpenTheirFold(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	page := s.As(s.Clerk).Post("/intake", webtest.CounterForm("water_resistance", "damp", "lume", "", "winding", "")).
		Want(http.StatusUnprocessableEntity)
	if !webtest.HasAttr(page.One("more-of-watch").Attr, "open") || page.Problem("water_resistance") == "" {
		t.Error("what is wrong is folded away")
	}
	if page := s.As(s.Clerk).Get("/intake"); webtest.HasAttr(page.One("more-of-watch").Attr, "open") ||
		webtest.HasAttr(page.One("condition-fold").Attr, "open") {
		t.Error("an empty form is unfolded")
	}
}
