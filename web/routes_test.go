package web

import (
	"context"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"

	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
)

// missing stands in an address for a record that is not there.
const missing = "4711471147"

var pathParam = regexp.MustCompile(`\{[a-z_]+\}`)

// addressOf fills a route's pattern, by the parameter together with what stands before it ("photos/{id}") or else by the
// parameter alone; what is not given is missing.
func addressOf(pattern string, given map[string]string) string {
	for key, value := range given {
		before, _, _ := strings.Cut(key, "{")
		pattern = strings.ReplaceAll(pattern, key, before+value)
	}
	return pathParam.ReplaceAllString(pattern, missing)
}

// TestEveryRouteAdmitsWhomItsTableNames walks the table of routes with a stranger and with each role, and compares
// with the table of what each role may do.
func TestEveryRouteAdmitsWhomItsTableNames(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.noted()
	given := map[string]string{"{number}": number}
	people := map[staff.Role]staff.Member{staff.Owner: s.owner, staff.Watchmaker: s.watchmaker, staff.Clerk: s.clerk}
	seen := map[string]bool{}
	for _, rt := range s.srv.routes() {
		name := rt.method + " " + rt.pattern
		if seen[name] {
			t.Errorf("%s stands in the table twice", name)
		}
		seen[name] = true
		ways := 0
		for _, way := range []bool{rt.who.public, rt.who.any, rt.who.perm != ""} {
			if way {
				ways++
			}
		}
		if ways != 1 {
			t.Errorf("%s says in %d ways who may", name, ways)
		}
		if rt.who.perm != "" && len(rt.who.perm.Holders()) == 0 {
			t.Errorf("%s asks for %q, which nobody holds", name, rt.who.perm)
		}
		path := addressOf(rt.pattern, given)
		walk := func(c *client) *answer {
			if rt.method == http.MethodGet {
				return c.get(path)
			}
			return c.post(path, nil)
		}
		stranger := walk(s.stranger())
		askedToSignIn := stranger.status == http.StatusSeeOther && strings.HasPrefix(stranger.location(), "/sign-in")
		if !rt.who.public && !askedToSignIn {
			t.Errorf("%s answers a stranger %d", name, stranger.status)
		}
		if rt.who.public && (stranger.status == http.StatusForbidden || stranger.status == http.StatusUnauthorized) {
			t.Errorf("%s is public and answers a stranger %d", name, stranger.status)
		}
		for _, role := range staff.Roles() {
			got := walk(s.as(people[role]))
			may := rt.who.public || rt.who.any || staff.Can(role, rt.who.perm)
			refused := got.status == http.StatusForbidden || got.status == http.StatusUnauthorized ||
				!rt.who.public && got.status == http.StatusSeeOther && strings.HasPrefix(got.location(), "/sign-in") && rt.pattern != "/sign-out"
			switch {
			case may && refused:
				t.Errorf("%s refuses the %s: %d", name, role.Label(), got.status)
			case !may && got.status != http.StatusForbidden:
				t.Errorf("%s answers the %s %d, want 403", name, role.Label(), got.status)
			case got.status >= 500:
				t.Errorf("%s answers the %s %d", name, role.Label(), got.status)
			}
		}
	}
}

// TestAWrongMethodIsNoWayIn makes sure that the table's word is for its own method alone.
func TestAWrongMethodIsNoWayIn(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.noted()
	owner := s.as(s.owner)
	before := s.version(number)
	for _, path := range []string{"/dockets/" + number + "/move", "/dockets/" + number + "/place", "/dockets/" + number + "/bench"} {
		owner.get(path).want(http.StatusNotFound)
	}
	if s.version(number) != before {
		t.Error("a GET changed the docket")
	}
}

// A forged post from another site is refused on every route that changes anything.
func TestForgedPostsAreRefusedOnEveryRoute(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	given := map[string]string{"{number}": s.noted()}
	owner := s.as(s.owner)
	for _, rt := range s.srv.routes() {
		if rt.method == http.MethodGet {
			continue
		}
		req, err := http.NewRequest(rt.method, s.url+addressOf(rt.pattern, given), strings.NewReader(""))
		if err != nil {
			t.Fatal(err)
		}
		req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		req.Header.Set("Sec-Fetch-Site", "cross-site")
		req.Header.Set("Origin", "https://elsewhere.example")
		if got := owner.do(req); got.status != http.StatusForbidden {
			t.Errorf("%s %s answers a forged post %d", rt.method, rt.pattern, got.status)
		}
	}
}

// maxRoundTrips is the most that a page may ask of the database: the session, the person, and two for the page.
const maxRoundTrips = 4

// pagesElsewhere are GET routes whose pages need a record of their own to be shown in full; their own tests count
// their round trips. This walk makes sure of the rest, and that none is forgotten.
var pagesElsewhere = []string{}

// TestEveryPageTakesFewRoundTrips shows every page of the table that a docket's number alone leads to, and counts what
// it asks of the database, for every role that may see it.
func TestEveryPageTakesFewRoundTrips(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.noted()
	given := map[string]string{"{number}": number, "customers/{id}": itoa(s.sheet(number).Head.Customer.ID),
		"watches/{id}": itoa(s.sheet(number).Head.Watch.ID), "/d/{code}": strings.ReplaceAll(number, "-", "")}
	for _, rt := range s.srv.routes() {
		path := addressOf(rt.pattern, given)
		if rt.method != http.MethodGet || strings.Contains(path, missing) || slices.Contains(pagesElsewhere, rt.pattern) {
			continue
		}
		for _, m := range s.everyone() {
			if !rt.who.public && !rt.who.any && !staff.Can(m.Role, rt.who.perm) {
				continue
			}
			c := s.as(m)
			ctx, count := store.CountRoundTrips(t.Context())
			got := c.serve(ctx, s, path)
			switch {
			case got != http.StatusOK && got != http.StatusSeeOther && got != http.StatusNotFound:
				t.Errorf("%s answers the %s %d", rt.pattern, m.Role.Label(), got)
			case count.Trips() > maxRoundTrips:
				t.Errorf("%s takes %d round trips for the %s, at most %d are wanted", rt.pattern, count.Trips(), m.Role.Label(), maxRoundTrips)
			}
		}
	}
}

// serve answers a GET without the network between, so that ctx reaches the store.
func (c *client) serve(ctx context.Context, s *site, path string) int {
	c.t.Helper()
	req := httptest.NewRequestWithContext(ctx, http.MethodGet, path, nil)
	u, _ := url.Parse(s.url)
	for _, cookie := range c.http.Jar.Cookies(u) {
		req.AddCookie(cookie)
	}
	w := httptest.NewRecorder()
	s.srv.handler().ServeHTTP(w, req)
	return w.Code
}
