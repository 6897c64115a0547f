package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/finaltest"
	"ledgerwheel/domain/timing"
	"ledgerwheel/domain/warranty"
	"ledgerwheel/domain/watch"
	"ledgerwheel/store"
)

// leaving is a docket that comes to its final test: work for 120 euros was agreed and the watch was regulated.
type leaving struct {
	*site
	n    docket.Number
	path string
}

func newLeaving(t testing.TB) *leaving {
	t.Helper()
	l := &leaving{site: newTestSite(t)}
	ctx := t.Context()
	if err := l.store.EnsureRateLimits(ctx, testNow); err != nil {
		t.Fatal(err)
	}
	calibre, err := l.store.AddCalibre(ctx, watch.Calibre{Name: "Gannet 40", BeatsPerHour: 21600, PowerReserveHours: 42, GradeKey: timing.GradeModern})
	if err != nil {
		t.Fatal(err)
	}
	sh, err := l.store.Shop(ctx)
	if err != nil {
		t.Fatal(err)
	}
	sh.Address, sh.Phone, sh.TaxBasisPoints = "7 Tern Quay\nSaltby", "01632 960 117", 2000
	if err := l.store.SaveShop(ctx, sh); err != nil {
		t.Fatal(err)
	}
	l.n, err = l.store.TakeIn(ctx, store.TakingIn{Shop: sh, Customer: customer.Customer{Name: "Ada Quillmarsh", Phone: "01632 960123"}.Tidied("GB"),
		Watch: watch.Watch{Maker: "Gannet", Model: "Harbourmaster", Serial: "HM-104477", MovementSerial: "M-90113", CalibreID: calibre, CalibreName: "Gannet 40",
			WaterResistanceMarked: "5 bar", Lume: watch.LumeNone, Winding: watch.WindingHand}.Tidied(),
		Condition: watch.Condition{NoMarksSeen: watch.Parts}, Place: docket.PlaceAt(docket.PlaceSafe, ""),
		Intake: docket.Intake{Complaint: "Gains a minute a day", Wanted: docket.WantedService}, By: l.actor(l.clerk), At: testNow})
	if err != nil {
		t.Fatal(err)
	}
	l.path = "/dockets/" + l.n.String()
	l.agree()
	l.put(l.n.String(), `stage = 'regulation', work_since = $2`, l.clock())
	l.pass(time.Minute)
	l.regulate()
	l.pass(time.Minute)
	l.put(l.n.String(), `stage = 'final-test', test_since = $2, place = 'bench', place_detail = '2'`, l.clock())
	l.pass(time.Minute)
	return l
}

// change is what somebody does now to the docket as it stands.
func (l *leaving) change(by store.Actor) store.Change {
	return store.Change{Number: l.n, By: by, At: l.clock()}
}

// agree has the customer approve an estimate of two lines.
func (l *leaving) agree() {
	l.t.Helper()
	ctx, today := l.t.Context(), testNow.Truncate(24*time.Hour)
	number, err := l.store.SaveDraft(ctx, l.change(l.actor(l.watchmaker)), estimate.Revision{Rule: estimate.TaxRule{PricesIncludeTax: true},
		ValidUntil: today.AddDate(0, 1, 0), Lines: []estimate.Line{
			{Kind: estimate.Labour, Description: "Full service", QuantityMilli: 1000, UnitMinor: 9600, TaxBasisPoints: 2000},
			{Kind: estimate.Part, Description: "Mainspring", QuantityMilli: 1000, UnitMinor: 2400, TaxBasisPoints: 2000}}})
	if err == nil {
		err = l.store.SendEstimate(ctx, l.change(l.actor(l.watchmaker)), number, today)
	}
	if err == nil {
		err = l.store.AnswerEstimate(ctx, l.change(l.actor(l.clerk)), estimate.Answer{Revision: number, Approve: true, Name: "Ada Quillmarsh"}, today)
	}
	if err != nil {
		l.t.Fatal(err)
	}
}

// regulate takes a final run in six positions: mean +2, delta 5 s/d.
func (l *leaving) regulate() {
	l.t.Helper()
	run := timing.Run{Kind: timing.Final, CrownHour: 3}
	for i, p := range timing.Positions() {
		run.Readings = append(run.Readings, timing.Reading{Position: p, RateSPerDay: &timing.Figure{Value: []float64{3, -1, 2, 4, 0, 4}[i], Step: 0.1},
			AmplitudeDeg: &timing.Figure{Value: 280 - float64(i), Step: 1}, BeatErrorMs: &timing.Figure{Value: 0.2, Step: 0.1}})
	}
	_, err := l.store.RecordRun(l.t.Context(), l.change(l.actor(l.watchmaker)), store.RunEntry{Sheet: timing.Sheet{Run: run, States: []float64{0}, ClockPPM: 0.5}})
	if err != nil {
		l.t.Fatal(err)
	}
}

// testForm is a passed final test, as it is filled in.
func (l *leaving) testForm(changes ...string) url.Values {
	f := url.Values{"version": {l.version(l.n.String())}, "power-reserve-outcome": {"pass"}, "power-reserve-figure": {"44,5 h"},
		"water-resistance-outcome": {"pass"}, "water-resistance-figure": {"5"}, "water-resistance-medium": {"air"},
		"winding-and-setting-outcome": {"pass"}, "date-change-outcome": {"not-applicable"}, "date-change-note": {"no date"},
		"hands-clearance-outcome": {"pass"}, "case-and-strap-outcome": {"pass"}}
	for i := 0; i < len(changes); i += 2 {
		f.Set(changes[i], changes[i+1])
	}
	return f
}

// ready passes the final test and has the watch wait for its customer.
func (l *leaving) ready() {
	l.t.Helper()
	l.as(l.watchmaker).post(l.path+"/final-test", l.testForm()).want(http.StatusSeeOther)
	l.pass(time.Minute)
	l.as(l.watchmaker).post(l.path+"/move", l.moveForm(l.n.String(), docket.StageReady, "place", "safe", "place_detail", "")).want(http.StatusSeeOther)
	l.pass(time.Minute)
}

func (l *leaving) leaveForm(changes ...string) url.Values {
	f := url.Values{"version": {l.version(l.n.String())}, "proof": {"ticket"}, "ticket": {l.n.Compact()}, "collected_by": {"Ada Quillmarsh"}, "old_parts": {"returned"}}
	for i := 0; i < len(changes); i += 2 {
		f.Set(changes[i], changes[i+1])
	}
	return f
}

func (l *leaving) payForm(amount, method string, changes ...string) url.Values {
	f := url.Values{"version": {l.version(l.n.String())}, "amount": {amount}, "method": {method}}
	for i := 0; i < len(changes); i += 2 {
		f.Set(changes[i], changes[i+1])
	}
	return f
}

// gone pays and hands the watch over.
func (l *leaving) gone() {
	l.t.Helper()
	l.as(l.clerk).post(l.path+"/hand-over/payment", l.payForm("120", "cash")).want(http.StatusSeeOther)
	l.as(l.clerk).post(l.path+"/hand-over", l.leaveForm()).want(http.StatusSeeOther)
}

func (l *leaving) cardForm(changes ...string) url.Values {
	f := url.Values{"version": {l.version(l.n.String())}, "do": {"issue"}, "work_done": {"Full service\nMainspring"}, "covers": {"The work named here."},
		"months": {"24"}, "starts_on": {"2026-11-24"}}
	for i := 0; i < len(changes); i += 2 {
		f.Set(changes[i], changes[i+1])
	}
	return f
}

// issue issues the docket's card and returns its code.
func (l *leaving) issue() warranty.Code {
	l.t.Helper()
	l.as(l.owner).post(l.path+"/card", l.cardForm()).want(http.StatusSeeOther)
	return l.newestCard().Code
}

func (l *leaving) newestCard() store.CardRow {
	l.t.Helper()
	sheet, err := l.store.CardSheet(l.t.Context(), l.n)
	if err != nil {
		l.t.Fatal(err)
	}
	card, ok := sheet.Newest()
	if !ok {
		l.t.Fatal("no card was issued")
	}
	return card
}

func TestFinalTestPage(t *testing.T) {
	t.Parallel()
	l := newLeaving(t)
	c := l.as(l.watchmaker)
	page := c.get(l.path + "/final-test").want(http.StatusOK)
	for _, want := range []string{"Test dry, in air", "eye protection", "local rules", "Stated by the calibre: 42", "Marked for 5", "ISO 22810"} {
		if !strings.Contains(textOf(page.document), want) {
			t.Errorf("the page does not say %q", want)
		}
	}
	c.post(l.path+"/final-test", l.testForm()).want(http.StatusSeeOther)
	page = c.get(l.path + "/final-test").want(http.StatusOK)
	now := page.text("final-test-now")
	for _, want := range []string{"pass", "44.5 h", "5 bar in air", "no date", "Emrys Vale", "Ready to collect"} {
		if !strings.Contains(now, want) {
			t.Errorf("as it stands: %q does not say %q", now, want)
		}
	}
	if len(page.all("move-form-ready")) != 1 {
		t.Error("the move to ready is not offered")
	}
	if got := page.value("power-reserve-figure"); got != "44.5" {
		t.Errorf("the form goes on from %q", got)
	}
}

// A refused form comes back with everything typed and each reason beside its field.
func TestFinalTestRefused(t *testing.T) {
	t.Parallel()
	l := newLeaving(t)
	c := l.as(l.watchmaker)
	page := c.post(l.path+"/final-test", l.testForm("power-reserve-figure", "two days", "water-resistance-medium", "water",
		"date-change-note", "", "note", "seen twice\nby both")).want(http.StatusUnprocessableEntity)
	for _, field := range []string{"power-reserve-figure", "water-resistance-dry_first", "date-change-note"} {
		if page.problem(field) == "" {
			t.Errorf("no reason beside %s", field)
		}
	}
	if page.value("power-reserve-figure") != "two days" || strings.TrimSpace(page.value("note")) != "seen twice\nby both" || !hasAttr(page.one("water-resistance-medium-water").Attr, "checked") {
		t.Error("something typed is lost")
	}
	page = c.post(l.path+"/final-test", l.testForm("power-reserve-figure", "30")).want(http.StatusUnprocessableEntity)
	if got := page.problem("power-reserve-figure"); !strings.Contains(got, "42 h") {
		t.Errorf("short of the calibre: %q", got)
	}
	page = c.post(l.path+"/final-test", l.testForm("water-resistance-figure", "3")).want(http.StatusUnprocessableEntity)
	if got := page.problem("water-resistance-figure"); !strings.Contains(got, "5 bar") {
		t.Errorf("short of the mark: %q", got)
	}
	if sheet, _ := l.store.FinalTestSheet(t.Context(), l.n); len(sheet.Tests) != 0 {
		t.Errorf("%d kept of refused forms", len(sheet.Tests))
	}
	l.as(l.clerk).post(l.path+"/final-test", l.testForm()).want(http.StatusForbidden)
	c.post(l.path+"/final-test", l.testForm("version", "")).want(http.StatusBadRequest)
}

// What failed names the stage that mends it, and the form that takes the docket there works.
func TestFailedFinalTestGoesBack(t *testing.T) {
	t.Parallel()
	l := newLeaving(t)
	c := l.as(l.watchmaker)
	c.post(l.path+"/final-test", l.testForm("water-resistance-outcome", "fail", "water-resistance-note", "bubbles at the crown")).want(http.StatusSeeOther)
	page := c.get(l.path + "/final-test").want(http.StatusOK)
	if got := page.text("final-test-now"); !strings.Contains(got, "fail") || !strings.Contains(got, "bubbles at the crown") || !strings.Contains(got, "Failed: needs a part") {
		t.Errorf("as it stands: %q", got)
	}
	form := page.one("move-form-parts")
	if attr(form, "action") != l.path+"/move" {
		t.Errorf("the form goes to %q", attr(form, "action"))
	}
	c.post(l.path+"/move", url.Values{"to": {"parts"}, "version": {page.hidden("version")}, "place": {"safe"}}).want(http.StatusSeeOther)
	page = c.get(l.path + "/final-test").want(http.StatusOK)
	if got := page.text("final-test-why"); !strings.Contains(got, "parts") {
		t.Errorf("after it went back: %q", got)
	}
	if got := page.text("final-test-now"); !strings.Contains(got, "bubbles at the crown") {
		t.Errorf("recorded: %q", got)
	}
}

// The second of two who record the same test is shown what the first found, and loses nothing.
func TestTwoRecordTheFinalTest(t *testing.T) {
	t.Parallel()
	l := newLeaving(t)
	mine := l.testForm("note", "mine")
	l.as(l.owner).post(l.path+"/final-test", l.testForm("case-and-strap-outcome", "fail")).want(http.StatusSeeOther)
	page := l.as(l.watchmaker).post(l.path+"/final-test", mine).want(http.StatusConflict)
	if got := textOf(page.document); !strings.Contains(got, "Final test: fail") || !strings.Contains(got, "mine") {
		t.Errorf("conflict page says %.400q", got)
	}
}

func TestFinalTestInPartsOnThePage(t *testing.T) {
	t.Parallel()
	l := newLeaving(t)
	c := l.as(l.watchmaker)
	c.post(l.path+"/final-test", l.testForm("power-reserve-outcome", "open", "power-reserve-figure", "")).want(http.StatusSeeOther)
	page := c.get(l.path + "/final-test").want(http.StatusOK)
	if got := page.text("final-test-now"); !strings.Contains(got, "not finished") {
		t.Errorf("as it stands: %q", got)
	}
	if len(page.all("move-form-ready")) != 0 {
		t.Error("half a test lets the watch go")
	}
	if sheet, _ := l.store.FinalTestSheet(t.Context(), l.n); sheet.Now().Sheet.Verdict() != finaltest.OutcomeOpen {
		t.Error("half a test is decided")
	}
}

func TestFinalTestPageTrips(t *testing.T) {
	t.Parallel()
	l := newLeaving(t)
	if n := l.trips(l.as(l.watchmaker), l.path+"/final-test"); n > 4 {
		t.Errorf("%d round trips", n)
	}
}

func TestHandOverPage(t *testing.T) {
	t.Parallel()
	l := newLeaving(t)
	clerk := l.as(l.clerk)
	page := clerk.get(l.path + "/hand-over").want(http.StatusOK)
	if got := page.text("leave-why"); !strings.Contains(got, "final test") {
		t.Errorf("before it is ready: %q", got)
	}
	l.ready()
	page = clerk.get(l.path + "/hand-over").want(http.StatusOK)
	if got := page.text("due-amount"); got != "€120.00" {
		t.Errorf("due %q", got)
	}
	if got := page.text("leave-needs"); !strings.Contains(got, "The amount due must be paid.") || strings.Contains(got, "collects") {
		t.Errorf("needs %q", got)
	}
	if got := attr(within(page.one("form-payment"), "amount")[0], "value"); got != "120.00" {
		t.Errorf("the payment starts from %q", got)
	}
	clerk.post(l.path+"/hand-over/payment", l.payForm("€ 50", "card")).want(http.StatusSeeOther)
	page = clerk.get(l.path + "/hand-over").want(http.StatusOK)
	if got := page.text("flash"); !strings.Contains(got, "€50.00 taken, card") {
		t.Errorf("said %q", got)
	}
	clerk.post(l.path+"/hand-over/payment", l.payForm("70", "transfer")).want(http.StatusSeeOther)
	clerk.post(l.path+"/hand-over", l.leaveForm()).want(http.StatusSeeOther)
	page = clerk.get(l.path + "/hand-over").want(http.StatusOK)
	for _, want := range []string{"24 Nov 2026", "Ada Quillmarsh", "the claim ticket", "returned with the watch"} {
		if got := page.text("left"); !strings.Contains(got, want) {
			t.Errorf("how it left: %q does not say %q", got, want)
		}
	}
	if len(page.all("leave-form")) != 0 || page.text("waits-for") != "Closed." {
		t.Error("the docket does not look closed")
	}
	// money that comes later, or goes back, still may
	clerk.post(l.path+"/hand-over/refund", l.payForm("20", "cash", "note", "strap returned")).want(http.StatusSeeOther)
	if got := clerk.get(l.path + "/hand-over").text("due-amount"); got != "€20.00" {
		t.Errorf("due after the refund %q", got)
	}
}

func TestHandOverRefusedOnThePage(t *testing.T) {
	t.Parallel()
	l := newLeaving(t)
	l.ready()
	clerk := l.as(l.clerk)
	page := clerk.post(l.path+"/hand-over", l.leaveForm("collected_by", "Ben Thole")).want(http.StatusUnprocessableEntity)
	if got := page.text("form-errors"); !strings.Contains(got, "The amount due must be paid.") {
		t.Errorf("unpaid: %q", got)
	}
	if page.value("collected_by") != "Ben Thole" || page.value("ticket") != l.n.Compact() {
		t.Error("something typed is lost")
	}
	clerk.post(l.path+"/hand-over/payment", l.payForm("120", "cash")).want(http.StatusSeeOther)
	mistyped := []byte(l.n.String())
	mistyped[6] += 3
	for name, c := range map[string]struct{ field, value, says string }{
		"mistyped":       {"ticket", string(mistyped), "check character"},
		"another docket": {"ticket", docket.Number{Year: 2026, Seq: 77}.String(), "not of " + l.n.String()},
		"words":          {"ticket", "the blue one", "not a docket number"},
		"nobody":         {"collected_by", "", "name of the person"},
		"old parts":      {"old_parts", "", "old parts"},
		"no proof":       {"proof", "", "claim ticket was shown"},
	} {
		page := clerk.post(l.path+"/hand-over", l.leaveForm(c.field, c.value)).want(http.StatusUnprocessableEntity)
		if got := page.problem(c.field); !strings.Contains(got, c.says) {
			t.Errorf("%s: beside the field %q", name, got)
		}
	}
	page = clerk.post(l.path+"/hand-over", l.leaveForm("proof", "identity", "ticket", "")).want(http.StatusUnprocessableEntity)
	if got := page.problem("identity"); !strings.Contains(got, "how you made sure") {
		t.Errorf("without a ticket: %q", got)
	}
	l.as(l.watchmaker).post(l.path+"/hand-over", l.leaveForm()).want(http.StatusForbidden)
	clerk.post(l.path+"/hand-over", l.leaveForm("version", "")).want(http.StatusBadRequest)
	if h, _ := l.store.Head(t.Context(), l.n); h.Docket.Closed() || h.Facts.CollectedBy != "" {
		t.Error("a refusal left something behind")
	}
	clerk.post(l.path+"/hand-over", l.leaveForm("proof", "identity", "ticket", "", "identity", "passport seen")).want(http.StatusSeeOther)
	if got := clerk.get(l.path + "/hand-over").text("left"); !strings.Contains(got, "passport seen") {
		t.Errorf("how it left: %q", got)
	}
}

func TestOwnersReasonOnThePage(t *testing.T) {
	t.Parallel()
	l := newLeaving(t)
	l.ready()
	if page := l.as(l.clerk).get(l.path + "/hand-over"); len(page.all("reason")) != 1 { // of the charge alone
		t.Error("a clerk is asked for the owner's reason")
	}
	owner := l.as(l.owner)
	if page := owner.get(l.path + "/hand-over"); len(page.all("reason")) != 2 {
		t.Error("the owner is not asked for a reason")
	}
	owner.post(l.path+"/hand-over", l.leaveForm("reason", "pays on Friday")).want(http.StatusSeeOther)
	if got := owner.get(l.path + "/hand-over").text("due-amount"); got != "€120.00" {
		t.Errorf("due %q", got)
	}
}

func TestMoneyRefusals(t *testing.T) {
	t.Parallel()
	l := newLeaving(t)
	clerk := l.as(l.clerk)
	for name, c := range map[string]struct {
		path  string
		form  url.Values
		field string
		says  string
	}{
		"words":        {"payment", l.payForm("a lot", "cash"), "amount", "such as"},
		"below nought": {"payment", l.payForm("-5", "cash"), "amount", "above nought"},
		"no way":       {"payment", l.payForm("5", ""), "method", "how it was paid"},
		"too much":     {"payment", l.payForm("120.01", "cash"), "beyond", "more than is due"},
		"decimals":     {"payment", l.payForm("1.234", "cash"), "beyond", "more than is due"},
		"nothing paid": {"refund", l.payForm("1", "cash", "note", "x"), "amount", "than was paid"},
		"no reason":    {"charge", url.Values{"version": {l.version(l.n.String())}, "charged": {"130"}}, "reason", "journal"},
		"less":         {"charge", url.Values{"version": {l.version(l.n.String())}, "charged": {"100"}, "reason": {"a friend"}}, "charged", "Only the owner"},
		"not money":    {"charge", url.Values{"version": {l.version(l.n.String())}, "charged": {"half"}, "reason": {"x"}}, "charged", "such as"},
	} {
		page := clerk.post(l.path+"/hand-over/"+c.path, c.form).want(http.StatusUnprocessableEntity)
		if got := page.problem(c.field); !strings.Contains(got, c.says) {
			t.Errorf("%s: beside the field %q", name, got)
		}
		form := page.one("form-" + c.path)
		for _, name := range []string{"amount", "charged"} {
			if typed := c.form.Get(name); typed != "" && attr(within(form, name)[0], "value") != typed {
				t.Errorf("%s: what was typed for %s is lost", c.path, name)
			}
		}
	}
	clerk.post(l.path+"/hand-over/payment", l.payForm("200", "cash", "beyond", "yes")).want(http.StatusSeeOther)
	l.as(l.watchmaker).post(l.path+"/hand-over/payment", l.payForm("5", "cash")).want(http.StatusForbidden)
	stale := l.payForm("5", "cash", "beyond", "yes")
	clerk.post(l.path+"/hand-over/payment", l.payForm("5", "cash", "beyond", "yes")).want(http.StatusSeeOther)
	page := clerk.post(l.path+"/hand-over/payment", stale).want(http.StatusConflict)
	if got := page.text("conflict-changes"); !strings.Contains(got, "5.00 EUR paid") {
		t.Errorf("conflict says %q", got)
	}
}

func TestChargeOnThePageAndInvoice(t *testing.T) {
	t.Parallel()
	l := newLeaving(t)
	owner, clerk := l.as(l.owner), l.as(l.clerk)
	page := clerk.get(l.path + "/papers/invoice").want(http.StatusOK)
	if n := len(page.all("invoice-line")); n != 2 {
		t.Errorf("%d lines", n)
	}
	// 120.00 with 20 % in it: 20.00 is tax, by 120/1.2·0.2.
	if got := page.text("invoice-lines"); !strings.Contains(got, "Full service") || !strings.Contains(got, "€20.00") || !strings.Contains(got, "€120.00") {
		t.Errorf("lines %q", got)
	}
	owner.post(l.path+"/hand-over/charge", url.Values{"version": {l.version(l.n.String())}, "charged": {"108"}, "reason": {"late by a month"}}).want(http.StatusSeeOther)
	clerk.post(l.path+"/hand-over/payment", l.payForm("8", "cash")).want(http.StatusSeeOther)
	page = clerk.get(l.path + "/papers/invoice").want(http.StatusOK)
	if got := page.text("invoice-lines"); !strings.Contains(got, "Adjustment: late by a month") || !strings.Contains(got, "-€12.00") || !strings.Contains(got, "€18.00") || !strings.Contains(got, "€108.00") {
		t.Errorf("lines %q", got)
	}
	if got := page.text("invoice-due"); got != "Due €100.00" {
		t.Errorf("due %q", got)
	}
	pdf := clerk.get(l.path + "/papers/invoice.pdf").want(http.StatusOK)
	if !strings.HasPrefix(pdf.body, "%PDF-") || pdf.header.Get("Content-Type") != "application/pdf" {
		t.Error("no PDF")
	}
	if got := clerk.get(l.path + "/hand-over").text("accounts"); !strings.Contains(got, "late by a month") || !strings.Contains(got, "€100.00") {
		t.Errorf("accounts %q", got)
	}
	clerk.post(l.path+"/hand-over/charge", url.Values{"version": {l.version(l.n.String())}, "charged": {""}, "reason": {"agreed again"}}).want(http.StatusSeeOther)
	if got := clerk.get(l.path + "/hand-over").text("due-amount"); got != "€112.00" {
		t.Errorf("due %q", got)
	}
}

// A watch that goes back unrepaired has a bill only if something was charged.
func TestInvoiceOfNothing(t *testing.T) {
	t.Parallel()
	l := newLeaving(t)
	l.put(l.n.String(), `stage = 'withdrawn'`)
	clerk := l.as(l.clerk)
	clerk.get(l.path + "/papers/invoice").want(http.StatusNotFound)
	clerk.post(l.path+"/hand-over/charge", url.Values{"version": {l.version(l.n.String())}, "charged": {"25"}, "reason": {"Diagnosis"}}).want(http.StatusSeeOther)
	page := clerk.get(l.path + "/papers/invoice").want(http.StatusOK)
	if got := page.text("invoice-lines"); !strings.Contains(got, "Diagnosis") || !strings.Contains(got, "€4.17") { // 25.00/1.2·0.2
		t.Errorf("lines %q", got)
	}
}

func TestHandOverPageTrips(t *testing.T) {
	t.Parallel()
	l := newLeaving(t)
	l.ready()
	l.issue()
	for _, path := range []string{"/hand-over", "/card", "/papers/invoice", "/papers/invoice.pdf", "/papers/warranty-card", "/papers/warranty-card.pdf"} {
		if n := l.trips(l.as(l.owner), l.path+path); n > 4 {
			t.Errorf("%s takes %d round trips", path, n)
		}
	}
	if n := l.trips(l.as(l.owner), "/keys"); n > 4 {
		t.Errorf("/keys takes %d round trips", n)
	}
	if n := l.trips(l.stranger(), "/w/"+string(l.newestCard().Code)); n > 4 {
		t.Errorf("the check takes %d round trips", n)
	}
}
