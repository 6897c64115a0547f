package web

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
)

func TestCustomersListAndFind(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	c := s.as(s.watchmaker)
	if got := c.get("/customers").text("empty"); !strings.Contains(got, "No customers yet") {
		t.Errorf("an empty list says %q", got)
	}
	for i := range store.CustomerPage {
		one := customer.Customer{Name: "Brindle " + strconv.Itoa(100+i), Email: "b" + strconv.Itoa(i) + "@example.org"}
		if _, err := s.store.AddCustomer(t.Context(), one.Tidied("GB"), testNow); err != nil {
			t.Fatal(err)
		}
	}
	s.takeIn("name", "Zoë O’Malley")
	first := c.get("/customers").want(http.StatusOK)
	if n := len(first.all("customer-row")); n != store.CustomerPage {
		t.Errorf("%d on the first page", n)
	}
	second := c.get(attr(first.one("older"), "href")).want(http.StatusOK)
	if got := second.text("customer-row"); !strings.Contains(got, "Zoë O’Malley") || !strings.Contains(got, "1") || len(second.all("older")) != 0 {
		t.Errorf("second page %q", got)
	}
	for _, q := range []string{"o'malley zoe", "ZOE", "0123", "01632 960123", "ada@example"} {
		page := c.get("/customers?q=" + url.QueryEscape(q)).want(http.StatusOK)
		if got := page.text("customer-row"); !strings.Contains(got, "Zoë O’Malley") || page.value("q") != q {
			t.Errorf("%q finds %q", q, got)
		}
	}
	if got := c.get("/customers?q=nobody").text("empty"); !strings.Contains(got, "Nobody found") {
		t.Errorf("says %q", got)
	}
	c.get("/customers?after=a&id=x").want(http.StatusBadRequest)
}

func TestCustomerPageAndCorrection(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.takeIn("name", "דוד לוי")
	id := itoa(s.sheet(number).Head.Customer.ID)
	c := s.as(s.clerk)
	page := c.get("/customers/" + id).want(http.StatusOK)
	if got := page.text("dockets"); !strings.Contains(got, number) || !strings.Contains(got, "Gannet Harbourmaster") {
		t.Errorf("dockets %q", got)
	}
	if got := page.text("watches"); !strings.Contains(got, "1O47-I") || !strings.Contains(got, "in the shop") {
		t.Errorf("watches %q", got)
	}
	if got := attr(page.one("take-in-link"), "href"); got != "/intake?customer="+id {
		t.Errorf("taking in leads to %q", got)
	}
	edit := c.get("/customers/" + id + "/edit").want(http.StatusOK)
	form := url.Values{"version": {edit.hidden("version")}, "name": {"דוד לוי-כהן"}, "phone": {"01632 960123"}, "email": {"nobody at home"}}
	refused := c.post("/customers/"+id+"/edit", form).want(http.StatusUnprocessableEntity)
	if refused.problem("email") == "" || refused.value("email") != "nobody at home" || refused.value("name") != "דוד לוי-כהן" {
		t.Error("what was typed is not kept with its reason")
	}
	form.Set("email", "david@example.org")
	c.post("/customers/"+id+"/edit", form).want(http.StatusSeeOther)
	if got := c.get("/customers/" + id).text("page-title"); got != "דוד לוי-כהן" {
		t.Errorf("title %q", got)
	}

	// The second of two people sees the first one's words beside their own, and may save over them.
	form.Set("name", "David Levi")
	conflict := c.post("/customers/"+id+"/edit", form).want(http.StatusConflict)
	if got := conflict.text("changed-meanwhile"); !strings.Contains(got, "דוד לוי-כהן") || !strings.Contains(got, "David Levi") {
		t.Errorf("conflict says %q", got)
	}
	form.Set("version", conflict.hidden("version"))
	if conflict.value("name") != "David Levi" {
		t.Error("what the second typed is lost")
	}
	c.post("/customers/"+id+"/edit", form).want(http.StatusSeeOther)
	s.as(s.watchmaker).post("/customers/"+id+"/edit", form).want(http.StatusForbidden)
}

func TestWatchPageAndCorrection(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.takeIn()
	id := itoa(s.sheet(number).Head.Watch.ID)
	c := s.as(s.watchmaker)
	page := c.get("/watches/" + id).want(http.StatusOK)
	if got := page.text("in-shop"); got != number || len(page.all("take-in-link")) != 0 {
		t.Errorf("in the shop under %q", got)
	}
	edit := c.get("/watches/" + id + "/edit").want(http.StatusOK)
	form := url.Values{"version": {edit.hidden("version")}, "maker": {"Gannet"}, "model": {"Harbourmaster"}, "serial": {"1047"},
		"lume": {"radium"}, "winding": {"hand"}, "crown_at": {"12"}, "water_resistance": {"wet"}}
	refused := c.post("/watches/"+id+"/edit", form).want(http.StatusUnprocessableEntity)
	if refused.problem("water_resistance") == "" || refused.value("water_resistance") != "wet" {
		t.Error("what was typed is not kept with its reason")
	}
	form.Set("water_resistance", "3 bar")
	c.post("/watches/"+id+"/edit", form).want(http.StatusSeeOther)
	if got := c.get("/dockets/" + number + "/intake").text("hazards"); !strings.Contains(got, "Radium lume") || !strings.Contains(got, "Testing under pressure") {
		t.Errorf("hazards %q", got)
	}
	head := s.sheet(number).Head
	entries, err := s.store.Journal(t.Context(), head.Docket.ID, 0)
	if err != nil || !slices.ContainsFunc(entries, func(e docket.Entry) bool {
		return e.Kind == docket.IntakeCorrected && strings.Contains(e.Summary, "serial, lume, water resistance marked, crown at") && e.By.Name == "Emrys Vale"
	}) {
		t.Errorf("the journal does not tell of it: %+v, %v", entries, err)
	}
	form.Set("model", "Breakwater")
	conflict := c.post("/watches/"+id+"/edit", form).want(http.StatusConflict)
	if got := conflict.text("changed-meanwhile"); !strings.Contains(got, "Harbourmaster") || !strings.Contains(got, "Breakwater") {
		t.Errorf("conflict says %q", got)
	}
	form.Set("version", conflict.hidden("version"))
	c.post("/watches/"+id+"/edit", form).want(http.StatusSeeOther)
	s.handOver(number)
	if got := attr(s.as(s.clerk).get("/watches/"+id).one("take-in-link"), "href"); got != "/intake?customer=1&watch="+id {
		t.Errorf("taking in leads to %q", got)
	}
}

func TestIntakePapers(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.takeIn("name", "Seán O’Malley", "complaint", "Stops <at> night", "lume", "radium")
	compact := strings.ReplaceAll(number, "-", "")
	bench := s.as(s.watchmaker)
	ticket := bench.get("/dockets/" + number + "/papers/claim-ticket").want(http.StatusOK)
	face := ticket.text("face-a6")
	for _, says := range []string{number, "Seán O’Malley", "Gannet Harbourmaster", "1O47-I", "Stops <at> night", "€150.00", "Tue 8 Dec 2026", "Nuala Reed",
		"Tern Quay Watch Works", "Code 128: " + number, "QR code: http://ledger.example/d/" + compact} {
		if !strings.Contains(face, says) {
			t.Errorf("the ticket does not say %q: %q", says, face)
		}
	}
	label := bench.get("/dockets/" + number + "/papers/bag-label").want(http.StatusOK)
	if got := label.text("face-label"); !strings.Contains(got, number) || !strings.Contains(got, "RADIUM") || !strings.Contains(got, "for 8 Dec") {
		t.Errorf("the label says %q", got)
	}
	for _, slug := range []string{"claim-ticket", "bag-label"} {
		path := "/dockets/" + number + "/papers/" + slug + ".pdf"
		pdf := bench.get(path).want(http.StatusOK)
		if pdf.header.Get("Content-Type") != "application/pdf" || !strings.HasPrefix(pdf.body, "%PDF-") {
			t.Errorf("%s: %q", slug, pdf.header.Get("Content-Type"))
		}
		if bench.get(path).body != pdf.body {
			t.Errorf("%s: printed twice, it differs", slug)
		}
		s.stranger().get(path).want(http.StatusSeeOther)
	}
	if got := bench.get("/d/" + strings.ToLower(compact)).want(http.StatusSeeOther).location(); got != "/dockets/"+number {
		t.Errorf("the code leads to %q", got)
	}
	if got := s.stranger().get("/d/" + compact).want(http.StatusSeeOther).location(); !strings.HasPrefix(got, "/sign-in") {
		t.Errorf("the code leads a stranger to %q", got)
	}
	before := s.sheet(number).Head.Docket.Version
	bench.get("/dockets/" + number + "/papers/claim-ticket")
	if s.sheet(number).Head.Docket.Version != before {
		t.Error("looking at a paper wrote to the journal")
	}
}
