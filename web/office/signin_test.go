package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"ledgerwheel/store"
)

func TestSignInSaysNotWhichHalfWasWrong(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	var said []string
	for _, fields := range []url.Values{
		{"email": {s.clerk.Email}, "password": {"not the right words"}},
		{"email": {"nobody@ternquay.example"}, "password": {testPassword}},
	} {
		a := s.stranger().post("/sign-in", fields).want(http.StatusUnprocessableEntity)
		if got := a.value("email"); got != fields.Get("email") {
			t.Errorf("e-mail shown again: got %q, want %q", got, fields.Get("email"))
		}
		if strings.Contains(a.body, fields.Get("password")) {
			t.Error("the page shows the password again")
		}
		said = append(said, a.problem("password"))
	}
	if said[0] == "" || said[0] != said[1] {
		t.Errorf("answers differ: %q", said)
	}
}

func TestSignInAndOut(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	c := s.stranger()
	a := c.get("/account").want(http.StatusSeeOther)
	if got := a.location(); got != "/sign-in?next=%2Faccount" {
		t.Fatalf("stranger sent to %q", got)
	}
	a = c.post("/sign-in", url.Values{"email": {" Counter@TernQuay.example "}, "password": {testPassword}, "next": {"/account"}}).want(http.StatusSeeOther)
	if a.location() != "/account" {
		t.Errorf("sent to %q after signing in", a.location())
	}
	cookie := a.header.Get("Set-Cookie")
	for _, part := range []string{"HttpOnly", "SameSite=Lax", "Path=/"} {
		if !strings.Contains(cookie, part) {
			t.Errorf("cookie %q lacks %s", cookie, part)
		}
	}
	if got := c.get("/account").want(http.StatusOK).text("page-title"); got != s.clerk.Name {
		t.Errorf("signed in as %q", got)
	}
	c.post("/sign-out", nil).want(http.StatusSeeOther)
	c.get("/account").want(http.StatusSeeOther)
}

// A token that was planted or read before somebody signed in is worth nothing afterwards (OWASP ASVS 4.0.3, 3.2.1).
func TestSignInTakesANewToken(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	c := s.as(s.clerk)
	at, err := url.Parse(s.url)
	if err != nil {
		t.Fatal(err)
	}
	before := c.http.Jar.Cookies(at)
	c.post("/sign-in", url.Values{"email": {s.owner.Email}, "password": {testPassword}}).want(http.StatusSeeOther)
	c.get("/staff").want(http.StatusOK)
	planted := s.stranger()
	planted.http.Jar.SetCookies(at, before)
	planted.get("/account").want(http.StatusSeeOther)
}

func TestSignInLeadsOnlyToOwnPages(t *testing.T) {
	t.Parallel()
	for next, want := range map[string]string{
		"/dockets?page=2": "/dockets?page=2", "": "/", "//elsewhere.example/": "/", "https://elsewhere.example": "/",
		`/\elsewhere.example`: "/", "/a\r\nSet-Cookie: x": "/",
	} {
		if got := localPath(next); got != want {
			t.Errorf("%q: got %q, want %q", next, got, want)
		}
	}
}

func TestGuessingIsBounded(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	c := s.stranger()
	for i := range signInsPerName {
		if a := c.post("/sign-in", url.Values{"email": {s.owner.Email}, "password": {"guess"}}); a.status != http.StatusUnprocessableEntity {
			t.Fatalf("guess %d: status %d", i+1, a.status)
		}
	}
	c.post("/sign-in", url.Values{"email": {s.owner.Email}, "password": {testPassword}}).want(http.StatusTooManyRequests)
}

func TestFirstVisitOpensTheShop(t *testing.T) {
	t.Parallel()
	s := newEmptySite(t)
	c := s.stranger()
	if got := c.get("/").want(http.StatusSeeOther).location(); got != "/sign-in" {
		t.Fatalf("first visit sent to %q", got)
	}
	if got := c.get("/sign-in").want(http.StatusSeeOther).location(); got != "/setup" {
		t.Fatalf("sent to %q", got)
	}
	c.get("/setup").want(http.StatusOK)
	fields := url.Values{"shop_name": {"Tern Quay Watch Works"}, "time_zone": {"Nowhere/Saltby"}, "currency": {"eur"}, "phone_region": {"gb"},
		"name": {"Ottilie Brandt"}, "email": {"owner@ternquay.example"}, "password": {"short"}, "again": {"short"}}
	a := c.post("/setup", fields).want(http.StatusUnprocessableEntity)
	for _, field := range []string{"time_zone", "password"} {
		if a.problem(field) == "" {
			t.Errorf("%s: no reason beside the field", field)
		}
	}
	if got := a.value("shop_name"); got != "Tern Quay Watch Works" {
		t.Errorf("name of the shop kept as %q", got)
	}
	fields.Set("time_zone", "Europe/Zurich")
	fields.Set("password", testPassword)
	fields.Set("again", testPassword)
	c.post("/setup", fields).want(http.StatusSeeOther)
	c.get("/staff").want(http.StatusOK)
	s.stranger().get("/setup").want(http.StatusNotFound)
	s.stranger().post("/setup", fields).want(http.StatusNotFound)
}

func TestStrangersFromElsewhereNeedTheSetupKey(t *testing.T) {
	t.Parallel()
	s := newEmptySite(t)
	for key, want := range map[string]int{"": http.StatusForbidden, "wrong": http.StatusForbidden, "test-setup-key": http.StatusOK} {
		req, err := http.NewRequest(http.MethodGet, s.url+"/setup?key="+key, nil)
		if err != nil {
			t.Fatal(err)
		}
		req.Header.Set("X-Forwarded-For", "192.0.2.7") // as a proxy would say of a visitor from outside
		s.stranger().do(req).want(want)
	}
}

func TestDisabledIsOutAtOnce(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	c := s.as(s.clerk)
	c.get("/account").want(http.StatusOK)
	if err := s.store.SetDisabled(t.Context(), s.clerk.ID, true, store.Actor{StaffID: s.owner.ID}, testNow); err != nil {
		t.Fatal(err)
	}
	c.get("/account").want(http.StatusSeeOther)
	s.stranger().post("/sign-in", url.Values{"email": {s.clerk.Email}, "password": {testPassword}}).want(http.StatusUnprocessableEntity)
}

func TestForgedPostsAreRefused(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	c := s.as(s.owner)
	req, err := http.NewRequest(http.MethodPost, c.url+"/staff", strings.NewReader("name=X"))
	if err != nil {
		t.Fatal(err)
	}
	req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	req.Header.Set("Origin", "https://elsewhere.example")
	req.Header.Set("Sec-Fetch-Site", "cross-site")
	c.do(req).want(http.StatusForbidden)
}

func TestEveryAnswerClosesTheDoors(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	for _, path := range []string{"/sign-in", "/no-such-page", "/healthz"} {
		a := s.stranger().get(path)
		policy := a.header.Get("Content-Security-Policy")
		if policy == "" || strings.Contains(policy, "unsafe") {
			t.Errorf("%s: policy %q", path, policy)
		}
		if a.header.Get("X-Request-Id") == "" || a.header.Get("X-Content-Type-Options") != "nosniff" {
			t.Errorf("%s: headers %v", path, a.header)
		}
	}
	a := s.stranger().get("/no-such-page").want(http.StatusNotFound)
	if a.text("request-id") != a.header.Get("X-Request-Id") {
		t.Error("the page and the header name different requests")
	}
}

func TestInvitation(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	owner := s.as(s.owner)
	a := owner.post("/staff", url.Values{"name": {"Søren O’Dell"}, "email": {s.clerk.Email}, "role": {"clerk"}}).want(http.StatusUnprocessableEntity)
	if a.problem("email") == "" || a.value("name") != "Søren O’Dell" {
		t.Errorf("taken address: problem %q, name %q", a.problem("email"), a.value("name"))
	}
	link := owner.post("/staff", url.Values{"name": {"Søren O’Dell"}, "email": {"soren@ternquay.example"}, "role": {"clerk"}}).
		want(http.StatusOK).text("invite-link")
	path := strings.TrimPrefix(link, "http://ledger.example")
	newcomer := s.stranger()
	newcomer.get(path).want(http.StatusOK)
	newcomer.post(path, url.Values{"password": {"Søren O’Dell"}, "again": {"Søren O’Dell"}}).want(http.StatusUnprocessableEntity)
	newcomer.post(path, url.Values{"password": {"tide table clock"}, "again": {"tide table clock"}}).want(http.StatusSeeOther)
	newcomer.get("/account").want(http.StatusOK)
	newcomer.get("/staff").want(http.StatusForbidden)
	s.stranger().get(path).want(http.StatusGone)
	s.stranger().get("/join/" + strings.Repeat("A", 26)).want(http.StatusNotFound)

	second := owner.post("/staff", url.Values{"name": {"Late Comer"}, "email": {"late@ternquay.example"}, "role": {"watchmaker"}}).text("invite-link")
	s.pass(72 * time.Hour)
	s.stranger().get(strings.TrimPrefix(second, "http://ledger.example")).want(http.StatusGone)
}

func TestResetTakesThePasswordAway(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	owner, bench := s.as(s.owner), s.as(s.watchmaker)
	link := owner.post("/staff/"+itoa(s.watchmaker.ID)+"/reset", nil).want(http.StatusOK).text("invite-link")
	bench.get("/account").want(http.StatusSeeOther)
	s.stranger().post("/sign-in", url.Values{"email": {s.watchmaker.Email}, "password": {testPassword}}).want(http.StatusUnprocessableEntity)
	s.stranger().post(strings.TrimPrefix(link, "http://ledger.example"), url.Values{"password": {"tide table clock"}, "again": {"tide table clock"}}).want(http.StatusSeeOther)
	s.stranger().post("/sign-in", url.Values{"email": {s.watchmaker.Email}, "password": {"tide table clock"}}).want(http.StatusSeeOther)
}

func TestLastOwnerStays(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	owner := s.as(s.owner)
	owner.post("/staff/"+itoa(s.owner.ID)+"/disable", nil).want(http.StatusUnprocessableEntity)
	owner.post("/staff/"+itoa(s.owner.ID)+"/role", url.Values{"role": {"clerk"}}).want(http.StatusUnprocessableEntity)
	owner.post("/staff/"+itoa(s.clerk.ID)+"/role", url.Values{"role": {"owner"}}).want(http.StatusSeeOther)
	owner.post("/staff/"+itoa(s.owner.ID)+"/role", url.Values{"role": {"clerk"}}).want(http.StatusSeeOther)
	owner.get("/staff").want(http.StatusForbidden)
}

func TestOwnPassword(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	here, there := s.as(s.clerk), s.as(s.clerk)
	a := here.post("/account/password", url.Values{"current": {"wrong"}, "password": {"tide table clock"}, "again": {"tide table cloc"}}).want(http.StatusUnprocessableEntity)
	if a.problem("current") == "" || a.problem("again") == "" {
		t.Errorf("reasons: %q, %q", a.problem("current"), a.problem("again"))
	}
	here.post("/account/password", url.Values{"current": {testPassword}, "password": {"tide table clock"}, "again": {"tide table clock"}}).want(http.StatusSeeOther)
	here.get("/account").want(http.StatusOK)
	there.get("/account").want(http.StatusSeeOther)
}
