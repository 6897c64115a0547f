package atrisk_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ledgerwheel/domain/docket"
	"ledgerwheel/web/webtest"
)

func limits(fields ...string) url.Values {
	f := url.Values{}
	for i := 0; i < len(fields); i += 2 {
		f.Set(fields[i], fields[i+1])
	}
	return f
}

// The owner writes the limits down, the counter is warned before a watch is taken in, and may take it in all the same; where it
// goes next is said to be above its limit before it goes there, and after.
func TestTheCounterIsWarnedOfALimit(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	owner, clerk := s.As(s.Owner), s.As(s.Clerk)
	clerk.Get("/value-at-risk").Want(http.StatusForbidden)
	first := owner.Get("/value-at-risk").Want(http.StatusOK)
	if !strings.Contains(first.Text("sums"), "none written down") {
		t.Errorf("without limits: %q", first.Text("sums"))
	}
	owner.Post("/value-at-risk", limits("safe", "4000", "bench", "1000")).Want(http.StatusSeeOther)
	s.TakeIn() // 2500
	s.TakeIn("name", "Bo Thole", "phone", "01632 960124", "email", "", "serial", "77", "declared_value", "")

	form := webtest.CounterForm("name", "Cy Marsh", "phone", "01632 960125", "email", "", "serial", "78", "declared_value", "2000")
	warned := clerk.Post("/intake", form).Want(http.StatusUnprocessableEntity)
	said := warned.Problem("declared_value")
	for _, want := range []string{"The safe would hold", "4,500.00", "500.00 above the insurer's limit", "4,000.00"} {
		if !strings.Contains(said, want) {
			t.Errorf("the warning lacks %q: %q", want, said)
		}
	}
	form.Set("over_seen", warned.Hidden("over_seen"))
	dearer := url.Values{}
	for name, values := range form {
		dearer[name] = values
	}
	dearer.Set("declared_value", "3000")
	if again := clerk.Post("/intake", dearer).Want(http.StatusUnprocessableEntity); again.Problem("declared_value") == "" {
		t.Error("a higher value is not warned of again")
	}
	at := clerk.Post("/intake", form).Want(http.StatusSeeOther).Location()
	number := strings.TrimPrefix(strings.TrimSuffix(at, "/intake?taken-in=yes"), "/dockets/")

	journal, err := s.Store.Journal(t.Context(), s.Sheet(number).Head.Docket.ID, 0)
	if err != nil {
		t.Fatal(err)
	}
	passed := 0
	for _, e := range journal {
		if e.Kind == docket.LimitPassed && e.By.Name == s.Clerk.Name && strings.Contains(e.Summary, "500.00 above the insurer's limit") {
			passed++
		}
	}
	if passed != 1 {
		t.Errorf("the journal tells %d times who took it in after the warning", passed)
	}

	page := clerk.Get("/dockets/" + number).Want(http.StatusOK)
	if want := "The bench would hold"; !strings.Contains(page.Body, want) {
		t.Errorf("the docket does not say %q before the watch is moved", want)
	}
	moved := clerk.Post("/dockets/"+number+"/place", limits("version", s.Version(number), "place", "bench", "place_detail", "2")).Want(http.StatusSeeOther)
	if page := clerk.Get(moved.Location()); !strings.Contains(page.Body, "The bench holds") {
		t.Error("nothing is said after the watch was moved")
	}

	risk := owner.Get("/value-at-risk").Want(http.StatusOK)
	for where, want := range map[string]string{"over": "The bench holds", "sums": "1 without a value", "dearest": "2,500.00", "without": "safe"} {
		if !strings.Contains(risk.Text(where), want) {
			t.Errorf("%s lacks %q: %q", where, want, risk.Text(where))
		}
	}
	if !strings.Contains(risk.Body, "1 watch of 3 has no declared value") {
		t.Error("the watch without a value is not counted")
	}
	if !strings.Contains(owner.Get("/owner").Want(http.StatusOK).Body, "1 limit of the insurer is exceeded") {
		t.Error("the owner's page does not ask to look")
	}
}

func TestLimitsThatCantBeRead(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	owner := s.As(s.Owner)
	page := owner.Post("/value-at-risk", limits("safe", "much", "item", "-3")).Want(http.StatusUnprocessableEntity)
	for _, field := range []string{"safe", "item"} {
		if page.Problem(field) == "" {
			t.Errorf("%s stands", field)
		}
	}
	if page.Value("safe") != "much" {
		t.Errorf("what was typed is gone: %q", page.Value("safe"))
	}
	if page := owner.Get("/value-at-risk"); strings.Contains(page.Text("sums"), "0.03") {
		t.Error("half of it was saved")
	}
}
