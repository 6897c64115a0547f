package estimates_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ledgerwheel/web/webtest"
)

// An answer by telephone is asked for what a written record of oral consent has (16 CCR 2722, California: date, time, who
// consents, number called, caller, parts and labour added, total), each refused beside its field; what is kept stands on the
// estimate and in the journal.
func TestAnswerByTelephone(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.Sent()
	clerk := s.As(s.Clerk)
	path := "/dockets/" + number + "/estimate"
	page := clerk.Get(path).Want(http.StatusOK)
	if got := page.Value("telephone-called_by"); got != "Nuala Reed" || page.Value("telephone-number") == "" || page.Typed("telephone-added") == "" {
		t.Errorf("opens with caller %q, number %q, added %q", got, page.Value("telephone-number"), page.Typed("telephone-added"))
	}
	answer := func(changes ...string) url.Values {
		f := url.Values{"version": {s.Version(number)}, "revision": {"1"}, "by": {"telephone"}, "decision": {"approve"}, "name": {"Ada Quillmarsh"},
			"agreed_on": {"2026-11-24"}, "agreed_time": {"09:10"}, "number": {"01632 960123"}, "called_by": {"Emrys Vale"},
			"added": {"Service and mainspring"}, "agreed_total": {"299.40"}}
		for i := 0; i < len(changes); i += 2 {
			f.Set(changes[i], changes[i+1])
		}
		return f
	}
	for _, field := range []string{"name", "agreed_time", "number", "called_by", "added", "agreed_total"} {
		page := clerk.Post(path+"/answer", answer(field, "")).Want(http.StatusUnprocessableEntity)
		if page.Problem(field) == "" {
			t.Errorf("a call without %s is kept", field)
		}
		if got := page.Value("agreed_on"); got != "2026-11-24" {
			t.Errorf("without %s what was typed is lost: %q", field, got)
		}
	}
	if page := clerk.Post(path+"/answer", answer("agreed_on", "2026-12-24")).Want(http.StatusUnprocessableEntity); page.Problem("agreed_on") == "" {
		t.Error("a call that is yet to be made is kept")
	}
	if page := clerk.Post(path+"/answer", answer("leave_out", "2")).Want(http.StatusUnprocessableEntity); !strings.Contains(page.Problem("agreed_total"), "227.40") {
		t.Errorf("another total than is owed: %q", page.Problem("agreed_total"))
	}
	clerk.Post(path+"/answer", answer("leave_out", "2", "agreed_total", "227,40")).Want(http.StatusSeeOther)
	page = clerk.Get(path).Want(http.StatusOK)
	if got := page.Text("answer"); !strings.Contains(got, "Approved by Ada Quillmarsh by telephone") {
		t.Errorf("answer %q", got)
	}
	if got := page.Text("consent"); !strings.Contains(got, "24 Nov 2026, 09:10") || !strings.Contains(got, "01632 960123") || !strings.Contains(got, "Emrys Vale") ||
		!strings.Contains(got, "Service and mainspring") || !strings.Contains(got, "€227.40") {
		t.Errorf("the record of the call: %q", got)
	}
	if got := clerk.Get("/dockets/" + number + "/journal").Want(http.StatusOK).Text("journal"); !strings.Contains(got, "called by") || !strings.Contains(got, "227.40") {
		t.Errorf("the journal lacks the call: %q", got)
	}
}
