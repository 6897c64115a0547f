package outside_test

import (
	"encoding/json"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/tongue"
	"ledgerwheel/store"
	"ledgerwheel/web/outside"
	"ledgerwheel/web/webtest"
)

// speaks sets the language that the customer of a docket is spoken to in.
func speaks(s *webtest.Site, number string, t tongue.Tongue) {
	s.T.Helper()
	if _, err := s.Store.Pool().Exec(s.T.Context(), `UPDATE customer SET tongue = $2 WHERE id =
		(SELECT customer_id FROM docket WHERE number = $1)`, number, string(t)); err != nil {
		s.T.Fatal(err)
	}
}

// langOf is what an answer's page says its language is.
func langOf(a *webtest.Answer) string {
	m := regexp.MustCompile(`<html lang="([^"]*)"`).FindStringSubmatch(a.Body)
	if m == nil {
		return ""
	}
	return m[1]
}

// TestPageSpeaksTheCustomersLanguage asks for the page in every way in which a language is chosen, and for the pages that
// say why there is nothing to be seen.
func TestPageSpeaksTheCustomersLanguage(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.Sent()
	path := linkPath(s, number)
	asking := func(path, accepts string) *webtest.Answer {
		req, err := http.NewRequest(http.MethodGet, s.URL+path, nil)
		if err != nil {
			t.Fatal(err)
		}
		if accepts != "" {
			req.Header.Set("Accept-Language", accepts)
		}
		return s.Stranger().Do(req)
	}
	for _, c := range []struct {
		customers tongue.Tongue
		query     string
		accepts   string
		lang      string
		total     string // CLDR: a comma and the sign behind, in German and French
	}{
		{"", "", "", "en", "€299.40"},
		{"", "", "fr-CH, en;q=0.5", "fr", "299,40 €"},
		{tongue.German, "", "fr-CH, en;q=0.5", "de", "299,40 €"},
		{tongue.German, "?in=en", "fr", "en", "€299.40"},
		{tongue.French, "?in=xx", "", "fr", "299,40 €"},
		{tongue.French, "?in=de", "", "de", "299,40 €"},
	} {
		speaks(s, number, c.customers.Or("en"))
		if c.customers == "" {
			if _, err := s.Store.Pool().Exec(t.Context(), `WITH c AS (UPDATE customer SET tongue = NULL) UPDATE docket SET tongue = NULL`); err != nil {
				t.Fatal(err)
			}
		}
		a := asking(path+c.query, c.accepts).Want(http.StatusOK)
		if langOf(a) != c.lang || !strings.Contains(a.Text("total"), c.total) {
			t.Errorf("%+v: lang %q, total %q", c, langOf(a), a.Text("total"))
		}
		want := tongue.Tongue(c.lang).Say("page.decline.instead")
		if !strings.Contains(a.Text("decline-fold"), want) {
			t.Errorf("%+v: %q is not said", c, want)
		}
		if asked := c.query == "?in=en" || c.query == "?in=de"; asked != strings.Contains(a.Body, `/answer`+c.query+`"`) && c.query != "" {
			t.Errorf("%+v: the form forgets the language", c)
		}
	}
	// What the shop typed is marked with the shop's own language.
	a := asking(path+"?in=de", "")
	if !regexp.MustCompile(`<bdi lang="en[^"]*">`).MatchString(a.Body) {
		t.Error("an English line stands unmarked on a German page")
	}
	for wrong, status := range map[string]int{"/c/x?in=fr": http.StatusNotFound} {
		if a := asking(wrong, ""); a.Status != status || langOf(a) != "fr" || !strings.Contains(webtest.TextOf(a.Document), "nulle part") {
			t.Errorf("%s: %d in %s", wrong, a.Status, langOf(a))
		}
	}
	answered := s.Stranger().Post(path+"/answer?in=de", customerAnswer()).Want(http.StatusSeeOther)
	if !strings.Contains(answered.Location(), "?in=de#") {
		t.Errorf("the answer leads to %s", answered.Location())
	}
}

// TestTotalFollowsWhatIsLeftOut works the total out by the server, as without scripts, and holds what the script is given to
// the same figures. The sums are worked by hand: 249.50 net, of which an optional polish is 60.00, and 20 % on both.
func TestTotalFollowsWhatIsLeftOut(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.Sent()
	path := linkPath(s, number)
	ada := s.Stranger()
	begun := s.Version(number)
	a := ada.Post(path+"/answer", customerAnswer("do", "total", "decision", "", "take", "", "name", "Ada")).Want(http.StatusOK)
	if got := a.Text("totals") + " " + a.Text("total"); got != "Net €189.50 VAT 20 % €37.90 Total €227.40" ||
		a.Hidden("agreed") != "22740" || a.Value("name") != "Ada" || a.Text("approve") != "Approve €227.40" {
		t.Errorf("worked out as %q, %s, name %q", got, a.Hidden("agreed"), a.Value("name"))
	}
	if webtest.HasAttr(a.One("take-2").Attr, "checked") {
		t.Error("the tick that was taken away is there again")
	}
	// Left out and sent with the total of all: shown again, nothing taken.
	a = ada.Post(path+"/answer", customerAnswer("take", "")).Want(http.StatusConflict)
	if !strings.Contains(a.Text("notice"), "not what these lines come to") || a.Hidden("agreed") != "22740" {
		t.Errorf("told %q, total %s", a.Text("notice"), a.Hidden("agreed"))
	}
	for name, wrong := range map[string]url.Values{
		"no total":               customerAnswer("agreed", ""),
		"no number":              customerAnswer("agreed", "29940 or so"),
		"tampered":               customerAnswer("agreed", "1"),
		"negative":               customerAnswer("agreed", "-29940"),
		"a line that must be":    customerAnswer("take", "0"),
		"a line that is not":     customerAnswer("take", "9"),
		"no line at all":         customerAnswer("take", "two"),
		"a line by another name": customerAnswer("take", "02"),
	} {
		if got := ada.Post(path+"/answer", wrong); got.Status != http.StatusConflict {
			t.Errorf("%s: answered %d", name, got.Status)
		}
	}
	if r, _ := estimateOf(s, number).Find(1); r.State != estimate.Sent || s.Version(number) != begun {
		t.Errorf("refused answers left the revision %s and the docket at %s", r.State, s.Version(number))
	}
	page := ada.Get(path).Want(http.StatusOK)
	var choices []struct {
		Minor, Total string
		Sums         []string
	}
	for _, attr := range page.One("answer-form").Attr {
		if attr.Key == "data-choices" {
			if err := json.Unmarshal([]byte(attr.Val), &choices); err != nil {
				t.Fatal(err)
			}
		}
	}
	if len(choices) != 2 || choices[0].Minor != "22740" || choices[0].Total != "€227.40" || choices[1].Minor != "29940" ||
		!slices.Equal(choices[0].Sums, []string{"€189.50", "€37.90"}) {
		t.Errorf("the script is given %+v", choices)
	}
	ada.Post(path+"/answer", customerAnswer("take", "", "agreed", "22740")).Want(http.StatusSeeOther)
	again := ada.Post(path+"/answer", customerAnswer("take", "", "agreed", "22740")).Want(http.StatusConflict)
	if !strings.Contains(again.Text("notice"), "answered already") || !strings.Contains(again.Text("answered"), "€227.40") {
		t.Errorf("sent twice: %q, %q", again.Text("notice"), again.Text("answered"))
	}
}

// TestPromisedDayAndItsChanges moves the day as the counter does and reads it from the page.
func TestPromisedDayAndItsChanges(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.Sent()
	path := linkPath(s, number)
	ada := s.Stranger()
	move := func(day time.Time) {
		t.Helper()
		in := s.Sheet(number).Head.Docket.Intake
		in.PromisedOn = day
		if err := s.Store.CorrectIntake(t.Context(), store.Change{Number: s.Number(number), By: s.Actor(s.Clerk), At: s.Clock()}, in); err != nil {
			t.Fatal(err)
		}
	}
	was := ada.Get(path).Text("promised")
	if was != "Promised for Tuesday 8 December 2026." {
		t.Fatalf("promised %q", was)
	}
	move(time.Date(2026, 12, 12, 0, 0, 0, 0, time.UTC))
	page := ada.Get(path)
	if page.Text("promised") != "Promised for Saturday 12 December 2026." ||
		page.Text("promise-moved") != "It was 8 December 2026, and was moved to 12 December 2026 on 24 November 2026." {
		t.Errorf("%q, %q", page.Text("promised"), page.Text("promise-moved"))
	}
	if german := ada.Get(path + "?in=de"); german.Text("promise-moved") !=
		"Es war der 8. Dezember 2026; am 24. November 2026 auf den 12. Dezember 2026 verlegt." {
		t.Errorf("%q", german.Text("promise-moved"))
	}
	s.Pass(20 * 24 * time.Hour)
	if late := ada.Get(path); !strings.Contains(late.Text("promised"), "That day is over") {
		t.Errorf("late: %q", late.Text("promised"))
	}
}

// TestStationsOfAStay holds every stage to a place on the line.
func TestStationsOfAStay(t *testing.T) {
	t.Parallel()
	for _, stage := range docket.Stages() {
		for _, closed := range []bool{false, true} {
			keys, at := outside.Stations(store.LinkPage{Stage: stage, Closed: closed})
			if at < 0 || at >= len(keys) {
				t.Fatalf("%s stands nowhere", stage)
			}
			for _, key := range keys {
				if tongue.French.Say(key) == key {
					t.Errorf("%s has no words", key)
				}
			}
		}
	}
}

var pageKey = regexp.MustCompile(`"(page\.[A-Za-z.-]+)"`)

// TestEverySentenceOfThePageIsThere reads this room's sources: each sentence asked for is in the files of languages, and
// each of theirs for this page is asked for.
func TestEverySentenceOfThePageIsThere(t *testing.T) {
	t.Parallel()
	asked := map[string]bool{}
	for _, pattern := range []string{"*.go", "*.templ"} {
		files, err := filepath.Glob(pattern)
		if err != nil {
			t.Fatal(err)
		}
		for _, name := range files {
			text, err := os.ReadFile(name)
			if err != nil {
				t.Fatal(err)
			}
			if strings.HasSuffix(name, "_test.go") {
				continue
			}
			for _, m := range pageKey.FindAllStringSubmatch(string(text), -1) {
				asked[m[1]] = true
			}
		}
	}
	said := func(key string) bool {
		for one := range asked { // some are made of a beginning and a stage, an arbor, a leaning
			if one == key || strings.HasSuffix(one, ".") && strings.HasPrefix(key, one) {
				return true
			}
		}
		return false
	}
	keys := tongue.Keys(tongue.English)
	for _, key := range keys {
		if strings.HasPrefix(key, "page.") && !said(key) {
			t.Errorf("%s is never said", key)
		}
	}
	for key := range asked {
		if !slices.Contains(keys, key) && !strings.HasSuffix(key, ".") {
			t.Errorf("%s is in no file", key)
		}
	}
}
