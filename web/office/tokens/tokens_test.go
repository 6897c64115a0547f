package tokens_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/emersion/go-ical"

	"ledgerwheel/store/storetest"
	"ledgerwheel/web/webtest"
)

func TestMain(m *testing.M) { storetest.Main(m) }

func form(more ...string) url.Values {
	f := url.Values{"name": {"Web site"}, "scopes": {"prices", "dockets"}, "acts_for": {""}, "days": {""}}
	for i := 0; i < len(more); i += 2 {
		f[more[i]] = strings.Split(more[i+1], " ")
	}
	return f
}

// A token is shown once, is read by, listed without its secret, and opens nothing once it is ended.
func TestATokenIsMadeAndEnded(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	owner := s.As(s.Owner)
	for field, f := range map[string]url.Values{"name": form("name", ""), "scopes": form("scopes", "prices calendar"), "acts_for": form("scopes", "readings"),
		"days": form("days", "0")} {
		if got := owner.Post("/tokens", f).Want(http.StatusUnprocessableEntity).Problem(field); got == "" {
			t.Errorf("%s: %v is made", field, f)
		}
	}
	if got := owner.Post("/tokens", form("scopes", "readings", "acts_for", webtest.Itoa(s.Clerk.ID))).Want(http.StatusUnprocessableEntity).Problem("acts_for"); got == "" {
		t.Error("readings in the name of a clerk, who takes none")
	}
	made := owner.Post("/tokens", form()).Want(http.StatusOK)
	secret := made.Text("made-token")
	ask := func() int {
		req, _ := http.NewRequest(http.MethodGet, s.URL+"/api/v1/prices", nil)
		req.Header.Set("Authorization", "Bearer "+secret)
		return s.Stranger().Do(req).Status
	}
	if got := ask(); got != http.StatusOK {
		t.Fatalf("the price list: %d", got)
	}
	list := owner.Get("/tokens").Want(http.StatusOK)
	if strings.Contains(list.Body, secret) || !strings.Contains(list.Text("token"), "…"+secret[len(secret)-4:]) || strings.Contains(list.Text("token"), "never") {
		t.Errorf("listed: %q", list.Text("token"))
	}
	for _, who := range []*webtest.Client{s.As(s.Clerk), s.As(s.Watchmaker)} {
		who.Get("/tokens").Want(http.StatusForbidden)
		who.Post("/tokens", form()).Want(http.StatusForbidden)
		who.Post("/tokens/1/end", url.Values{}).Want(http.StatusForbidden)
	}
	owner.Post("/tokens/1/end", url.Values{}).Want(http.StatusSeeOther)
	if got := ask(); got != http.StatusUnauthorized {
		t.Errorf("after its end: %d", got)
	}
	storetest.Whole(t, s.Store)
}

// Making a token asks again who somebody is whose sign-in is not fresh.
func TestATokenAsksWhoYouAre(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	owner := s.As(s.Owner)
	s.Unproven(owner)
	if answer := owner.Post("/tokens", form()); len(answer.All("made-token")) != 0 {
		t.Error("a token is made in a session that anybody may sit before")
	}
}

// The calendar has every promised day, as another library reads it, and nobody's name.
func TestTheCalendarOfPromisedDays(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.TakeIn("promised_on", "2026-12-08", "model", "Pilot, Mk. II; \"dawn\"")
	s.TakeIn("promised_on", "", "customer_choice", "new", "watch_choice", "new", "serial", "Z-1", "name", "Bo Thorne", "phone", "01632 960555", "email", "")
	owner := s.As(s.Owner)
	link := owner.Post("/tokens", form("scopes", "calendar")).Want(http.StatusOK).Text("made-token")
	path, ok := strings.CutPrefix(link, "http://ledger.example")
	if !ok {
		t.Fatalf("link %q", link)
	}
	answer := s.Stranger().Get(path).Want(http.StatusOK)
	if strings.Contains(answer.Body, "Quillmarsh") || strings.Contains(answer.Body, "960123") {
		t.Error("the calendar names a customer")
	}
	for line := range strings.Lines(answer.Body) {
		if !strings.HasSuffix(line, "\r\n") || len(line) > 77 {
			t.Errorf("line %q is not as RFC 5545 folds it, section 3.1", line)
		}
	}
	cal, err := ical.NewDecoder(strings.NewReader(answer.Body)).Decode()
	if err != nil {
		t.Fatal(err)
	}
	if err := ical.NewEncoder(discard{}).Encode(cal); err != nil { // it holds what it writes to RFC 5545
		t.Error(err)
	}
	events := cal.Events()
	if len(events) != 1 {
		t.Fatalf("%d events, want 1", len(events))
	}
	e := events[0]
	from, err := e.DateTimeStart(time.UTC)
	to, err2 := e.DateTimeEnd(time.UTC)
	summary, err3 := e.Props.Text(ical.PropSummary)
	if err != nil || err2 != nil || err3 != nil || !from.Equal(time.Date(2026, 12, 8, 0, 0, 0, 0, time.UTC)) || to.Sub(from) != 24*time.Hour ||
		summary != number+" Gannet Pilot, Mk. II; \"dawn\"" {
		t.Errorf("event from %v to %v: %q (%v %v %v)", from, to, summary, err, err2, err3)
	}
	if uid, _ := e.Props.Text(ical.PropUID); uid != number+"@ledger.example" {
		t.Errorf("uid %q", uid)
	}
	api := owner.Post("/tokens", form()).Want(http.StatusOK).Text("made-token")
	for _, path := range []string{"/calendar/" + api + ".ics", strings.TrimSuffix(path, ".ics"), "/calendar/none.ics", strings.Replace(path, "lwt_", "lwt_A", 1)} {
		s.Stranger().Get(path).Want(http.StatusNotFound)
	}
	req, _ := http.NewRequest(http.MethodGet, s.URL+"/api/v1/shop", nil)
	req.Header.Set("Authorization", "Bearer "+strings.TrimSuffix(strings.TrimPrefix(path, "/calendar/"), ".ics"))
	if got := s.Stranger().Do(req).Status; got != http.StatusOK {
		t.Logf("a calendar's link reads the shop's own name: %d", got)
	}
}

type discard struct{}

func (discard) Write(b []byte) (int, error) { return len(b), nil }
