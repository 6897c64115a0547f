package office_test

import (
	"errors"
	"net/http"
	"net/netip"
	"net/url"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/store"
	"ledgerwheel/web"
	"ledgerwheel/web/page"
	"ledgerwheel/web/webtest"
)

func TestSignInSaysNotWhichHalfWasWrong(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	var said []string
	for _, fields := range []url.Values{
		{"email": {s.Clerk.Email}, "password": {"not the right words"}},
		{"email": {"nobody@ternquay.example"}, "password": {webtest.Password}},
	} {
		a := s.Stranger().Post("/sign-in", fields).Want(http.StatusUnprocessableEntity)
		if got := a.Value("email"); got != fields.Get("email") {
			t.Errorf("e-mail shown again: got %q, want %q", got, fields.Get("email"))
		}
		if strings.Contains(a.Body, fields.Get("password")) {
			t.Error("the page shows the password again")
		}
		if got := a.Text("form-errors"); !strings.HasPrefix(got, "You are not signed in") || strings.Contains(got, "saved") {
			t.Errorf("the refusal is headed %q", got)
		}
		said = append(said, a.Problem("password"))
	}
	if said[0] == "" || said[0] != said[1] {
		t.Errorf("answers differ: %q", said)
	}
}

func TestSignInAndOut(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	c := s.Stranger()
	a := c.Get("/account").Want(http.StatusSeeOther)
	if got := a.Location(); got != "/sign-in?next=%2Faccount" {
		t.Fatalf("stranger sent to %q", got)
	}
	a = c.Post("/sign-in", url.Values{"email": {" Counter@TernQuay.example "}, "password": {webtest.Password},
		"next": {"/account"}}).Want(http.StatusSeeOther)
	if a.Location() != "/account" {
		t.Errorf("sent to %q after signing in", a.Location())
	}
	cookie := a.Header.Get("Set-Cookie")
	for _, part := range []string{"HttpOnly", "SameSite=Lax", "Path=/"} {
		if !strings.Contains(cookie, part) {
			t.Errorf("cookie %q lacks %s", cookie, part)
		}
	}
	if got := c.Get("/account").Want(http.StatusOK).Text("page-title"); got != s.Clerk.Name {
		t.Errorf("signed in as %q", got)
	}
	c.Post("/sign-out", nil).Want(http.StatusSeeOther)
	c.Get("/account").Want(http.StatusSeeOther)
}

// A token that was planted or read before somebody signed in is worth nothing afterwards (OWASP ASVS 4.0.3, 3.2.1).
func TestSignInTakesANewToken(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	c := s.As(s.Clerk)
	at, err := url.Parse(s.URL)
	if err != nil {
		t.Fatal(err)
	}
	before := c.HTTP.Jar.Cookies(at)
	c.Post("/sign-in", url.Values{"email": {s.Owner.Email}, "password": {webtest.Password}}).Want(http.StatusSeeOther)
	c.Get("/staff").Want(http.StatusOK)
	planted := s.Stranger()
	planted.HTTP.Jar.SetCookies(at, before)
	planted.Get("/account").Want(http.StatusSeeOther)
}

func TestSignInLeadsOnlyToOwnPages(t *testing.T) {
	t.Parallel()
	for next, want := range map[string]string{
		"/dockets?page=2": "/dockets?page=2", "": "/", "//elsewhere.example/": "/", "https://elsewhere.example": "/",
		`/\elsewhere.example`: "/", "/a\r\nSet-Cookie: x": "/",
	} {
		if got := page.LocalPath(next); got != want {
			t.Errorf("%q: got %q, want %q", next, got, want)
		}
	}
}

func TestFirstVisitOpensTheShop(t *testing.T) {
	t.Parallel()
	s := webtest.NewEmptySite(t, func(c *web.Config) { c.PublicURL = "http://127.0.0.1:8080" })
	c := s.Stranger()
	if got := c.Get("/").Want(http.StatusSeeOther).Location(); got != "/sign-in" {
		t.Fatalf("first visit sent to %q", got)
	}
	if got := c.Get("/sign-in").Want(http.StatusSeeOther).Location(); got != "/setup" {
		t.Fatalf("sent to %q", got)
	}
	c.Get("/setup").Want(http.StatusOK)
	fields := url.Values{"shop_name": {"Tern Quay Watch Works"}, "time_zone": {"Nowhere/Saltby"}, "currency": {"eur"},
		"phone_region": {"gb"},
		"name":         {"Ottilie Brandt"}, "email": {"owner@ternquay.example"}, "password": {"short"}, "again": {"short"}}
	a := c.Post("/setup", fields).Want(http.StatusUnprocessableEntity)
	for _, field := range []string{"time_zone", "password"} {
		if a.Problem(field) == "" {
			t.Errorf("%s: no reason beside the field", field)
		}
	}
	if got := a.Value("shop_name"); got != "Tern Quay Watch Works" {
		t.Errorf("name of the shop kept as %q", got)
	}
	fields.Set("time_zone", "Europe/Zurich")
	fields.Set("password", webtest.Password)
	fields.Set("again", webtest.Password)
	c.Post("/setup", fields).Want(http.StatusSeeOther)
	c.Get("/staff").Want(http.StatusOK)
	s.Stranger().Get("/setup").Want(http.StatusNotFound)
	s.Stranger().Post("/setup", fields).Want(http.StatusNotFound)
}

// TestSetupKeyIsAsked of everybody but who opens the page at a literal address of the loopback, with no sign of a proxy.
func TestSetupKeyIsAsked(t *testing.T) {
	t.Parallel()
	here := webtest.NewEmptySite(t, func(c *web.Config) { c.PublicURL = "http://127.0.0.1:8080" })
	public := webtest.NewEmptySite(t)
	behind := webtest.NewEmptySite(t, func(c *web.Config) {
		c.PublicURL, c.Proxies = "http://127.0.0.1:8080", []netip.Prefix{netip.MustParsePrefix("127.0.0.1/32")}
	})
	for _, c := range []struct {
		at                  *webtest.Site
		host, header, value string
		asked               bool
	}{
		{here, "127.0.0.1:8080", "", "", false},
		{here, "[::1]:8080", "", "", false},
		{here, "localhost:8080", "", "", true},
		{here, "127.0.0.1:8080", "X-Forwarded-For", "192.0.2.7", true}, // as a proxy would say of a visitor from outside
		{here, "127.0.0.1:8080", "X-Forwarded-Proto", "https", true},
		{here, "127.0.0.1:8080", "Forwarded", "for=127.0.0.1", true},
		{here, "127.0.0.1:8080", "Via", "1.1 gate", true},
		{public, "127.0.0.1:8080", "", "", true}, // reached by others: a proxy may have left no sign
		{behind, "127.0.0.1:8080", "", "", true},
	} {
		for key, want := range map[string]int{"": http.StatusForbidden, "wrong": http.StatusForbidden, "test-setup-key": http.StatusOK} {
			req, err := http.NewRequest(http.MethodGet, c.at.URL+"/setup?key="+key, nil)
			if err != nil {
				t.Fatal(err)
			}
			req.Host = c.host
			if c.header != "" {
				req.Header.Set(c.header, c.value)
			}
			if !c.asked {
				want = http.StatusOK
			}
			a := c.at.Stranger().Do(req)
			if a.Status != want {
				t.Errorf("%s %s %s, key %q: status %d, want %d", c.host, c.header, c.value, key, a.Status, want)
			}
			if a.Status == http.StatusForbidden && key == "wrong" && !strings.HasPrefix(a.Text("form-errors"), "The shop stays closed") {
				t.Errorf("a wrong key is headed %q", a.Text("form-errors"))
			}
		}
	}
}

// TestForeignPagesFoundNoOwner: neither a page whose name was made to mean this machine (DNS rebinding) nor one that has a
// browser on this machine send the form.
func TestForeignPagesFoundNoOwner(t *testing.T) {
	t.Parallel()
	s := webtest.NewEmptySite(t, func(c *web.Config) { c.PublicURL = "http://127.0.0.1:8080" })
	fields := url.Values{"shop_name": {"Tern Quay Watch Works"}, "time_zone": {"Europe/Zurich"}, "currency": {"EUR"}, "phone_region": {"GB"},
		"name": {"Ottilie Brandt"}, "email": {"owner@ternquay.example"}, "password": {webtest.Password}, "again": {webtest.Password}}
	for _, c := range []struct {
		host, origin, site string
		want               int
	}{
		{"evil.example", "", "", http.StatusMisdirectedRequest},
		{"evil.example:8080", "http://evil.example:8080", "same-origin", http.StatusMisdirectedRequest},
		{"127.0.0.1:8080", "http://evil.example:8080", "cross-site", http.StatusForbidden},
		{"127.0.0.1:8080", "http://evil.example:8080", "", http.StatusForbidden},
		{"127.0.0.1:8080", "null", "cross-site", http.StatusForbidden},
		{"127.0.0.1:8080", "https://evil.example", "same-origin", http.StatusForbidden},
		{"localhost:8080", "http://localhost:8080", "same-origin", http.StatusForbidden}, // the key is asked
	} {
		for _, method := range []string{http.MethodPost, http.MethodGet} {
			req, err := http.NewRequest(method, s.URL+"/setup", strings.NewReader(fields.Encode()))
			if err != nil {
				t.Fatal(err)
			}
			req.Host = c.host
			req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
			for name, value := range map[string]string{"Origin": c.origin, "Sec-Fetch-Site": c.site} {
				if value != "" {
					req.Header.Set(name, value)
				}
			}
			if a := s.Stranger().Do(req); a.Status != c.want {
				t.Errorf("%s of %+v: status %d", method, c, a.Status)
			}
		}
		if _, err := s.Store.Shop(t.Context()); !errors.Is(err, domain.ErrNotFound) {
			t.Fatalf("%+v founded the shop: %v", c, err)
		}
	}
	s.Stranger().Post("/setup", fields).Want(http.StatusSeeOther)
}

func TestDisabledIsOutAtOnce(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	c := s.As(s.Clerk)
	c.Get("/account").Want(http.StatusOK)
	if err := s.Store.SetDisabled(t.Context(), s.Clerk.ID, true, store.Actor{StaffID: s.Owner.ID},
		webtest.Now); err != nil {
		t.Fatal(err)
	}
	c.Get("/account").Want(http.StatusSeeOther)
	s.Stranger().Post("/sign-in", url.Values{"email": {s.Clerk.Email},
		"password": {webtest.Password}}).Want(http.StatusUnprocessableEntity)
}

func TestForgedPostsAreRefused(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	c := s.As(s.Owner)
	req, err := http.NewRequest(http.MethodPost, c.URL+"/staff", strings.NewReader("name=X"))
	if err != nil {
		t.Fatal(err)
	}
	req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	req.Header.Set("Origin", "https://elsewhere.example")
	req.Header.Set("Sec-Fetch-Site", "cross-site")
	c.Do(req).Want(http.StatusForbidden)
}

func TestEveryAnswerClosesTheDoors(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	for _, path := range []string{"/sign-in", "/no-such-page", "/healthz"} {
		a := s.Stranger().Get(path)
		policy := a.Header.Get("Content-Security-Policy")
		if policy == "" || strings.Contains(policy, "unsafe") {
			t.Errorf("%s: policy %q", path, policy)
		}
		if a.Header.Get("X-Request-Id") == "" || a.Header.Get("X-Content-Type-Options") != "nosniff" {
			t.Errorf("%s: headers %v", path, a.Header)
		}
	}
	a := s.Stranger().Get("/no-such-page").Want(http.StatusNotFound)
	if a.Text("request-id") != a.Header.Get("X-Request-Id") {
		t.Error("the page and the header name different requests")
	}
}

func TestInvitation(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	owner := s.As(s.Owner)
	a := owner.Post("/staff", url.Values{"name": {"Søren O’Dell"}, "email": {s.Clerk.Email},
		"role": {"clerk"}}).Want(http.StatusUnprocessableEntity)
	if a.Problem("email") == "" || a.Value("name") != "Søren O’Dell" {
		t.Errorf("taken address: problem %q, name %q", a.Problem("email"), a.Value("name"))
	}
	link := owner.Post("/staff", url.Values{"name": {"Søren O’Dell"}, "email": {"soren@ternquay.example"},
		"role": {"clerk"}}).
		Want(http.StatusOK).Text("invite-link")
	path := strings.TrimPrefix(link, "http://ledger.example")
	newcomer := s.Stranger()
	newcomer.Get(path).Want(http.StatusOK)
	newcomer.Post(path, url.Values{"password": {"Søren O’Dell"},
		"again": {"Søren O’Dell"}}).Want(http.StatusUnprocessableEntity)
	newcomer.Post(path, url.Values{"password": {"tide table clock"},
		"again": {"tide table clock"}}).Want(http.StatusSeeOther)
	newcomer.Get("/account").Want(http.StatusOK)
	newcomer.Get("/staff").Want(http.StatusForbidden)
	s.Stranger().Get(path).Want(http.StatusGone)
	s.Stranger().Get("/join/" + strings.Repeat("A", 26)).Want(http.StatusNotFound)

	second := owner.Post("/staff", url.Values{"name": {"Late Comer"}, "email": {"late@ternquay.example"},
		"role": {"watchmaker"}}).Text("invite-link")
	s.Pass(72 * time.Hour)
	s.Stranger().Get(strings.TrimPrefix(second, "http://ledger.example")).Want(http.StatusGone)
}

func TestResetTakesThePasswordAway(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	owner, bench := s.As(s.Owner), s.As(s.Watchmaker)
	link := owner.Post("/staff/"+webtest.Itoa(s.Watchmaker.ID)+"/reset", nil).Want(http.StatusOK).Text("invite-link")
	bench.Get("/account").Want(http.StatusSeeOther)
	s.Stranger().Post("/sign-in", url.Values{"email": {s.Watchmaker.Email},
		"password": {webtest.Password}}).Want(http.StatusUnprocessableEntity)
	s.Stranger().Post(strings.TrimPrefix(link, "http://ledger.example"), url.Values{"password": {"tide table clock"},
		"again": {"tide table clock"}}).Want(http.StatusSeeOther)
	s.Stranger().Post("/sign-in", url.Values{"email": {s.Watchmaker.Email},
		"password": {"tide table clock"}}).Want(http.StatusSeeOther)
}

func TestLastOwnerStays(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	owner := s.As(s.Owner)
	owner.Post("/staff/"+webtest.Itoa(s.Owner.ID)+"/disable", nil).Want(http.StatusUnprocessableEntity)
	owner.Post("/staff/"+webtest.Itoa(s.Owner.ID)+"/role",
		url.Values{"role": {"clerk"}}).Want(http.StatusUnprocessableEntity)
	owner.PostSure("/staff/"+webtest.Itoa(s.Clerk.ID)+"/role", url.Values{"role": {"owner"}}).Want(http.StatusSeeOther)
	owner.Post("/staff/"+webtest.Itoa(s.Owner.ID)+"/role", url.Values{"role": {"clerk"}}).Want(http.StatusSeeOther)
	owner.Get("/staff").Want(http.StatusForbidden)
}

func TestOwnPassword(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	here, there := s.As(s.Clerk), s.As(s.Clerk)
	a := here.Post("/account/password", url.Values{"current": {"wrong"}, "password": {"tide table clock"},
		"again": {"tide table cloc"}}).Want(http.StatusUnprocessableEntity)
	if a.Problem("current") == "" || a.Problem("again") == "" {
		t.Errorf("reasons: %q, %q", a.Problem("current"), a.Problem("again"))
	}
	here.Post("/account/password", url.Values{"current": {webtest.Password}, "password": {"tide table clock"},
		"again": {"tide table clock"}}).Want(http.StatusSeeOther)
	here.Get("/account").Want(http.StatusOK)
	there.Get("/account").Want(http.StatusSeeOther)
}

// TestOwnersRightsAreAskedAboutOnceMore: the question says what will happen, keeps what was chosen, and does nothing yet.
func TestOwnersRightsAreAskedAboutOnceMore(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	owner, path := s.As(s.Owner), "/staff/"+webtest.Itoa(s.Clerk.ID)+"/role"
	asked := owner.Post(path, url.Values{"role": {"owner"}}).Want(http.StatusOK)
	webtest.Contains(t, path, asked.Text("sure-text"), "can't be undone", "see and change all settings")
	if asked.Hidden("role") != "owner" {
		t.Errorf("the question is about %q", asked.Hidden("role"))
	}
	s.As(s.Clerk).Get("/staff").Want(http.StatusForbidden)
	other := url.Values{"role": {"owner"}, "sure_of": {"yes"}}
	owner.Post(path, other).Want(http.StatusOK).Text("sure-text") // a yes to nothing that was asked
	s.As(s.Clerk).Get("/staff").Want(http.StatusForbidden)
	owner.Post(path, url.Values{"role": {"owner"}, "sure_of": {asked.Hidden("sure_of")}}).Want(http.StatusSeeOther)
	s.As(s.Clerk).Get("/staff").Want(http.StatusOK)
}
