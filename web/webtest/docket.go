package webtest

import (
	"net/http"
	"net/http/httptest"
	"net/url"
	"slices"
	"strings"

	"golang.org/x/net/html"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/watch"
	"ledgerwheel/store"
	"ledgerwheel/store/storetest"
	"ledgerwheel/web/bench/tools"
)

// KeptForm is what a page's form for keeping an answer would send.
func KeptForm(as string, typed url.Values, more ...string) url.Values {
	f := url.Values{"as": {as}}
	for name, values := range typed {
		f[tools.KeptInput+name] = values
	}
	for i := 0; i+1 < len(more); i += 2 {
		f.Set(more[i], more[i+1])
	}
	return f
}

// Findings are the findings of a docket: fault and note.
func (s *Site) Findings(number string) []string {
	s.T.Helper()
	n, err := docket.ParseNumber(number)
	if err != nil {
		s.T.Fatal(err)
	}
	sheet, err := s.Store.DiagnosisSheet(s.T.Context(), n)
	if err != nil {
		s.T.Fatal(err)
	}
	var list []string
	for _, f := range sheet.Findings {
		list = append(list, f.Fault+"\n"+f.Note)
	}
	return list
}

// Typed is what a text area holds; the helper that reads elements sets a blank between texts.
func (a *Answer) Typed(testID string) string {
	a.T.Helper()
	return strings.TrimSuffix(a.Value(testID), " ")
}

// Noted takes in a watch and notes its condition, so that it may go to the bench.
func (s *Site) Noted(changes ...string) string {
	s.T.Helper()
	number := s.TakeIn(changes...)
	_, err := s.Store.NoteCondition(s.T.Context(), store.Change{Number: s.Number(number), By: s.Actor(s.Clerk),
		At: s.Clock()}, store.ConditionTyped{Condition: watch.Condition{NoMarksSeen: watch.Parts}})
	if err != nil {
		s.T.Fatal(err)
	}
	return number
}

func (s *Site) Number(text string) docket.Number {
	s.T.Helper()
	n, err := docket.ParseNumber(text)
	if err != nil {
		s.T.Fatal(err)
	}
	return n
}

func (s *Site) Actor(m staff.Member) store.Actor {
	return store.Actor{StaffID: m.ID, Name: m.Name, Role: m.Role}
}

// Version is the docket's, as a form of its page carries it.
func (s *Site) Version(number string) string {
	s.T.Helper()
	h, err := s.Store.Head(s.T.Context(), s.Number(number))
	if err != nil {
		s.T.Fatal(err)
	}
	return Itoa(h.Docket.Version)
}

// MoveForm is a move as it is filled in.
func (s *Site) MoveForm(number string, to docket.Stage, fields ...string) url.Values {
	s.T.Helper()
	f := url.Values{"to": {string(to)}, "version": {s.Version(number)}, "place": {"bench"}, "place_detail": {"2"}}
	for i := 0; i < len(fields); i += 2 {
		f.Set(fields[i], fields[i+1])
	}
	return f
}

// Within returns the elements with the data-testid inside n.
func Within(n *html.Node, testID string) []*html.Node {
	var found []*html.Node
	for d := range n.Descendants() {
		if d.Type == html.ElementNode && Attr(d, "data-testid") == testID {
			found = append(found, d)
		}
	}
	return found
}

// Put sets what a docket's row says, without the moves that lead there.
func (s *Site) Put(number, set string, args ...any) {
	s.T.Helper()
	if _, err := s.Store.Pool().Exec(s.T.Context(), `UPDATE docket SET `+set+` WHERE number = $1`,
		append([]any{number}, args...)...); err != nil {
		s.T.Fatal(err)
	}
}

// CounterForm is a watch being taken in, as a clerk fills it in.
func CounterForm(changes ...string) url.Values {
	f := url.Values{"do": {"take-in"}, "name": {"Ada Quillmarsh"}, "phone": {"01632 960123"}, "email": {"ada@example.org"},
		"maker": {"Gannet"}, "model": {"Harbourmaster"}, "serial": {"1O47-I"}, "lume": {"none"}, "winding": {"hand"},
		"crown_at":  {"3"},
		"complaint": {"Stops at night"}, "service_wanted": {"full-service"}, "approval_limit": {"150"},
		"declared_value": {"2'500.00"},
		"promised_on":    {"2026-12-08"}, "place": {"safe"}}
	for i := 0; i < len(changes); i += 2 {
		f.Set(changes[i], changes[i+1])
	}
	return f
}

// TakeIn takes in a watch as the clerk and returns the docket's number.
func (s *Site) TakeIn(changes ...string) string {
	s.T.Helper()
	at := s.As(s.Clerk).Post("/intake", CounterForm(changes...)).Want(http.StatusSeeOther).Location()
	number, ok := strings.CutPrefix(strings.TrimSuffix(at, "/intake?taken-in=yes"), "/dockets/")
	if !ok {
		s.T.Fatalf("taken in leads to %q", at)
	}
	return number
}

func (s *Site) Sheet(number string) store.IntakeSheet {
	s.T.Helper()
	n, err := docket.ParseNumber(number)
	if err != nil {
		s.T.Fatal(err)
	}
	sheet, err := s.Store.IntakeSheet(s.T.Context(), n)
	if err != nil {
		s.T.Fatal(err)
	}
	return sheet
}

// HandOver has the watch leave the shop, without the moves that lead there.
func (s *Site) HandOver(number string) {
	s.T.Helper()
	_, err := s.Store.Pool().Exec(s.T.Context(),
		`UPDATE docket SET stage = 'handed-over', open = false, place = 'with-customer',
		handed_back_at = $2 WHERE number = $1`, number, s.Clock())
	if err != nil {
		s.T.Fatal(err)
	}
}

// Trips counts the round trips to the database of one page.
func (s *Site) Trips(c *Client, path string) int {
	s.T.Helper()
	ctx, count := storetest.CountRoundTrips(s.T.Context())
	req := httptest.NewRequestWithContext(ctx, http.MethodGet, path, nil)
	u, _ := url.Parse(s.URL)
	req.Host = u.Host
	for _, cookie := range c.HTTP.Jar.Cookies(u) {
		req.AddCookie(cookie)
	}
	w := httptest.NewRecorder()
	s.Srv.Handler().ServeHTTP(w, req)
	if w.Code != http.StatusOK {
		s.T.Fatalf("%s: status %d", path, w.Code)
	}
	return count.Trips()
}

func HasAttr(attrs []html.Attribute, key string) bool {
	return slices.ContainsFunc(attrs, func(a html.Attribute) bool { return a.Key == key })
}

// Everyone who may look at a docket, for walks over roles.
func (s *Site) Everyone() []staff.Member { return []staff.Member{s.Owner, s.Watchmaker, s.Clerk} }

// MoveTo has the shop read telephone numbers in another country.
func (s *Site) MoveTo(region string) {
	s.T.Helper()
	sh, err := s.Store.Shop(s.T.Context())
	if err == nil {
		sh.PhoneRegion = region
		err = s.Store.SaveShop(s.T.Context(), sh, s.Actor(s.Owner), s.Clock())
	}
	if err != nil {
		s.T.Fatal(err)
	}
}
