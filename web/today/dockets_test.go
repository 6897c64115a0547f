package today_test

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"testing"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
	"ledgerwheel/web/webtest"
)

// takeInMany takes in n watches of n people, newest last, and returns their numbers.
func takeInMany(s *webtest.Site, n int) []string {
	s.T.Helper()
	var numbers []string
	for i := range n {
		numbers = append(numbers, s.Noted("name", fmt.Sprintf("Customer %c Reed", 'A'+i), "phone",
			fmt.Sprintf("01632 960%03d", i),
			"email", fmt.Sprintf("reed%d@example.org", i), "serial", fmt.Sprintf("77-%04d", i), "customer_choice", "new",
			"watch_choice", "new"))
	}
	return numbers
}

// numbersIn are the docket numbers in the rows of a table, in order.
func numbersIn(a *webtest.Answer, testID string) []string {
	a.T.Helper()
	var numbers []string
	for _, table := range a.All(testID) {
		for _, row := range webtest.Within(table, "docket-row") {
			numbers = append(numbers, strings.Fields(webtest.TextOf(row))[0])
		}
	}
	return numbers
}

func TestDocketsAreFiltered(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	n := takeInMany(s, 6)
	s.Put(n[0], "stage = 'service', bench_staff_id = $2", s.Watchmaker.ID)
	s.Put(n[1], "promised_on = '2026-11-20', received_on = '2026-10-01'")
	s.Put(n[2], "stage = 'ready', promised_on = '2026-11-20'")
	s.Put(n[3], "place = 'sent-out', place_detail = 'Gannet Dialworks'")
	s.HandOver(n[4])
	c := s.As(s.Clerk)
	for _, tt := range []struct {
		query string
		want  []string
	}{
		{"", []string{n[5], n[3], n[2], n[1], n[0]}},
		{"?show=open", []string{n[5], n[3], n[2], n[1], n[0]}},
		{"?show=closed", []string{n[4]}},
		{"?show=all", []string{n[5], n[4], n[3], n[2], n[1], n[0]}},
		{"?stage=service", []string{n[0]}},
		{"?stage=handed-over&show=all", []string{n[4]}},
		{"?bench=" + webtest.Itoa(s.Watchmaker.ID), []string{n[0]}},
		{"?bench=nobody&stage=intake", []string{n[5], n[3], n[1]}},
		{"?age=overdue", []string{n[1]}}, // what is ready is no longer overdue
		{"?age=30", []string{n[1]}},
		{"?age=90", nil},
		{"?place=sent-out", []string{n[3]}},
		{"?customer=1&show=all", []string{n[0]}},
		{"?show=&stage=&bench=&age=", []string{n[5], n[3], n[2], n[1], n[0]}},
	} {
		page := c.Get("/dockets" + tt.query).Want(http.StatusOK)
		if got := numbersIn(page, "dockets"); strings.Join(got, " ") != strings.Join(tt.want, " ") {
			t.Errorf("%q lists %v, want %v", tt.query, got, tt.want)
		}
		if len(tt.want) == 0 && !strings.Contains(page.Text("empty"), "No docket fits") {
			t.Errorf("%q: empty without a word", tt.query)
		}
	}
	page := c.Get("/dockets?age=overdue").Want(http.StatusOK)
	row := webtest.TextOf(page.One("docket-row"))
	for _, want := range []string{"Gannet Harbourmaster", "Customer B Reed", "Intake", "the bench, to diagnose", "safe",
		"Fri 20 Nov", "overdue"} {
		if !strings.Contains(row, want) {
			t.Errorf("the row %q does not say %q", row, want)
		}
	}
	for _, bad := range []string{"?stage=nowhere", "?show=some", "?age=old", "?age=-1", "?bench=me", "?before=x",
		"?before=3&after=1", "?customer=0", "?place=moon"} {
		c.Get("/dockets" + bad).Want(http.StatusBadRequest)
	}
	if got := s.Trips(c, "/dockets?stage=service"); got > 4 {
		t.Errorf("%d round trips", got)
	}
}

func TestDocketsPageByPage(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	first := s.Noted()
	// The rest are copies, since sixty intakes would only take longer.
	_, err := s.Store.Pool().Exec(t.Context(),
		`INSERT INTO docket (year, seq, number, stage, place, customer_id, watch_id, complaint, wanted, currency,
			received_on, received_at, received_by, moved_at)
		SELECT year, i, 'copy-' || lpad(i::text, 3, '0'), stage, place, customer_id, watch_id, complaint, wanted, currency, received_on, received_at, received_by, moved_at
		FROM docket, generate_series(2, 60) i WHERE number = $1 ORDER BY i`, first)
	if err != nil {
		t.Fatal(err)
	}
	c := s.As(s.Watchmaker)
	var forward [][]string
	page := c.Get("/dockets?stage=intake").Want(http.StatusOK)
	for range 4 { // one page more than there are
		forward = append(forward, numbersIn(page, "dockets"))
		if len(page.All("older")) == 0 {
			break
		}
		page = c.Get(webtest.Attr(page.One("older"), "href")).Want(http.StatusOK)
	}
	if len(forward) != 3 || len(forward[0]) != store.DocketsPage || len(forward[2]) != 60-2*store.DocketsPage {
		t.Fatalf("pages of %d", len(forward))
	}
	seen := map[string]bool{}
	for _, p := range forward {
		for _, n := range p {
			if seen[n] {
				t.Errorf("%s is listed twice", n)
			}
			seen[n] = true
		}
	}
	page = c.Get(webtest.Attr(page.One("newer"), "href")).Want(http.StatusOK)
	if got := numbersIn(page, "dockets"); strings.Join(got, " ") != strings.Join(forward[1], " ") {
		t.Errorf("going back shows %v, want %v", got, forward[1])
	}
	page = c.Get(webtest.Attr(page.One("newer"), "href")).Want(http.StatusOK)
	if got := numbersIn(page, "dockets"); strings.Join(got, " ") != strings.Join(forward[0], " ") ||
		len(page.All("newer")) != 0 {
		t.Errorf("going back to the first page shows %v", got)
	}
}

func TestFindBox(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	n := takeInMany(s, 3)
	c := s.As(s.Clerk)
	find := func(q string) *webtest.Answer { return c.Get("/find?" + url.Values{"q": {q}}.Encode()) }
	for _, typed := range []string{n[1], strings.ToLower(n[1]), strings.ReplaceAll(n[1], "-", ""), " " + n[1] + " ",
		"http://ledger.example/d/" + strings.ReplaceAll(n[1], "-", "")} {
		if got := find(typed).Want(http.StatusSeeOther).Location(); got != "/dockets/"+n[1] {
			t.Errorf("%q leads to %q", typed, got)
		}
	}
	// A neighbour of the right check character.
	last := n[1][len(n[1])-1]
	wrong := n[1][:len(n[1])-1] + string("AB"[map[bool]int{true: 1, false: 0}[last == 'A']])
	page := find(wrong).Want(http.StatusOK)
	if got := page.Text("misread"); !strings.Contains(got, "check character") {
		t.Errorf("a mistyped check character: %q", got)
	}
	if got := numbersIn(page, "likely-dockets"); len(got) == 0 || got[0] != n[1] {
		t.Errorf("offered %v, want %s first", got, n[1])
	}
	for _, tt := range []struct{ q, group, says string }{
		{"reed customer b", "group-names", "Customer B Reed"},
		{"01632 960001", "group-phones", "Customer B Reed"},
		{"960002", "group-phones", "Customer C Reed"},
		{"reed1@", "group-emails", "Customer B Reed"},
		{"gannet", "group-watches", "Gannet Harbourmaster"},
		{"77 0002", "group-serials", "77-0002"},
		{n[2][:8], "group-dockets", n[2]},
		{"2", "group-dockets", n[1]},
	} {
		page := c.Get("/find?" + url.Values{"q": {tt.q}, "in": {tt.group[len("group-"):]}}.Encode()).Want(http.StatusOK)
		if got := page.Text(tt.group); !strings.Contains(got, tt.says) {
			t.Errorf("%q among %s: %q, want %q", tt.q, tt.group, got, tt.says)
		}
		if got := page.Value("find"); got != tt.q {
			t.Errorf("the box forgot %q: %q", tt.q, got)
		}
	}
	for q, number := range map[string]string{"reed customer b": n[1], "01632 960001": n[1], "960002": n[2], "reed1@": n[1],
		"customer b gannet": n[1], "gannet customr c": ""} {
		switch got := find(q); {
		case number != "" && got.Want(http.StatusSeeOther).Location() != "/dockets/"+number:
			t.Errorf("%q, one hit with one open docket, leads to %q", q, got.Location())
		case number == "":
			webtest.Contains(t, q, got.Want(http.StatusOK).Text("instead"), "gannet customer c")
		}
	}
	s.Put(n[1], "stage = 'handed-over', open = false, place = 'with-customer', place_detail = '', handed_back_at = now()")
	if got := find("reed customer b").Want(http.StatusOK).Text("group-names"); !strings.Contains(got, n[1]) {
		t.Errorf("a customer is found without their docket: %q", got)
	}
	page = find("<nobody> & 'nothing'").Want(http.StatusOK)
	if !strings.Contains(page.Text("empty"), "Nothing found") || len(page.All("find-advice")) != 1 {
		t.Error("nothing found says too little")
	}
	page = c.Get("/find").Want(http.StatusOK)
	if len(page.All("find-advice")) != 1 || len(page.All("empty")) != 0 {
		t.Error("the empty box says too little or too much")
	}
	find("reed\x00\xff%_").Want(http.StatusOK)
	find(strings.Repeat("é", 5000)).Want(http.StatusOK)
	c.Get("/find?q=reed&in=nowhere").Want(http.StatusBadRequest)
	c.Get("/find?q=reed&in=names&id=x").Want(http.StatusBadRequest)
	if got := s.Trips(c, "/find?q=reed"); got > 4 {
		t.Errorf("%d round trips", got)
	}
}

// TestSuggestions: what the box shows while it is typed in, for every role, and nothing for a stranger.
func TestSuggestions(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	n := takeInMany(s, 3)
	for _, m := range s.Everyone() {
		list := s.As(m).Get("/find/suggest?q=customer+b").Want(http.StatusOK)
		if got := list.All("suggestion"); len(got) != 2 || webtest.Attr(got[1], "data-href") != "/dockets/"+n[1] ||
			webtest.Attr(got[0], "role") != "option" {
			t.Errorf("%s is offered %q", m.Role.Label(), list.Body)
		}
		for _, q := range []string{"", "c", "nobody"} {
			if got := s.As(m).Get("/find/suggest?q=" + q).Want(http.StatusOK).All("suggestion"); len(got) != 0 {
				t.Errorf("%q offers %d", q, len(got))
			}
		}
	}
	if got := s.Stranger().Get("/find/suggest?q=reed"); got.Status != http.StatusSeeOther {
		t.Errorf("a stranger is answered %d", got.Status)
	}
}

func TestFindGoesOn(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	_, err := s.Store.Pool().Exec(t.Context(),
		`INSERT INTO customer (name, name_key) SELECT 'Reed ' || i, 'reed ' || i FROM generate_series(100, 144) i`)
	if err != nil {
		t.Fatal(err)
	}
	c := s.As(s.Owner)
	page := c.Get("/find?q=reed").Want(http.StatusOK)
	seen := map[string]bool{}
	for range 5 {
		for _, row := range page.All("found-row") {
			name := strings.Join(strings.Fields(webtest.TextOf(row))[:2], " ")
			if seen[name] {
				t.Errorf("%s found twice", name)
			}
			seen[name] = true
		}
		if len(page.All("more-names")) == 0 {
			break
		}
		page = c.Get(webtest.Attr(page.One("more-names"), "href")).Want(http.StatusOK)
	}
	if len(seen) != 45 {
		t.Errorf("%d found, want 45", len(seen))
	}
	if len(page.All("find-all")) != 1 {
		t.Error("a later page does not lead back")
	}
}

func TestTodayByRole(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	n := takeInMany(s, 9)
	long := webtest.Now.AddDate(0, 0, -docket.SentOutLongDays-1)
	s.Put(n[0], "stage = 'service', bench_staff_id = $2", s.Watchmaker.ID)
	s.Put(n[1], "stage = 'diagnosis'")
	s.Put(n[2], "stage = 'estimate'")
	s.Put(n[3], "stage = 'estimate', approval_limit_minor = NULL")
	s.Put(n[4], "stage = 'parts', promised_on = '2026-11-23'")
	s.Put(n[5], "stage = 'final-test'")
	s.Put(n[6], "stage = 'ready'")
	s.Put(n[7], "stage = 'withdrawn'")
	s.Put(n[8], "place = 'sent-out', place_detail = 'Gannet Dialworks', placed_at = $2", long)
	revision := func(number, state string, gross int) {
		_, err := s.Store.Pool().Exec(t.Context(),
			`INSERT INTO estimate_revision (docket_id, number, state, currency, prices_include_tax, valid_until, net_minor, tax_minor, gross_minor, made_by, made_at)
			SELECT id, 1, $2, 'EUR', true, '2027-01-01', $3, 0, $3, $4, now() FROM docket WHERE number = $1`, number, state, gross, s.Owner.ID)
		if err != nil {
			t.Fatal(err)
		}
	}
	revision(n[3], "approved", 9000)
	acts := map[string]string{n[0]: "Service", n[1]: "Diagnose", n[2]: "Price the estimate", n[3]: "Approved: begin",
		n[4]: "Parts are in: begin the service", n[5]: "Final test", n[6]: "Hand over", n[7]: "Hand back, unrepaired",
		n[8]: "Ask for it back from Gannet Dialworks: out since"}
	for _, tt := range []struct {
		who     staff.Member
		tallies map[string][]string // none is zero, and not shown
	}{
		{s.Watchmaker, map[string][]string{"yours": {n[0], n[1], n[2], n[3], n[4], n[5]}, "late": {n[4]}, "begin": {n[3], n[4]},
			"others": {n[6], n[7], n[8]}, "trials": nil, "comebacks": nil}},
		{s.Clerk, map[string][]string{"yours": {n[3], n[4], n[6], n[7], n[8]}, "late": {n[4]}, "answered": {n[3]},
			"collect": {n[6], n[7]}, "asked": nil, "others": {n[0], n[1], n[2], n[5]}}},
		{s.Owner, map[string][]string{"shop": n, "late": {n[4]}, "collect": {n[6], n[7]}, "trials": nil, "others": nil}},
	} {
		t.Run(string(tt.who.Role), func(t *testing.T) {
			t.Parallel()
			first := s.As(tt.who).Get("/").Want(http.StatusOK)
			for key, numbers := range tt.tallies {
				if len(numbers) == 0 {
					if len(first.All("tally-"+key)) != 0 {
						t.Errorf("%s is counted", key)
					}
					continue
				}
				if got := first.Text("tally-" + key); !strings.HasPrefix(got, strconv.Itoa(len(numbers))+" ") {
					t.Errorf("tally of %s: %q", key, got)
				}
				page := s.As(tt.who).Get("/?show=" + key).Want(http.StatusOK)
				got := numbersIn(page, "today-list")
				slices.Sort(got)
				want := slices.Sorted(slices.Values(numbers))
				if !slices.Equal(got, want) {
					t.Errorf("under %s: %v, want %v", key, got, want)
				}
				for _, row := range webtest.Within(page.One("today-list"), "docket-row") {
					text := webtest.TextOf(row)
					if act := acts[text[:strings.Index(text, " ")]]; act == "" || !strings.Contains(text, act) {
						t.Errorf("%q does not say %q", text, act)
					}
				}
			}
			if got := webtest.TextOf(webtest.Within(first.One("today-list"), "docket-row")[0]); tt.who.Role == staff.Watchmaker &&
				!strings.HasPrefix(got, n[0]) {
				t.Errorf("what is in hand does not come first: %q", got)
			}
			s.As(tt.who).Get("/?show=nothing").Want(http.StatusBadRequest)
			if got := s.Trips(s.As(tt.who), "/"); got > 4 {
				t.Errorf("%d round trips", got)
			}
		})
	}
}

func TestTodayShowsTwelve(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.Noted()
	_, err := s.Store.Pool().Exec(t.Context(),
		`INSERT INTO docket (year, seq, number, stage, place, customer_id, watch_id, complaint, wanted, currency,
			received_on, received_at, received_by, moved_at, promised_on)
		SELECT year, i, 'copy-' || i, 'ready', place, customer_id, watch_id, complaint, wanted, currency, received_on, received_at, received_by, moved_at, date '2026-12-24' - i
		FROM docket, generate_series(2, 20) i WHERE number = $1`, number)
	if err != nil {
		t.Fatal(err)
	}
	page := s.As(s.Clerk).Get("/").Want(http.StatusOK)
	rows := webtest.Within(page.One("today-list"), "docket-row")
	if len(rows) != 12 || !strings.HasPrefix(page.Text("tally-collect"), "19 ") {
		t.Errorf("%d rows, %q to collect", len(rows), page.Text("tally-collect"))
	}
	if first := webtest.TextOf(rows[0]); !strings.HasPrefix(first, "26-00020-") {
		t.Errorf("what was promised soonest does not come first: %q", first)
	}
	all := s.As(s.Clerk).Get(webtest.Attr(page.One("all-rows"), "href")).Want(http.StatusOK)
	if got := len(webtest.Within(all.One("today-list"), "docket-row")); got != 20 || len(all.All("all-rows")) != 0 {
		t.Errorf("all are %d rows", got)
	}
	empty := webtest.NewSite(t)
	if got := empty.As(empty.Clerk).Get("/").Want(http.StatusOK).Text("empty"); !strings.Contains(got,
		"Nothing waits for you") {
		t.Errorf("an empty shop: %q", got)
	}
}
