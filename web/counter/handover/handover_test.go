package handover_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/docket"
	"ledgerwheel/store"
	"ledgerwheel/web/webtest"
)

func TestHandOverPage(t *testing.T) {
	t.Parallel()
	l := webtest.NewLeaving(t)
	clerk := l.As(l.Clerk)
	page := clerk.Get(l.Path + "/hand-over").Want(http.StatusOK)
	if got := page.Text("leave-why"); !strings.Contains(got, "final test") {
		t.Errorf("before it is ready: %q", got)
	}
	l.Ready()
	page = clerk.Get(l.Path + "/hand-over").Want(http.StatusOK)
	if got := page.Text("due-amount"); got != "€120.00" {
		t.Errorf("due %q", got)
	}
	if got := page.Text("leave-due"); got != "€120.00" || len(page.All("leave-needs")) > 0 {
		t.Errorf("the form says %q due", got)
	}
	if got := webtest.Attr(webtest.Within(page.One("form-payment"), "amount")[0], "value"); got != "120.00" {
		t.Errorf("the payment starts from %q", got)
	}
	clerk.Post(l.Path+"/hand-over/payment", l.PayForm("€ 50", "card")).Want(http.StatusSeeOther)
	page = clerk.Get(l.Path + "/hand-over").Want(http.StatusOK)
	if got := page.Text("flash"); !strings.Contains(got, "€50.00 taken, card") {
		t.Errorf("said %q", got)
	}
	clerk.Post(l.Path+"/hand-over/payment", l.PayForm("70", "transfer")).Want(http.StatusSeeOther)
	clerk.Post(l.Path+"/hand-over", l.LeaveForm()).Want(http.StatusSeeOther)
	page = clerk.Get(l.Path + "/hand-over").Want(http.StatusOK)
	for _, want := range []string{"24 Nov 2026", "Ada Quillmarsh", "the claim ticket", "returned with the watch"} {
		if got := page.Text("left"); !strings.Contains(got, want) {
			t.Errorf("how it left: %q does not say %q", got, want)
		}
	}
	if len(page.All("leave-form")) != 0 || page.Text("waits-for") != "Closed." {
		t.Error("the docket does not look closed")
	}
	// money that comes later, or goes back, still may
	l.Unproven(clerk) // giving it back asks who is there, and does nothing yet
	asked := clerk.Post(l.Path+"/hand-over/refund", l.PayForm("20", "card", "note", "strap returned")).Want(http.StatusOK)
	webtest.Contains(t, "question", asked.Text("sure-text"), "The refund of €20.00")
	if asked.Hidden("note") != "strap returned" || clerk.Get(l.Path+"/hand-over").Text("due-amount") == "€20.00" {
		t.Error("the refund was made before the answer, or what was typed is lost")
	}
	clerk.Post(l.Path+"/hand-over/refund", l.PayForm("20", "card", "note", "strap returned", "proof_password", webtest.Password)).
		Want(http.StatusSeeOther)
	if got := clerk.Get(l.Path + "/hand-over").Text("due-amount"); got != "€20.00" {
		t.Errorf("due after the refund %q", got)
	}
}

func TestHandOverRefusedOnThePage(t *testing.T) {
	t.Parallel()
	l := webtest.NewLeaving(t)
	l.Ready()
	clerk := l.As(l.Clerk)
	page := clerk.Post(l.Path+"/hand-over", l.LeaveForm("collected_by", "Ben Thole")).Want(http.StatusUnprocessableEntity)
	if got := page.Text("form-errors"); !strings.Contains(got, "Say how it is paid.") || !strings.Contains(got, "say what was shown") {
		t.Errorf("unpaid, to somebody else: %q", got)
	}
	if page.Value("collected_by") != "Ben Thole" || page.Value("ticket") != l.N.Compact() {
		t.Error("something typed is lost")
	}
	clerk.Post(l.Path+"/hand-over/payment", l.PayForm("120", "cash")).Want(http.StatusSeeOther)
	mistyped := []byte(l.N.String())
	mistyped[6] += 3
	for name, c := range map[string]struct{ field, value, says string }{
		"mistyped":       {"ticket", string(mistyped), "check character"},
		"another docket": {"ticket", docket.Number{Year: 2026, Seq: 77}.String(), "not of " + l.N.String()},
		"words":          {"ticket", "the blue one", "not a docket number"},
		"nobody":         {"collected_by", "", "name of the person"},
		"old parts":      {"old_parts", "", "old parts"},
		"no ticket":      {"ticket", "", "Without it, say below"},
	} {
		page := clerk.Post(l.Path+"/hand-over", l.LeaveForm(c.field, c.value)).Want(http.StatusUnprocessableEntity)
		if got := page.Problem(c.field); !strings.Contains(got, c.says) {
			t.Errorf("%s: beside the field %q", name, got)
		}
	}
	without := l.LeaveForm("ticket", "", "shown", "passport")
	page = clerk.Post(l.Path+"/hand-over", without).Want(http.StatusUnprocessableEntity)
	if got := page.Problem("done"); !strings.Contains(got, "The rule of the house asks for this") {
		t.Errorf("without a ticket: %q", got)
	}
	l.As(l.Watchmaker).Post(l.Path+"/hand-over", l.LeaveForm()).Want(http.StatusForbidden)
	clerk.Post(l.Path+"/hand-over", l.LeaveForm("version", "")).Want(http.StatusBadRequest)
	if h, _ := l.Store.Head(t.Context(), l.N); h.Docket.Closed() || h.Facts.CollectedBy != "" {
		t.Error("a refusal left something behind")
	}
	sh, err := l.Store.Shop(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	without = l.LeaveForm("ticket", "", "shown", "passport", "identity", "Her neighbour vouches.")
	without["done"] = sh.NoTicketAsks()
	clerk.Post(l.Path+"/hand-over", without).Want(http.StatusSeeOther)
	webtest.Contains(t, "how it left", clerk.Get(l.Path+"/hand-over").Text("left"), "Passport seen.", "Statement of the lost ticket signed.",
		"Her neighbour vouches.")
	webtest.Contains(t, "journal", clerk.Get(l.Path+"/journal").Body, "Asked by the house and done", "Passport seen.")
}

// Money by several methods, the change of it, the watch and its card, all by one press of a clerk; then the papers.
func TestOnePress(t *testing.T) {
	t.Parallel()
	l := webtest.NewLeaving(t)
	l.Ready()
	clerk := l.As(l.Clerk)
	if page := clerk.Get(l.Path + "/hand-over"); len(page.All("card")) != 0 {
		t.Error("a clerk is offered a card without the owner's order")
	}
	sh, err := l.Store.Shop(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	sh.CardByClerk = true
	if err := l.Store.SaveShop(t.Context(), sh, l.Actor(l.Owner), l.Clock()); err != nil {
		t.Fatal(err)
	}
	if page := clerk.Get(l.Path + "/hand-over"); len(page.All("card")) != 0 {
		t.Error("a card is offered by the order, though the run was not measured in full")
	}
	if _, err := l.Store.Pool().Exec(t.Context(), `UPDATE run SET outcome = 'pass'`); err != nil {
		t.Fatal(err)
	}
	page := clerk.Get(l.Path + "/hand-over").Want(http.StatusOK)
	webtest.Contains(t, "offer", webtest.TextOf(page.One("leave-form")), "12 months from today", "standing order")
	webtest.Contains(t, "test", page.Text("test-line"), "pass")
	change := func(query string) string {
		return strings.TrimSpace(webtest.TextOf(clerk.Get(l.Path + "/hand-over/change?" + query).Want(http.StatusOK).Document))
	}
	for query, want := range map[string]string{
		"pay=cash&given-cash=150":                                  "Change: €30.00.",
		"pay=cash&given-cash=100":                                  "20.00 EUR of the 120.00 EUR due is still missing.",
		"pay=several&given-cash=50&given-card=80":                  "Change: €10.00.",
		"pay=several&given-cash=50&given-card=1.500":               "can be read as",
		"pay=several&given-transfer=121":                           "more than the 120.00 EUR",
		"pay=several&given-cash=50&given-card=70&given-transfer=":  "Change: €0.00.",
		"pay=several&given-cash=5&given-card=70&given-transfer=45": "Change: €0.00.",
	} {
		got := change(query)
		if !strings.Contains(got, want) {
			t.Errorf("%s: %q, want %q", query, got, want)
		}
	}
	short := l.LeaveForm("pay", "several", "given-cash", "50", "given-card", "60", "card", "yes", "ticket", "")
	page = clerk.Post(l.Path+"/hand-over", short).Want(http.StatusUnprocessableEntity)
	if page.Problem("given-cash") == "" || page.Problem("ticket") == "" || page.Value("given-card") != "60" {
		t.Errorf("lacks %q", page.Text("form-errors"))
	}
	clerk.Post(l.Path+"/hand-over", l.LeaveForm("pay", "several", "given-cash", "50", "given-card", "80", "card", "yes")).
		Want(http.StatusSeeOther)
	page = clerk.Get(l.Path + "/hand-over").Want(http.StatusOK)
	webtest.Contains(t, "said", page.Text("flash"), "Change to give: €10.00.")
	webtest.Contains(t, "how it left", page.Text("left"), "Ada Quillmarsh", "€10.00 of €50.00")
	for _, link := range []string{"to-receipt", "to-card-paper", "to-invoice"} {
		clerk.Get(webtest.Attr(page.One(link), "href")).Want(http.StatusOK)
	}
	if card, err := l.NewestCard().Card(); err != nil || card.StartsOn.Format("2006-01-02") != "2026-11-24" {
		t.Errorf("the card runs from %v, %v", card.StartsOn, err)
	}
	receipt := clerk.Get(l.Path + "/papers/receipt").Want(http.StatusOK).Text("reading-a6")
	webtest.Contains(t, "receipt", receipt, "Cash €40.00 (€50.00 given, €10.00 change)", "Card €80.00", "Paid in full, nothing due.",
		"Ada Quillmarsh", "Handed over", "€20.00")
	if pdf := clerk.Get(l.Path + "/papers/receipt.pdf").Want(http.StatusOK); !strings.HasPrefix(pdf.Body, "%PDF-") {
		t.Error("no PDF")
	}
	webtest.Contains(t, "journal", clerk.Get(l.Path+"/journal").Body, "Under the owner’s standing order", "Change")
}

// In the hour that the clocks show twice the papers tell which one it was. The offsets are those of the IANA time zone
// database: Zurich leaves summer time on 31 October 2027 at 01:00 UTC.
func TestHandOverInTheHourThatComesTwice(t *testing.T) {
	t.Parallel()
	for at, want := range map[string]string{
		"2027-10-31T00:30:00Z": "31 Oct 2027, 02:30 CEST",
		"2027-10-31T01:30:00Z": "31 Oct 2027, 02:30 CET",
		"2027-10-31T02:30:00Z": "31 Oct 2027, 03:30",
		"2027-10-30T23:30:00Z": "31 Oct 2027, 01:30",
	} {
		l := webtest.NewLeaving(t)
		l.Ready()
		moment, err := time.Parse(time.RFC3339, at)
		if err != nil {
			t.Fatal(err)
		}
		c := store.Change{Number: l.N, By: l.Actor(l.Clerk), At: moment}
		leaving := docket.Leaving{CollectedBy: "Ada Quillmarsh", Ticket: l.N.Compact(), OldParts: docket.OldPartsNone,
			Pay: docket.Tender{Way: docket.PayCard}}
		if err := l.Store.HandOver(t.Context(), c, leaving, ""); err != nil {
			t.Fatal(err)
		}
		l.Pass(moment.Sub(l.Clock()) + time.Hour)
		clerk := l.As(l.Clerk)
		for _, said := range []string{clerk.Get(l.Path + "/hand-over").Text("left"), clerk.Get(l.Path + "/papers/receipt").Text("reading-a6")} {
			if !strings.Contains(said, want) || !strings.Contains(want, "CE") && strings.Contains(said, " CE") {
				t.Errorf("%s: %q does not say %q", at, said, want)
			}
		}
	}
}

func TestOwnersReasonOnThePage(t *testing.T) {
	t.Parallel()
	l := webtest.NewLeaving(t)
	l.Ready()
	if page := l.As(l.Clerk).Get(l.Path + "/hand-over"); len(page.All("reason")) != 1 { // of the charge alone
		t.Error("a clerk is asked for the owner's reason")
	}
	owner := l.As(l.Owner)
	if page := owner.Get(l.Path + "/hand-over"); len(page.All("reason")) != 2 {
		t.Error("the owner is not asked for a reason")
	}
	owner.Post(l.Path+"/hand-over", l.LeaveForm("reason", "pays on Friday")).Want(http.StatusSeeOther)
	if got := owner.Get(l.Path + "/hand-over").Text("due-amount"); got != "€120.00" {
		t.Errorf("due %q", got)
	}
}

func TestMoneyRefusals(t *testing.T) {
	t.Parallel()
	l := webtest.NewLeaving(t)
	clerk := l.As(l.Clerk)
	for name, c := range map[string]struct {
		path  string
		form  url.Values
		field string
		says  string
	}{
		"words":        {"payment", l.PayForm("a lot", "cash"), "amount", "such as"},
		"below nought": {"payment", l.PayForm("-5", "cash"), "amount", "above zero"},
		"no way":       {"payment", l.PayForm("5", ""), "method", "how it was paid"},
		"too much":     {"payment", l.PayForm("120.01", "cash"), "beyond", "more than is due"},
		"two amounts":  {"payment", l.PayForm("1.234", "cash", "beyond", "yes"), "amount", "€1.23 or as €1,234.00"},
		"decimals":     {"payment", l.PayForm("0.125", "cash"), "amount", "Give at most 2 decimals."},
		"two charges": {"charge", url.Values{"version": {l.Version(l.N.String())}, "charged": {"120,000"}, "reason": {"x"}},
			"charged", "€120,000.00 or as €120.00"},
		"nothing paid": {"refund", l.PayForm("1", "cash", "note", "x"), "amount", "than was paid"},
		"no reason":    {"charge", url.Values{"version": {l.Version(l.N.String())}, "charged": {"130"}}, "reason", "journal"},
		"less": {"charge", url.Values{"version": {l.Version(l.N.String())}, "charged": {"100"},
			"reason": {"a friend"}}, "charged", "Only the owner"},
		"not money": {"charge", url.Values{"version": {l.Version(l.N.String())}, "charged": {"half"}, "reason": {"x"}},
			"charged", "such as"},
	} {
		page := clerk.Post(l.Path+"/hand-over/"+c.path, c.form).Want(http.StatusUnprocessableEntity)
		if got := page.Problem(c.field); !strings.Contains(got, c.says) {
			t.Errorf("%s: beside the field %q", name, got)
		}
		form := page.One("form-" + c.path)
		for _, name := range []string{"amount", "charged"} {
			if typed := c.form.Get(name); typed != "" && webtest.Attr(webtest.Within(form, name)[0], "value") != typed {
				t.Errorf("%s: what was typed for %s is lost", c.path, name)
			}
		}
	}
	clerk.Post(l.Path+"/hand-over/payment", l.PayForm("200", "cash", "beyond", "yes")).Want(http.StatusSeeOther)
	l.As(l.Watchmaker).Post(l.Path+"/hand-over/payment", l.PayForm("5", "cash")).Want(http.StatusForbidden)
	stale := l.PayForm("5", "cash", "beyond", "yes")
	clerk.Post(l.Path+"/hand-over/payment", l.PayForm("5", "cash", "beyond", "yes")).Want(http.StatusSeeOther)
	page := clerk.Post(l.Path+"/hand-over/payment", stale).Want(http.StatusConflict)
	if got := page.Text("conflict-changes"); !strings.Contains(got, "5.00 EUR paid") {
		t.Errorf("conflict says %q", got)
	}
}

func TestChargeOnThePageAndInvoice(t *testing.T) {
	t.Parallel()
	l := webtest.NewLeaving(t)
	owner, clerk := l.As(l.Owner), l.As(l.Clerk)
	page := clerk.Get(l.Path + "/papers/invoice").Want(http.StatusOK)
	if n := len(page.All("invoice-line")); n != 2 {
		t.Errorf("%d lines", n)
	}
	// 120.00 with 20 % in it: 20.00 is tax, by 120/1.2·0.2.
	if got := page.Text("reading-a4"); !strings.Contains(got, "Full service") || !strings.Contains(got, "€20.00") ||
		!strings.Contains(got, "€120.00") {
		t.Errorf("lines %q", got)
	}
	owner.Post(l.Path+"/hand-over/charge", url.Values{"version": {l.Version(l.N.String())}, "charged": {"108"},
		"reason": {"late by a month"}}).Want(http.StatusSeeOther)
	clerk.Post(l.Path+"/hand-over/payment", l.PayForm("8", "cash")).Want(http.StatusSeeOther)
	page = clerk.Get(l.Path + "/papers/invoice").Want(http.StatusOK)
	if got := page.Text("reading-a4"); !strings.Contains(got, "Adjustment: late by a month") ||
		!strings.Contains(got, "−€12.00") || !strings.Contains(got, "€18.00") || !strings.Contains(got, "€108.00") {
		t.Errorf("lines %q", got)
	}
	if got := page.Text("invoice-due"); got != "Due €100.00" {
		t.Errorf("due %q", got)
	}
	pdf := clerk.Get(l.Path + "/papers/invoice.pdf").Want(http.StatusOK)
	if !strings.HasPrefix(pdf.Body, "%PDF-") || pdf.Header.Get("Content-Type") != "application/pdf" {
		t.Error("no PDF")
	}
	if got := clerk.Get(l.Path + "/hand-over").Text("accounts"); !strings.Contains(got, "late by a month") ||
		!strings.Contains(got, "€100.00") {
		t.Errorf("accounts %q", got)
	}
	clerk.Post(l.Path+"/hand-over/charge", url.Values{"version": {l.Version(l.N.String())}, "charged": {""},
		"reason": {"agreed again"}}).Want(http.StatusSeeOther)
	if got := clerk.Get(l.Path + "/hand-over").Text("due-amount"); got != "€112.00" {
		t.Errorf("due %q", got)
	}
}

// What is charged otherwise is taxed as the lines are, if they have one rate in common, else as the shop's settings
// say.
func TestInvoiceAdjustmentIsTaxedAsTheLinesAre(t *testing.T) {
	t.Parallel()
	l := webtest.NewLeaving(t)
	sh, err := l.Store.Shop(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	sh.TaxBasisPoints = 700
	if err := l.Store.SaveShop(t.Context(), sh, l.Actor(l.Owner), l.Clock()); err != nil {
		t.Fatal(err)
	}
	l.As(l.Owner).Post(l.Path+"/hand-over/charge", url.Values{"version": {l.Version(l.N.String())}, "charged": {"108"},
		"reason": {"late"}}).
		Want(http.StatusSeeOther)
	clerk := l.As(l.Clerk)
	adjusted := func(want ...string) {
		t.Helper()
		lines := clerk.Get(l.Path + "/papers/invoice").Want(http.StatusOK).All("invoice-line")
		webtest.Contains(t, "adjustment", webtest.TextOf(lines[len(lines)-1]), append(want, "−€12.00")...)
	}
	adjusted("20 %")
	if _, err := l.Store.Pool().Exec(t.Context(),
		`UPDATE estimate_line SET tax_basis_points = 500 WHERE description = 'Mainspring'`); err != nil {
		t.Fatal(err)
	}
	adjusted("7 %")
}

// A clerk who charges more than was agreed is asked how the customer said so; sheet, invoice and journal tell of it.
func TestChargingMoreAsksForTheCustomersWord(t *testing.T) {
	t.Parallel()
	l := webtest.NewLeaving(t)
	clerk, owner := l.As(l.Clerk), l.As(l.Owner)
	form := func(more ...string) url.Values {
		f := url.Values{"version": {l.Version(l.N.String())}, "charged": {"150"}, "reason": {"a strap besides"}}
		for i := 0; i+1 < len(more); i += 2 {
			f.Set(more[i], more[i+1])
		}
		return f
	}
	if clerk.Get(l.Path+"/hand-over").All("word_by") != nil {
		t.Error("the word is asked for before it is needed")
	}
	asked := clerk.Post(l.Path+"/hand-over/charge", form()).Want(http.StatusUnprocessableEntity)
	if !strings.Contains(asked.Problem("word"), "more than the customer agreed to") || asked.Value("charged") != "150" ||
		asked.Value("word_by") != l.Clerk.Name || asked.Value("word_on") == "" {
		t.Errorf("asked %q, by %q on %q", asked.Problem("word"), asked.Value("word_by"), asked.Value("word_on"))
	}
	if body := asked.Body; strings.Contains(body, "the owner decides") {
		t.Error("a clerk is offered the owner's decision")
	}
	clerk.Post(l.Path+"/hand-over/charge", form("word", "owner")).Want(http.StatusUnprocessableEntity)
	if !strings.Contains(owner.Post(l.Path+"/hand-over/charge", form()).Body, "the owner decides") {
		t.Error("the owner is not offered it")
	}
	clerk.Post(l.Path+"/hand-over/charge", form("word", "telephone", "word_on", "2026-02-01", "word_by", "Nuala Reed")).
		Want(http.StatusSeeOther)
	const says = "The customer agreed by telephone on Sun 1 Feb 2026, told to Nuala Reed."
	for _, path := range []string{"/hand-over", "/papers/invoice", "/journal"} {
		if body := clerk.Get(l.Path + path).Want(http.StatusOK).Body; !strings.Contains(body, says) {
			t.Errorf("%s does not say it", path)
		}
	}
}

// A watch that goes back unrepaired has a bill only if something was charged.
func TestInvoiceOfNothing(t *testing.T) {
	t.Parallel()
	l := webtest.NewLeaving(t)
	l.Put(l.N.String(), `stage = 'withdrawn'`)
	clerk := l.As(l.Clerk)
	clerk.Get(l.Path + "/papers/invoice").Want(http.StatusNotFound)
	clerk.Post(l.Path+"/hand-over/charge", url.Values{"version": {l.Version(l.N.String())}, "charged": {"25"},
		"reason": {"Diagnosis"}, "word": {"in-person"}, "word_on": {"2026-02-01"}, "word_by": {"Nuala Reed"}}).
		Want(http.StatusSeeOther)
	page := clerk.Get(l.Path + "/papers/invoice").Want(http.StatusOK)
	// 25.00/1.2·0.2
	if got := page.Text("reading-a4"); !strings.Contains(got, "Diagnosis") || !strings.Contains(got, "€4.17") {
		t.Errorf("lines %q", got)
	}
}

func TestHandOverPageTrips(t *testing.T) {
	t.Parallel()
	l := webtest.NewLeaving(t)
	l.Ready()
	l.Issue()
	for _, path := range []string{"/hand-over", "/card", "/papers/invoice", "/papers/invoice.pdf", "/papers/warranty-card",
		"/papers/warranty-card.pdf"} {
		if n := l.Trips(l.As(l.Owner), l.Path+path); n > 4 {
			t.Errorf("%s takes %d round trips", path, n)
		}
	}
	if n := l.Trips(l.As(l.Owner), "/keys"); n > 4 {
		t.Errorf("/keys takes %d round trips", n)
	}
	if n := l.Trips(l.Stranger(), "/w/"+string(l.NewestCard().Code)); n > 4 {
		t.Errorf("the check takes %d round trips", n)
	}
}

// A charge and a payment that can mean two things are refused with both readings, and nothing is charged.
func TestTwofoldChargeIsRefused(t *testing.T) {
	t.Parallel()
	l := webtest.NewLeaving(t)
	owner := l.As(l.Owner)
	refused := owner.Post(l.Path+"/hand-over/charge", url.Values{"version": {l.Version(l.N.String())},
		"charged": {"12.345"}, "reason": {"late"}}).Want(http.StatusUnprocessableEntity)
	if got := refused.Problem("charged"); !strings.Contains(got, "can be read as") || refused.Value("charged") != "12.345" {
		t.Errorf("charged: %q, kept %q", got, refused.Value("charged"))
	}
	refused = l.As(l.Clerk).Post(l.Path+"/hand-over/payment", l.PayForm("1.500", "cash")).
		Want(http.StatusUnprocessableEntity)
	if got := refused.Problem("amount"); !strings.Contains(got, "can be read as") {
		t.Errorf("paid: %q", got)
	}
}
