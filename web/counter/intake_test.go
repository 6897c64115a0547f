package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/watch"
)

func TestTakeIn(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	c := s.as(s.clerk)
	page := c.get("/intake").want(http.StatusOK)
	if got := page.value("promised_on"); got != "2026-12-08" { // a fortnight from testNow
		t.Errorf("promise suggested: %q", got)
	}
	to := c.post("/intake", counterForm()).want(http.StatusSeeOther).location()
	if to != "/dockets/26-00001-"+string(check(t, "2600001"))+"/intake?taken-in=yes" {
		t.Fatalf("leads to %q", to)
	}
	sheet := c.get(to).want(http.StatusOK)
	for id, want := range map[string]string{"flash": "Taken in as docket 26-00001", "next-steps": "Print ticket", "handed-in": "1O47-I",
		"said": "Stops at night", "photographs": "None yet", "condition": "not noted"} {
		if got := sheet.text(id); !strings.Contains(got, want) {
			t.Errorf("%s says %q, want %q", id, got, want)
		}
	}
	if got := sheet.text("said"); !strings.Contains(got, "€2,500.00") || !strings.Contains(got, "€150.00") || !strings.Contains(got, "Tue 8 Dec 2026") {
		t.Errorf("amounts and promise: %q", got)
	}
	if again := c.get(strings.TrimSuffix(to, "?taken-in=yes")); len(again.all("next-steps")) != 0 {
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
	s := newTestSite(t)
	c := s.as(s.clerk)
	for _, tt := range []struct{ field, typed, says string }{
		{"name", "", "name"},
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
		page := c.post("/intake", counterForm(tt.field, tt.typed)).want(http.StatusUnprocessableEntity)
		if got := page.problem(tt.field); !strings.Contains(got, tt.says) {
			// Radio groups that are not drawn have their problem in the summary only.
			if got = page.text("form-errors"); !strings.Contains(got, tt.says) {
				t.Errorf("%s %q: says %q, want %q", tt.field, tt.typed, got, tt.says)
			}
		}
		if tt.field != "name" && page.value("name") != "Ada Quillmarsh" || tt.field != "complaint" && strings.TrimSpace(page.value("complaint")) != "Stops at night" {
			t.Errorf("%s %q: what was typed is lost", tt.field, tt.typed)
		}
	}
	if got := c.post("/intake", counterForm("declared_value", "2'500 or so")).value("declared_value"); got != "2'500 or so" {
		t.Errorf("the amount came back as %q", got)
	}
	var dockets int
	if err := s.store.Pool().QueryRow(t.Context(), `SELECT (SELECT count(*) FROM docket) + (SELECT count(*) FROM customer)`).Scan(&dockets); err != nil || dockets != 0 {
		t.Errorf("%d rows were half saved, %v", dockets, err)
	}
}

func TestTakeInNotesTheCondition(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	c := s.as(s.clerk)
	form := counterForm()
	form["mark_part"], form["mark_kind"] = []string{"dial", "case", "dial"}, []string{"scratch", "other", ""}
	form["mark_x"], form["mark_y"] = []string{"0.4", "", ""}, []string{"0.5", "", ""}
	form["mark_note"] = []string{"by the 4 o’clock", "", ""}
	form["clear"] = []string{"crystal", "dial"}
	page := c.post("/intake", form).want(http.StatusUnprocessableEntity)
	errors := page.text("form-errors")
	for _, says := range []string{"Case: Say what the mark is", "Dial: This part has marks noted", "Crown: Note the marks", "Bracelet or strap: Note the marks"} {
		if !strings.Contains(errors, says) {
			t.Errorf("nothing says %q in %q", says, errors)
		}
	}
	if got := attr(page.all("mark-note-dial")[0], "value"); got != "by the 4 o’clock" {
		t.Errorf("the note on the dial came back as %q", got)
	}
	form["mark_note"] = []string{"by the 4 o’clock", "dented by a key", ""}
	form["clear"] = []string{"crystal", "crown", "bracelet"}
	to := c.post("/intake", form).want(http.StatusSeeOther).location()
	if got := c.get(to).text("condition"); !strings.Contains(got, "by the 4 o’clock") || !strings.Contains(got, "dented by a key") || !strings.Contains(got, "crystal") {
		t.Errorf("condition shown as %q", got)
	}
}

func TestDuplicatesAreOfferedNotMade(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	s.takeIn("name", "Seán O’Malley")
	id := itoa(s.sheet("26-00001-" + string(check(t, "2600001"))).Head.Customer.ID)
	c := s.as(s.clerk)

	other := counterForm("name", "Sean O'Malley", "email", "", "serial", "B77", "model", "Breakwater")
	page := c.post("/intake", other).want(http.StatusUnprocessableEntity)
	if got := page.text("customer_choice-group"); !strings.Contains(got, "Seán O’Malley") || !strings.Contains(got, "same telephone number, same name") {
		t.Errorf("offered: %q", got)
	}
	if page.problem("customer_choice") == "" || page.value("model") != "Breakwater" {
		t.Error("the choice is not asked for, or typing was lost")
	}
	other.Set("customer_choice", id)
	other.Set("name", "")
	to := c.post("/intake", other).want(http.StatusSeeOther).location()
	if got := c.get(to).text("customer-link"); got != "Seán O’Malley" {
		t.Errorf("taken in for %q", got)
	}
	stranger := counterForm("name", "Sean O'Malley", "email", "other@example.org", "serial", "C78", "customer_choice", "new")
	c.post("/intake", stranger).want(http.StatusSeeOther)
	var customers int
	if err := s.store.Pool().QueryRow(t.Context(), `SELECT count(*) FROM customer`).Scan(&customers); err != nil || customers != 2 {
		t.Errorf("%d customers, want 2, %v", customers, err)
	}
	gone := c.post("/intake", counterForm("serial", "D79", "customer_choice", "4711")).want(http.StatusUnprocessableEntity)
	if got := gone.text("form-errors"); !strings.Contains(got, "no longer in the record") {
		t.Errorf("a customer who is not there: %q", got)
	}
}

func TestLookUpWithoutScripts(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	s.takeIn("name", "דוד לוי")
	c := s.as(s.clerk)
	for _, typed := range [][2]string{{"phone", "960123"}, {"name", "לוי"}, {"email", "ada@ex"}} {
		page := c.post("/intake", url.Values{"do": {"look-up"}, typed[0]: {typed[1]}, "complaint": {"tick"}}).want(http.StatusOK)
		if got := page.text("customer_choice-group"); !strings.Contains(got, "דוד לוי") {
			t.Errorf("%s %q finds %q", typed[0], typed[1], got)
		}
		if len(page.all("form-errors")) != 0 || strings.TrimSpace(page.value("complaint")) != "tick" || page.value(typed[0]) != typed[1] {
			t.Errorf("%s: looking up complains, or loses what was typed", typed[0])
		}
	}
	page := c.post("/intake", url.Values{"do": {"look-up"}, "serial": {"10471"}}).want(http.StatusOK)
	if got := page.text("watch_choice-group"); !strings.Contains(got, "Gannet Harbourmaster") || !strings.Contains(got, "likely the same serial") || !strings.Contains(got, "in the shop now") {
		t.Errorf("watch offered: %q", got)
	}
	if got := page.text("history"); !strings.Contains(got, "26-00001") || !strings.Contains(got, "Stops at night") {
		t.Errorf("history: %q", got)
	}
}

func TestSuggestionsArePiecesOfThePage(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	s.takeIn()
	c := s.as(s.clerk)
	piece := c.get("/intake/customers?q=quill&name=quill").want(http.StatusOK)
	if strings.Contains(piece.body, "<html") || !strings.Contains(piece.text("customer_choice-group"), "Ada Quillmarsh") {
		t.Errorf("customers: %.200s", piece.body)
	}
	piece = c.get("/intake/watches?q=1047&serial=1047I&watch_choice=new").want(http.StatusOK)
	if strings.Contains(piece.body, "<html") || len(piece.all("watch_choice-new")) != 1 {
		t.Errorf("watches: %.200s", piece.body)
	}
	if !hasAttr(piece.one("watch_choice-new").Attr, "checked") {
		t.Error("what was chosen is forgotten while typing")
	}
	if got := c.get("/intake/customers?q=nobody").want(http.StatusOK).body; strings.TrimSpace(got) != "" {
		t.Errorf("nobody found says %q", got)
	}
}

func TestAWatchSeenBeforeIsNeverTakenSilently(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	first := s.takeIn()
	seen := s.sheet(first).Head
	s.handOver(first)
	c := s.as(s.clerk)
	form := counterForm("serial", "1047-1", "customer_choice", itoa(seen.Customer.ID))
	page := c.post("/intake", form).want(http.StatusUnprocessableEntity)
	if page.problem("watch_choice") == "" || !strings.Contains(page.text("watch_choice-group"), "likely the same serial") {
		t.Error("the clerk is not asked about the watch")
	}
	if got := page.text("warranty_of-group"); !strings.Contains(got, first) {
		t.Errorf("comeback offered: %q", got)
	}
	form.Set("watch_choice", itoa(seen.Watch.ID))
	form.Set("warranty_of", itoa(seen.Docket.ID))
	form.Set("serial", "")
	form.Set("maker", "")
	to := c.post("/intake", form).want(http.StatusSeeOther).location()
	sheet := c.get(to)
	if got := sheet.text("said"); !strings.Contains(got, "Comeback of "+first) {
		t.Errorf("no comeback in %q", got)
	}
	if got := sheet.text("handed-in"); !strings.Contains(got, "1O47-I") {
		t.Errorf("the serial on record is lost: %q", got)
	}
	if got := c.get("/dockets/" + first + "/intake").text("said"); !strings.Contains(got, "Came back as 26-00002") {
		t.Errorf("the earlier docket says %q", got)
	}
}

func TestWatchListWarnsDiscreetly(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	_, err := s.store.Pool().Exec(t.Context(), `INSERT INTO watch_list (serial, serial_key, reported_on, source, note, added_by)
		VALUES ('10471', $1, '2026-03-01', 'Saltby harbour office', 'reported stolen', $2)`, watch.SerialLikeKey("10471"), s.owner.ID)
	if err != nil {
		t.Fatal(err)
	}
	c := s.as(s.clerk)
	number := s.takeIn()
	for _, page := range []*answer{
		c.get("/intake/watches?q=1O47-I&serial=1O47-I"),
		c.post("/intake", url.Values{"do": {"look-up"}, "serial": {"1O47-I"}}),
		c.get("/dockets/" + number + "/intake"),
	} {
		note := page.want(http.StatusOK).one("listed-note")
		summary := ""
		for n := range note.Descendants() {
			if n.Data == "summary" {
				summary = textOf(n)
			}
		}
		if summary != "see note 1" || hasAttr(note.Attr, "open") {
			t.Errorf("what shows at first is %q", summary)
		}
		if full := textOf(note); !strings.Contains(full, "Saltby harbour office") || !strings.Contains(full, "Sun 1 Mar 2026") {
			t.Errorf("the note says %q", full)
		}
	}
	if page := s.as(s.watchmaker).get("/dockets/" + number + "/intake").want(http.StatusOK); len(page.all("listed-note")) != 0 {
		t.Error("who is not at the counter is warned")
	}
}

func TestWhoMayDoWhatAtTheCounter(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.takeIn()
	bench, stranger := s.as(s.watchmaker), s.stranger()
	for _, path := range []string{"/intake", "/intake/customers?q=ada", "/intake/watches?q=1", "/customers/1/edit"} {
		bench.get(path).want(http.StatusForbidden)
	}
	bench.post("/intake", counterForm()).want(http.StatusForbidden)
	bench.post("/dockets/"+number+"/intake", url.Values{}).want(http.StatusForbidden)
	for _, path := range []string{"/dockets/" + number + "/intake", "/customers", "/customers/1", "/watches/1", "/watches/1/edit"} {
		bench.get(path).want(http.StatusOK)
		stranger.get(path).want(http.StatusSeeOther)
	}
	sheet := bench.get("/dockets/" + number + "/intake")
	if len(sheet.all("work-form")) != 0 || len(sheet.all("photo-form")) != 1 || len(sheet.all("condition-form")) != 1 {
		t.Error("the watchmaker is offered what is not theirs, or not what is")
	}
	if got := stranger.get("/intake/customers?q=ada").want(http.StatusSeeOther).body; strings.Contains(got, "Ada") {
		t.Error("a stranger learns a customer's name")
	}
}

func TestCorrectIntake(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.takeIn()
	c := s.as(s.clerk)
	path := "/dockets/" + number + "/intake"
	page := c.get(path)
	version := page.hidden("version")
	said := url.Values{"version": {version}, "complaint": {"Stops at night; loses 5 min"}, "service_wanted": {"repair"}, "promised_on": {"2026-12-15"},
		"approval_limit": {""}, "declared_value": {"2500"}}
	wrong := url.Values{"version": {version}, "complaint": {"  "}, "approval_limit": {"lots"}, "service_wanted": {"repair"}}
	refused := c.post(path, wrong).want(http.StatusUnprocessableEntity)
	if refused.problem("approval_limit") == "" || refused.value("approval_limit") != "lots" || !hasAttr(refused.one("correct").Attr, "open") {
		t.Error("the amount is not kept with its reason")
	}
	c.post(path, said).want(http.StatusSeeOther)
	if got := c.get(path).text("said"); !strings.Contains(got, "loses 5 min") || !strings.Contains(got, "none: always ask") || !strings.Contains(got, "Tue 15 Dec 2026") {
		t.Errorf("corrected to %q", got)
	}
	said.Set("complaint", "mine")
	conflict := c.post(path, said).want(http.StatusConflict)
	if !strings.Contains(textOf(conflict.document), "mine") || !strings.Contains(textOf(conflict.document), "Intake corrected") {
		t.Error("the second is not shown what changed and what they typed")
	}
	s.handOver(number)
	said.Del("version")
	if got := c.post(path, said).want(http.StatusUnprocessableEntity).text("form-errors"); !strings.Contains(got, "closed") {
		t.Errorf("a closed docket says %q", got)
	}
}

func TestNoteConditionAfterwards(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.takeIn()
	c := s.as(s.watchmaker)
	path := "/dockets/" + number + "/intake"
	version := c.get(path).hidden("version")
	part := url.Values{"version": {version}, "clear": {"dial"}}
	page := c.post(path+"/condition", part).want(http.StatusUnprocessableEntity)
	if got := page.text("form-errors"); !strings.Contains(got, "Crystal: Note the marks") {
		t.Errorf("says %q", got)
	}
	whole := url.Values{"version": {version}, "clear": {"dial", "crystal", "case", "crown", "bracelet"}}
	c.post(path+"/condition", whole).want(http.StatusSeeOther)
	if got := c.get(path).text("condition"); !strings.Contains(got, "No marks noted") || !strings.Contains(got, "bracelet or strap") {
		t.Errorf("condition %q", got)
	}
	c.post(path+"/condition", whole).want(http.StatusConflict)
}

func TestCounterPagesAskTheDatabaseLittle(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.takeIn()
	c := s.as(s.owner)
	c.get("/intake") // prepares nothing that would be counted
	for _, path := range []string{"/intake", "/intake?customer=1&watch=1", "/dockets/" + number + "/intake", "/customers", "/customers?q=ada",
		"/customers/1", "/customers/1/edit", "/watches/1", "/watches/1/edit", "/intake/customers?q=ada", "/intake/watches?q=1&serial=1O47",
		"/dockets/" + number + "/papers/claim-ticket", "/dockets/" + number + "/papers/bag-label"} {
		if n := s.trips(c, path); n > 4 {
			t.Errorf("%s takes %d round trips", path, n)
		}
	}
}

func TestIntakeOpensWithCustomerAndWatchChosen(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	head := s.sheet(s.takeIn()).Head
	c := s.as(s.clerk)
	page := c.get("/intake?customer=" + itoa(head.Customer.ID) + "&watch=" + itoa(head.Watch.ID)).want(http.StatusOK)
	for _, id := range []string{"customer_choice-" + itoa(head.Customer.ID), "watch_choice-" + itoa(head.Watch.ID)} {
		if n := page.one(id); !hasAttr(n.Attr, "checked") {
			t.Errorf("%s is not chosen", id)
		}
	}
	c.get("/intake?customer=x").want(http.StatusBadRequest)
	again := counterForm("customer_choice", itoa(head.Customer.ID), "watch_choice", itoa(head.Watch.ID))
	if got := c.post("/intake", again).want(http.StatusUnprocessableEntity).problem("watch_choice"); !strings.Contains(got, head.Docket.Number.String()) {
		t.Errorf("a watch in the shop: %q", got)
	}
}

func TestNumbersFollowTheShopsNewYear(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	s.mu.Lock()
	s.now = time.Date(2026, 12, 31, 23, 30, 0, 0, time.UTC) // past midnight in Zurich
	s.mu.Unlock()
	if got := s.takeIn("promised_on", ""); !strings.HasPrefix(got, "27-00001-") {
		t.Errorf("number %s", got)
	}
}

func TestIntakeSheetOfNoDocket(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	for _, m := range s.everyone() {
		for _, path := range []string{"/dockets/26-00001-X/intake", "/dockets/nonsense/intake", "/customers/4711", "/watches/4711", "/photos/4711/full",
			"/customers/x", "/d/nonsense"} {
			s.as(m).get(path).want(http.StatusNotFound)
		}
	}
	s.as(s.clerk).get("/customers/1?before=x").want(http.StatusBadRequest)
}
