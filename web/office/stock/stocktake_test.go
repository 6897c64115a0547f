package stock_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ledgerwheel/web/webtest"
)

// Label, count, next label: by forms alone, with what a scanner types; the book's number is not shown before the count.
func TestAStocktakeByScan(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	bench, clerk := s.As(s.Watchmaker), s.As(s.Clerk)
	for _, number := range []string{"MS-1", "MS-2"} {
		bench.Post("/stock/new", part(number)).Want(http.StatusSeeOther)
	}
	bench.Post("/stock/1/receive", url.Values{"pieces": {"7"}}).Want(http.StatusSeeOther)
	clerk.Get("/stock/stocktake").Want(http.StatusForbidden)
	bench.Post("/stock/stocktake/begin", nil).Want(http.StatusSeeOther)
	bench.Post("/stock/stocktake/begin", nil).Want(http.StatusUnprocessableEntity)

	open := bench.Get("/stock/stocktake?label=BIN1").Want(http.StatusOK)
	if drawer := open.Text("drawer"); !strings.Contains(drawer, "MS-1") || strings.Contains(drawer, "7") {
		t.Errorf("the drawer says %q", drawer)
	}
	count := url.Values{"part": {"1"}, "seen": {open.Hidden("seen")}, "lots": {"0"}, "counted.0": {"BIN2"}}
	if said := bench.Post("/stock/stocktake/count", count).Want(http.StatusUnprocessableEntity).Problem("counted.0"); !strings.Contains(said, "label") {
		t.Errorf("a label scanned as a count: %q", said)
	}
	count.Set("counted.0", "6")
	bench.Post("/stock/stocktake/count", count).Want(http.StatusSeeOther)
	next := bench.Get("/stock/stocktake").Want(http.StatusOK)
	for where, want := range map[string]string{"differ": "6 counted, the book had 7 (−1)", "next-drawer": "MS-2"} {
		if !strings.Contains(next.Text(where), want) {
			t.Errorf("%s lacks %q: %q", where, want, next.Text(where))
		}
	}
	if said := bench.Get("/stock/stocktake?label=MS-77").Want(http.StatusOK).Text("unknown-label"); !strings.Contains(said, "MS-77") {
		t.Errorf("an unknown label: %q", said)
	}
	bench.Post("/stock/stocktake/end", nil).Want(http.StatusUnprocessableEntity)
	bench.Post("/stock/stocktake/book", url.Values{"part": {"1"}}).Want(http.StatusUnprocessableEntity)
	bench.Post("/stock/stocktake/book", url.Values{"part": {"1"}, "why": {"one was bent"}}).Want(http.StatusSeeOther)
	if row := bench.Get("/stock/1").Text("ledger"); !strings.Contains(row, "one was bent") {
		t.Errorf("the ledger lacks the reason: %q", row)
	}
	bench.Post("/stock/stocktake/end", nil).Want(http.StatusSeeOther)
	if trips := s.Trips(bench, "/stock/stocktake?label=MS-1"); trips > webtest.MaxRoundTrips {
		t.Errorf("%d round trips", trips)
	}
	for _, path := range []string{"/stock/1/label", "/stock/1/label.pdf", "/stock/labels?q=ms", "/stock/labels.pdf?q=ms"} {
		bench.Get(path).Want(http.StatusOK)
	}
	if body := bench.Get("/stock/labels?q=ms-2").Body; strings.Contains(body, "MS-1<") || !strings.Contains(body, "MS-2") {
		t.Error("the sheet has other labels than the list")
	}
}
