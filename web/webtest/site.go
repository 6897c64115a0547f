package web

import (
	"context"
	"io"
	"log/slog"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/url"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/alexedwards/scs/pgxstore"
	"golang.org/x/net/html"

	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
	"ledgerwheel/store/files"
	"ledgerwheel/store/storetest"
)

// testPassword is what every person of a test shop signs in with.
const testPassword = "brass harbour lantern"

// testHash is computed once: hashing is slow by design.
var testHash = sync.OnceValues(func() (string, error) { return HashPassword(testPassword) })

// testNow is a Tuesday morning in the test shop.
var testNow = time.Date(2026, 11, 24, 9, 30, 0, 0, time.UTC)

// site is the whole web side over a database of its own.
type site struct {
	t     testing.TB
	store *store.Store
	url   string
	srv   *Server

	mu  sync.Mutex
	now time.Time

	owner, watchmaker, clerk staff.Member
}

// newTestSite starts a shop with one person of each role.
func newTestSite(t testing.TB) *site {
	t.Helper()
	s := newEmptySite(t)
	hash, err := testHash()
	if err != nil {
		t.Fatal(err)
	}
	sh := shop.Defaults()
	sh.Name, sh.TimeZone, sh.LinkSecret = "Tern Quay Watch Works", "Europe/Zurich", newSecret()
	s.owner = staff.Member{Name: "Ottilie Brandt", Email: "owner@ternquay.example", Role: staff.Owner}
	s.watchmaker = staff.Member{Name: "Emrys Vale", Email: "bench@ternquay.example", Role: staff.Watchmaker}
	s.clerk = staff.Member{Name: "Nuala Reed", Email: "counter@ternquay.example", Role: staff.Clerk}
	if s.owner.ID, err = s.store.Found(t.Context(), sh, s.owner, hash, testNow); err != nil {
		t.Fatal(err)
	}
	for _, m := range []*staff.Member{&s.watchmaker, &s.clerk} {
		if m.ID, err = s.store.AddMember(t.Context(), *m, hash, testNow); err != nil {
			t.Fatal(err)
		}
	}
	return s
}

// newEmptySite starts the program as it is before anyone founded the shop.
func newEmptySite(t testing.TB) *site {
	t.Helper()
	s := &site{t: t, store: storetest.New(t), now: testNow}
	uploads, err := files.Open(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	srv, err := newServer(Config{
		Store: s.store, Sessions: pgxstore.NewWithCleanupInterval(s.store.Pool(), 0), Uploads: uploads,
		Log: slog.New(slog.NewTextHandler(io.Discard, nil)), Now: s.clock, PublicURL: "http://ledger.example",
		SetupKey: "test-setup-key",
	})
	if err != nil {
		t.Fatal(err)
	}
	s.srv = srv
	h := httptest.NewServer(srv.handler())
	t.Cleanup(h.Close)
	s.url = h.URL
	return s
}

func (s *site) clock() time.Time {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.now
}

// pass moves the shop's clock on.
func (s *site) pass(d time.Duration) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.now = s.now.Add(d)
}

// client is one browser: it keeps cookies and follows no redirect by itself.
type client struct {
	t    testing.TB
	url  string
	http *http.Client
}

// stranger is a browser that nobody signed in.
func (s *site) stranger() *client {
	jar, _ := cookiejar.New(nil)
	return &client{s.t, s.url, &http.Client{Jar: jar,
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}}
}

// as is a browser in which the person is signed in, without the cost of hashing.
func (s *site) as(m staff.Member) *client {
	s.t.Helper()
	c := s.stranger()
	ctx, err := s.srv.sessions.Load(s.t.Context(), "")
	if err != nil {
		s.t.Fatal(err)
	}
	if err := s.srv.begin(ctx, m.ID, 0); err != nil {
		s.t.Fatal(err)
	}
	token, _, err := s.srv.sessions.Commit(ctx)
	if err != nil {
		s.t.Fatal(err)
	}
	u, _ := url.Parse(s.url)
	c.http.Jar.SetCookies(u, []*http.Cookie{{Name: s.srv.sessions.Cookie.Name, Value: token}})
	return c
}

// answer is what came back, read whole.
type answer struct {
	t        testing.TB
	status   int
	header   http.Header
	body     string
	document *html.Node
}

func (c *client) get(path string) *answer {
	c.t.Helper()
	req, err := http.NewRequest(http.MethodGet, c.url+path, nil)
	if err != nil {
		c.t.Fatal(err)
	}
	return c.do(req)
}

func (c *client) post(path string, fields url.Values) *answer {
	c.t.Helper()
	req, err := http.NewRequest(http.MethodPost, c.url+path, strings.NewReader(fields.Encode()))
	if err != nil {
		c.t.Fatal(err)
	}
	req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	return c.do(req)
}

func (c *client) do(req *http.Request) *answer {
	c.t.Helper()
	resp, err := c.http.Do(req)
	if err != nil {
		c.t.Fatal(err)
	}
	defer resp.Body.Close()
	body, err := io.ReadAll(resp.Body)
	if err != nil {
		c.t.Fatal(err)
	}
	doc, err := html.Parse(strings.NewReader(string(body)))
	if err != nil {
		c.t.Fatal(err)
	}
	return &answer{c.t, resp.StatusCode, resp.Header, string(body), doc}
}

// want fails the test unless the status is as wanted, and shows the page's text.
func (a *answer) want(status int) *answer {
	a.t.Helper()
	if a.status != status {
		a.t.Fatalf("status %d, want %d; page says: %.600s", a.status, status, textOf(a.document))
	}
	return a
}

// location is where a 303 leads.
func (a *answer) location() string { return a.header.Get("Location") }

// all returns the elements with the data-testid.
func (a *answer) all(testID string) []*html.Node {
	var found []*html.Node
	for n := range a.document.Descendants() {
		if n.Type == html.ElementNode && attr(n, "data-testid") == testID {
			found = append(found, n)
		}
	}
	return found
}

// one returns the only element with the data-testid.
func (a *answer) one(testID string) *html.Node {
	a.t.Helper()
	found := a.all(testID)
	if len(found) != 1 {
		a.t.Fatalf("%d elements with data-testid %q, want one; page says: %.600s", len(found), testID, textOf(a.document))
	}
	return found[0]
}

// text is the text of the only element with the data-testid, spaces collapsed.
func (a *answer) text(testID string) string {
	a.t.Helper()
	return textOf(a.one(testID))
}

// value is what the field with the data-testid holds.
func (a *answer) value(testID string) string {
	a.t.Helper()
	n := a.one(testID)
	if n.Data == "textarea" {
		return strings.TrimPrefix(rawText(n), "\n")
	}
	return attr(n, "value")
}

// problem is the error beside a field.
func (a *answer) problem(field string) string {
	for n := range a.document.Descendants() {
		if n.Type == html.ElementNode && attr(n, "id") == "f-"+field+"-error" {
			return textOf(n)
		}
	}
	return ""
}

func attr(n *html.Node, key string) string {
	for _, a := range n.Attr {
		if a.Key == key {
			return a.Val
		}
	}
	return ""
}

func rawText(n *html.Node) string {
	var b strings.Builder
	for d := range n.Descendants() {
		if d.Type == html.TextNode && d.Parent.Data != "script" && d.Parent.Data != "style" {
			b.WriteString(d.Data + " ")
		}
	}
	return b.String()
}

func textOf(n *html.Node) string { return strings.Join(strings.Fields(rawText(n)), " ") }

func itoa(id int64) string { return strconv.FormatInt(id, 10) }

// hidden is the value of the first hidden field with the name.
func (a *answer) hidden(name string) string {
	a.t.Helper()
	for n := range a.document.Descendants() {
		if n.Type == html.ElementNode && n.Data == "input" && attr(n, "type") == "hidden" && attr(n, "name") == name {
			return attr(n, "value")
		}
	}
	a.t.Fatalf("no hidden field %q", name)
	return ""
}

// maxRoundTrips is the most that a page may ask of the database: the session, the person, and two for the page.
const maxRoundTrips = 4

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
