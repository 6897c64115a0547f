package figures_test

import (
	"encoding/csv"
	"fmt"
	"net/http"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"ledgerwheel/store/storetest"
	"ledgerwheel/web/webtest"
)

func TestMain(m *testing.M) { storetest.Main(m) }

// sixty gives the shop sixty watches that were ready 1 to 20 days after the fourth of a month of this half-year and left two days later: three to
// each number of days, ten to each month. Two of three passed their first test; they were promised for ten days; each paid 100.
func sixty(t *testing.T) (*webtest.Site, *webtest.Client) {
	s := webtest.NewSite(t)
	s.Noted()
	for _, sql := range []string{
		`INSERT INTO docket (year, seq, number, stage, open, place, customer_id, watch_id, complaint, wanted, currency, received_on, promised_on, received_at, received_by, moved_at, handed_back_at, version)
			SELECT 2024, i, '24-' || lpad(i::text, 5, '0'), 'handed-over', false, 'with-customer', customer_id, watch_id, 'stops', (ARRAY['repair', 'full-service'])[1 + i % 2], currency,
				day, day + 10, day + time '09:00', received_by, day + time '09:00' + (3 + i % 20) * interval '1 day', day + time '09:00' + (3 + i % 20) * interval '1 day', 1
			FROM docket d, LATERAL (SELECT i, (date_trunc('month', $1::date) - (1 + i % 6) * interval '1 month')::date + 3 AS day FROM generate_series(1, 60) i) g WHERE d.year <> 2024`,
		`INSERT INTO journal (docket_id, seq, at, by_kind, by_name, kind, summary, facts, prev_hash, hash)
			SELECT d.id, m.seq, d.received_at + CASE m.seq WHEN 2 THEN interval '1 hour' WHEN 3 THEN interval '20 hours' ELSE (1 + d.seq % 20) * interval '1 day' + (m.seq - 4) * interval '2 days' END, 'system', '', 'moved', 'moved',
				convert_to('{"to":"' || m.stage || '","in_hand":"' || (SELECT name FROM staff WHERE role = 'watchmaker') || '"}', 'UTF8'), sha256('a'), sha256('b')
			FROM docket d, (VALUES (2, 'service'), (3, 'final-test'), (4, 'ready'), (5, 'handed-over')) m(seq, stage) WHERE d.year = 2024 AND $1::date > '2000-01-01'`,
		`INSERT INTO final_test (docket_id, results, verdict, by_id, at) SELECT id, '[]', CASE WHEN seq % 3 = 0 THEN 'fail' ELSE 'pass' END, received_by, received_at + interval '21 hours' FROM docket WHERE year = 2024 AND $1::date > '2000-01-01'`,
		`INSERT INTO payment (docket_id, minor, currency, method, by_id, at, day) SELECT id, 10000, currency, 'card', received_by, moved_at, received_on FROM docket WHERE year = 2024 AND $1::date > '2000-01-01'`,
	} {
		if _, err := s.Store.Pool().Exec(t.Context(), sql, s.Clock()); err != nil {
			t.Fatalf("%v\n%s", err, sql)
		}
	}
	if err := s.Store.RebuildFigures(t.Context()); err != nil {
		t.Fatal(err)
	}
	return s, s.As(s.Owner)
}

func cells(row *html.Node) (list []string) {
	for n := range row.Descendants() {
		if n.Type == html.ElementNode && (n.Data == "td" || n.Data == "th") {
			list = append(list, strings.TrimSpace(webtest.TextOf(n)))
		}
	}
	return list
}

// plain takes off a page's cell what a file has not: the name of the column that stands before it on phones, marks and currencies.
func plain(text string) string {
	return strings.NewReplacer("−", "-", "+", "", "€", "", ",", "", "too few to say", "").Replace(text)
}

var slugs = []string{"in-progress", "turnaround", "stages", "promises", "first-pass", "rates", "comebacks", "estimates", "takings", "margins"}

// Every page's table is its file, figure by figure, however it is told apart; each is drawn and read by the owner alone.
func TestTablesAreTheirFiles(t *testing.T) {
	t.Parallel()
	s, owner := sixty(t)
	compared := 0
	for _, slug := range slugs {
		for _, by := range []string{"all", "bench", "calibre", "work"} {
			a := owner.Get("/figures/" + slug + "?by=" + by).Want(http.StatusOK)
			if trips := s.Trips(owner, "/figures/"+slug+"?by="+by); trips > 4 {
				t.Errorf("%s takes %d round trips", slug, trips)
			}
			file := owner.Get("/figures/" + slug + ".csv?by=" + by).Want(http.StatusOK)
			rows, err := csv.NewReader(strings.NewReader(file.Body)).ReadAll()
			if err != nil {
				t.Fatal(err)
			}
			shown := append(a.All("figure-line"), a.All("figure-foot")...)
			if len(shown) == 0 { // nothing to count
				continue
			}
			if strings.Count(file.Body, "\r\n") != len(rows) || len(rows) != len(shown)+1 {
				t.Errorf("%s by %s: %d lines in the file, %d on the page", slug, by, len(rows)-1, len(shown))
				continue
			}
			for i, node := range shown {
				page := cells(node)
				for j, text := range page {
					if got := plain(text); got != rows[i+1][j] && text != "too few to say" && rows[i+1][j] != text {
						t.Errorf("%s by %s, line %d: the page says %q, the file %q", slug, by, i, text, rows[i+1][j])
					}
					compared++
				}
			}
			if len(a.All("figure-chart")) != 1 {
				t.Errorf("%s by %s is not drawn", slug, by)
			}
		}
	}
	t.Logf("%d cells compared", compared)
	if compared < 500 {
		t.Error("few cells were compared")
	}
	s.As(s.Watchmaker).Get("/figures/turnaround").Want(http.StatusForbidden)
	s.As(s.Clerk).Get("/figures/turnaround.csv").Want(http.StatusForbidden)
}

// What sixty watches come to, by hand. The share's interval is Wilson's of 40 in 60.
func TestFiguresByHand(t *testing.T) {
	t.Parallel()
	_, owner := sixty(t)
	foot := func(path string) []string { return cells(owner.Get(path).Want(http.StatusOK).All("figure-foot")[0]) }
	for path, want := range map[string][]string{
		"/figures/turnaround": {"Together", "60", "10", "16", "8", "13"},
		"/figures/first-pass": {"Together", "40", "60", "67", "54", "77"},
		"/figures/promises":   {"Together", "30", "60", "50", "38", "62", "50", "5", "0"},
		"/figures/comebacks":  {"Together", "0", "60", "0", "0", "6"},
		"/figures/takings":    {"Together", "€6,000.00"},
	} {
		if got := foot(path); fmt.Sprint(got) != fmt.Sprint(want) {
			t.Errorf("%s: %q, want %q", path, got, want)
		}
	}
	if got := webtest.TextOf(owner.Get("/figures/first-pass").Want(http.StatusOK).All("figure-line")[8]); !strings.Contains(got, "too few to say") {
		t.Errorf("ten watches of a month are said as %q", got)
	}
	index := owner.Get("/figures").Want(http.StatusOK)
	if got := webtest.TextOf(index.Document); !strings.Contains(got, "median 10 days, 8 in 10 within 16") || !strings.Contains(got, "67 % (54 to 77 %), 40 of 60") {
		t.Error(got)
	}
}

// From a figure that is red to the dockets behind it, page by page, and only those.
func TestDocketsBehindAFigure(t *testing.T) {
	t.Parallel()
	s, owner := sixty(t)
	seen := map[string]bool{}
	path := "/figures/first-pass/dockets?only=missed"
	if link := owner.Get("/figures/first-pass").Want(http.StatusOK).All("missed"); len(link) != 1 {
		t.Fatal("no way to those that failed")
	}
	for path != "" {
		a := owner.Get(path).Want(http.StatusOK)
		for _, row := range a.All("behind-docket") {
			c := cells(row)
			if seen[c[0]] || c[3] != "failed" {
				t.Errorf("%q", c)
			}
			seen[c[0]] = true
		}
		path = href(a.All("older"))
	}
	if len(seen) != 20 {
		t.Errorf("%d failed, 20 should", len(seen))
	}
	all := 0
	for path = "/figures/turnaround/dockets"; path != ""; {
		a := owner.Get(path).Want(http.StatusOK)
		all += len(a.All("behind-docket"))
		path = href(a.All("older"))
	}
	bench := fmt.Sprint(s.Watchmaker.ID)
	if got := len(owner.Get("/figures/turnaround/dockets?by=bench&key=" + bench + "&from=" + s.Clock().AddDate(0, -1, 0).Format("2006-01")).Want(http.StatusOK).All("behind-docket")); all != 60 || got == 0 {
		t.Errorf("%d dockets in all, %d of the bench lately", all, got)
	}
}

func href(nodes []*html.Node) string {
	for _, n := range nodes {
		for _, a := range n.Attr {
			if a.Key == "href" {
				return a.Val
			}
		}
	}
	return ""
}

// What is asked wrongly is said beside its field, with what was typed, and nothing is worked out.
func TestSpansAreAsked(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	owner := s.As(s.Owner)
	for query, field := range map[string]string{"?from=2026": "from", "?from=2026-05&to=2026-03": "to", "?from=2000-01": "from", "?by=colour": "by"} {
		a := owner.Get("/figures/turnaround" + query).Want(http.StatusUnprocessableEntity)
		if a.Problem(field) == "" || len(a.All("figure-table")) > 0 {
			t.Errorf("%s: nothing is said beside %s", query, field)
		}
		owner.Get("/figures/turnaround.csv" + query).Want(http.StatusBadRequest)
	}
	owner.Get("/figures/turnaround/dockets?before=x").Want(http.StatusBadRequest)
	owner.Get("/figures/turnaround/dockets?by=bench&key=x").Want(http.StatusBadRequest)
	for _, by := range []string{"all", "bench", "calibre", "work"} {
		owner.Get("/figures/turnaround/dockets?key=0&by=" + by).Want(http.StatusOK)
	}
	if a := owner.Get("/figures/margins").Want(http.StatusOK); len(a.All("figure-chart")) != 0 || !strings.Contains(webtest.TextOf(a.Document), "Nothing to count") {
		t.Error("a shop without figures is told otherwise")
	}
}
