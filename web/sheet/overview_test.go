package sheet_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/html"

	"ledgerwheel/domain/diagnosis"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/webtest"
)

func TestDocketShowsWhatMovesNeed(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.TakeIn()
	page := s.As(s.Clerk).Get("/dockets/" + number).Want(http.StatusOK)
	if got := page.Text("needs-diagnosis"); !strings.Contains(got, "Note the watch's condition") {
		t.Errorf("the move to diagnosis needs %q", got)
	}
	if len(page.All("move-form-diagnosis")) != 0 {
		t.Error("a form is offered for a move that can't be made")
	}
	number = s.Noted("customer_choice", "new", "watch_choice", "new", "name", "Ben Thole", "phone", "01632 960188",
		"email", "ben@example.org", "serial", "77")
	page = s.As(s.Clerk).Get("/dockets/" + number).Want(http.StatusOK)
	if len(page.All("needs-diagnosis")) != 0 || len(page.All("move-form-diagnosis")) != 1 {
		t.Errorf("the move to diagnosis: needs %v, forms %d", len(page.All("needs-diagnosis")),
			len(page.All("move-form-diagnosis")))
	}
	for _, want := range []string{"Ben Thole", "Harbourmaster", "Stops at night", "150"} {
		if !strings.Contains(webtest.TextOf(page.Document), want) {
			t.Errorf("the page does not say %q", want)
		}
	}
	if got := webtest.TextOf(page.One("move-withdrawn")); !strings.Contains(got, "Withdrawn by the customer") {
		t.Errorf("withdrawing: %q", got)
	}
	page = s.As(s.Watchmaker).Get("/dockets/" + number).Want(http.StatusOK)
	if got := webtest.TextOf(page.One("move-withdrawn")); !strings.Contains(got, "Ask the owner or the counter clerk") ||
		len(webtest.Within(page.One("move-withdrawn"), "move-form-withdrawn")) != 0 {
		t.Errorf("a watchmaker is offered to withdraw: %q", got)
	}
	s.As(s.Clerk).Get("/dockets/26-00099-X").Want(http.StatusNotFound)
}

func TestMoveDocket(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.Noted()
	clerk := s.As(s.Clerk)
	if got := clerk.Post("/dockets/"+number+"/move", s.MoveForm(number, docket.StageDiagnosis, "bench",
		webtest.Itoa(s.Watchmaker.ID), "reason", "urgent")).
		Want(http.StatusSeeOther).Location(); got != "/dockets/"+number {
		t.Errorf("leads to %q", got)
	}
	page := clerk.Get("/dockets/" + number).Want(http.StatusOK)
	if got := page.Text("flash"); !strings.Contains(got, "diagnosis") {
		t.Errorf("said %q", got)
	}
	if got := page.Text("place"); got != "bench 2, Emrys Vale" {
		t.Errorf("place %q", got)
	}
	entry := s.As(s.Clerk).Get("/dockets/" + number + "/journal").Want(http.StatusOK)
	if got := entry.Text("journal"); !strings.Contains(got, "From intake to diagnosis") ||
		!strings.Contains(got, "urgent") || !strings.Contains(got, "Emrys Vale") {
		t.Errorf("the journal says %q", got)
	}
}

func TestMoveRefusedKeepsWhatWasTyped(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	unnoted := s.TakeIn()
	number := s.Noted("customer_choice", "new", "watch_choice", "new")
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
		{"no bench named", s.Clerk, number, docket.StageDiagnosis, []string{"place_detail", " "}, 422, "place_detail",
			"Say which bench."},
		{"no place", s.Clerk, number, docket.StageDiagnosis, []string{"place", ""}, 422, "place",
			"Say where the watch is now."},
		{"a place that makes no sense", s.Clerk, number, docket.StageDiagnosis, []string{"place", "with-customer"}, 422,
			"place", "can't be there"},
		{"no reason", s.Clerk, number, docket.StageWithdrawn, []string{"place", "safe"}, 422, "reason", "Write why"},
		{"a clerk is no bench", s.Clerk, number, docket.StageDiagnosis, []string{"bench", webtest.Itoa(s.Clerk.ID)}, 422,
			"bench", "works at a bench"},
		{"a bench that is no number", s.Clerk, number, docket.StageDiagnosis, []string{"bench", "Emrys"}, 422, "bench",
			"Choose one"},
		{"a need unmet", s.Clerk, unnoted, docket.StageDiagnosis, nil, 422, "to", "Note the watch's condition"},
		{"role may not", s.Watchmaker, number, docket.StageWithdrawn, []string{"place", "safe", "reason", "typed long"}, 403,
			"to", "Your role does not let you"},
		{"no such move", s.Owner, number, docket.StageReady, []string{"place", "safe", "reason", "typed long"}, 422, "to",
			"can't go from intake to ready"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			before := s.Version(tt.docket)
			form := s.MoveForm(tt.docket, tt.to, tt.fields...)
			if form.Get("reason") == "" && tt.field != "reason" {
				form.Set("reason", "a line\nand   another")
			}
			page := s.As(tt.who).Post("/dockets/"+tt.docket+"/move", form).Want(tt.status)
			said := page.Problem(tt.field)
			if tt.field == "to" {
				said = page.Text("form-errors")
			}
			if !strings.Contains(said, tt.says) {
				t.Errorf("beside %s it says %q, want %q; the page: %.300s", tt.field, said, tt.says, webtest.TextOf(page.Document))
			}
			if reason := form.Get("reason"); reason != "" && !strings.Contains(page.Body, html.EscapeString(reason)) {
				t.Error("the reason typed is lost")
			}
			if s.Version(tt.docket) != before {
				t.Error("something was saved")
			}
		})
	}
	s.As(s.Clerk).Post("/dockets/"+number+"/move", url.Values{"to": {"nowhere"},
		"version": {"1"}}).Want(http.StatusBadRequest)
	s.As(s.Clerk).Post("/dockets/"+number+"/move", url.Values{"to": {"diagnosis"},
		"place": {"safe"}}).Want(http.StatusBadRequest)
	s.As(s.Clerk).Post("/dockets/"+number+"/move", url.Values{"to": {"diagnosis"},
		"version": {"one"}}).Want(http.StatusBadRequest)
}

func TestMoveWatchAndAssign(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.Noted()
	bench := s.As(s.Watchmaker)
	page := bench.Post("/dockets/"+number+"/place", url.Values{"version": {s.Version(number)},
		"place": {"sent-out"}}).Want(http.StatusUnprocessableEntity)
	if got := page.Problem("place_detail"); !strings.Contains(got, "to whom") {
		t.Errorf("no workshop named: %q", got)
	}
	bench.Post("/dockets/"+number+"/place", url.Values{"version": {s.Version(number)}, "place": {"sent-out"},
		"place_detail": {"Gannet Dialworks"}}).Want(http.StatusSeeOther)
	page = bench.Get("/dockets/" + number).Want(http.StatusOK)
	if got := page.Text("place"); got != "sent out to Gannet Dialworks" {
		t.Errorf("place %q", got)
	}
	bench.Post("/dockets/"+number+"/bench", url.Values{"version": {s.Version(number)},
		"bench": {webtest.Itoa(s.Watchmaker.ID)}}).Want(http.StatusSeeOther)
	if got := bench.Get("/dockets/" + number + "/journal").Text("journal"); !strings.Contains(got,
		"in the hands of Emrys Vale") {
		t.Errorf("journal %q", got)
	}
	page = bench.Post("/dockets/"+number+"/bench", url.Values{"version": {s.Version(number)},
		"bench": {"77777"}}).Want(http.StatusUnprocessableEntity)
	if page.Problem("bench") == "" {
		t.Error("nobody's id was taken")
	}
}

func TestClosedDocketOffersNoMove(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.Noted()
	form := s.MoveForm(number, docket.StageWithdrawn, "place", "safe", "reason", "a reason\nof two lines")
	s.HandOver(number)
	page := s.As(s.Owner).Get("/dockets/" + number).Want(http.StatusOK)
	if len(page.All("moves"))+len(page.All("custody")) != 0 {
		t.Error("a closed docket offers moves")
	}
	page = s.As(s.Owner).Post("/dockets/"+number+"/move", form).Want(http.StatusUnprocessableEntity)
	if got := page.Text("form-errors"); !strings.Contains(got, "has left the shop") {
		t.Errorf("said %q", got)
	}
	if got := page.Text("kept"); !strings.Contains(got, "a reason of two lines") {
		t.Errorf("kept %q", got)
	}
}

// Two people act on the docket as both saw it: the second is shown what the first did, loses nothing, and can go on.
func TestConflict(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.Noted()
	clerk, bench := s.As(s.Clerk), s.As(s.Watchmaker)
	long := "First line, with <angle> brackets & an ampersand.\n\n" + strings.Repeat("a long word ", 60) + "\nלסוף"
	form := s.MoveForm(number, docket.StageDiagnosis, "place_detail", "3", "reason", long, "bench",
		webtest.Itoa(s.Watchmaker.ID))
	form["extra"] = []string{"one", "two"}

	s.Pass(time.Minute)
	clerk.Post("/dockets/"+number+"/place", url.Values{"version": {s.Version(number)},
		"place": {"counter"}}).Want(http.StatusSeeOther)
	page := bench.Post("/dockets/"+number+"/move", form).Want(http.StatusConflict)

	if got := page.Text("conflict-changes"); !strings.Contains(got, "Nuala Reed") ||
		!strings.Contains(got, "from safe to counter") || !strings.Contains(got, "10:31") {
		t.Errorf("what changed: %q", got)
	}
	typed := webtest.RawText(page.One("conflict-typed"))
	for _, want := range []string{long, "Diagnosis", "Bench", "3", "Emrys Vale", "one", "two"} {
		if !strings.Contains(strings.ReplaceAll(typed, "\r", ""), want) {
			t.Errorf("what was typed does not show %q: %q", want, typed)
		}
	}
	again := url.Values{}
	for d := range page.One("conflict-form").Descendants() {
		if d.Type == html.ElementNode && d.Data == "input" {
			again.Add(webtest.Attr(d, "name"), webtest.Attr(d, "value"))
		}
	}
	if again.Get("reason") != long || len(again["extra"]) != 2 || again.Get("version") != s.Version(number) {
		t.Errorf("the form carries %v", again)
	}
	if got := webtest.Attr(page.One("conflict-form"), "action"); got != "/dockets/"+number+"/move" {
		t.Errorf("the form goes to %q", got)
	}
	bench.Post("/dockets/"+number+"/move", again).Want(http.StatusSeeOther)
	if got := bench.Get("/dockets/" + number).Text("place"); got != "bench 3, Emrys Vale" {
		t.Errorf("after doing it all the same: %q", got)
	}

	// The same once more, where the docket has gone to another stage: what was typed is still not lost.
	page = clerk.Post("/dockets/"+number+"/move", form).Want(http.StatusConflict)
	form.Set("version", page.Hidden("version"))
	form.Set("to", string(docket.StageDiagnosis))
	page = clerk.Post("/dockets/"+number+"/move", form).Want(http.StatusUnprocessableEntity)
	if !strings.Contains(page.Text("kept"), "brackets & an ampersand") || !strings.Contains(page.Text("form-errors"),
		"can't go from diagnosis to diagnosis") {
		t.Errorf("a move that is no longer there: %q, kept %q", page.Text("form-errors"), page.Text("kept"))
	}
}

func TestJournalPages(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.Noted()
	for i := range 60 {
		s.Pass(time.Minute)
		kind := []docket.PlaceKind{docket.PlaceCounter, docket.PlaceSafe}[i%2]
		err := s.Store.MoveWatch(t.Context(), store.Change{Number: s.Number(number), By: s.Actor(s.Clerk), At: s.Clock()},
			docket.PlaceAt(kind, ""))
		if err != nil {
			t.Fatal(err)
		}
	}
	c := s.As(s.Watchmaker)
	page := c.Get("/dockets/" + number + "/journal").Want(http.StatusOK)
	if got := page.Text("chain-sound"); !strings.Contains(got, "unbroken") && !strings.Contains(got, "Unbroken") {
		t.Errorf("says %q", got)
	}
	if n := countElements(page.One("journal"), "time"); n != store.JournalPage {
		t.Errorf("%d entries on the first page", n)
	}
	older := c.Get(webtest.Attr(page.One("older"), "href")).Want(http.StatusOK)
	if got := older.Text("journal"); !strings.Contains(got, "taken in") && !strings.Contains(got, "Taken in") &&
		!strings.Contains(got, "Received") {
		t.Errorf("the oldest page does not begin with the intake: %q", got)
	}
	if len(older.All("older")) != 0 || webtest.Attr(older.One("newer"), "href") != "/dockets/"+number+"/journal" {
		t.Error("the last page leads the wrong way")
	}
	c.Get("/dockets/" + number + "/journal?upto=x").Want(http.StatusBadRequest)
	if got := s.Trips(c, "/dockets/"+number+"/journal"); got > 4 {
		t.Errorf("%d round trips", got)
	}

	// Somebody with the database's own keys rewrites an entry.
	_, err := s.Store.Pool().Exec(t.Context(), `ALTER TABLE journal DISABLE TRIGGER ALL`)
	if err == nil {
		_, err = s.Store.Pool().Exec(t.Context(), `UPDATE journal SET summary = 'Nothing happened.' WHERE seq = 20`)
	}
	if err != nil {
		t.Fatal(err)
	}
	page = c.Get("/dockets/" + number + "/journal").Want(http.StatusOK)
	if got := page.Text("chain-broken"); !strings.Contains(got, "entry 20") {
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
	s := webtest.NewSite(t)
	v, err := s.Store.Viewer(t.Context(), s.Owner.ID, "")
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct{ facts, want string }{
		{`{"total_minor":12050,"place":"bench 2"}`, "Place=bench 2|Total=€120.50"},
		{`{"currency":"CHF","still_due_minor":100}`, "Currency=CHF|Still to pay=CHF 1.00"},
		{`{"valid_until":"2026-12-01T10:00:00Z","empty":"","sent":false}`,
			"Good until=1 Dec 2026, 11:00|Empty=none|Sent=no"},
		{`{"valid_until":"2026-12-01"}`, "Good until=Tue 1 Dec 2026"},
		{`{"changed":{"from":"a","to":"b"},"wind":[0,24]}`, "Changed: from=a|Changed: to=b|Wind=0, 24"},
		{`{"lines":[{"kind":"labour","description":"cleaning","unit_minor":500,"tax_percent":"20"}]}`,
			"Lines=cleaning: labour, unit price €5.00, tax 20 %"},
		{`{"from":"final-test","to":"handed-over"}`, "From=final test|To=handed over"},
		// As the demo's oldest entries have it: no name of a form's field, no unit as a word, no more digits than mean
		// something, and a true minus.
		{`{"temperature_c":23,"clock_within_ppm":0.5,"crown_at":3}`,
			"Its clock is right to within ±=0.5 ppm|Temperature=23 °C|Crown at=3 o’clock"},
		{`{"corrected":[{"field":"mainspring_thickness","now":"0.115","was":"0.11"}],"typed":"a=1&b=2"}`,
			"Corrected=Barrel and mainspring: Mainspring thickness, mm: was 0.11, now 0.115"},
		{`{"recording":{"amplitude_deg":238.1901014700692,"rate_s_per_day":-1.0369604390454867,"recorder_id":1}}`,
			"Recording: rate=−1.04 s/d|Recording: amplitude=238.2°"},
		{`{"readings":[{"at":"CH, full wind","figures":"-34.8 s/d, 269°"}]}`, "Readings=CH, full wind: −34.8 s/d, 269°"},
		{`{"hazard":"mainspring-let-down"}`, "Hazard=" + diagnosis.Hazard("mainspring-let-down").Words()},
		{`{"never_heard_of":-1.5e-7}`, "Never heard of=−0.00000015"},
		{`["a","b"]`, "Written=a, b"},
		{`not json`, "As written=not json"},
		{``, ""},
	} {
		var got []string
		for _, term := range sheet.FactTerms([]byte(tt.facts), v.Shop) {
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
				text = strings.TrimSpace(webtest.RawText(doc))
			}
			got = append(got, term.Term+"="+strings.ReplaceAll(text, "\u00a0", " "))
		}
		if joined := strings.Join(got, "|"); joined != tt.want {
			t.Errorf("%s reads %q, want %q", tt.facts, joined, tt.want)
		}
	}
}

// A watch that left the rail keeps what it went through; the rest was not taken.
func TestRailOfAWithdrawnDocket(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.Noted()
	s.As(s.Owner).Post("/dockets/"+number+"/move", s.MoveForm(number, docket.StageDiagnosis, "place", "safe"))
	s.As(s.Owner).Post("/dockets/"+number+"/move", s.MoveForm(number, docket.StageWithdrawn, "place", "safe", "reason",
		"no longer wanted"))
	page := s.As(s.Owner).Get("/dockets/" + number).Want(http.StatusOK)
	got := strings.Join(strings.Fields(page.Text("stage-rail")), " ")
	for _, want := range []string{"Intake , done", "Diagnosis , done", "Estimate , not taken", "Handed over , not taken"} {
		if !strings.Contains(strings.ReplaceAll(got, " ,", ","), strings.ReplaceAll(want, " ,", ",")) {
			t.Errorf("the rail says %q, without %q", got, want)
		}
	}
}

// The head offers the one next thing that the reader can do, on every sheet, and makes the move at once where nothing
// more is asked.
func TestNextActionInTheHead(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.TakeIn()
	clerk := s.As(s.Clerk)
	at := "/dockets/" + number
	if got := webtest.Attr(clerk.Get(at).One("next-action"), "href"); got != at+"/intake" {
		t.Errorf("a condition to be noted leads to %q", got)
	}
	if got := clerk.Get(at + "/intake").Text("next-here"); got != "Next: Note the condition" {
		t.Errorf("on the sheet itself: %q", got)
	}
	s.Put(number, "condition_clear = '{case}', place = 'safe'")
	page := clerk.Get(at + "/journal")
	if got := page.Text("next-action"); got != "Pass to the bench for diagnosis" {
		t.Fatalf("the journal's head offers %q", got)
	}
	form := url.Values{}
	for _, name := range []string{"version", "to", "place", "place_detail", "bench"} {
		form.Set(name, page.Hidden(name))
	}
	clerk.Post(at+"/move", form).Want(http.StatusSeeOther)
	page = clerk.Get(at).Want(http.StatusOK)
	if len(page.All("next-action")) != 0 || page.Text("waits-for") != "diagnosis" {
		t.Errorf("the clerk is offered %q", page.Text("docket-line"))
	}
	if got := s.As(s.Watchmaker).Get(at).Text("next-action"); got != "Record what you find" {
		t.Errorf("the bench is offered %q", got)
	}
	s.Put(number, "stage = 'ready', owner_reason = 'as agreed'")
	if got := clerk.Get(at).Text("next-action"); got != "Hand over" {
		t.Errorf("a clerk on a ready docket is offered %q", got)
	}
	if len(s.As(s.Watchmaker).Get(at).All("next-action")) != 0 {
		t.Error("the bench is offered to hand over")
	}
}
