// Package webtest is for tests only: a whole site with its database, a client that reads its pages, and the shop,
// dockets and papers that the tests of several rooms begin with.
package webtest

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

	"ledgerwheel/domain/record"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
	"ledgerwheel/store/files"
	"ledgerwheel/store/storetest"
	"ledgerwheel/web"
	"ledgerwheel/web/office"
)

// Password is what every person of a test shop signs in with.
const Password = "brass harbour lantern"

// testHash is computed once: hashing is slow by design.
var testHash = sync.OnceValues(func() (string, error) { return office.HashPassword(Password) })

// Now is a Tuesday morning in the test shop.
var Now = time.Date(2026, 11, 24, 9, 30, 0, 0, time.UTC)

// Site is the whole web side over a database of its own.
type Site struct {
	T     testing.TB
	Store *store.Store
	URL   string
	Srv   *web.Server

	mu     sync.Mutex
	now    time.Time
	unseal error

	Owner, Watchmaker, Clerk staff.Member
}

// NewSite starts a shop with one person of each role; more changes how.
func NewSite(t testing.TB, more ...func(*web.Config)) *Site {
	t.Helper()
	s := NewEmptySite(t, more...)
	hash, err := testHash()
	if err != nil {
		t.Fatal(err)
	}
	sh := shop.Defaults()
	sh.Name, sh.TimeZone, sh.LinkSecret = "Tern Quay Watch Works", "Europe/Zurich", office.NewSecret()
	s.Owner = staff.Member{Name: "Ottilie Brandt", Email: "owner@ternquay.example", Role: staff.Owner}
	s.Watchmaker = staff.Member{Name: "Emrys Vale", Email: "bench@ternquay.example", Role: staff.Watchmaker}
	s.Clerk = staff.Member{Name: "Nuala Reed", Email: "counter@ternquay.example", Role: staff.Clerk}
	if s.Owner.ID, err = s.Store.Found(t.Context(), sh, s.Owner, hash, Now); err != nil {
		t.Fatal(err)
	}
	for _, m := range []*staff.Member{&s.Watchmaker, &s.Clerk} {
		if m.ID, err = s.Store.AddMember(t.Context(), *m, hash, Now); err != nil {
			t.Fatal(err)
		}
	}
	return s
}

// NewEmptySite starts the program as it is before anyone founded the shop.
func NewEmptySite(t testing.TB, more ...func(*web.Config)) *Site {
	t.Helper()
	uploads, err := files.Open(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	return SiteOver(t, storetest.New(t), uploads, Now, more...)
}

// SiteOver starts the program over a record and its pictures, at a time; more changes how.
func SiteOver(t testing.TB, kept *store.Store, uploads *files.Folder, now time.Time, more ...func(*web.Config)) *Site {
	t.Helper()
	kept.UsePublicAddress("http://ledger.example")
	s := &Site{T: t, Store: kept, now: now}
	checks := store.NewChecker(kept, func() (store.RecordCheck, error) { return store.RecordCheck{Files: uploads}, nil }, s.Clock,
		slog.New(slog.DiscardHandler))
	t.Cleanup(func() { checks.Close() })
	c := web.Config{
		Store: s.Store, Sessions: pgxstore.NewWithCleanupInterval(s.Store.Pool(), 0), Uploads: uploads,
		Log: slog.New(slog.NewTextHandler(io.Discard, nil)), Now: s.Clock, PublicURL: "http://ledger.example",
		SetupKey: "test-setup-key", Checks: checks, Sealing: s,
	}
	for _, change := range more {
		change(&c)
	}
	srv, err := web.NewServer(c)
	if err != nil {
		t.Fatal(err)
	}
	s.Srv = srv
	h := httptest.NewServer(srv.Handler())
	t.Cleanup(h.Close)
	s.URL = h.URL
	return s
}

func (s *Site) Clock() time.Time {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.now
}

// Pass moves the shop's clock on.
func (s *Site) Pass(d time.Duration) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.now = s.now.Add(d)
}

// Seal seals the record at the shop's time.
func (s *Site) Seal() record.Seal {
	s.T.Helper()
	made, err := s.Store.Seal(s.T.Context(), make([]byte, 32), s.Clock(), nil, true)
	if err != nil {
		s.T.Fatal(err)
	}
	return made
}

// Unseal has the sealing fail from now on, as far as pages can tell; nil ends that.
func (s *Site) Unseal(why error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.unseal = why
}

// Failed and Folders are what the pages are told of the sealing.
func (s *Site) Failed() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.unseal
}

func (s *Site) Folders() []string { return []string{"/srv/ledgerwheel/seals"} }

// Client is one browser: it keeps cookies and follows no redirect by itself.
type Client struct {
	T    testing.TB
	URL  string
	HTTP *http.Client
}

// Stranger is a browser that nobody signed in.
func (s *Site) Stranger() *Client {
	jar, _ := cookiejar.New(nil)
	return &Client{s.T, s.URL, &http.Client{Jar: jar,
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}}
}

// As is a browser in which the person is signed in, without the cost of hashing.
func (s *Site) As(m staff.Member) *Client {
	s.T.Helper()
	c := s.Stranger()
	ctx, err := s.Srv.Sessions.Load(s.T.Context(), "")
	if err != nil {
		s.T.Fatal(err)
	}
	if err := s.Srv.Begin(ctx, m.ID, 0, store.AccessEvent{At: s.Clock(), StaffID: m.ID, Kind: staff.SignedIn}); err != nil {
		s.T.Fatal(err)
	}
	token, _, err := s.Srv.Sessions.Commit(ctx)
	if err != nil {
		s.T.Fatal(err)
	}
	u, _ := url.Parse(s.URL)
	c.HTTP.Jar.SetCookies(u, []*http.Cookie{{Name: s.Srv.Sessions.Cookie.Name, Value: token}})
	return c
}

// Answer is what came back, read whole.
type Answer struct {
	T        testing.TB
	Status   int
	Header   http.Header
	Body     string
	Document *html.Node
}

func (c *Client) Get(path string) *Answer {
	c.T.Helper()
	req, err := http.NewRequest(http.MethodGet, c.URL+path, nil)
	if err != nil {
		c.T.Fatal(err)
	}
	return c.Do(req)
}

func (c *Client) Post(path string, fields url.Values) *Answer {
	c.T.Helper()
	req, err := http.NewRequest(http.MethodPost, c.URL+path, strings.NewReader(fields.Encode()))
	if err != nil {
		c.T.Fatal(err)
	}
	req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	return c.Do(req)
}

func (c *Client) Do(req *http.Request) *Answer {
	c.T.Helper()
	resp, err := c.HTTP.Do(req)
	if err != nil {
		c.T.Fatal(err)
	}
	defer resp.Body.Close()
	body, err := io.ReadAll(resp.Body)
	if err != nil {
		c.T.Fatal(err)
	}
	doc, err := html.Parse(strings.NewReader(string(body)))
	if err != nil {
		c.T.Fatal(err)
	}
	return &Answer{c.T, resp.StatusCode, resp.Header, string(body), doc}
}

// Want fails the test unless the status is as wanted, and shows the page's text.
func (a *Answer) Want(status int) *Answer {
	a.T.Helper()
	if a.Status != status {
		a.T.Fatalf("status %d, want %d; page says: %.600s", a.Status, status, TextOf(a.Document))
	}
	return a
}

// Location is where a 303 leads.
func (a *Answer) Location() string { return a.Header.Get("Location") }

// All returns the elements with the data-testid.
func (a *Answer) All(testID string) []*html.Node {
	var found []*html.Node
	for n := range a.Document.Descendants() {
		if n.Type == html.ElementNode && Attr(n, "data-testid") == testID {
			found = append(found, n)
		}
	}
	return found
}

// One returns the only element with the data-testid.
func (a *Answer) One(testID string) *html.Node {
	a.T.Helper()
	found := a.All(testID)
	if len(found) != 1 {
		a.T.Fatalf("%d elements with data-testid %q, want one; page says: %.600s", len(found), testID, TextOf(a.Document))
	}
	return found[0]
}

// Text is the text of the only element with the data-testid, spaces collapsed.
func (a *Answer) Text(testID string) string {
	a.T.Helper()
	return TextOf(a.One(testID))
}

// Value is what the field with the data-testid holds.
func (a *Answer) Value(testID string) string {
	a.T.Helper()
	n := a.One(testID)
	if n.Data == "textarea" {
		return strings.TrimPrefix(RawText(n), "\n")
	}
	return Attr(n, "value")
}

// Problem is the error beside a field.
func (a *Answer) Problem(field string) string {
	for n := range a.Document.Descendants() {
		if n.Type == html.ElementNode && Attr(n, "id") == "f-"+field+"-error" {
			return TextOf(n)
		}
	}
	return ""
}

func Attr(n *html.Node, key string) string {
	for _, a := range n.Attr {
		if a.Key == key {
			return a.Val
		}
	}
	return ""
}

func RawText(n *html.Node) string {
	var b strings.Builder
	for d := range n.Descendants() {
		if d.Type == html.TextNode && d.Parent.Data != "script" && d.Parent.Data != "style" {
			b.WriteString(d.Data + " ")
		}
	}
	return b.String()
}

func TextOf(n *html.Node) string { return strings.Join(strings.Fields(RawText(n)), " ") }

func Itoa(id int64) string { return strconv.FormatInt(id, 10) }

// Hidden is the value of the first hidden field with the name.
func (a *Answer) Hidden(name string) string {
	a.T.Helper()
	for n := range a.Document.Descendants() {
		if n.Type == html.ElementNode && n.Data == "input" && Attr(n, "type") == "hidden" && Attr(n, "name") == name {
			return Attr(n, "value")
		}
	}
	a.T.Fatalf("no hidden field %q", name)
	return ""
}

// MaxRoundTrips is the most that a page may ask of the database: the session, the person, and two for the page.
const MaxRoundTrips = 4

// Serve answers a GET without the network between, so that ctx reaches the store.
func (c *Client) Serve(ctx context.Context, s *Site, path string) int {
	c.T.Helper()
	req := httptest.NewRequestWithContext(ctx, http.MethodGet, path, nil)
	u, _ := url.Parse(s.URL)
	req.Host = u.Host
	for _, cookie := range c.HTTP.Jar.Cookies(u) {
		req.AddCookie(cookie)
	}
	w := httptest.NewRecorder()
	s.Srv.Handler().ServeHTTP(w, req)
	return w.Code
}

// Unproven has it be long ago that the person at a browser said who they are.
func (s *Site) Unproven(c *Client) {
	s.T.Helper()
	u, _ := url.Parse(s.URL)
	for _, cookie := range c.HTTP.Jar.Cookies(u) {
		if cookie.Name != s.Srv.Sessions.Cookie.Name {
			continue
		}
		ctx, err := s.Srv.Sessions.Load(s.T.Context(), cookie.Value)
		if err != nil {
			s.T.Fatal(err)
		}
		s.Srv.Proved(ctx, time.Now().Add(-time.Hour))
		if _, _, err := s.Srv.Sessions.Commit(ctx); err != nil {
			s.T.Fatal(err)
		}
	}
}
