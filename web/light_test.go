package web_test

import (
	"compress/gzip"
	"io"
	"net/http"
	"net/url"
	"path"
	"regexp"
	"strings"
	"testing"

	"ledgerwheel/web/webtest"
)

// rawly asks as browsers that know no newer coding do, and returns the answer as it came over the line.
func rawly(t *testing.T, c *webtest.Client, address string) (body string, header http.Header) {
	t.Helper()
	req, err := http.NewRequest(http.MethodGet, c.URL+address, nil)
	if err != nil {
		t.Fatal(err)
	}
	req.Header.Set("Accept-Encoding", "gzip, deflate, br")
	a := c.Do(req).Want(http.StatusOK)
	return a.Body, a.Header
}

func unzipped(t *testing.T, body string) string {
	t.Helper()
	z, err := gzip.NewReader(strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	plain, err := io.ReadAll(z)
	if err != nil {
		t.Fatal(err)
	}
	return string(plain)
}

var (
	linked   = regexp.MustCompile(`(?:href|src)="(/static/[^"]+)"`)
	imported = regexp.MustCompile(`"(\./[a-z-]+\.[0-9a-f]+\.js)"`)
)

// What a first visit loads: the page, and all that it links, preloads and imports, once each. Customers look from a telephone, on
// the road, and need little of what the shop's own pages are styled by.
func TestFirstVisitIsLight(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.Sent()
	s.As(s.Clerk).Post("/dockets/"+number+"/link", url.Values{"version": {s.Version(number)}}).Want(http.StatusSeeOther)
	sheet := s.As(s.Clerk).Get("/dockets/" + number + "/estimate").Text("private-link")
	for name, c := range map[string]struct {
		address   string
		mostBytes int
	}{
		"signing in": {"/sign-in", 122_000},
		"a customer": {strings.TrimPrefix(sheet, "http://ledger.example"), 122_000},
		"a card":     {"/w", 113_000},
	} {
		const mostRequests = 10
		bytes, requests, blocking := firstVisit(t, s, c.address)
		t.Logf("%s: %d bytes in %d requests", name, bytes, requests)
		if bytes > c.mostBytes || requests > mostRequests || requests < 5 {
			t.Errorf("%s: %d bytes in %d requests, at most %d in %d", name, bytes, requests, c.mostBytes, mostRequests)
		}
		if blocking != 1 {
			t.Errorf("%s: %d stylesheets hold the page up", name, blocking)
		}
	}
}

// firstVisit counts what a browser that has kept nothing fetches for a page, photographs apart, and the stylesheets among it.
func firstVisit(t *testing.T, s *webtest.Site, address string) (bytes, requests, blocking int) {
	t.Helper()
	page, header := rawly(t, s.Stranger(), address)
	bytes, requests = len(page), 1
	if header.Get("Content-Encoding") == "gzip" {
		page = unzipped(t, page)
	}
	var queue []string
	for _, m := range linked.FindAllStringSubmatch(page, -1) {
		if !strings.Contains(m[1], "/licences/") {
			queue = append(queue, m[1])
		}
	}
	seen := map[string]bool{}
	for len(queue) > 0 {
		address := queue[0]
		queue = queue[1:]
		if seen[address] {
			continue
		}
		seen[address] = true
		body, header := rawly(t, s.Stranger(), address)
		bytes, requests = bytes+len(body), requests+1
		if strings.HasSuffix(address, ".css") {
			blocking++
		}
		if header.Get("Content-Encoding") == "gzip" {
			body = unzipped(t, body)
		}
		if strings.HasSuffix(address, ".js") {
			for _, m := range imported.FindAllStringSubmatch(body, -1) {
				queue = append(queue, path.Join(path.Dir(address), m[1]))
			}
		}
	}
	return bytes, requests, blocking
}

// Pages go over the line compressed, but one with a private link on it does not: its size would tell of the link.
func TestPagesAreCompressedWithoutSecrets(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.Sent()
	for _, address := range []string{"/", "/dockets", "/dockets/" + number} {
		body, header := rawly(t, s.As(s.Owner), address)
		if header.Get("Content-Encoding") != "gzip" || !strings.Contains(header.Get("Vary"), "Accept-Encoding") {
			t.Errorf("%s: %q, varies by %q", address, header.Get("Content-Encoding"), header.Get("Vary"))
			continue
		}
		if plain := unzipped(t, body); !strings.Contains(plain, "</html>") || len(plain) < 2*len(body) {
			t.Errorf("%s: %d bytes of %d", address, len(body), len(plain))
		}
	}
	clerk := s.As(s.Clerk)
	sheet := "/dockets/" + number + "/estimate"
	clerk.Post("/dockets/"+number+"/link", url.Values{"version": {s.Version(number)}}).Want(http.StatusSeeOther)
	body, header := rawly(t, clerk, sheet)
	if header.Get("Content-Encoding") != "" || !strings.Contains(body, "http://ledger.example/c/") {
		t.Errorf("the sheet with the private link: %q, %d bytes", header.Get("Content-Encoding"), len(body))
	}
	_, header = rawly(t, clerk, "/dockets/"+number+"/papers/claim-ticket.pdf")
	if header.Get("Content-Encoding") != "" {
		t.Error("a PDF is compressed again")
	}
}
