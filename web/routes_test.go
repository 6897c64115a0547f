package web_test

import (
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"

	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/visit"
	"ledgerwheel/store/storetest"
	"ledgerwheel/web/webtest"
)

// missing stands in an address for a record that is not there.
const missing = "4711471147"

var pathParam = regexp.MustCompile(`\{[a-z_]+\}`)

// addressOf fills a route's pattern, by the parameter together with what stands before it ("photos/{id}") or else by
// the parameter alone; what is not given is missing.
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
	s := webtest.NewSite(t)
	number := s.Noted()
	given := map[string]string{"{number}": number}
	people := map[staff.Role]staff.Member{staff.Owner: s.Owner, staff.Watchmaker: s.Watchmaker, staff.Clerk: s.Clerk}
	seen := map[string]bool{}
	for _, rt := range s.Srv.Routes() {
		name := rt.Method + " " + rt.Pattern
		if seen[name] {
			t.Errorf("%s stands in the table twice", name)
		}
		seen[name] = true
		ways := 0
		for _, way := range []bool{rt.Who.Public, rt.Who.Any, rt.Who.Perm != ""} {
			if way {
				ways++
			}
		}
		if ways != 1 {
			t.Errorf("%s says in %d ways who may", name, ways)
		}
		if rt.Who.Perm != "" && len(rt.Who.Perm.Holders()) == 0 {
			t.Errorf("%s asks for %q, which nobody holds", name, rt.Who.Perm)
		}
		path := addressOf(rt.Pattern, given)
		walk := func(c *webtest.Client) *webtest.Answer {
			if rt.Method == http.MethodGet {
				return c.Get(path)
			}
			return c.Post(path, nil)
		}
		stranger := walk(s.Stranger())
		askedToSignIn := stranger.Status == http.StatusSeeOther && strings.HasPrefix(stranger.Location(), "/sign-in")
		if !rt.Who.Public && !askedToSignIn {
			t.Errorf("%s answers a stranger %d", name, stranger.Status)
		}
		if rt.Who.Public && (stranger.Status == http.StatusForbidden || stranger.Status == http.StatusUnauthorized) {
			t.Errorf("%s is public and answers a stranger %d", name, stranger.Status)
		}
		for _, role := range staff.Roles() {
			got := walk(s.As(people[role]))
			may := rt.Who.Public || rt.Who.Any || staff.Can(role, rt.Who.Perm)
			refused := got.Status == http.StatusForbidden || got.Status == http.StatusUnauthorized ||
				!rt.Who.Public && got.Status == http.StatusSeeOther && strings.HasPrefix(got.Location(), "/sign-in") &&
					rt.Pattern != "/sign-out"
			switch {
			case may && refused:
				t.Errorf("%s refuses the %s: %d", name, role.Label(), got.Status)
			case !may && got.Status != http.StatusForbidden:
				t.Errorf("%s answers the %s %d, want 403", name, role.Label(), got.Status)
			case got.Status >= 500:
				t.Errorf("%s answers the %s %d", name, role.Label(), got.Status)
			}
		}
	}
}

// TestAWrongMethodIsNoWayIn makes sure that the table's word is for its own method alone.
func TestAWrongMethodIsNoWayIn(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.Noted()
	owner := s.As(s.Owner)
	before := s.Version(number)
	for _, path := range []string{"/dockets/" + number + "/move", "/dockets/" + number + "/place", "/dockets/" + number +
		"/bench"} {
		owner.Get(path).Want(http.StatusNotFound)
	}
	if s.Version(number) != before {
		t.Error("a GET changed the docket")
	}
	// RFC 9110, section 9.3.8, has TRACE send back what was asked, secrets too.
	for _, path := range []string{"/", "/sign-in", "/healthz", "/static/"} {
		req, err := http.NewRequest(http.MethodTrace, s.URL+path, nil)
		if err != nil {
			t.Fatal(err)
		}
		req.Header.Set("X-Told", "lighthouse brass")
		if a := owner.Do(req); a.Status < 400 || strings.Contains(a.Body, "lighthouse brass") {
			t.Errorf("TRACE %s: %d %s", path, a.Status, a.Body)
		}
	}
}

// A forged post from another site is refused on every route that changes anything.
func TestForgedPostsAreRefusedOnEveryRoute(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	given := map[string]string{"{number}": s.Noted()}
	owner := s.As(s.Owner)
	for _, rt := range s.Srv.Routes() {
		if rt.Method == http.MethodGet {
			continue
		}
		req, err := http.NewRequest(rt.Method, s.URL+addressOf(rt.Pattern, given), strings.NewReader(""))
		if err != nil {
			t.Fatal(err)
		}
		req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		req.Header.Set("Sec-Fetch-Site", "cross-site")
		req.Header.Set("Origin", "https://elsewhere.example")
		if got := owner.Do(req); got.Status != http.StatusForbidden {
			t.Errorf("%s %s answers a forged post %d", rt.Method, rt.Pattern, got.Status)
		}
	}
}

// pagesElsewhere are GET routes that need more than rows to be shown: a stored picture or sound, a secret, a signature,
// or a shop not yet founded. Their own tests count their round trips.
var pagesElsewhere = []string{"/dockets/{number}/comeback", "/parcels/photos/{photo}/{size}", "/dockets/{number}/papers/address-label",
	"/dockets/{number}/papers/address-label.pdf", "/dockets/{number}/papers/loan-slip", "/dockets/{number}/papers/loan-slip.pdf", "/setup", "/no-mail/{token}", "/photos/{id}/{size}", "/drawings/{id}/{size}", "/c/{token}",
	"/c/{token}/photos/{id}/{size}", "/c/{token}/invoice.pdf", "/c/{token}/receipt.pdf", "/c/{token}/train.css", "/join/{secret}", "/calendar/{secret}", "/logo/{logo}",
	"/w/{code}", "/w/{code}/statement", "/listen/socket", "/dockets/{number}/listen/socket", "/listen/heard/{recording}",
	"/listen/heard/{recording}/sound",
	"/dockets/{number}/listen/heard/{heard}", "/dockets/{number}/listen/heard/{heard}/sound",
	"/dockets/{number}/heard/{kept}", "/dockets/{number}/heard/{kept}/sound",
	"/dockets/{number}/papers/warranty-card", "/dockets/{number}/papers/warranty-card.pdf",
	"/letters/{letter}", "/letters/{letter}/html", "/letters/{letter}/letter.eml",
	// A request of a person about their data, once in a long while: docket by docket.
	"/customers/{id}/everything.zip", "/customers/{id}/erase"}

// walkedOrder is an order that went out to a supplier.
func walkedOrder(s *webtest.Site, supplier string) string {
	s.T.Helper()
	bench := s.As(s.Watchmaker)
	at := bench.Post("/orders/new", url.Values{"supplier": {supplier}}).Want(http.StatusSeeOther).Location()
	bench.Post(at, url.Values{"version": {bench.Get(at).Hidden("version")}, "new.description": {"Peg wood"}, "new.pieces": {"2"}, "do": {"send"},
		"way": {"telephone"}}).Want(http.StatusSeeOther)
	return strings.TrimPrefix(at, "/orders/")
}

// walkedDocket gives a docket something on every sheet and returns what stands in the addresses of its pages.
func walkedDocket(s *webtest.Site) map[string]string {
	s.T.Helper()
	number := s.Noted()
	sheet := s.Sheet(number)
	id, by := sheet.Head.Docket.ID, s.Watchmaker.ID
	if err := s.Store.EnsureRateLimits(s.T.Context(), webtest.Now); err != nil {
		s.T.Fatal(err)
	}
	row := func(sql string, args ...any) string {
		var id int64
		if err := s.Store.Pool().QueryRow(s.T.Context(), sql+" RETURNING id", args...).Scan(&id); err != nil {
			s.T.Fatal(err)
		}
		return webtest.Itoa(id)
	}
	work := row(`INSERT INTO bench_work (docket_id, by_id, at) VALUES ($1, $2, $3)`, id, by, webtest.Now)
	row(`INSERT INTO service_step (docket_id, step, by_id, at, work_id) VALUES ($1, 'cleaned', $2, $3, $4::text::bigint)`,
		id, by, webtest.Now, work)
	row(`INSERT INTO part_line (docket_id, description, state, state_at) VALUES ($1, 'mainspring', 'ordered', $2)`, id,
		webtest.Now)
	row(`INSERT INTO estimate_revision (docket_id, number, state, currency, prices_include_tax, valid_until, net_minor, tax_minor, gross_minor, made_by, made_at, sent_at, decided_at, decided_name, decided_via)
		VALUES ($1, 1, 'approved', 'EUR', true, '2027-01-01', 9000, 0, 9000, $2, $3, $3, $3, 'Ada Quillmarsh', 'counter')`, id, by, webtest.Now)
	row(`INSERT INTO payment (docket_id, minor, currency, method, by_id, at) VALUES ($1, 500, 'EUR', 'cash', $2, $3)`, id,
		by, webtest.Now)
	row(`INSERT INTO collect_notice (docket_id, kind, tongue, title, addressee, body, written_on, written_at, written_by, written_under)
		VALUES ($1, 'collect', 'en', 'Your watch waits for you', 'Ada Quillmarsh', 'Please collect it.', '2026-11-24', $2, $3, (SELECT max(id) FROM shop_version))`,
		id, webtest.Now, by)
	run := row(`INSERT INTO run (docket_id, kind, instrument_ppm, taken_at, by_id) VALUES ($1, 'as received', 10, $2, $3)`,
		id, webtest.Now, by)
	if _, err := s.Store.Pool().Exec(s.T.Context(),
		`INSERT INTO reading (run_id, position, hours, rate_s_per_day, rate_half_width, taken_at, by_id) VALUES ($1::text::bigint, 'CH', 0, 4, 0.5, $2, $3)`, run, webtest.Now, by); err != nil {
		s.T.Fatal(err)
	}
	round := row(`INSERT INTO poising_round (docket_id, ordinal, at, by_id) VALUES ($1, 1, $2, $3)`, id, webtest.Now, by)
	row(`INSERT INTO trial (docket_id, category, method, first_day, reading_minute, begun_at, begun_by) VALUES ($1, 1, 'instrument', '2026-11-20', 540, $2, $3)`, id, webtest.Now, by)
	parcel := row(`INSERT INTO parcel_in (came_at, by_id, carrier, number, sender, seal, box, things, contents, note)
		VALUES ($2, $1, 'Estuary Post', 'EP 1', 'Ada', 'whole', 'whole', 1, 'watch', '')`, by, webtest.Now)
	part := row(`INSERT INTO part (number, name, unit, currency, includes_tax, tax_basis_points, kept_by, kept_at) VALUES ('MS-1', 'mainspring', 'piece', 'EUR', true, 0, $1, $2)`,
		by, webtest.Now)
	if _, err := s.Store.Pool().Exec(s.T.Context(), `INSERT INTO stock (part_id) VALUES ($1::text::bigint)`, part); err != nil {
		s.T.Fatal(err)
	}
	row(`INSERT INTO till_close (day, currency, opened_minor, book_minor, since_minor, counted_minor, difference_minor, pieces, takings, by_id, at)
		VALUES ('2026-11-20', 'EUR', 0, 0, 0, 0, 0, '[]', '[]', $1, $2)`, by, webtest.Now)
	bill := row(`INSERT INTO invoice (series_id, year, n, number, kind, docket_id, issued_on, booked_on, currency, net_minor, tax_minor, gross_minor, body, at)
		VALUES (1, 2026, 1, '2026-0001', 'deposit-invoice', $1, '2026-11-24', '2026-11-24', 'EUR', 500, 0, 500,
			'{"Kind": "deposit-invoice", "Docket": "`+number+`", "IssuedOn": "2026-11-24T00:00:00Z", "Number": "2026-0001", "Currency": "EUR", "Lines": [{"Description": "Deposit", "QuantityMilli": 1000, "UnitMinor": 500}]}', $2)`, id, webtest.Now)
	s.Seal()
	supplier := row(`INSERT INTO supplier (name, kept_by, kept_at) VALUES ('Gannet Materials', $1, $2)`, by, webtest.Now)
	return map[string]string{"moves/{id}": row(`INSERT INTO till_move (day, currency, kind, minor, by_id, at) VALUES ('2026-11-24', 'EUR', 'float', 5000, $1, $2)`, by, webtest.Now), "{day}": "2026-11-20", "{month}": "2026-11",
		"invoices/{id}": bill, "parcels/{id}": parcel, "stock/{id}": part,
		"suppliers/{id}": supplier, "orders/{id}": walkedOrder(s, supplier),
		"prices/{id}": row(`INSERT INTO job (code, name, kind, minutes, kept_by, kept_at) VALUES ('FS', 'Full service', 'labour', 240, $1, $2)`, by, webtest.Now),
		"{number}":    number, "customers/{id}": webtest.Itoa(sheet.Head.Customer.ID),
		"visits/{visit}": visit.Number(sheet.Head.VisitID).String(), "/v/{code}": visit.Number(sheet.Head.VisitID).Compact(),
		"watches/{id}": webtest.Itoa(sheet.Head.Watch.ID),
		"/d/{code}":    strings.ReplaceAll(number, "-", ""), "{revision}": "1", "runs/{run}": run, "service/{id}": work, "poising/{id}": round,
		"rate-limits/{grade}": "modern",
		"findings/{id}":       row(`INSERT INTO finding (docket_id, component, fault, severity, by_id, at) VALUES ($1, 'mainspring', 'set', 'must', $2, $3)`, id, by, webtest.Now),
		"letter/{id}": row(`INSERT INTO message (docket_id, customer_id, topic, tongue, way, sent_to, subject, body, state, queued_at)
			SELECT id, customer_id, 'ready', 'en', 'letter', '1 Quay', 'Ready', 'Your watch is ready.', 'to do', $2 FROM docket WHERE id = $1`, id, webtest.Now),
		"{topic}/{tongue}": "ready/de",
		"recorders/{id}":   row(`INSERT INTO recorder (name, name_key, usual_rate_hz, added_at, added_by) VALUES ('Desk microphone', 'desk microphone', 48000, $1, $2)`, webtest.Now, by),
		"bench/{tool}":     "uncertainty", "licences/{notice}": "vollkorn",
		"calibres/{id}": row(`INSERT INTO calibre (name, name_key, grade) VALUES ('Tarnside 7', 'tarnside 7', 'modern')`)}
}

// TestEveryPageTakesFewRoundTrips shows every page of the table to every role that may see it, over a docket that has
// something on every sheet, and counts what it asks of the database.
func TestEveryPageTakesFewRoundTrips(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	given := walkedDocket(s)
	for _, rt := range s.Srv.Routes() {
		if rt.Method != http.MethodGet || slices.Contains(pagesElsewhere, rt.Pattern) {
			continue
		}
		path := addressOf(rt.Pattern, given)
		if strings.Contains(path, missing) {
			t.Errorf("%s: say in walkedDocket what stands in its address, or count its round trips elsewhere", rt.Pattern)
			continue
		}
		for _, m := range s.Everyone() {
			if !rt.Who.Public && !rt.Who.Any && !staff.Can(m.Role, rt.Who.Perm) {
				continue
			}
			ctx, count := storetest.CountRoundTrips(t.Context())
			got := s.As(m).Serve(ctx, s, path)
			switch {
			case got != http.StatusOK && got != http.StatusSeeOther:
				t.Errorf("%s answers the %s %d at %s", rt.Pattern, m.Role.Label(), got, path)
			case count.Trips() > webtest.MaxRoundTrips:
				t.Errorf("%s takes %d round trips for the %s, at most %d are wanted", rt.Pattern, count.Trips(), m.Role.Label(),
					webtest.MaxRoundTrips)
			}
		}
	}
}
