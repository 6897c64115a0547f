package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/html"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
)

func TestDocketShowsWhatMovesNeed(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.takeIn()
	page := s.as(s.clerk).get("/dockets/" + number).want(http.StatusOK)
	if got := page.text("needs-diagnosis"); !strings.Contains(got, "Note the watch's condition") {
		t.Errorf("the move to diagnosis needs %q", got)
	}
	if len(page.all("move-form-diagnosis")) != 0 {
		t.Error("a form is offered for a move that can't be made")
	}
	number = s.noted("customer_choice", "new", "watch_choice", "new", "name", "Ben Thole", "phone", "01632 960188", "email", "ben@example.org", "serial", "77")
	page = s.as(s.clerk).get("/dockets/" + number).want(http.StatusOK)
	if len(page.all("needs-diagnosis")) != 0 || len(page.all("move-form-diagnosis")) != 1 {
		t.Errorf("the move to diagnosis: needs %v, forms %d", len(page.all("needs-diagnosis")), len(page.all("move-form-diagnosis")))
	}
	for _, want := range []string{"Ben Thole", "Harbourmaster", "Stops at night", "150"} {
		if !strings.Contains(textOf(page.document), want) {
			t.Errorf("the page does not say %q", want)
		}
	}
	if got := textOf(page.one("move-withdrawn")); !strings.Contains(got, "Withdrawn by the customer") {
		t.Errorf("withdrawing: %q", got)
	}
	page = s.as(s.watchmaker).get("/dockets/" + number).want(http.StatusOK)
	if got := textOf(page.one("move-withdrawn")); !strings.Contains(got, "Ask the owner or the counter clerk") || len(within(page.one("move-withdrawn"), "move-form-withdrawn")) != 0 {
		t.Errorf("a watchmaker is offered to withdraw: %q", got)
	}
	s.as(s.clerk).get("/dockets/26-00099-X").want(http.StatusNotFound)
}

func TestMoveDocket(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.noted()
	clerk := s.as(s.clerk)
	if got := clerk.post("/dockets/"+number+"/move", s.moveForm(number, docket.StageDiagnosis, "bench", itoa(s.watchmaker.ID), "reason", "urgent")).
		want(http.StatusSeeOther).location(); got != "/dockets/"+number {
		t.Errorf("leads to %q", got)
	}
	page := clerk.get("/dockets/" + number).want(http.StatusOK)
	if got := page.text("flash"); !strings.Contains(got, "diagnosis") {
		t.Errorf("said %q", got)
	}
	if got := page.text("place"); got != "Now bench 2" {
		t.Errorf("place %q", got)
	}
	entry := s.as(s.clerk).get("/dockets/" + number + "/journal").want(http.StatusOK)
	if got := entry.text("journal"); !strings.Contains(got, "From intake to diagnosis") || !strings.Contains(got, "urgent") || !strings.Contains(got, "Emrys Vale") {
		t.Errorf("the journal says %q", got)
	}
}

func TestMoveRefusedKeepsWhatWasTyped(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	unnoted := s.takeIn()
	number := s.noted("customer_choice", "new", "watch_choice", "new")
	for _, tt := range []struct {
		name   string
		who    staff.Member
		docket string
		to     docket.Stage
		fields []string
		status int
		field  string // whose problem says
		says   string
	}{
		{"no bench named", s.clerk, number, docket.StageDiagnosis, []string{"place_detail", " "}, 422, "place_detail", "Say which bench."},
		{"no place", s.clerk, number, docket.StageDiagnosis, []string{"place", ""}, 422, "place", "Say where the watch is now."},
		{"a place that makes no sense", s.clerk, number, docket.StageDiagnosis, []string{"place", "with-customer"}, 422, "place", "can't be there"},
		{"no reason", s.clerk, number, docket.StageWithdrawn, []string{"place", "safe"}, 422, "reason", "Write why"},
		{"a clerk is no bench", s.clerk, number, docket.StageDiagnosis, []string{"bench", itoa(s.clerk.ID)}, 422, "bench", "works at a bench"},
		{"a bench that is no number", s.clerk, number, docket.StageDiagnosis, []string{"bench", "Emrys"}, 422, "bench", "Choose one"},
		{"a need unmet", s.clerk, unnoted, docket.StageDiagnosis, nil, 422, "to", "Note the watch's condition"},
		{"role may not", s.watchmaker, number, docket.StageWithdrawn, []string{"place", "safe", "reason", "typed long"}, 403, "to", "Your role does not let you"},
		{"no such move", s.owner, number, docket.StageReady, []string{"place", "safe", "reason", "typed long"}, 422, "to", "can't go from intake to ready"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			before := s.version(tt.docket)
			form := s.moveForm(tt.docket, tt.to, tt.fields...)
			if form.Get("reason") == "" && tt.field != "reason" {
				form.Set("reason", "a line\nand   another")
			}
			page := s.as(tt.who).post("/dockets/"+tt.docket+"/move", form).want(tt.status)
			said := page.problem(tt.field)
			if tt.field == "to" {
				said = page.text("form-errors")
			}
			if !strings.Contains(said, tt.says) {
				t.Errorf("beside %s it says %q, want %q; the page: %.300s", tt.field, said, tt.says, textOf(page.document))
			}
			if reason := form.Get("reason"); reason != "" && !strings.Contains(page.body, html.EscapeString(reason)) {
				t.Error("the reason typed is lost")
			}
			if s.version(tt.docket) != before {
				t.Error("something was saved")
			}
		})
	}
	s.as(s.clerk).post("/dockets/"+number+"/move", url.Values{"to": {"nowhere"}, "version": {"1"}}).want(http.StatusBadRequest)
	s.as(s.clerk).post("/dockets/"+number+"/move", url.Values{"to": {"diagnosis"}, "place": {"safe"}}).want(http.StatusBadRequest)
	s.as(s.clerk).post("/dockets/"+number+"/move", url.Values{"to": {"diagnosis"}, "version": {"one"}}).want(http.StatusBadRequest)
}

func TestMoveWatchAndAssign(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.noted()
	bench := s.as(s.watchmaker)
	page := bench.post("/dockets/"+number+"/place", url.Values{"version": {s.version(number)}, "place": {"sent-out"}}).want(http.StatusUnprocessableEntity)
	if got := page.problem("place_detail"); !strings.Contains(got, "to whom") {
		t.Errorf("no workshop named: %q", got)
	}
	bench.post("/dockets/"+number+"/place", url.Values{"version": {s.version(number)}, "place": {"sent-out"}, "place_detail": {"Gannet Dialworks"}}).want(http.StatusSeeOther)
	page = bench.get("/dockets/" + number).want(http.StatusOK)
	if got := page.text("place"); got != "Now sent out to Gannet Dialworks" {
		t.Errorf("place %q", got)
	}
	bench.post("/dockets/"+number+"/bench", url.Values{"version": {s.version(number)}, "bench": {itoa(s.watchmaker.ID)}}).want(http.StatusSeeOther)
	if got := bench.get("/dockets/" + number + "/journal").text("journal"); !strings.Contains(got, "in the hands of Emrys Vale") {
		t.Errorf("journal %q", got)
	}
	page = bench.post("/dockets/"+number+"/bench", url.Values{"version": {s.version(number)}, "bench": {"77777"}}).want(http.StatusUnprocessableEntity)
	if page.problem("bench") == "" {
		t.Error("nobody's id was taken")
	}
}

func TestClosedDocketOffersNoMove(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.noted()
	form := s.moveForm(number, docket.StageWithdrawn, "place", "safe", "reason", "a reason\nof two lines")
	s.handOver(number)
	page := s.as(s.owner).get("/dockets/" + number).want(http.StatusOK)
	if len(page.all("moves"))+len(page.all("custody")) != 0 {
		t.Error("a closed docket offers moves")
	}
	page = s.as(s.owner).post("/dockets/"+number+"/move", form).want(http.StatusUnprocessableEntity)
	if got := page.text("form-errors"); !strings.Contains(got, "has left the shop") {
		t.Errorf("said %q", got)
	}
	if got := page.text("kept"); !strings.Contains(got, "a reason of two lines") {
		t.Errorf("kept %q", got)
	}
}

// Two people act on the docket as both saw it: the second is shown what the first did, loses nothing, and can go on.
func TestConflict(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.noted()
	clerk, bench := s.as(s.clerk), s.as(s.watchmaker)
	long := "First line, with <angle> brackets & an ampersand.\n\n" + strings.Repeat("a long word ", 60) + "\nלסוף"
	form := s.moveForm(number, docket.StageDiagnosis, "place_detail", "3", "reason", long, "bench", itoa(s.watchmaker.ID))
	form["extra"] = []string{"one", "two"}

	s.pass(time.Minute)
	clerk.post("/dockets/"+number+"/place", url.Values{"version": {s.version(number)}, "place": {"counter"}}).want(http.StatusSeeOther)
	page := bench.post("/dockets/"+number+"/move", form).want(http.StatusConflict)

	if got := page.text("conflict-changes"); !strings.Contains(got, "Nuala Reed") || !strings.Contains(got, "from safe to counter") || !strings.Contains(got, "10:31") {
		t.Errorf("what changed: %q", got)
	}
	typed := rawText(page.one("conflict-typed"))
	for _, want := range []string{long, "Diagnosis", "Bench", "3", "Emrys Vale", "one", "two"} {
		if !strings.Contains(strings.ReplaceAll(typed, "\r", ""), want) {
			t.Errorf("what was typed does not show %q: %q", want, typed)
		}
	}
	again := url.Values{}
	for d := range page.one("conflict-form").Descendants() {
		if d.Type == html.ElementNode && d.Data == "input" {
			again.Add(attr(d, "name"), attr(d, "value"))
		}
	}
	if again.Get("reason") != long || len(again["extra"]) != 2 || again.Get("version") != s.version(number) {
		t.Errorf("the form carries %v", again)
	}
	if got := attr(page.one("conflict-form"), "action"); got != "/dockets/"+number+"/move" {
		t.Errorf("the form goes to %q", got)
	}
	bench.post("/dockets/"+number+"/move", again).want(http.StatusSeeOther)
	if got := bench.get("/dockets/" + number).text("place"); got != "Now bench 3" {
		t.Errorf("after doing it all the same: %q", got)
	}

	// The same once more, where the docket has gone to another stage: what was typed is still not lost.
	page = clerk.post("/dockets/"+number+"/move", form).want(http.StatusConflict)
	form.Set("version", page.hidden("version"))
	form.Set("to", string(docket.StageDiagnosis))
	page = clerk.post("/dockets/"+number+"/move", form).want(http.StatusUnprocessableEntity)
	if !strings.Contains(page.text("kept"), "brackets & an ampersand") || !strings.Contains(page.text("form-errors"), "can't go from diagnosis to diagnosis") {
		t.Errorf("a move that is no longer there: %q, kept %q", page.text("form-errors"), page.text("kept"))
	}
}

func TestJournalPages(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.noted()
	for i := range 60 {
		s.pass(time.Minute)
		kind := []docket.PlaceKind{docket.PlaceCounter, docket.PlaceSafe}[i%2]
		err := s.store.MoveWatch(t.Context(), store.Change{Number: s.number(number), By: s.actor(s.clerk), At: s.clock()}, docket.PlaceAt(kind, ""))
		if err != nil {
			t.Fatal(err)
		}
	}
	c := s.as(s.watchmaker)
	page := c.get("/dockets/" + number + "/journal").want(http.StatusOK)
	if got := page.text("chain-sound"); !strings.Contains(got, "unbroken") && !strings.Contains(got, "Unbroken") {
		t.Errorf("says %q", got)
	}
	if n := countElements(page.one("journal"), "time"); n != store.JournalPage {
		t.Errorf("%d entries on the first page", n)
	}
	older := c.get(attr(page.one("older"), "href")).want(http.StatusOK)
	if got := older.text("journal"); !strings.Contains(got, "taken in") && !strings.Contains(got, "Taken in") && !strings.Contains(got, "Received") {
		t.Errorf("the oldest page does not begin with the intake: %q", got)
	}
	if len(older.all("older")) != 0 || attr(older.one("newer"), "href") != "/dockets/"+number+"/journal" {
		t.Error("the last page leads the wrong way")
	}
	c.get("/dockets/" + number + "/journal?upto=x").want(http.StatusBadRequest)
	if got := s.trips(c, "/dockets/"+number+"/journal"); got > 4 {
		t.Errorf("%d round trips", got)
	}

	// Somebody with the database's own keys rewrites an entry.
	_, err := s.store.Pool().Exec(t.Context(), `ALTER TABLE journal DISABLE TRIGGER ALL`)
	if err == nil {
		_, err = s.store.Pool().Exec(t.Context(), `UPDATE journal SET summary = 'Nothing happened.' WHERE seq = 20`)
	}
	if err != nil {
		t.Fatal(err)
	}
	page = c.get("/dockets/" + number + "/journal").want(http.StatusOK)
	if got := page.text("chain-broken"); !strings.Contains(got, "entry 20") {
		t.Errorf("a rewritten entry: %q", got)
	}
}

func countElements(n *html.Node, tag string) int {
	count := 0
	for d := range n.Descendants() {
		if d.Type == html.ElementNode && d.Data == tag {
			count++
		}
	}
	return count
}

func TestFactsAreReadable(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	v, err := s.store.Viewer(t.Context(), s.owner.ID)
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct{ facts, want string }{
		{`{"place":"bench 2","total_minor":12050}`, "Place=bench 2|Total=€120.50"},
		{`{"currency":"CHF","dueMinor":100}`, "Currency=CHF|Due=CHF 1.00"},
		{`{"valid_until":"2026-12-01T10:00:00Z","empty":"","sent":false}`, "Empty=none|Sent=no|Valid until=1 Dec 2026, 11:00"},
		{`{"changed":{"from":"a","to":"b"},"hours":[0,24]}`, "Changed: from=a|Changed: to=b|Hours=0, 24"},
		{`{"lines":[{"text":"cleaning","minor":500},{"text":"part","minor":100}]}`, "Lines=amount €5.00; text cleaning\namount €1.00; text part"},
		{`["a","b"]`, "Written=a, b"},
		{`not json`, "As written=not json"},
		{``, ""},
	} {
		var got []string
		for _, term := range factTerms([]byte(tt.facts), v.Shop) {
			text := term.Cell.Text
			if term.Cell.Component != nil {
				var b strings.Builder
				if err := term.Cell.Component.Render(t.Context(), &b); err != nil {
					t.Fatal(err)
				}
				doc, err := html.Parse(strings.NewReader(b.String()))
				if err != nil {
					t.Fatal(err)
				}
				text = strings.TrimSpace(rawText(doc))
			}
			got = append(got, term.Term+"="+strings.ReplaceAll(text, "\u00a0", " "))
		}
		if joined := strings.Join(got, "|"); joined != tt.want {
			t.Errorf("%s reads %q, want %q", tt.facts, joined, tt.want)
		}
	}
}
