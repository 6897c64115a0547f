package counter_test

import (
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"testing"

	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/docket"
	"ledgerwheel/store"
	"ledgerwheel/web/webtest"
)

func TestCustomersListAndFind(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	c := s.As(s.Watchmaker)
	if got := c.Get("/customers").Text("empty"); !strings.Contains(got, "No customers yet") {
		t.Errorf("an empty list says %q", got)
	}
	for i := range store.CustomerPage {
		one := customer.Customer{Name: "Brindle " + strconv.Itoa(100+i), Email: "b" + strconv.Itoa(i) + "@example.org"}
		if _, err := s.Store.AddCustomer(t.Context(), one.Tidied("GB"), webtest.Now); err != nil {
			t.Fatal(err)
		}
	}
	s.TakeIn("name", "Zoë O’Malley")
	first := c.Get("/customers").Want(http.StatusOK)
	if n := len(first.All("customer-row")); n != store.CustomerPage {
		t.Errorf("%d on the first page", n)
	}
	second := c.Get(webtest.Attr(first.One("older"), "href")).Want(http.StatusOK)
	if got := second.Text("customer-row"); !strings.Contains(got, "Zoë O’Malley") || !strings.Contains(got, "1") ||
		len(second.All("older")) != 0 {
		t.Errorf("second page %q", got)
	}
	for _, q := range []string{"o'malley zoe", "ZOE", "0123", "01632 960123", "ada@example"} {
		page := c.Get("/customers?q=" + url.QueryEscape(q)).Want(http.StatusOK)
		if got := page.Text("customer-row"); !strings.Contains(got, "Zoë O’Malley") || page.Value("q") != q {
			t.Errorf("%q finds %q", q, got)
		}
	}
	if got := c.Get("/customers?q=nobody").Text("empty"); !strings.Contains(got, "Nobody found") {
		t.Errorf("says %q", got)
	}
	c.Get("/customers?after=a&id=x").Want(http.StatusBadRequest)
}

func TestCustomerPageAndCorrection(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.TakeIn("name", "דוד לוי")
	id := webtest.Itoa(s.Sheet(number).Head.Customer.ID)
	c := s.As(s.Clerk)
	page := c.Get("/customers/" + id).Want(http.StatusOK)
	if got := page.Text("dockets"); !strings.Contains(got, number) || !strings.Contains(got, "Gannet Harbourmaster") {
		t.Errorf("dockets %q", got)
	}
	if got := page.Text("watches"); !strings.Contains(got, "1O47-I") || !strings.Contains(got, "in the shop") {
		t.Errorf("watches %q", got)
	}
	if got := webtest.Attr(page.One("take-in-link"), "href"); got != "/intake?customer="+id {
		t.Errorf("taking in leads to %q", got)
	}
	edit := c.Get("/customers/" + id + "/edit").Want(http.StatusOK)
	form := url.Values{"version": {edit.Hidden("version")}, "name": {"דוד לוי-כהן"}, "phone": {"01632 960123"},
		"email": {"nobody at home"}}
	refused := c.Post("/customers/"+id+"/edit", form).Want(http.StatusUnprocessableEntity)
	if refused.Problem("email") == "" || refused.Value("email") != "nobody at home" ||
		refused.Value("name") != "דוד לוי-כהן" {
		t.Error("what was typed is not kept with its reason")
	}
	form.Set("email", "david@example.org")
	c.Post("/customers/"+id+"/edit", form).Want(http.StatusSeeOther)
	if got := c.Get("/customers/" + id).Text("page-title"); got != "דוד לוי-כהן" {
		t.Errorf("title %q", got)
	}

	// The second of two people sees the first one's words beside their own, and may save over them.
	form.Set("name", "David Levi")
	conflict := c.Post("/customers/"+id+"/edit", form).Want(http.StatusConflict)
	if got := conflict.Text("changed-meanwhile"); !strings.Contains(got, "דוד לוי-כהן") ||
		!strings.Contains(got, "David Levi") {
		t.Errorf("conflict says %q", got)
	}
	form.Set("version", conflict.Hidden("version"))
	if conflict.Value("name") != "David Levi" {
		t.Error("what the second typed is lost")
	}
	c.Post("/customers/"+id+"/edit", form).Want(http.StatusSeeOther)
	s.As(s.Watchmaker).Post("/customers/"+id+"/edit", form).Want(http.StatusForbidden)
}

func TestWatchPageAndCorrection(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.TakeIn()
	id := webtest.Itoa(s.Sheet(number).Head.Watch.ID)
	c := s.As(s.Watchmaker)
	page := c.Get("/watches/" + id).Want(http.StatusOK)
	if got := page.Text("in-shop"); got != number || len(page.All("take-in-link")) != 0 {
		t.Errorf("in the shop under %q", got)
	}
	edit := c.Get("/watches/" + id + "/edit").Want(http.StatusOK)
	form := url.Values{"version": {edit.Hidden("version")}, "maker": {"Gannet"}, "model": {"Harbourmaster"},
		"serial": {"1047"},
		"lume":   {"radium"}, "winding": {"hand"}, "crown_at": {"12"}, "water_resistance": {"wet"}}
	refused := c.Post("/watches/"+id+"/edit", form).Want(http.StatusUnprocessableEntity)
	if refused.Problem("water_resistance") == "" || refused.Value("water_resistance") != "wet" {
		t.Error("what was typed is not kept with its reason")
	}
	form.Set("water_resistance", "3 bar")
	c.Post("/watches/"+id+"/edit", form).Want(http.StatusSeeOther)
	if got := c.Get("/dockets/" + number + "/intake").Text("hazards"); !strings.Contains(got, "Radium lume") ||
		!strings.Contains(got, "Testing under pressure") {
		t.Errorf("hazards %q", got)
	}
	head := s.Sheet(number).Head
	entries, err := s.Store.Journal(t.Context(), head.Docket.ID, 0)
	if err != nil || !slices.ContainsFunc(entries, func(e docket.Entry) bool {
		return e.Kind == docket.IntakeCorrected &&
			strings.Contains(e.Summary, "serial, lume, water resistance marked, crown at") && e.By.Name == "Emrys Vale"
	}) {
		t.Errorf("the journal does not tell of it: %+v, %v", entries, err)
	}
	form.Set("model", "Breakwater")
	conflict := c.Post("/watches/"+id+"/edit", form).Want(http.StatusConflict)
	if got := conflict.Text("changed-meanwhile"); !strings.Contains(got, "Harbourmaster") ||
		!strings.Contains(got, "Breakwater") {
		t.Errorf("conflict says %q", got)
	}
	form.Set("version", conflict.Hidden("version"))
	c.Post("/watches/"+id+"/edit", form).Want(http.StatusSeeOther)
	s.HandOver(number)
	if got := webtest.Attr(s.As(s.Clerk).Get("/watches/"+id).One("take-in-link"),
		"href"); got != "/intake?customer=1&watch="+id {
		t.Errorf("taking in leads to %q", got)
	}
}

func TestIntakePapers(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.TakeIn("name", "Seán O’Malley", "complaint", "Stops <at> night", "lume", "radium")
	compact := strings.ReplaceAll(number, "-", "")
	bench := s.As(s.Watchmaker)
	ticket := bench.Get("/dockets/" + number + "/papers/claim-ticket").Want(http.StatusOK)
	face := ticket.Text("reading-a6")
	for _, says := range []string{number, "Seán O’Malley", "Gannet Harbourmaster", "1O47-I", "Stops <at> night", "€150.00",
		"Tue 8 Dec 2026", "Nuala Reed",
		"Tern Quay Watch Works"} {
		if !strings.Contains(face, says) {
			t.Errorf("the ticket does not say %q: %q", says, face)
		}
	}
	label := bench.Get("/dockets/" + number + "/papers/bag-label").Want(http.StatusOK)
	if got := label.Text("reading-label"); !strings.Contains(got, number) || !strings.Contains(got, "RADIUM") ||
		!strings.Contains(got, "for 8 Dec") {
		t.Errorf("the label says %q", got)
	}
	for _, slug := range []string{"claim-ticket", "bag-label"} {
		path := "/dockets/" + number + "/papers/" + slug + ".pdf"
		pdf := bench.Get(path).Want(http.StatusOK)
		if pdf.Header.Get("Content-Type") != "application/pdf" || !strings.HasPrefix(pdf.Body, "%PDF-") {
			t.Errorf("%s: %q", slug, pdf.Header.Get("Content-Type"))
		}
		if bench.Get(path).Body != pdf.Body {
			t.Errorf("%s: printed twice, it differs", slug)
		}
		s.Stranger().Get(path).Want(http.StatusSeeOther)
	}
	if got := bench.Get("/d/" + strings.ToLower(compact)).Want(http.StatusSeeOther).Location(); got != "/dockets/"+number+"/intake" {
		t.Errorf("the code leads to %q", got)
	}
	if got := s.Stranger().Get("/d/" + compact).Want(http.StatusSeeOther).Location(); !strings.HasPrefix(got, "/sign-in") {
		t.Errorf("the code leads a stranger to %q", got)
	}
	before := s.Sheet(number).Head.Docket.Version
	bench.Get("/dockets/" + number + "/papers/claim-ticket")
	if s.Sheet(number).Head.Docket.Version != before {
		t.Error("looking at a paper wrote to the journal")
	}
}

// A name that the type of the PDF lacks is said above the link to the PDF, which stays; nothing is said of a name it
// has.
func TestPapersTellWhatThePDFCannotShow(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	for _, tt := range []struct{ name, model, ticket, label string }{
		{"Seán O’Malley", "Harbourmaster", "", ""},
		{"日本 \U0001F600", "Harbourmaster", "日 本 \U0001F600", ""},
		{"Seán O’Malley", "時計", "時 計", "時 計"},
	} {
		number := s.TakeIn("name", tt.name, "model", tt.model, "customer_choice", "new", "watch_choice", "new")
		for slug, lacking := range map[string]string{"claim-ticket": tt.ticket, "bag-label": tt.label} {
			path := "/dockets/" + number + "/papers/" + slug
			shown := s.As(s.Clerk).Get(path).Want(http.StatusOK)
			if got := webtest.Attr(shown.One("pdf"), "href"); got != path+".pdf" {
				t.Errorf("%s of %s: the PDF is at %q", slug, tt.name, got)
			}
			s.As(s.Clerk).Get(path + ".pdf").Want(http.StatusOK)
			if lacking == "" {
				if len(shown.All("paper-missing")) != 0 {
					t.Errorf("%s of %s, %s: warns %q", slug, tt.name, tt.model, shown.Text("paper-missing"))
				}
				continue
			}
			want := "can't show these characters: " + lacking + " (they print as \uFFFD)"
			if got := shown.Text("paper-missing"); !strings.Contains(got, want) {
				t.Errorf("%s of %s, %s: says %q, want %q", slug, tt.name, tt.model, got, want)
			}
			if strings.Index(shown.Body, "paper-missing") > strings.Index(shown.Body, `data-testid="pdf"`) {
				t.Errorf("%s: the notice stands below the link", slug)
			}
			face := map[string]string{"claim-ticket": "face-a6", "bag-label": "face-label"}[slug]
			if len(webtest.Within(shown.One(face), "paper-missing")) != 0 {
				t.Errorf("%s: the notice is printed", slug)
			}
		}
	}
}

// After the shop moves to another country a note is corrected without a word about the number, which stays what it
// was and shows with its country's code.
func TestCorrectingANoteLeavesTheNumber(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.TakeIn("phone", "01632 960052")
	path := "/customers/" + webtest.Itoa(s.Sheet(number).Head.Customer.ID)
	c := s.As(s.Clerk)
	for region, shown := range map[string]string{"DE": "+44 1632 960052", "CH": "+44 1632 960052", "GB": "01632 960052"} {
		s.MoveTo(region)
		edit := c.Get(path + "/edit").Want(http.StatusOK)
		if edit.Value("phone") != shown {
			t.Errorf("in %s the form shows %q", region, edit.Value("phone"))
		}
		c.Post(path+"/edit", url.Values{"version": {edit.Hidden("version")}, "phone_shown": {edit.Hidden("phone_shown")},
			"name": {"Capt. Sorley"}, "phone": {edit.Value("phone")}, "notes": {"Seen from " + region}}).Want(http.StatusSeeOther)
		page := c.Get(path).Want(http.StatusOK)
		if got := page.Text("particulars"); !strings.Contains(got, shown) || !strings.Contains(got, "Seen from "+region) {
			t.Errorf("in %s: %q", region, got)
		}
		if body := page.Body; !strings.Contains(body, `href="tel:+441632960052"`) {
			t.Errorf("in %s the link dials another number", region)
		}
		for _, at := range []string{"/customers?q=sorley", "/find?q=01632+960052&in=phones", "/dockets/" + number} {
			if got := c.Get(at).Want(http.StatusOK).Body; !strings.Contains(got, shown) {
				t.Errorf("in %s %s does not show %q", region, at, shown)
			}
		}
	}
}

// Who corrects a name beside another who corrects the number sees the new number, and doesn't put the old one back.
func TestAnUntouchedNumberFollowsTheOtherPerson(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	path := "/customers/" + webtest.Itoa(s.Sheet(s.TakeIn("phone", "01632 960052")).Head.Customer.ID) + "/edit"
	c := s.As(s.Clerk)
	edit := c.Get(path).Want(http.StatusOK)
	form := func(from *webtest.Answer, name, phone string) url.Values {
		return url.Values{"version": {from.Hidden("version")}, "phone_shown": {from.Hidden("phone_shown")}, "name": {name},
			"phone": {phone}}
	}
	c.Post(path, form(edit, "R. Sorley", "01632 960999")).Want(http.StatusSeeOther)
	conflict := c.Post(path, form(edit, "Ruaridh Sorley", edit.Value("phone"))).Want(http.StatusConflict)
	if got := conflict.Value("phone"); got != "01632 960999" {
		t.Errorf("the number offered is %q", got)
	}
	c.Post(path, form(conflict, conflict.Value("name"), conflict.Value("phone"))).Want(http.StatusSeeOther)
	if got := c.Get(path); got.Value("phone") != "01632 960999" || got.Value("name") != "Ruaridh Sorley" {
		t.Errorf("kept %q, %q", got.Value("name"), got.Value("phone"))
	}
}
