package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ledgerwheel/domain/docket"
)

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

// What is charged otherwise is taxed as the lines are, if they have one rate in common, else as the shop's settings
// say.
func TestInvoiceAdjustmentIsTaxedAsTheLinesAre(t *testing.T) {
	t.Parallel()
	l := newLeaving(t)
	sh, err := l.store.Shop(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	sh.TaxBasisPoints = 700
	if err := l.store.SaveShop(t.Context(), sh); err != nil {
		t.Fatal(err)
	}
	l.as(l.owner).post(l.path+"/hand-over/charge", url.Values{"version": {l.version(l.n.String())}, "charged": {"108"},
		"reason": {"late"}}).
		want(http.StatusSeeOther)
	clerk := l.as(l.clerk)
	adjusted := func(want ...string) {
		t.Helper()
		lines := clerk.get(l.path + "/papers/invoice").want(http.StatusOK).all("invoice-line")
		contains(t, "adjustment", textOf(lines[len(lines)-1]), append(want, "-€12.00")...)
	}
	adjusted("20 %")
	const mixed = `UPDATE estimate_line SET tax_basis_points = 500 WHERE description = 'Mainspring'`
	if _, err := l.store.Pool().Exec(t.Context(), mixed); err != nil {
		t.Fatal(err)
	}
	adjusted("7 %")
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
