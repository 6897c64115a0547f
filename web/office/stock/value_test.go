package stock_test

import (
	"encoding/csv"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"ledgerwheel/web/webtest"
)

// What lies in the drawers is added up at cost, and what nobody wanted for a year is named, on the page and in the file; a count
// or a piece written off doesn't make a part wanted.
func TestStockValue(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	bench, owner := s.As(s.Watchmaker), s.As(s.Owner)
	if got := owner.Get("/stock/value").Want(http.StatusOK); len(got.All("stock-value")) != 0 {
		t.Error("empty drawers have a value")
	}
	for _, number := range []string{"OLD-1", "NEW-2", "FREE-3"} {
		cost := "4.10"
		if number == "FREE-3" {
			cost = ""
		}
		bench.Post("/stock/new", part(number, "cost", cost)).Want(http.StatusSeeOther)
	}
	bench.Post("/stock/1/receive", url.Values{"pieces": {"10"}}).Want(http.StatusSeeOther)
	bench.Post("/stock/3/receive", url.Values{"pieces": {"2"}}).Want(http.StatusSeeOther)
	s.Pass(364 * 24 * time.Hour)
	bench, owner = s.As(s.Watchmaker), s.As(s.Owner)
	if got := owner.Get("/stock/value").Want(http.StatusOK); len(got.All("dead-part")) != 0 {
		t.Errorf("dead within the year: %q", got.Text("dead-stock"))
	}
	bench.Post("/stock/2/receive", url.Values{"pieces": {"1"}}).Want(http.StatusSeeOther)
	bench.Post("/stock/1/take-out", url.Values{"kind": {"written-off"}, "pieces": {"1"}, "out_why": {"bent"}}).Want(http.StatusSeeOther)
	s.Pass(3 * 24 * time.Hour)
	owner = s.As(s.Owner)
	page := owner.Get("/stock/value").Want(http.StatusOK)
	for _, words := range []string{"3", "12", "41.00", "36.90", "2 parts, 11 pieces"} {
		if !strings.Contains(page.Text("stock-value"), words) {
			t.Errorf("value: %q lacks %q", page.Text("stock-value"), words)
		}
	}
	file, err := csv.NewReader(strings.NewReader(owner.Get("/stock/value.csv").Want(http.StatusOK).Body)).ReadAll()
	if err != nil || len(file) != 3 || len(page.All("dead-part")) != 2 {
		t.Fatalf("file %v, %d on the page: %v", file, len(page.All("dead-part")), err)
	}
	if strings.Join(file[1], "|") != "OLD-1|Mainspring 1.20|B 4|9|36.90|EUR|2026-11-24" || file[2][0] != "FREE-3" || file[2][4] != "" {
		t.Errorf("file %v", file)
	}
	s.As(s.Clerk).Get("/stock/value").Want(http.StatusForbidden)
	s.As(s.Clerk).Get("/stock/value.csv").Want(http.StatusForbidden)
	if trips := s.Trips(owner, "/stock/value"); trips > webtest.MaxRoundTrips {
		t.Errorf("%d round trips", trips)
	}
}
