package office_test

import (
	"net/http"
	"strings"
	"testing"

	"ledgerwheel/web/webtest"
)

// TestTheOwnersMorning: each figure is there, leads to its list, and what needs the owner stands before the rest.
func TestTheOwnersMorning(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	owner := s.As(s.Owner)
	page := owner.Get("/owner").Want(http.StatusOK)
	for id, want := range map[string]string{"late": "none", "week": "none", "waiting": "nothing", "benches": "none", "comebacks": "none", "owed": "nothing", "parts": "none"} {
		if got := page.Text("value-" + id); got != want {
			t.Errorf("in an empty shop %s is %q, want %q", id, got, want)
		}
	}
	number := s.Noted()
	s.Put(number, "promised_on = '2026-11-20', stage = 'service', bench_staff_id = $2, comeback_of = id", s.Watchmaker.ID)
	page = owner.Get("/owner").Want(http.StatusOK)
	webtest.Contains(t, "what needs the owner", page.Text("owner-asks"), "1 watch is late, the longest by 4 days.", "1 comeback waits")
	for id, want := range map[string]string{"late": "1", "benches": "1", "comebacks": "1"} {
		if got := page.Text("value-" + id); got != want {
			t.Errorf("%s is %q, want %q", id, got, want)
		}
	}
	webtest.Contains(t, "late", page.Text("morning-late"), number, "4 days")
	webtest.Contains(t, "waiting", page.Text("morning-waiting"), number, "for ")
	webtest.Contains(t, "benches", page.Text("morning-benches"), s.Watchmaker.Name)
	if len(page.All("nothing-needs-you")) > 0 {
		t.Error("nothing needs the owner, and a watch is late")
	}
	for _, id := range []string{"late", "week", "waiting", "benches", "yesterday", "month", "owed", "comebacks", "parts"} {
		for n := range page.One("morning-" + id).Descendants() {
			href := webtest.Attr(n, "href")
			if href == "" {
				continue
			}
			path, _, _ := strings.Cut(href, "#")
			owner.Get(path).Want(http.StatusOK)
		}
	}
	if got := owner.Get("/?show=late").Want(http.StatusOK); !strings.Contains(webtest.TextOf(got.Document), number) {
		t.Error("the list of what is late lacks the docket")
	}
	s.As(s.Clerk).Get("/owner").Want(http.StatusForbidden)
	s.As(s.Clerk).Get("/owed").Want(http.StatusForbidden)
	owner.Get("/owed?before=x").Want(http.StatusBadRequest)
}
