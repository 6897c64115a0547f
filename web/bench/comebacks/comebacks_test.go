package comebacks_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ledgerwheel/web/webtest"
)

// cameBack is a docket whose watch came back on another, passed on to the bench.
func cameBack(t *testing.T, s *webtest.Site) (earlier, back string) {
	t.Helper()
	earlier, back = s.Noted(), s.Noted("name", "Ben Thole", "phone", "01632 960789", "email", "ben@example.org", "serial", "2")
	s.HandOver(earlier)
	s.Put(back, "stage = 'diagnosis', comeback_of = (SELECT id FROM docket WHERE number = $2)", earlier)
	return earlier, back
}

func said(s *webtest.Site, number string, changes ...string) url.Values {
	f := url.Values{"version": {s.Version(number)}, "cause": {"workmanship"}, "found": {"The bridge lifts."}, "cover": {"covered"},
		"cover_why": {"It is our own work."}}
	for i := 0; i < len(changes); i += 2 {
		f.Set(changes[i], changes[i+1])
	}
	return f
}

func TestAComebackIsSaidOnThePage(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	earlier, back := cameBack(t, s)
	bench, path := s.As(s.Watchmaker), "/dockets/"+back+"/comeback"
	for _, sheet := range []string{"", "/diagnosis", "/regulation", "/comeback"} {
		page := bench.Get("/dockets/" + back + sheet).Want(http.StatusOK)
		if got := page.Text("before"); !strings.Contains(got, earlier) {
			t.Errorf("%s has of what was done before: %q", sheet, got)
		}
		if n := s.Trips(bench, "/dockets/"+back+sheet); n > webtest.MaxRoundTrips {
			t.Errorf("%s takes %d round trips", sheet, n)
		}
	}
	refused := bench.Post(path, said(s, back, "cover", "not-covered", "found", " ")).Want(http.StatusUnprocessableEntity)
	if refused.Problem("cover") == "" || refused.Problem("found") == "" || !strings.HasPrefix(refused.Value("cover_why"), "It is our own work.") {
		t.Errorf("refused with %q, %q, keeping %q", refused.Problem("cover"), refused.Problem("found"), refused.Value("cover_why"))
	}
	s.As(s.Clerk).Post(path, said(s, back)).Want(http.StatusForbidden)
	bench.Post(path, said(s, back)).Want(http.StatusSeeOther)
	page := bench.Get(path).Want(http.StatusOK)
	if !strings.HasSuffix(page.Text("cause"), "our own work") || !strings.HasSuffix(page.Text("cover"), " covered") || page.Text("cost") == "" {
		t.Errorf("said: %q, %q, cost %q", page.Text("cause"), page.Text("cover"), page.Text("cost"))
	}
	if got := s.As(s.Clerk).Get(path).Want(http.StatusOK); len(got.All("cost")) != 0 || len(got.All("comeback-form")) != 0 {
		t.Error("the clerk sees the cost or the form")
	}
	list := s.As(s.Owner).Get("/comebacks").Want(http.StatusOK)
	if got := list.Text("comebacks"); !strings.Contains(got, back) || !strings.Contains(got, earlier) || !strings.Contains(got, "our own work") {
		t.Errorf("the list has %q", got)
	}
	bench.Get("/comebacks").Want(http.StatusForbidden)
	s.As(s.Owner).Get("/comebacks?show=all&before=x").Want(http.StatusBadRequest)
	bench.Get("/dockets/" + earlier + "/comeback").Want(http.StatusNotFound)
	// Once it has left, it is corrected with a reason.
	s.HandOver(back)
	if got := bench.Post(path, said(s, back, "cause", "part")).Want(http.StatusUnprocessableEntity).Problem("why"); got == "" {
		t.Error("corrected without a reason")
	}
	bench.Post(path, said(s, back, "cause", "part", "why", "Looked at again.")).Want(http.StatusSeeOther)
}

// TestTheCustomerReadsWhetherItIsCovered in each language, with the reason as the shop typed it.
func TestTheCustomerReadsWhetherItIsCovered(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	_, back := cameBack(t, s)
	s.Put(back, "stage = 'estimate'")
	s.Send(back)
	says := func(lang string) string {
		return s.Stranger().Get(s.LinkPath(back) + "?in=" + lang).Want(http.StatusOK).Text("comeback")
	}
	if got := says("en"); !strings.Contains(got, "We look first") {
		t.Errorf("before anything was said: %q", got)
	}
	bench, path := s.As(s.Watchmaker), "/dockets/"+back+"/comeback"
	bench.Post(path, said(s, back, "cause", "accident", "cover", "not-covered", "cover_why", "It was dropped.")).Want(http.StatusSeeOther)
	for lang, want := range map[string]string{"en": "does not cover this. The estimate below", "de": "deckt dies nicht. Der Kostenvoranschlag", "fr": "ne couvre pas ceci. Le devis"} {
		if got := says(lang); !strings.Contains(got, want) || !strings.Contains(got, "It was dropped.") {
			t.Errorf("%s, not covered: %q", lang, got)
		}
	}
	bench.Post(path, said(s, back)).Want(http.StatusSeeOther)
	for lang, want := range map[string]string{"en": "at no charge", "de": "kostenlos", "fr": "sans frais"} {
		if got := says(lang); !strings.Contains(got, want) {
			t.Errorf("%s, covered: %q", lang, got)
		}
	}
	// What is priced all the same is warned of, on both pages that could put it right.
	if got := s.As(s.Watchmaker).Get("/dockets/" + back + "/estimate").Want(http.StatusOK).Text("limit"); !strings.Contains(got, "nobody need be asked") {
		t.Errorf("the estimate says %q", got)
	}
}
