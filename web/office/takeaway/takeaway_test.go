package takeaway_test

import (
	"archive/zip"
	"bytes"
	"encoding/csv"
	"encoding/json"
	"io"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/token"
	"ledgerwheel/store/storetest"
	"ledgerwheel/web/webtest"
)

func TestMain(m *testing.M) { storetest.Main(m) }

// The archive has every table of the record row by row in both forms, every paper, photograph and seal, and nothing that opens
// anything.
func TestTheWholeRecordIsTakenAway(t *testing.T) {
	t.Parallel()
	l := webtest.NewLeaving(t)
	l.Ready()
	s := l.Site
	s.TakeIn("name", "Ann =Pilot, \"the\nsecond\"", "phone", "01632 960777", "email", "", "serial", "=1+1")
	secret, err := s.Store.MakeToken(t.Context(), token.Token{Name: "site", Scopes: []token.Scope{token.Prices}, MadeAt: s.Clock()}, s.Actor(s.Owner))
	if err != nil {
		t.Fatal(err)
	}
	for _, who := range []*webtest.Client{s.As(s.Clerk), s.As(s.Watchmaker)} {
		who.Get("/take-away").Want(http.StatusForbidden)
		who.Post("/take-away", url.Values{}).Want(http.StatusForbidden)
	}
	answer := s.As(s.Owner).Post("/take-away", url.Values{"with": {"papers", "photographs", "sounds"}}).Want(http.StatusOK)
	files := read(t, answer.Body)
	var tables []string
	rows, err := s.Store.Pool().Query(t.Context(), `SELECT c.relname FROM pg_class c JOIN pg_trigger g ON g.tgrelid = c.oid AND g.tgname = 'record_written'
		WHERE c.relname <> 'invite'`)
	if err != nil {
		t.Fatal(err)
	}
	for rows.Next() {
		var name string
		if err := rows.Scan(&name); err != nil {
			t.Fatal(err)
		}
		tables = append(tables, name)
	}
	if len(tables) < 50 {
		t.Fatalf("%d tables of evidence", len(tables))
	}
	for _, table := range tables {
		var want int
		if err := s.Store.Pool().QueryRow(t.Context(), `SELECT count(*) FROM `+table).Scan(&want); err != nil {
			t.Fatal(err)
		}
		if table == "shop_journal" {
			continue
		}
		list, err := csv.NewReader(strings.NewReader(files["tables/"+table+".csv"])).ReadAll()
		if err != nil || len(list) != want+1 {
			t.Errorf("%s.csv has %d lines, want %d: %v", table, len(list), want+1, err)
			continue
		}
		n := 0
		for line := range strings.Lines(files["tables/"+table+".jsonl"]) {
			var row map[string]any
			if err := json.Unmarshal([]byte(line), &row); err != nil || len(row) != len(list[0]) {
				t.Fatalf("%s.jsonl: %v, %d fields for %d columns", table, err, len(row), len(list[0]))
			}
			for i, column := range list[0] {
				if text, ok := row[column].(string); ok && !strings.ContainsAny(column, "_") && list[n+1][i] != text && !strings.Contains(text, "T") {
					t.Errorf("%s %s: %q as CSV, %q as JSON", table, column, list[n+1][i], text)
				}
			}
			n++
		}
		if n != want {
			t.Errorf("%s.jsonl has %d lines, want %d", table, n, want)
		}
	}
	if !strings.Contains(files["tables/customer.csv"], `"Ann =Pilot, ""the second"""`) {
		t.Errorf("customers:\n%s", files["tables/customer.csv"])
	}
	number := l.N.String()
	for _, name := range []string{"README.txt", "dictionary.csv", "journals.jsonl", "papers/" + number + "/claim-ticket.pdf", "papers/" + number + "/estimate-1.pdf"} {
		if files[name] == "" {
			t.Errorf("%s is not there", name)
		}
	}
	var entries int
	if err := s.Store.Pool().QueryRow(t.Context(), `SELECT (SELECT count(*) FROM journal) + (SELECT count(*) FROM shop_journal)`).Scan(&entries); err != nil {
		t.Fatal(err)
	}
	if n := strings.Count(files["journals.jsonl"], "\n"); n != entries {
		t.Errorf("%d entries, want %d", n, entries)
	}
	if files["NOT-INCLUDED.txt"] != "" {
		t.Errorf("not included: %s", files["NOT-INCLUDED.txt"])
	}
	sum := token.Sum(secret)
	var hash string
	var link []byte
	if err := s.Store.Pool().QueryRow(t.Context(), `SELECT password_hash, link_secret FROM staff, shop WHERE staff.id = $1`, s.Owner.ID).Scan(&hash, &link); err != nil {
		t.Fatal(err)
	}
	for name, text := range files {
		for _, what := range []string{hash, secret, hexOf(sum[:]), hexOf(link)} {
			if strings.Contains(text, what) {
				t.Errorf("%s holds what opens something", name)
			}
		}
	}
	if _, ok := files["tables/invite.csv"]; ok {
		t.Error("invitations are taken away")
	}
	notes, err := s.Store.ShopJournal(t.Context(), 0)
	if err != nil || !slices.ContainsFunc(notes.Entries, func(e docket.Entry) bool { return e.Summary == docket.TakenAwaySummary }) {
		t.Errorf("the shop's journal does not say that it was taken: %v", err)
	}
}

// Without papers and files only the tables, journals and seals come.
func TestOnlyTheTables(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	s.TakeIn()
	s.As(s.Owner).Get("/take-away").Want(http.StatusOK)
	for name := range read(t, s.As(s.Owner).Post("/take-away", url.Values{}).Want(http.StatusOK).Body) {
		if strings.HasPrefix(name, "papers/") || strings.HasPrefix(name, "photographs/") {
			t.Errorf("%s comes unasked", name)
		}
	}
}

func hexOf(b []byte) string {
	const digits = "0123456789abcdef"
	out := make([]byte, 0, 2*len(b))
	for _, x := range b {
		out = append(out, digits[x>>4], digits[x&15])
	}
	return string(out)
}

func read(t *testing.T, body string) map[string]string {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader([]byte(body)), int64(len(body)))
	if err != nil {
		t.Fatal(err)
	}
	files := map[string]string{}
	for _, f := range z.File {
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		b, err := io.ReadAll(r)
		if err != nil {
			t.Fatal(err)
		}
		files[f.Name] = string(b)
	}
	return files
}
