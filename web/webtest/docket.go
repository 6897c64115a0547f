package web

import (
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/watch"
	"ledgerwheel/store"
	"ledgerwheel/store/storetest"
	"net/http"
	"net/http/httptest"
	"net/url"
	"slices"
	"strings"

	"golang.org/x/net/html"
)

// keptForm is what a page's form for keeping an answer would send.
func keptForm(as string, typed url.Values, more ...string) url.Values {
	f := url.Values{"as": {as}}
	for name, values := range typed {
		f[keptInput+name] = values
	}
	for i := 0; i+1 < len(more); i += 2 {
		f.Set(more[i], more[i+1])
	}
	return f
}

// findings are the findings of a docket: fault and note.
func (s *site) findings(number string) []string {
	s.t.Helper()
	n, err := docket.ParseNumber(number)
	if err != nil {
		s.t.Fatal(err)
	}
	sheet, err := s.store.DiagnosisSheet(s.t.Context(), n)
	if err != nil {
		s.t.Fatal(err)
	}
	var list []string
	for _, f := range sheet.Findings {
		list = append(list, f.Fault+"\n"+f.Note)
	}
	return list
}

// typed is what a text area holds; the helper that reads elements sets a blank between texts.
func (a *answer) typed(testID string) string {
	a.t.Helper()
	return strings.TrimSuffix(a.value(testID), " ")
}

// noted takes in a watch and notes its condition, so that it may go to the bench.
func (s *site) noted(changes ...string) string {
	s.t.Helper()
	number := s.takeIn(changes...)
	err := s.store.NoteCondition(s.t.Context(), store.Change{Number: s.number(number), By: s.actor(s.clerk), At: s.clock()},
		watch.Condition{NoMarksSeen: watch.Parts})
	if err != nil {
		s.t.Fatal(err)
	}
	return number
}

func (s *site) number(text string) docket.Number {
	s.t.Helper()
	n, err := docket.ParseNumber(text)
	if err != nil {
		s.t.Fatal(err)
	}
	return n
}

func (s *site) actor(m staff.Member) store.Actor {
	return store.Actor{StaffID: m.ID, Name: m.Name, Role: m.Role}
}

// version is the docket's, as a form of its page carries it.
func (s *site) version(number string) string {
	s.t.Helper()
	h, err := s.store.Head(s.t.Context(), s.number(number))
	if err != nil {
		s.t.Fatal(err)
	}
	return itoa(h.Docket.Version)
}

// moveForm is a move as it is filled in.
func (s *site) moveForm(number string, to docket.Stage, fields ...string) url.Values {
	s.t.Helper()
	f := url.Values{"to": {string(to)}, "version": {s.version(number)}, "place": {"bench"}, "place_detail": {"2"}}
	for i := 0; i < len(fields); i += 2 {
		f.Set(fields[i], fields[i+1])
	}
	return f
}

// within returns the elements with the data-testid inside n.
func within(n *html.Node, testID string) []*html.Node {
	var found []*html.Node
	for d := range n.Descendants() {
		if d.Type == html.ElementNode && attr(d, "data-testid") == testID {
			found = append(found, d)
		}
	}
	return found
}

// put sets what a docket's row says, without the moves that lead there.
func (s *site) put(number, set string, args ...any) {
	s.t.Helper()
	if _, err := s.store.Pool().Exec(s.t.Context(), `UPDATE docket SET `+set+` WHERE number = $1`, append([]any{number}, args...)...); err != nil {
		s.t.Fatal(err)
	}
}

// counterForm is a watch being taken in, as a clerk fills it in.
func counterForm(changes ...string) url.Values {
	f := url.Values{"do": {"take-in"}, "name": {"Ada Quillmarsh"}, "phone": {"01632 960123"}, "email": {"ada@example.org"},
		"maker": {"Gannet"}, "model": {"Harbourmaster"}, "serial": {"1O47-I"}, "lume": {"none"}, "winding": {"hand"}, "crown_at": {"3"},
		"complaint": {"Stops at night"}, "service_wanted": {"full-service"}, "approval_limit": {"150"}, "declared_value": {"2'500.00"},
		"promised_on": {"2026-12-08"}, "place": {"safe"}}
	for i := 0; i < len(changes); i += 2 {
		f.Set(changes[i], changes[i+1])
	}
	return f
}

// takeIn takes in a watch as the clerk and returns the docket's number.
func (s *site) takeIn(changes ...string) string {
	s.t.Helper()
	at := s.as(s.clerk).post("/intake", counterForm(changes...)).want(http.StatusSeeOther).location()
	number, ok := strings.CutPrefix(strings.TrimSuffix(at, "/intake?taken-in=yes"), "/dockets/")
	if !ok {
		s.t.Fatalf("taken in leads to %q", at)
	}
	return number
}

func (s *site) sheet(number string) store.IntakeSheet {
	s.t.Helper()
	n, err := docket.ParseNumber(number)
	if err != nil {
		s.t.Fatal(err)
	}
	sheet, err := s.store.IntakeSheet(s.t.Context(), n)
	if err != nil {
		s.t.Fatal(err)
	}
	return sheet
}

// handOver has the watch leave the shop, without the moves that lead there.
func (s *site) handOver(number string) {
	s.t.Helper()
	_, err := s.store.Pool().Exec(s.t.Context(), `UPDATE docket SET stage = 'handed-over', open = false, place = 'with-customer',
		handed_back_at = $2 WHERE number = $1`, number, s.clock())
	if err != nil {
		s.t.Fatal(err)
	}
}

// trips counts the round trips to the database of one page.
func (s *site) trips(c *client, path string) int {
	s.t.Helper()
	ctx, count := storetest.CountRoundTrips(s.t.Context())
	req := httptest.NewRequestWithContext(ctx, http.MethodGet, path, nil)
	u, _ := url.Parse(s.url)
	for _, cookie := range c.http.Jar.Cookies(u) {
		req.AddCookie(cookie)
	}
	w := httptest.NewRecorder()
	s.srv.handler().ServeHTTP(w, req)
	if w.Code != http.StatusOK {
		s.t.Fatalf("%s: status %d", path, w.Code)
	}
	return count.Trips()
}

func hasAttr(attrs []html.Attribute, key string) bool {
	return slices.ContainsFunc(attrs, func(a html.Attribute) bool { return a.Key == key })
}

// everyone who may look at a docket, for walks over roles.
func (s *site) everyone() []staff.Member { return []staff.Member{s.owner, s.watchmaker, s.clerk} }
