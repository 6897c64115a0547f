package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/html"

	"ledgerwheel/domain/diagnosis"
	"ledgerwheel/domain/docket"
	"ledgerwheel/store"
)

// cells are the texts of a row of a table.
func cells(n *html.Node) []string {
	var out []string
	for d := range n.Descendants() {
		if d.Type == html.ElementNode && (d.Data == "td" || d.Data == "th") {
			out = append(out, textOf(d))
		}
	}
	return out
}

func TestEstimateIsPricedSentAndShown(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.takeIn()
	bench := s.as(s.watchmaker)
	bench.post("/dockets/"+number+"/estimate", draftForm(s.version(number), threeLines...)).want(http.StatusSeeOther)
	page := bench.get("/dockets/" + number + "/estimate").want(http.StatusOK)
	if got := page.text("totals"); got != "Net €249.50 VAT 20 % €49.90 Total €299.40" {
		t.Errorf("totals %q", got)
	}
	if got := page.value("lines.1.unit_price"); got != "24.50" {
		t.Errorf("unit price shown again as %q", got)
	}
	if got := page.text("amount-2"); got != "€60.00" {
		t.Errorf("1.5 at 40.00 shown as %q", got)
	}

	// The clerk can't price but may send what was priced.
	clerk := s.as(s.clerk)
	page = clerk.get("/dockets/" + number + "/estimate").want(http.StatusOK)
	if len(page.all("estimate-form")) != 0 {
		t.Error("the clerk is offered the editor")
	}
	clerk.post("/dockets/"+number+"/estimate", draftForm(s.version(number), service165)).want(http.StatusForbidden)
	clerk.post("/dockets/"+number+"/estimate/send", url.Values{"version": {page.hidden("version")}, "revision": {page.hidden("revision")}}).want(http.StatusSeeOther)
	page = clerk.get("/dockets/" + number + "/estimate").want(http.StatusOK)
	if got := cells(page.all("line")[2]); got[0] != "Polish may be left out" || got[4] != "€60.00" {
		t.Errorf("line shown as %q", got)
	}
	if got := page.text("limit"); !strings.Contains(got, "up to €150.00") || !strings.Contains(got, "above it") {
		t.Errorf("299.40 against a limit of 150.00 shown as %q", got)
	}
	address := page.text("private-link")
	if !strings.HasPrefix(address, "http://ledger.example/c/") {
		t.Errorf("private link %q", address)
	}
	if got := page.value("message"); !strings.Contains(got, address) || !strings.Contains(got, "Ada Quillmarsh") || !strings.Contains(got, "€299.40") || !strings.Contains(got, "revision 1") {
		t.Errorf("message %q", got)
	}
	if !strings.Contains(page.body, "barcode-qr") {
		t.Error("the link is not shown as a code")
	}
	if got := cells(page.one("revision")); got[0] != "1" || got[1] != "waiting for the customer" || !strings.Contains(got[3], "Emrys Vale") || !strings.Contains(got[4], "Nuala Reed") {
		t.Errorf("history %q", got)
	}
	for _, c := range []*client{bench, clerk, s.as(s.owner)} {
		if trips := s.trips(c, "/dockets/"+number+"/estimate"); trips > 4 {
			t.Errorf("%d round trips", trips)
		}
	}
}

func TestEditorWithoutScripts(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.takeIn()
	bench := s.as(s.watchmaker)
	path := "/dockets/" + number + "/estimate"
	f := draftForm(s.version(number), service165, pricedLine{"part", "half typed <", "", "", ""})
	f.Set("do", "add")
	page := bench.post(path, f).want(http.StatusOK)
	if n := len(page.all("editor-line")); n != 3 || page.hidden("rows") != "3" {
		t.Fatalf("%d lines, rows %s; want three", n, page.hidden("rows"))
	}
	if page.value("lines.1.description") != "half typed <" || page.typed("note") != "The crystal stays." || page.value("valid_until") != "2026-12-24" {
		t.Error("what was typed is lost")
	}
	if got := page.text("totals"); got != "Net €165.00 VAT 20 % €33.00 Total €198.00" || len(page.all("unread")) != 1 {
		t.Errorf("totals %q", got)
	}
	f.Set("do", "remove:0")
	page = bench.post(path, f).want(http.StatusOK)
	if n := len(page.all("editor-line")); n != 1 || page.value("lines.0.description") != "half typed <" {
		t.Errorf("%d lines left, the first %q", n, page.value("lines.0.description"))
	}
	f.Set("do", "remove:7")
	bench.post(path, f).want(http.StatusBadRequest)
	f.Set("do", "recount")
	f.Set("rows", "100000")
	bench.post(path, f).want(http.StatusBadRequest)
	f.Set("rows", "2")
	page = bench.post(path, f).want(http.StatusOK)
	if len(page.all("revision")) != 0 {
		t.Error("working out the totals saved something")
	}
}

func TestEstimateRefusals(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.takeIn()
	bench := s.as(s.watchmaker)
	path := "/dockets/" + number + "/estimate"
	f := draftForm(s.version(number), service165, pricedLine{}, pricedLine{"labour", "Polish", "0", "one hundred", "120"})
	f.Set("valid_until", "")
	page := bench.post(path, f).want(http.StatusUnprocessableEntity)
	for _, field := range []string{"lines.2.quantity", "lines.2.unit_price", "lines.2.tax_rate", "valid_until"} {
		if page.problem(field) == "" {
			t.Errorf("no reason beside %s", field)
		}
	}
	if page.problem("lines.1.description") != "" {
		t.Error("a blank line is complained of")
	}
	if got := page.value("lines.2.unit_price"); got != "one hundred" {
		t.Errorf("price shown again as %q", got)
	}
	page = bench.post(path, draftForm(s.version(number))).want(http.StatusUnprocessableEntity)
	if !strings.Contains(page.text("form-errors"), "at least one line") {
		t.Errorf("told %q", page.text("form-errors"))
	}
	// More discount than the rest comes to.
	page = bench.post(path, draftForm(s.version(number), service165, pricedLine{"discount", "Goodwill", "1", "200", "20"})).want(http.StatusUnprocessableEntity)
	if !strings.Contains(page.text("lines-error"), "discounts") {
		t.Errorf("told %q", page.text("lines-error"))
	}
	f = draftForm(s.version(number), service165)
	f.Set("do", "send")
	f.Set("valid_until", "2026-11-23") // yesterday
	page = bench.post(path, f).want(http.StatusUnprocessableEntity)
	if page.problem("valid_until") == "" {
		t.Error("an estimate was sent after its last day")
	}
	f = draftForm("one", service165)
	bench.post(path, f).want(http.StatusBadRequest)
	if page := bench.get(path); len(page.all("revision")) != 0 {
		t.Error("a refusal saved something")
	}
	bench.get("/dockets/26-00099-Q/estimate").want(http.StatusNotFound)
}

func TestTwoPriceTheSameDocket(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.takeIn()
	path := "/dockets/" + number + "/estimate"
	version := s.version(number)
	s.as(s.owner).post(path, draftForm(version, service165)).want(http.StatusSeeOther)
	second := draftForm(version, pricedLine{"labour", "Only a clean", "1", "90", "20"})
	a := s.as(s.watchmaker).post(path, second).want(http.StatusConflict)
	if !strings.Contains(a.text("conflict-typed"), "Only a clean") || !strings.Contains(a.text("conflict-changes"), "Ottilie Brandt") {
		t.Errorf("the page says %q and %q", a.text("conflict-changes"), a.text("conflict-typed"))
	}
	if got := a.text("conflict-typed"); !strings.Contains(got, "Line 1 labour: Only a clean, 1 × 90, tax 20 %") || strings.Contains(got, "Rows") {
		t.Errorf("what was typed is shown as %q", got)
	}
	// Doing it anyway replaces the draft.
	second.Set("version", a.hidden("version"))
	s.as(s.watchmaker).post(path, second).want(http.StatusSeeOther)
	if got := s.as(s.watchmaker).get(path).value("lines.0.description"); got != "Only a clean" {
		t.Errorf("the draft says %q", got)
	}
}

func TestSuggestionsFromFindingsAndParts(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.takeIn()
	change := store.Change{Number: s.number(number), By: s.actor(s.watchmaker), At: s.clock()}
	for _, f := range []diagnosis.Finding{
		{Component: diagnosis.Mainspring, Fault: "broken", Severity: diagnosis.Require},
		{Component: diagnosis.CrownAndStem, Fault: "crown worn", Severity: diagnosis.Advise},
		{Component: diagnosis.Train, Fault: "dirty", Severity: diagnosis.Observe},
	} {
		if _, err := s.store.AddFinding(t.Context(), change, f); err != nil {
			t.Fatal(err)
		}
	}
	bench := s.as(s.watchmaker)
	page := bench.get("/dockets/" + number + "/estimate").want(http.StatusOK)
	if len(page.all("editor-line")) != 2 || page.value("lines.0.description") != "Mainspring: broken" || len(page.all("suggested")) != 1 {
		t.Errorf("%d lines suggested, the first %q", len(page.all("editor-line")), page.value("lines.0.description"))
	}
	if hasAttr(page.one("lines.0.optional").Attr, "checked") || !hasAttr(page.one("lines.1.optional").Attr, "checked") {
		t.Error("what must be mended is no option; what should be is one")
	}
	f := draftForm(s.version(number), pricedLine{"labour", "Mainspring: broken", "1", "60", "20"})
	f.Set("do", "suggest")
	page = bench.post("/dockets/"+number+"/estimate", f).want(http.StatusOK)
	if len(page.all("editor-line")) != 2 || page.value("lines.0.unit_price") != "60" {
		t.Error("suggesting again doubles lines or loses prices")
	}
}

func TestApprovalLimitIsShown(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.takeIn("approval_limit", "200")
	bench := s.as(s.watchmaker)
	f := draftForm(s.version(number), service165) // 198.00 with tax
	f.Set("do", "recount")
	page := bench.post("/dockets/"+number+"/estimate", f).want(http.StatusOK)
	if !strings.Contains(page.text("editor"), "up to €200.00") || len(page.all("within")) != 1 {
		t.Error("198.00 is not shown to lie within the limit of 200.00")
	}
	f.Set("lines.0.unit_price", "166.67") // 200.004, rounded 200.00
	if page = bench.post("/dockets/"+number+"/estimate", f); len(page.all("within")) != 1 {
		t.Error("200.00 is within a limit of 200.00")
	}
	f.Set("lines.0.unit_price", "166.68") // 200.016, rounded 200.02: 166.68 and tax of 33.34
	if page = bench.post("/dockets/"+number+"/estimate", f); len(page.all("within")) != 0 {
		t.Error("200.02 is within a limit of 200.00")
	}
}

func TestAnswerAtTheCounter(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.sent()
	path := "/dockets/" + number + "/estimate/answer"
	bench, clerk := s.as(s.watchmaker), s.as(s.clerk)
	answer := func(fields ...string) url.Values {
		f := url.Values{"version": {s.version(number)}, "revision": {"1"}, "decision": {"approve"}, "name": {"عمر بن الخطاب"}, "note": {"By telephone."}}
		for i := 0; i < len(fields); i += 2 {
			f.Set(fields[i], fields[i+1])
		}
		return f
	}
	bench.post(path, answer()).want(http.StatusForbidden) // who prices does not also record the answer
	a := clerk.post(path, answer("decision", "", "name", "")).want(http.StatusUnprocessableEntity)
	if a.problem("decision") == "" || a.problem("name") == "" || a.typed("note") != "By telephone." {
		t.Errorf("reasons %q and %q, note %q", a.problem("decision"), a.problem("name"), a.value("note"))
	}
	clerk.post(path, answer("leave_out", "0")).want(http.StatusUnprocessableEntity) // the service can't be left out
	clerk.post(path, answer("revision", "9")).want(http.StatusUnprocessableEntity)
	clerk.post(path, answer("leave_out", "2")).want(http.StatusSeeOther)
	page := clerk.get("/dockets/" + number + "/estimate").want(http.StatusOK)
	if got := page.text("answer"); !strings.Contains(got, "Approved by عمر بن الخطاب at the counter") {
		t.Errorf("answer shown as %q", got)
	}
	if got := page.text("totals"); got != "Net €189.50 VAT 20 % €37.90 Total €227.40" {
		t.Errorf("agreed totals %q", got)
	}
	if got := cells(page.one("revision")); !strings.Contains(got[5], "Written down by Nuala Reed") || got[2] != "€227.40" {
		t.Errorf("history %q", got)
	}
	a = clerk.post(path, answer()).want(http.StatusUnprocessableEntity)
	if !strings.Contains(a.text("form-errors"), "answered already") {
		t.Errorf("told %q", a.text("form-errors"))
	}
	if f := s.sheet(number).Head.Facts; !f.Agreed() || f.TotalMinor != 22740 {
		t.Errorf("facts %+v", f)
	}
}

func TestNewRevisionFromTheLast(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.sent()
	bench := s.as(s.watchmaker)
	page := bench.get("/dockets/" + number + "/estimate").want(http.StatusOK)
	if len(page.all("estimate-form")) != 0 {
		t.Error("a sent revision can be edited")
	}
	page = bench.get(attr(page.one("revise"), "href")).want(http.StatusOK)
	if page.value("lines.1.description") != "Mainspring" || page.typed("note") != "The crystal stays." || !strings.Contains(page.text("editor"), "Revision 2") {
		t.Error("the new revision does not begin as the last one")
	}
	if len(page.all("revision")) != 1 {
		t.Error("looking at a new revision made one")
	}
	bench.post("/dockets/"+number+"/estimate", draftForm(s.version(number), service165)).want(http.StatusSeeOther)
	page = bench.get("/dockets/" + number + "/estimate")
	if got := cells(page.all("revision")[0]); got[0] != "2" || got[1] != "draft" {
		t.Errorf("history begins with %q", got)
	}
	bench.post("/dockets/"+number+"/estimate/discard", url.Values{"version": {s.version(number)}}).want(http.StatusSeeOther)
	if page = bench.get("/dockets/" + number + "/estimate"); len(page.all("revision")) != 1 {
		t.Error("the draft was not thrown away")
	}
	bench.post("/dockets/"+number+"/estimate/discard", url.Values{"version": {s.version(number)}}).want(http.StatusUnprocessableEntity)
}

func TestEstimatePaper(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.takeIn("name", "Mrs D'Arcy & <Sons>")
	bench, path := s.as(s.watchmaker), "/dockets/"+number+"/papers/estimate/1"
	bench.post("/dockets/"+number+"/estimate", draftForm(s.version(number), threeLines...)).want(http.StatusSeeOther)
	bench.get(path).want(http.StatusNotFound) // a draft is no paper
	s.send(number)
	page := bench.get(path).want(http.StatusOK)
	face := page.text("face-a4")
	for _, want := range []string{"Estimate, revision 1", number, "Mrs D'Arcy & <Sons>", "€299.40", "may be left out", "Thu 24 Dec 2026"} {
		if !strings.Contains(face, want) {
			t.Errorf("the paper does not say %q: %s", want, face)
		}
	}
	if got, want := page.text("paper-url"), bench.get("/dockets/"+number+"/estimate").text("private-link"); got != want {
		t.Errorf("the paper leads to %q, want %q", got, want)
	}
	pdf := bench.get(attr(page.one("pdf"), "href")).want(http.StatusOK)
	if pdf.header.Get("Content-Type") != "application/pdf" || !strings.HasPrefix(pdf.body, "%PDF-") {
		t.Errorf("sent as %s", pdf.header.Get("Content-Type"))
	}
	bench.get("/dockets/" + number + "/papers/estimate/2").want(http.StatusNotFound)
	bench.get("/dockets/" + number + "/papers/estimate/one").want(http.StatusNotFound)
	s.stranger().get(path + ".pdf").want(http.StatusSeeOther)

	clerk := s.as(s.clerk)
	clerk.post("/dockets/"+number+"/estimate/answer", url.Values{"version": {s.version(number)}, "revision": {"1"}, "decision": {"decline"}, "name": {"Ada"}}).want(http.StatusSeeOther)
	page = bench.get(path).want(http.StatusOK)
	if !strings.Contains(page.text("paper-answer"), "Declined by Ada") || len(page.all("paper-url")) != 0 {
		t.Error("an answered estimate still asks to be answered")
	}
}

func TestLinkIsMadeAndEnded(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.takeIn()
	clerk := s.as(s.clerk)
	link := func() string {
		page := clerk.get("/dockets/" + number + "/estimate").want(http.StatusOK)
		if len(page.all("private-link")) == 0 {
			return ""
		}
		return page.text("private-link")
	}
	if link() != "" {
		t.Error("a link before any was made")
	}
	clerk.post("/dockets/"+number+"/link", url.Values{"version": {s.version(number)}}).want(http.StatusSeeOther)
	first := link()
	clerk.post("/dockets/"+number+"/link", url.Values{"version": {s.version(number)}}).want(http.StatusSeeOther)
	if second := link(); second == first || second == "" {
		t.Errorf("remade %q as %q", first, second)
	}
	clerk.post("/dockets/"+number+"/link/end", url.Values{"version": {s.version(number)}}).want(http.StatusSeeOther)
	if page := clerk.get("/dockets/" + number + "/estimate"); len(page.all("private-link")) != 0 || !strings.Contains(page.text("link-ended"), "ended") {
		t.Error("an ended link is still handed out")
	}
	s.pass(time.Minute)
	if h := s.sheet(number).Head; h.Facts.Estimate != docket.EstimateNone {
		t.Errorf("links changed the estimate to %q", h.Facts.Estimate)
	}
}
