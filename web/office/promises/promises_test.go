package promises_test

import (
	"encoding/csv"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ledgerwheel/web/webtest"
)

// TestHolidays: a holiday is written down, its days are proposed no more, and it is removed.
func TestHolidays(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	c := s.As(s.Owner)
	proposed := s.As(s.Clerk).Get("/intake").Value("promised_on")
	bad := c.Post("/settings/holidays", url.Values{"name": {""}, "from": {proposed}}).Want(http.StatusUnprocessableEntity)
	if bad.Value("from") != proposed || bad.Problem("name") == "" {
		t.Errorf("refused with %q, and %q in the field", bad.Problem("name"), bad.Value("from"))
	}
	c.Post("/settings/holidays", url.Values{"name": {"Harbour fair"}, "from": {proposed}}).Want(http.StatusSeeOther)
	page := c.Get("/settings/holidays").Want(http.StatusOK)
	if got := page.Text("holiday"); !strings.Contains(got, "Harbour fair") {
		t.Errorf("the list says %q", got)
	}
	if got := s.As(s.Clerk).Get("/intake").Value("promised_on"); got <= proposed {
		t.Errorf("with %s closed, %s is proposed", proposed, got)
	}
	list, err := s.Store.Holidays(t.Context())
	if err != nil || len(list) != 1 {
		t.Fatalf("%v, %v", list, err)
	}
	c.Post("/settings/holidays/"+webtest.Itoa(list[0].ID)+"/remove", nil).Want(http.StatusSeeOther)
	if got := s.As(s.Clerk).Get("/intake").Value("promised_on"); got != proposed {
		t.Errorf("open again, %s is proposed, want %s", got, proposed)
	}
}

// TestPromisesAreCounted: what was proposed and is over is counted, and a count of few says so.
func TestPromisesAreCounted(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	c := s.As(s.Owner)
	s.TakeIn()
	if got := c.Get("/promises").Want(http.StatusOK).Body; !strings.Contains(got, "No day that was proposed is over yet") {
		t.Error("nothing is over, and it does not say so")
	}
	if _, err := s.Store.Pool().Exec(t.Context(), `UPDATE promise_proposed SET day = '2026-11-20'`); err != nil {
		t.Fatal(err)
	}
	if got := c.Get("/promises").Want(http.StatusOK).Body; !strings.Contains(got, "Proposed as kept 8 times in 10 and over: 1; kept: 0") {
		t.Error("a day that is over is not counted")
	}
	file := c.Get("/promises.csv").Want(http.StatusOK)
	rows, err := csv.NewReader(strings.NewReader(file.Body)).ReadAll()
	if err != nil || len(rows) != 11 || rows[1][3] != "1" || rows[1][4] != "0" {
		t.Errorf("%v, %v", rows, err)
	}
	s.As(s.Clerk).Get("/promises").Want(http.StatusForbidden)
}

// TestAPromiseThatSlips stands on Today until it is moved, and not once it is.
func TestAPromiseThatSlips(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.TakeIn("promised_on", "2026-11-27")
	refresh := func() {
		t.Helper()
		if _, err := s.Store.RefreshOutlooks(t.Context(), webtest.Now); err != nil {
			t.Fatal(err)
		}
	}
	refresh()
	if got := s.As(s.Clerk).Get("/?show=slips").Want(http.StatusOK).Text("docket-row"); !strings.Contains(got, number[:8]) ||
		!strings.Contains(got, "tell the customer") {
		t.Errorf("Today says %q", got)
	}
	if _, err := s.Store.Pool().Exec(t.Context(), `UPDATE docket SET promised_on = '2027-06-01'`); err != nil {
		t.Fatal(err)
	}
	for range 2 { // at once, by what is promised now, and after it was worked out again
		if got := s.As(s.Clerk).Get("/?show=slips").Want(http.StatusOK).All("docket-row"); len(got) != 0 {
			t.Error("a promise that was moved still slips")
		}
		refresh()
	}
}
