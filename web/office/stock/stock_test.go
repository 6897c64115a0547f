package stock_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ledgerwheel/web/webtest"
)

func part(number string, more ...string) url.Values {
	f := url.Values{"number": {number}, "name": {"Mainspring 1.20"}, "unit": {"piece"}, "drawer": {"B 4"}, "fits": {"Ebb 17\nMR-214"}, "cost": {"4.10"},
		"price": {"32"}, "tax_rate": {"20"}, "reorder_at": {"1"}, "reorder_to": {"5"}}
	for i := 0; i < len(more); i += 2 {
		f.Set(more[i], more[i+1])
	}
	return f
}

// A part is added, received, counted with a difference that needs a reason, and written off; the ledger shows each move, and
// the list what is to be ordered again.
func TestADrawerIsKept(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	bench, clerk := s.As(s.Watchmaker), s.As(s.Clerk)
	bench.Post("/stock/new", part("ms-1")).Want(http.StatusSeeOther)
	bench.Post("/stock/1/receive", url.Values{"pieces": {"4"}}).Want(http.StatusSeeOther)
	page := bench.Get("/stock/1").Want(http.StatusOK)
	if got := page.Text("standing"); !strings.Contains(got, "Free 4") && !strings.Contains(got, "Free: 4") {
		t.Errorf("4 received: %q", got)
	}
	count := url.Values{"seen": {page.Hidden("seen")}, "lots": {"0"}, "counted.0": {"2"}}
	if got := bench.Post("/stock/1/count", count).Want(http.StatusUnprocessableEntity).Problem("why"); got == "" {
		t.Error("a difference without a reason is booked")
	}
	count.Set("why", "nobody knows")
	bench.Post("/stock/1/count", count).Want(http.StatusSeeOther)
	bench.Post("/stock/1/count", count).Want(http.StatusConflict) // the book has moved since
	out := url.Values{"kind": {"written-off"}, "pieces": {"3"}, "out_why": {"bent"}}
	if got := bench.Post("/stock/1/take-out", out).Want(http.StatusUnprocessableEntity).Problem("pieces"); !strings.Contains(got, "Only 2") {
		t.Errorf("3 of 2 written off: %q", got)
	}
	out.Set("pieces", "1")
	bench.Post("/stock/1/take-out", out).Want(http.StatusSeeOther)
	page = clerk.Get("/stock/1").Want(http.StatusOK)
	if n := len(page.All("move")); n != 3 {
		t.Errorf("%d moves, want 3", n)
	}
	if len(page.All("count-form")) != 0 {
		t.Error("a clerk is offered to count")
	}
	for _, path := range []string{"/stock/1/count", "/stock/1/receive", "/stock/1/take-out", "/stock/new"} {
		clerk.Post(path, count).Want(http.StatusForbidden)
	}
	if got := clerk.Get("/stock?show=short").Text("part"); !strings.Contains(got, "MS-1") || !strings.Contains(got, "order 4") {
		t.Errorf("one free of at least two: %q", got)
	}
	for typed, found := range map[string]int{"spring": 1, "ebb": 1, "b 4": 1, "crown": 0, "%": 0, "_": 0} {
		if n := len(clerk.Get("/stock?q=" + url.QueryEscape(typed)).All("part")); n != found {
			t.Errorf("%q finds %d, want %d", typed, n, found)
		}
	}
	if trips := s.Trips(bench, "/stock/1"); trips > webtest.MaxRoundTrips {
		t.Errorf("%d round trips", trips)
	}
}

// What ages is received in lots, and a lot's life can't end before it was made.
func TestLotsAreReceived(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	bench := s.As(s.Watchmaker)
	bench.Post("/stock/new", part("OIL-1", "ages", "yes", "unit", "bottle")).Want(http.StatusSeeOther)
	for field, f := range map[string]url.Values{"lot": {"pieces": {"1"}}, "usable_to": {"pieces": {"1"}, "lot": {"A 7"}, "made_on": {"2026-05-01"}, "usable_to": {"2026-04-01"}},
		"made_on": {"pieces": {"1"}, "lot": {"A 7"}, "made_on": {"2099-05-01"}}, "pieces": {"pieces": {"0"}, "lot": {"A 7"}}} {
		if got := bench.Post("/stock/1/receive", f).Want(http.StatusUnprocessableEntity).Problem(field); got == "" {
			t.Errorf("%s: %v is received", field, f)
		}
	}
	for range 2 {
		bench.Post("/stock/1/receive", url.Values{"pieces": {"1"}, "lot": {"A 7"}, "made_on": {"2024-05-01"}, "usable_to": {"2026-06-01"}}).Want(http.StatusSeeOther)
	}
	if got := bench.Get("/stock/1").Text("lots"); !strings.Contains(got, "A 7") || !strings.Contains(got, "past its life") || !strings.Contains(got, "2") {
		t.Errorf("a lot past its life: %q", got)
	}
}

func TestPartsThatCantStand(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	owner := s.As(s.Owner)
	owner.Post("/stock/new", part("MS-1")).Want(http.StatusSeeOther)
	for field, typed := range map[string]string{"number": "ms-1", "name": "", "cost": "much", "price": "-4", "tax_rate": "120", "reorder_to": "1", "reorder_at": "x"} {
		page := owner.Post("/stock/new", part("MS-2", field, typed)).Want(http.StatusUnprocessableEntity)
		if page.Problem(field) == "" || page.Typed("fits") == "" {
			t.Errorf("%s of %q: %q", field, typed, page.Problem(field))
		}
	}
	if n := len(owner.Get("/stock").All("part")); n != 1 {
		t.Errorf("%d parts", n)
	}
}

// A supplier is kept once; a part is found by the number under which a supplier has it.
func TestSuppliersAndTheirNumbers(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	bench := s.As(s.Watchmaker)
	coldharbour := url.Values{"name": {"Coldharbour Materials"}, "email": {"orders@coldharbour.example"}, "account": {"TQ 118"}, "lead_days": {"4"}}
	bench.Post("/suppliers/new", coldharbour).Want(http.StatusSeeOther)
	for field, typed := range map[string]string{"name": "coldharbour materials", "email": "not an address", "lead_days": "-1"} {
		f := url.Values{"name": {"Gannet"}, "account": {"77"}}
		f.Set(field, typed)
		page := bench.Post("/suppliers/new", f).Want(http.StatusUnprocessableEntity)
		if page.Problem(field) == "" || page.Value("account") != "77" {
			t.Errorf("%s of %q: %q, and the account is %q", field, typed, page.Problem(field), page.Value("account"))
		}
	}
	page := bench.Get("/suppliers/1").Want(http.StatusOK)
	coldharbour.Set("version", page.Hidden("version"))
	coldharbour.Set("lead_days", "6")
	bench.Post("/suppliers/1", coldharbour).Want(http.StatusSeeOther)
	bench.Post("/suppliers/1", coldharbour).Want(http.StatusConflict)
	if got := s.As(s.Clerk).Get("/suppliers").Text("supplier"); !strings.Contains(got, "6 days") {
		t.Errorf("listed as %q", got)
	}
	for typed, bad := range map[string]bool{"Coldharbour Materials: CH 9": false, "Nobody: 1": true, "Coldharbour Materials": true} {
		answer := bench.Post("/stock/new", part("MS-"+strings.ToUpper(typed[:1]), "sources", typed))
		if got := answer.Status != http.StatusSeeOther; got != bad {
			t.Errorf("%q: answered %d", typed, answer.Status)
		}
	}
	if n := len(bench.Get("/stock?q=ch+9").All("part")); n != 1 {
		t.Errorf("by the supplier's number %d are found", n)
	}
	if got := bench.Get("/stock/1/edit").Typed("sources"); got != "Coldharbour Materials: CH 9" {
		t.Errorf("the form has %q", got)
	}
}
