package prices_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ledgerwheel/web/webtest"
)

func job(code, price, from string) url.Values {
	return url.Values{"code": {code}, "name": {"Full service"}, "name_de": {"Vollservice"}, "kind": {"labour"}, "minutes": {"240"}, "price": {price},
		"tax_rate": {"20"}, "from": {from}, "windings": {"hand"}, "parts": {"Mainspring\n2 x gasket?"}}
}

// The owner adds a job, gives it a new price from a later day, and offers it no longer; others read the list.
func TestThePriceListIsKept(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	owner, clerk := s.As(s.Owner), s.As(s.Clerk)
	owner.Post("/prices/new", job("fs", "185", "2026-01-01")).Want(http.StatusSeeOther)
	page := clerk.Get("/prices").Want(http.StatusOK)
	row := page.Text("job")
	for _, want := range []string{"FS", "Full service", "185.00", "4 h", "Mainspring", "2 × gasket"} {
		if !strings.Contains(row, want) {
			t.Errorf("the list lacks %q: %q", want, row)
		}
	}
	if strings.Contains(page.Body, "/prices/new") {
		t.Error("a clerk is offered to add a job")
	}
	clerk.Post("/prices/new", job("GL", "1", "2026-01-01")).Want(http.StatusForbidden)
	clerk.Get("/prices/1").Want(http.StatusForbidden)

	form := owner.Get("/prices/1").Want(http.StatusOK)
	if form.Value("code") != "FS" || form.Typed("parts") != "Mainspring\n2 × gasket?" || form.Value("price") != "185.00" {
		t.Errorf("the form opens with %q, %q, %q", form.Value("code"), form.Typed("parts"), form.Value("price"))
	}
	later := job("FS", "210", "2030-06-01")
	later.Set("version", form.Hidden("version"))
	owner.Post("/prices/1", later).Want(http.StatusSeeOther)
	if row := owner.Get("/prices").Text("job"); !strings.Contains(row, "185.00") || !strings.Contains(row, "210.00 from") {
		t.Errorf("a price still to come: %q", row)
	}
	owner.Post("/prices/1", later).Want(http.StatusConflict) // of the version before
	owner.Post("/prices/1/end", nil).Want(http.StatusSeeOther)
	if page := owner.Get("/prices").Want(http.StatusOK); len(page.All("job")) != 0 {
		t.Error("a job offered no longer is listed")
	}
}

func TestPricesThatCantStand(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	owner := s.As(s.Owner)
	owner.Post("/prices/new", job("FS", "185", "2026-01-01")).Want(http.StatusSeeOther)
	for field, typed := range map[string]string{"code": "FS", "name": "", "kind": "discount", "minutes": "-4", "price": "a lot", "tax_rate": "120",
		"from": "yesterday", "windings": "steam", "parts": "0 × gasket"} {
		f := job("GL", "20", "2026-01-01")
		f.Set(field, typed)
		page := owner.Post("/prices/new", f).Want(http.StatusUnprocessableEntity)
		if page.Problem(field) == "" {
			t.Errorf("%s of %q: no word beside the field", field, typed)
		}
		if page.Value("name_de") != "Vollservice" {
			t.Errorf("%s: what was typed is lost", field)
		}
	}
	if n := len(owner.Get("/prices").All("job")); n != 1 {
		t.Errorf("%d jobs", n)
	}
}
