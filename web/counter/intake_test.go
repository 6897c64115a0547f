package counter_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/watch"
	"ledgerwheel/web/webtest"
)

func TestTakeIn(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	c := s.As(s.Clerk)
	page := c.Get("/intake").Want(http.StatusOK)
	// From the stated start: no watch of this shop is finished.
	if got := page.Value("promised_on"); got < "2026-12-15" || got > "2027-01-20" || !strings.Contains(page.Text("promise-said"), "kept 8 times in 10; from the usual times of such work") {
		t.Errorf("promise suggested: %q, %q", got, page.Text("promise-said"))
	}
	to := c.Post("/intake", webtest.CounterForm()).Want(http.StatusSeeOther).Location()
	if to != "/dockets/26-00001-"+string(check(t, "2600001"))+"/intake?taken-in=yes" {
		t.Fatalf("leads to %q", to)
	}
	sheet := c.Get(to).Want(http.StatusOK)
	for id, want := range map[string]string{"flash": "Taken in as docket 26-00001", "next-steps": "Print ticket",
		"handed-in": "1O47-I",
		"said":      "Stops at night", "photographs": "None yet", "condition": "not noted"} {
		if got := sheet.Text(id); !strings.Contains(got, want) {
			t.Errorf("%s says %q, want %q", id, got, want)
		}
	}
	if got := sheet.Text("said"); !strings.Contains(got, "€2,500.00") || !strings.Contains(got, "€150.00") ||
		!strings.Contains(got, "Tue 8 Dec 2026") {
		t.Errorf("amounts and promise: %q", got)
	}
	if again := c.Get(strings.TrimSuffix(to, "?taken-in=yes")); len(again.All("next-steps")) != 0 {
		t.Error("the next steps are offered for ever")
	}
}

func check(t *testing.T, digits string) byte {
	t.Helper()
	b, err := docket.CheckCharacter(digits)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func TestTakeInKeepsWhatWasTypedAndSaysWhy(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	c := s.As(s.Clerk)
	for _, tt := range []struct{ field, typed, says string }{
		{"phone", "12", "dialled"},
		{"email", "ada@", "name@example.org"},
		{"maker", "", "maker"},
		{"water_resistance", "damp <b>", "5 bar"},
		{"complaint", "", "customer says"},
		{"service_wanted", "polish", "service wanted"},
		{"declared_value", "many", "amount"},
		{"approval_limit", "12.345,678,9", "amount"},
		{"approval_limit", "USD 12", "currency"},
		{"promised_on", "2026-11-23", "before the day"},
		{"promised_on", "8.12.2026", "2026-11-24"},
		{"crown_at", "13", "hour"},
		{"place", "bench", "counter or in the safe"},
		{"warranty_of", "x", "those offered"},
	} {
		page := c.Post("/intake", webtest.CounterForm(tt.field, tt.typed)).Want(http.StatusUnprocessableEntity)
		if got := page.Problem(tt.field); !strings.Contains(got, tt.says) {
			// Radio groups that are not drawn have their problem in the summary only.
			if got = page.Text("form-errors"); !strings.Contains(got, tt.says) {
				t.Errorf("%s %q: says %q, want %q", tt.field, tt.typed, got, tt.says)
			}
		}
		if tt.field != "name" && page.Value("name") != "Ada Quillmarsh" || tt.field != "complaint" &&
			strings.TrimSpace(page.Value("complaint")) != "Stops at night" {
			t.Errorf("%s %q: what was typed is lost", tt.field, tt.typed)
		}
	}
	if got := c.Post("/intake", webtest.CounterForm("declared_value",
		"2'500 or so")).Value("declared_value"); got != "2'500 or so" {
		t.Errorf("the amount came back as %q", got)
	}
	var dockets int
	if err := s.Store.Pool().QueryRow(t.Context(),
		`SELECT (SELECT count(*) FROM docket) + (SELECT count(*) FROM customer)`).Scan(&dockets); err != nil || dockets != 0 {
		t.Errorf("%d rows were half saved, %v", dockets, err)
	}
}

func TestTakeInNotesTheCondition(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	c := s.As(s.Clerk)
	form := webtest.CounterForm()
	form["mark_part"], form["mark_kind"] = []string{"dial", "case", "dial"}, []string{"scratch", "other", ""}
	form["mark_x"], form["mark_y"] = []string{"0.4", "", ""}, []string{"0.5", "", ""}
	form["mark_note"] = []string{"by the 4 o’clock", "", ""}
	form["clear"] = []string{"crystal", "dial"}
	page := c.Post("/intake", form).Want(http.StatusUnprocessableEntity)
	errors := page.Text("form-errors")
	for _, says := range []string{"Case: Say what the mark is", "Dial: This part has marks noted", "Crown: Note the marks",
		"Bracelet or strap: Note the marks"} {
		if !strings.Contains(errors, says) {
			t.Errorf("nothing says %q in %q", says, errors)
		}
	}
	if got := webtest.Attr(page.All("mark-note-dial")[0], "value"); got != "by the 4 o’clock" {
		t.Errorf("the note on the dial came back as %q", got)
	}
	form["mark_note"] = []string{"by the 4 o’clock", "dented by a key", ""}
	form["clear"] = []string{"crystal", "crown", "bracelet"}
	to := c.Post("/intake", form).Want(http.StatusSeeOther).Location()
	if got := c.Get(to).Text("condition"); !strings.Contains(got, "by the 4 o’clock") ||
		!strings.Contains(got, "dented by a key") || !strings.Contains(got, "crystal") {
		t.Errorf("condition shown as %q", got)
	}
}

func TestDuplicatesAreOfferedNotMade(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	s.TakeIn("name", "Seán O’Malley")
	id := webtest.Itoa(s.Sheet("26-00001-" + string(check(t, "2600001"))).Head.Customer.ID)
	c := s.As(s.Clerk)

	other := webtest.CounterForm("name", "Sean O'Malley", "email", "", "serial", "B77", "model", "Breakwater")
	page := c.Post("/intake", other).Want(http.StatusUnprocessableEntity)
	if got := page.Text("customer_choice-group"); !strings.Contains(got, "Seán O’Malley") ||
		!strings.Contains(got, "same telephone number, same name") {
		t.Errorf("offered: %q", got)
	}
	if page.Problem("customer_choice") == "" || page.Value("model") != "Breakwater" {
		t.Error("the choice is not asked for, or typing was lost")
	}
	other.Set("customer_choice", id)
	other.Set("name", "")
	to := c.Post("/intake", other).Want(http.StatusSeeOther).Location()
	if got := c.Get(to).Text("customer-link"); got != "Seán O’Malley" {
		t.Errorf("taken in for %q", got)
	}
	stranger := webtest.CounterForm("name", "Sean O'Malley", "email", "other@example.org", "serial", "C78",
		"customer_choice", "new")
	c.Post("/intake", stranger).Want(http.StatusSeeOther)
	var customers int
	if err := s.Store.Pool().QueryRow(t.Context(), `SELECT count(*) FROM customer`).Scan(&customers); err != nil ||
		customers != 2 {
		t.Errorf("%d customers, want 2, %v", customers, err)
	}
	gone := c.Post("/intake", webtest.CounterForm("serial", "D79", "customer_choice",
		"4711")).Want(http.StatusUnprocessableEntity)
	if got := gone.Text("form-errors"); !strings.Contains(got, "no longer in the record") {
		t.Errorf("a customer who is not there: %q", got)
	}
}

func TestAWatchSeenBeforeIsNeverTakenSilently(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	first := s.TakeIn()
	seen := s.Sheet(first).Head
	s.HandOver(first)
	c := s.As(s.Clerk)
	form := webtest.CounterForm("serial", "1047-1", "customer_choice", webtest.Itoa(seen.Customer.ID))
	for _, choice := range []string{"", "other"} { // "another watch" was pressed: that was said before the serial was typed
		form.Set("watch_choice", choice)
		page := c.Post("/intake", form).Want(http.StatusUnprocessableEntity)
		if page.Problem("watch_choice") == "" || !strings.Contains(page.Text("watch_choice-group"),
			"likely the same serial") {
			t.Errorf("with %q the clerk is not asked about the watch", choice)
		}
	}
	form.Set("choose", "watch:"+webtest.Itoa(seen.Watch.ID))
	form.Del("do")
	page := c.Post("/intake", form).Want(http.StatusOK)
	if got := page.Text("warranty_of-group"); !strings.Contains(got, first) {
		t.Errorf("comeback offered: %q", got)
	}
	form = webtest.CounterForm("maker", "", "model", "", "serial", "", "customer_choice", page.Hidden("customer_choice"),
		"watch_choice", page.Hidden("watch_choice"), "warranty_of", webtest.Itoa(seen.Docket.ID))
	to := c.Post("/intake", form).Want(http.StatusSeeOther).Location()
	sheet := c.Get(to)
	if got := sheet.Text("said"); !strings.Contains(got, "Comeback of "+first) {
		t.Errorf("no comeback in %q", got)
	}
	if got := sheet.Text("handed-in"); !strings.Contains(got, "1O47-I") {
		t.Errorf("the serial on record is lost: %q", got)
	}
	if got := c.Get("/dockets/" + first + "/intake").Text("said"); !strings.Contains(got, "Came back as 26-00002") {
		t.Errorf("the earlier docket says %q", got)
	}
}

func TestWatchListWarnsDiscreetly(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	_, err := s.Store.Pool().Exec(t.Context(),
		`INSERT INTO watch_list (serial, serial_key, reported_on, source, note, added_by)
		VALUES ('10471', $1, '2026-03-01', 'Saltby harbour office', 'reported stolen', $2)`, watch.SerialLikeKey("10471"), s.Owner.ID)
	if err != nil {
		t.Fatal(err)
	}
	c := s.As(s.Clerk)
	number := s.TakeIn()
	for what, page := range map[string]*webtest.Answer{
		"while the serial is typed":        c.Get("/intake/watches?q=1O47-I&serial=1O47-I"),
		"while the one field is typed in":  c.Get("/intake/found?q=1O47-I"),
		"looked up without scripts":        c.Post("/intake", url.Values{"do": {"look-up"}, "serial": {"1O47-I"}}),
		"refused":                          c.Post("/intake", webtest.CounterForm("complaint", "", "watch_choice", "new", "customer_choice", "new")),
		"on the sheet, once it is saved":   c.Get("/dockets/" + number + "/intake"),
		"beside the ticket as it is saved": c.Get("/dockets/" + number + "/papers/ticket-and-label"),
	} {
		note := page.One("listed-note")
		summary := ""
		for n := range note.Descendants() {
			if n.Data == "summary" {
				summary = webtest.TextOf(n)
			}
		}
		if summary != "see note 1: call the owner" || webtest.HasAttr(note.Attr, "open") {
			t.Errorf("%s: what shows at first is %q", what, summary)
		}
		if full := webtest.TextOf(note); !strings.Contains(full, "Saltby harbour office") ||
			!strings.Contains(full, "Sun 1 Mar 2026") {
			t.Errorf("%s: the note says %q", what, full)
		}
	}
	for _, path := range []string{"/intake", "/papers/ticket-and-label", "/papers/claim-ticket", "/papers/bag-label"} {
		page := s.As(s.Watchmaker).Get("/dockets/" + number + path).Want(http.StatusOK)
		if len(page.All("listed-note")) != 0 {
			t.Errorf("%s: who is not at the counter is warned", path)
		}
	}
	for _, m := range []string{"claim-ticket", "bag-label"} {
		if page := c.Get("/dockets/" + number + "/papers/" + m); strings.Contains(page.Body, "see note") {
			t.Errorf("the %s prints the note", m)
		}
	}
}

func TestWhoMayDoWhatAtTheCounter(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.TakeIn()
	bench, stranger := s.As(s.Watchmaker), s.Stranger()
	for _, path := range []string{"/intake", "/intake/customers?q=ada", "/intake/watches?q=1",
		"/intake/found?q=ada", "/customers/1/edit"} {
		bench.Get(path).Want(http.StatusForbidden)
	}
	bench.Post("/intake", webtest.CounterForm()).Want(http.StatusForbidden)
	bench.Post("/dockets/"+number+"/intake", url.Values{}).Want(http.StatusForbidden)
	for _, path := range []string{"/dockets/" + number + "/intake", "/customers", "/customers/1", "/watches/1",
		"/watches/1/edit"} {
		bench.Get(path).Want(http.StatusOK)
		stranger.Get(path).Want(http.StatusSeeOther)
	}
	sheet := bench.Get("/dockets/" + number + "/intake")
	if len(sheet.All("work-form")) != 0 || len(sheet.All("photo-form")) != 1 || len(sheet.All("condition-form")) != 1 {
		t.Error("the watchmaker is offered what is not theirs, or not what is")
	}
	if got := stranger.Get("/intake/customers?q=ada").Want(http.StatusSeeOther).Body; strings.Contains(got, "Ada") {
		t.Error("a stranger learns a customer's name")
	}
}

func TestCorrectIntake(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.TakeIn()
	c := s.As(s.Clerk)
	path := "/dockets/" + number + "/intake"
	page := c.Get(path)
	version := page.Hidden("version")
	said := url.Values{"version": {version}, "complaint": {"Stops at night; loses 5 min"}, "service_wanted": {"repair"},
		"promised_on":    {"2026-12-15"},
		"approval_limit": {""}, "declared_value": {"2500"}}
	wrong := url.Values{"version": {version}, "complaint": {"  "}, "approval_limit": {"lots"},
		"service_wanted": {"repair"}}
	refused := c.Post(path, wrong).Want(http.StatusUnprocessableEntity)
	if refused.Problem("approval_limit") == "" || refused.Value("approval_limit") != "lots" ||
		!webtest.HasAttr(refused.One("correct").Attr, "open") {
		t.Error("the amount is not kept with its reason")
	}
	c.Post(path, said).Want(http.StatusSeeOther)
	if got := c.Get(path).Text("said"); !strings.Contains(got, "loses 5 min") ||
		!strings.Contains(got, "none: always ask") || !strings.Contains(got, "Tue 15 Dec 2026") {
		t.Errorf("corrected to %q", got)
	}
	said.Set("complaint", "mine")
	conflict := c.Post(path, said).Want(http.StatusConflict)
	if !strings.Contains(webtest.TextOf(conflict.Document), "mine") || !strings.Contains(webtest.TextOf(conflict.Document),
		"Intake corrected") {
		t.Error("the second is not shown what changed and what they typed")
	}
	s.HandOver(number)
	said.Del("version")
	if got := c.Post(path, said).Want(http.StatusUnprocessableEntity).Text("form-errors"); !strings.Contains(got,
		"closed") {
		t.Errorf("a closed docket says %q", got)
	}
}

func TestNoteConditionAfterwards(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.TakeIn()
	c := s.As(s.Watchmaker)
	path := "/dockets/" + number + "/intake"
	version := c.Get(path).Hidden("version")
	part := url.Values{"version": {version}, "clear": {"dial"}}
	page := c.Post(path+"/condition", part).Want(http.StatusUnprocessableEntity)
	if got := page.Text("form-errors"); !strings.Contains(got, "Crystal: Note the marks") {
		t.Errorf("says %q", got)
	}
	whole := url.Values{"version": {version}, "clear": {"dial", "crystal", "case", "crown", "bracelet"}}
	c.Post(path+"/condition", whole).Want(http.StatusSeeOther)
	if got := c.Get(path).Text("condition"); !strings.Contains(got, "No marks noted") ||
		!strings.Contains(got, "bracelet or strap") {
		t.Errorf("condition %q", got)
	}
	c.Post(path+"/condition", whole).Want(http.StatusSeeOther) // the same again holds once

	other := s.TakeIn("serial", "B77", "customer_choice", "new")
	at := "/dockets/" + other + "/intake"
	c.Get(at).One("no-marks-anywhere")
	c.Post(at+"/condition", url.Values{"version": {s.Version(other)}, "no_marks_anywhere": {"yes"}}).Want(http.StatusSeeOther)
	sheet := c.Get(at)
	if got := sheet.Text("condition"); !strings.Contains(got, "Seen, without marks: dial, crystal, case, crown, bracelet") {
		t.Errorf("in one press: %q", got)
	}
	if len(sheet.All("no-marks-anywhere")) != 0 {
		t.Error("what is noted is offered again")
	}
	both := webtest.CounterForm("serial", "C78", "customer_choice", "new", "no_marks_anywhere", "yes", "mark_part", "dial",
		"mark_kind", "scratch")
	if got := s.As(s.Clerk).Post("/intake", both).Want(http.StatusUnprocessableEntity).Text("form-errors"); !strings.Contains(got,
		"Dial: This part has marks noted") {
		t.Errorf("marks and none at once: %q", got)
	}
}

func TestCounterPagesAskTheDatabaseLittle(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.TakeIn()
	c := s.As(s.Owner)
	c.Get("/intake") // prepares nothing that would be counted
	for _, path := range []string{"/intake", "/intake?customer=1&watch=1", "/dockets/" + number + "/intake", "/customers",
		"/customers?q=ada",
		"/customers/1", "/customers/1/edit", "/watches/1", "/watches/1/edit", "/intake/customers?q=ada",
		"/intake/watches?q=1&serial=1O47", "/intake/found?q=quillmarsh", "/intake/found?q=1O47-I", "/intake/found?q=" + number,
		"/dockets/" + number + "/papers/ticket-and-label",
		"/dockets/" + number + "/papers/claim-ticket", "/dockets/" + number + "/papers/bag-label"} {
		if n := s.Trips(c, path); n > 4 {
			t.Errorf("%s takes %d round trips", path, n)
		}
	}
}

func TestIntakeOpensWithCustomerAndWatchChosen(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	head := s.Sheet(s.TakeIn()).Head
	c := s.As(s.Clerk)
	page := c.Get("/intake?customer=" + webtest.Itoa(head.Customer.ID) + "&watch=" +
		webtest.Itoa(head.Watch.ID)).Want(http.StatusOK)
	if got := page.Text("chosen-customer"); !strings.Contains(got, "Ada Quillmarsh") || !strings.Contains(got, "01632 960123") {
		t.Errorf("the customer chosen is %q", got)
	}
	if got := page.Text("chosen-watch"); !strings.Contains(got, "Gannet Harbourmaster") || !strings.Contains(got, "in the shop now") {
		t.Errorf("the watch chosen is %q", got)
	}
	if len(page.All("chosen-no-mail")) > 0 {
		t.Error("mail is warned of that never came back")
	}
	// The next time they come they are asked for the right address.
	at := "/customers/" + webtest.Itoa(head.Customer.ID)
	c.Post(at+"/mail", url.Values{"mail": {"back"}, "why": {"mailbox unavailable"}}).Want(http.StatusSeeOther)
	page = c.Get("/intake?customer=" + webtest.Itoa(head.Customer.ID)).Want(http.StatusOK)
	if got := page.Text("chosen-no-mail"); !strings.Contains(got, "Mail to this address came back.") || !strings.Contains(got, "Ask for the right address") ||
		!strings.Contains(page.Body, `href="`+at+`/edit"`) {
		t.Errorf("nobody is told at the counter that mail comes back: %q", got)
	}
	c.Get("/intake?customer=x").Want(http.StatusBadRequest)
	again := webtest.CounterForm("customer_choice", webtest.Itoa(head.Customer.ID), "watch_choice",
		webtest.Itoa(head.Watch.ID))
	if got := c.Post("/intake", again).Want(http.StatusUnprocessableEntity).Problem("watch_choice"); !strings.Contains(got,
		head.Docket.Number.String()) {
		t.Errorf("a watch in the shop: %q", got)
	}
}

func TestNumbersFollowTheShopsNewYear(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	s.Pass(time.Date(2026, 12, 31, 23, 30, 0, 0, time.UTC).Sub(webtest.Now)) // past midnight in Zurich
	if got := s.TakeIn("promised_on", ""); !strings.HasPrefix(got, "27-00001-") {
		t.Errorf("number %s", got)
	}
}

func TestIntakeSheetOfNoDocket(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	for _, m := range s.Everyone() {
		for _, path := range []string{"/dockets/26-00001-X/intake", "/dockets/nonsense/intake", "/customers/4711",
			"/watches/4711", "/photos/4711/full",
			"/customers/x", "/d/nonsense"} {
			s.As(m).Get(path).Want(http.StatusNotFound)
		}
	}
	s.As(s.Clerk).Get("/customers/1?before=x").Want(http.StatusBadRequest)
}

// TestADayIsProposed: the form says how often the day that stands in it is kept, proposes another for another service, takes it at
// a press, and what was proposed is kept with the docket.
func TestADayIsProposed(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	c := s.As(s.Clerk)
	proposed := c.Get("/intake").Want(http.StatusOK).Value("promised_on")
	soon := c.Get("/intake/promise?promised_on=2026-11-25&service_wanted=full-service").Want(http.StatusOK)
	if got := soon.Text("promise-said"); !strings.Contains(got, "Wed 25 Nov: kept less than once in 10") {
		t.Errorf("of tomorrow it says %q", got)
	}
	if got := soon.Text("propose"); !strings.Contains(got, "kept 8 times in 10") {
		t.Errorf("proposed is %q", got)
	}
	form := webtest.CounterForm("do", "propose", "promised_on", "2026-11-25")
	again := c.Post("/intake", form).Want(http.StatusOK)
	if got := again.Value("promised_on"); got != proposed || again.Value("name") != "Ada Quillmarsh" {
		t.Errorf("the button wrote %q, want %q, beside %q", got, proposed, again.Value("name"))
	}
	s.TakeIn("promised_on", "2026-11-25")
	var day time.Time
	var promised, start int
	err := s.Store.Pool().QueryRow(t.Context(), `SELECT day, promised_percent, start_percent FROM promise_proposed`).Scan(&day, &promised, &start)
	if err != nil || day.Format(time.DateOnly) != proposed || promised > 5 || start != 100 {
		t.Errorf("kept is %s, %d %% of tomorrow, %d %% of the start, %v", day, promised, start, err)
	}
}
