package estimates_test

import (
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/html"

	"ledgerwheel/domain/diagnosis"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/store"
	"ledgerwheel/web/webtest"
)

// cells are the texts of a row of a table.
func cells(n *html.Node) []string {
	var out []string
	for d := range n.Descendants() {
		if d.Type == html.ElementNode && (d.Data == "td" || d.Data == "th") {
			out = append(out, webtest.TextOf(d))
		}
	}
	return out
}

func TestEstimateIsPricedSentAndShown(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.TakeIn()
	bench := s.As(s.Watchmaker)
	bench.Post("/dockets/"+number+"/estimate", webtest.DraftForm(s.Version(number),
		webtest.ThreeLines...)).Want(http.StatusSeeOther)
	page := bench.Get("/dockets/" + number + "/estimate").Want(http.StatusOK)
	if got := page.Text("totals"); got != "Net €249.50 VAT 20 % €49.90 Total €299.40" {
		t.Errorf("totals %q", got)
	}
	if got := page.Value("lines.1.unit_price"); got != "24.50" {
		t.Errorf("unit price shown again as %q", got)
	}
	if got := page.Text("amount-2"); got != "€60.00" {
		t.Errorf("1.5 at 40.00 shown as %q", got)
	}

	// The clerk can't price but may send what was priced.
	clerk := s.As(s.Clerk)
	page = clerk.Get("/dockets/" + number + "/estimate").Want(http.StatusOK)
	if len(page.All("estimate-form")) != 0 {
		t.Error("the clerk is offered the editor")
	}
	clerk.Post("/dockets/"+number+"/estimate", webtest.DraftForm(s.Version(number),
		webtest.Service165)).Want(http.StatusForbidden)
	clerk.Post("/dockets/"+number+"/estimate/send", url.Values{"version": {page.Hidden("version")},
		"revision": {page.Hidden("revision")}}).Want(http.StatusSeeOther)
	page = clerk.Get("/dockets/" + number + "/estimate").Want(http.StatusOK)
	if got := cells(page.All("line")[2]); got[0] != "Polish may be left out" || got[4] != "€60.00" {
		t.Errorf("line shown as %q", got)
	}
	if got := page.Text("limit"); !strings.Contains(got, "up to €150.00") || !strings.Contains(got, "above it") {
		t.Errorf("299.40 against a limit of 150.00 shown as %q", got)
	}
	address := page.Text("private-link")
	if !strings.HasPrefix(address, "http://ledger.example/c/") {
		t.Errorf("private link %q", address)
	}
	if got := page.Value("message"); !strings.Contains(got, address) || !strings.Contains(got, "Ada Quillmarsh") ||
		!strings.Contains(got, "€299.40") || !strings.Contains(got, "revision 1") {
		t.Errorf("message %q", got)
	}
	if !strings.Contains(page.Body, "barcode-qr") {
		t.Error("the link is not shown as a code")
	}
	if got := cells(page.One("revision")); got[0] != "1" || got[1] != "waiting for the customer" ||
		!strings.Contains(got[3], "Emrys Vale") || !strings.Contains(got[4], "Nuala Reed") {
		t.Errorf("history %q", got)
	}
	for _, c := range []*webtest.Client{bench, clerk, s.As(s.Owner)} {
		if trips := s.Trips(c, "/dockets/"+number+"/estimate"); trips > 4 {
			t.Errorf("%d round trips", trips)
		}
	}
}

func TestEditorWithoutScripts(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.TakeIn()
	bench := s.As(s.Watchmaker)
	path := "/dockets/" + number + "/estimate"
	f := webtest.DraftForm(s.Version(number), webtest.Service165, webtest.PricedLine{"part", "half typed <", "", "", ""})
	f.Set("do", "add")
	page := bench.Post(path, f).Want(http.StatusOK)
	if n := len(page.All("editor-line")); n != 3 || page.Hidden("rows") != "3" {
		t.Fatalf("%d lines, rows %s; want three", n, page.Hidden("rows"))
	}
	if page.Value("lines.1.description") != "half typed <" || page.Typed("note") != "The crystal stays." ||
		page.Value("valid_until") != "2026-12-24" {
		t.Error("what was typed is lost")
	}
	if got := page.Text("totals"); got != "Net €165.00 VAT 20 % €33.00 Total €198.00" || len(page.All("unread")) != 1 {
		t.Errorf("totals %q", got)
	}
	f.Set("do", "remove:0")
	page = bench.Post(path, f).Want(http.StatusOK)
	if n := len(page.All("editor-line")); n != 1 || page.Value("lines.0.description") != "half typed <" {
		t.Errorf("%d lines left, the first %q", n, page.Value("lines.0.description"))
	}
	f.Set("do", "remove:7")
	bench.Post(path, f).Want(http.StatusBadRequest)
	f.Set("do", "recount")
	f.Set("rows", "100000")
	bench.Post(path, f).Want(http.StatusBadRequest)
	f.Set("rows", "2")
	page = bench.Post(path, f).Want(http.StatusOK)
	if len(page.All("revision")) != 0 {
		t.Error("working out the totals saved something")
	}
}

func TestEstimateRefusals(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.TakeIn()
	bench := s.As(s.Watchmaker)
	path := "/dockets/" + number + "/estimate"
	f := webtest.DraftForm(s.Version(number), webtest.Service165, webtest.PricedLine{}, webtest.PricedLine{"labour",
		"Polish", "0", "one hundred", "120"})
	f.Set("valid_until", "")
	page := bench.Post(path, f).Want(http.StatusUnprocessableEntity)
	for _, field := range []string{"lines.2.quantity", "lines.2.unit_price", "lines.2.tax_rate", "valid_until"} {
		if page.Problem(field) == "" {
			t.Errorf("no reason beside %s", field)
		}
	}
	if page.Problem("lines.1.description") != "" {
		t.Error("a blank line is complained of")
	}
	if got := page.Value("lines.2.unit_price"); got != "one hundred" {
		t.Errorf("price shown again as %q", got)
	}
	page = bench.Post(path, webtest.DraftForm(s.Version(number))).Want(http.StatusUnprocessableEntity)
	if !strings.Contains(page.Text("form-errors"), "at least one line") {
		t.Errorf("told %q", page.Text("form-errors"))
	}
	// More discount than the rest comes to.
	page = bench.Post(path, webtest.DraftForm(s.Version(number), webtest.Service165, webtest.PricedLine{"discount",
		"Goodwill", "1", "200", "20"})).Want(http.StatusUnprocessableEntity)
	if !strings.Contains(page.Text("lines-error"), "discounts") {
		t.Errorf("told %q", page.Text("lines-error"))
	}
	f = webtest.DraftForm(s.Version(number), webtest.Service165)
	f.Set("do", "send")
	f.Set("valid_until", "2026-11-23") // yesterday
	page = bench.Post(path, f).Want(http.StatusUnprocessableEntity)
	if page.Problem("valid_until") == "" {
		t.Error("an estimate was sent after its last day")
	}
	f = webtest.DraftForm("one", webtest.Service165)
	bench.Post(path, f).Want(http.StatusBadRequest)
	if page := bench.Get(path); len(page.All("revision")) != 0 {
		t.Error("a refusal saved something")
	}
	bench.Get("/dockets/26-00099-Q/estimate").Want(http.StatusNotFound)
}

func TestTwoPriceTheSameDocket(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.TakeIn()
	path := "/dockets/" + number + "/estimate"
	version := s.Version(number)
	s.As(s.Owner).Post(path, webtest.DraftForm(version, webtest.Service165)).Want(http.StatusSeeOther)
	second := webtest.DraftForm(version, webtest.PricedLine{"labour", "Only a clean", "1", "90", "20"})
	a := s.As(s.Watchmaker).Post(path, second).Want(http.StatusConflict)
	if !strings.Contains(a.Text("conflict-typed"), "Only a clean") || !strings.Contains(a.Text("conflict-changes"),
		"Ottilie Brandt") {
		t.Errorf("the page says %q and %q", a.Text("conflict-changes"), a.Text("conflict-typed"))
	}
	if got := a.Text("conflict-typed"); !strings.Contains(got, "Line 1 labour: Only a clean, 1 × 90, tax 20 %") ||
		strings.Contains(got, "Rows") {
		t.Errorf("what was typed is shown as %q", got)
	}
	// Doing it anyway replaces the draft.
	second.Set("version", a.Hidden("version"))
	s.As(s.Watchmaker).Post(path, second).Want(http.StatusSeeOther)
	if got := s.As(s.Watchmaker).Get(path).Value("lines.0.description"); got != "Only a clean" {
		t.Errorf("the draft says %q", got)
	}
}

func TestSuggestionsFromFindingsAndParts(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.TakeIn()
	change := store.Change{Number: s.Number(number), By: s.Actor(s.Watchmaker), At: s.Clock()}
	for _, f := range []diagnosis.Finding{
		{Component: diagnosis.Mainspring, Fault: "broken", Severity: diagnosis.Require},
		{Component: diagnosis.CrownAndStem, Fault: "crown worn", Severity: diagnosis.Advise},
		{Component: diagnosis.Train, Fault: "dirty", Severity: diagnosis.Observe},
	} {
		if _, err := s.Store.AddFinding(t.Context(), change, f); err != nil {
			t.Fatal(err)
		}
	}
	bench := s.As(s.Watchmaker)
	page := bench.Get("/dockets/" + number + "/estimate").Want(http.StatusOK)
	if len(page.All("editor-line")) != 2 || page.Value("lines.0.description") != "Mainspring: broken" ||
		len(page.All("suggested")) != 1 {
		t.Errorf("%d lines suggested, the first %q", len(page.All("editor-line")), page.Value("lines.0.description"))
	}
	if webtest.HasAttr(page.One("lines.0.optional").Attr, "checked") || !webtest.HasAttr(page.One("lines.1.optional").Attr,
		"checked") {
		t.Error("what must be mended is no option; what should be is one")
	}
	f := webtest.DraftForm(s.Version(number), webtest.PricedLine{"labour", "Mainspring: broken", "1", "60", "20"})
	f.Set("do", "suggest")
	page = bench.Post("/dockets/"+number+"/estimate", f).Want(http.StatusOK)
	if len(page.All("editor-line")) != 2 || page.Value("lines.0.unit_price") != "60" {
		t.Error("suggesting again doubles lines or loses prices")
	}
}

func TestApprovalLimitIsShown(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.TakeIn("approval_limit", "200")
	bench := s.As(s.Watchmaker)
	f := webtest.DraftForm(s.Version(number), webtest.Service165) // 198.00 with tax
	f.Set("do", "recount")
	page := bench.Post("/dockets/"+number+"/estimate", f).Want(http.StatusOK)
	if !strings.Contains(page.Text("editor"), "up to €200.00") || len(page.All("within")) != 1 {
		t.Error("198.00 is not shown to lie within the limit of 200.00")
	}
	f.Set("lines.0.unit_price", "166.67") // 200.004, rounded 200.00
	if page = bench.Post("/dockets/"+number+"/estimate", f); len(page.All("within")) != 1 {
		t.Error("200.00 is within a limit of 200.00")
	}
	f.Set("lines.0.unit_price", "166.68") // 200.016, rounded 200.02: 166.68 and tax of 33.34
	if page = bench.Post("/dockets/"+number+"/estimate", f); len(page.All("within")) != 0 {
		t.Error("200.02 is within a limit of 200.00")
	}
}

func TestAnswerAtTheCounter(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.Sent()
	path := "/dockets/" + number + "/estimate/answer"
	bench, clerk := s.As(s.Watchmaker), s.As(s.Clerk)
	answer := func(fields ...string) url.Values {
		f := url.Values{"version": {s.Version(number)}, "revision": {"1"}, "decision": {"approve"}, "name": {"عمر بن الخطاب"},
			"note": {"By telephone."}}
		for i := 0; i < len(fields); i += 2 {
			f.Set(fields[i], fields[i+1])
		}
		return f
	}
	bench.Post(path, answer()).Want(http.StatusForbidden) // who prices does not also record the answer
	a := clerk.Post(path, answer("decision", "", "name", "")).Want(http.StatusUnprocessableEntity)
	if a.Problem("decision") == "" || a.Problem("name") == "" || a.Typed("note") != "By telephone." {
		t.Errorf("reasons %q and %q, note %q", a.Problem("decision"), a.Problem("name"), a.Value("note"))
	}
	clerk.Post(path, answer("leave_out", "0")).Want(http.StatusUnprocessableEntity) // the service can't be left out
	clerk.Post(path, answer("revision", "9")).Want(http.StatusUnprocessableEntity)
	clerk.Post(path, answer("leave_out", "2")).Want(http.StatusSeeOther)
	page := clerk.Get("/dockets/" + number + "/estimate").Want(http.StatusOK)
	if got := page.Text("answer"); !strings.Contains(got, "Approved by عمر بن الخطاب at the counter") {
		t.Errorf("answer shown as %q", got)
	}
	if got := page.Text("totals"); got != "Net €189.50 VAT 20 % €37.90 Total €227.40" {
		t.Errorf("agreed totals %q", got)
	}
	if got := cells(page.One("revision")); !strings.Contains(got[5], "Written down by Nuala Reed") || got[2] != "€227.40" {
		t.Errorf("history %q", got)
	}
	a = clerk.Post(path, answer()).Want(http.StatusUnprocessableEntity)
	if !strings.Contains(a.Text("form-errors"), "answered already") {
		t.Errorf("told %q", a.Text("form-errors"))
	}
	if f := s.Sheet(number).Head.Facts; !f.Agreed() || f.TotalMinor != 22740 {
		t.Errorf("facts %+v", f)
	}
}

func TestNewRevisionFromTheLast(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.Sent()
	bench := s.As(s.Watchmaker)
	page := bench.Get("/dockets/" + number + "/estimate").Want(http.StatusOK)
	if len(page.All("estimate-form")) != 0 {
		t.Error("a sent revision can be edited")
	}
	page = bench.Get(webtest.Attr(page.One("revise"), "href")).Want(http.StatusOK)
	if page.Value("lines.1.description") != "Mainspring" || page.Typed("note") != "The crystal stays." ||
		!strings.Contains(page.Text("editor"), "Revision 2") {
		t.Error("the new revision does not begin as the last one")
	}
	if len(page.All("revision")) != 1 {
		t.Error("looking at a new revision made one")
	}
	bench.Post("/dockets/"+number+"/estimate", webtest.DraftForm(s.Version(number),
		webtest.Service165)).Want(http.StatusSeeOther)
	page = bench.Get("/dockets/" + number + "/estimate")
	if got := cells(page.All("revision")[0]); got[0] != "2" || got[1] != "draft" {
		t.Errorf("history begins with %q", got)
	}
	bench.Post("/dockets/"+number+"/estimate/discard",
		url.Values{"version": {s.Version(number)}}).Want(http.StatusSeeOther)
	if page = bench.Get("/dockets/" + number + "/estimate"); len(page.All("revision")) != 1 {
		t.Error("the draft was not thrown away")
	}
	bench.Post("/dockets/"+number+"/estimate/discard",
		url.Values{"version": {s.Version(number)}}).Want(http.StatusUnprocessableEntity)
}

func TestEstimatePaper(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.TakeIn("name", "Mrs D'Arcy & <Sons>")
	bench, path := s.As(s.Watchmaker), "/dockets/"+number+"/papers/estimate/1"
	bench.Post("/dockets/"+number+"/estimate", webtest.DraftForm(s.Version(number),
		webtest.ThreeLines...)).Want(http.StatusSeeOther)
	bench.Get(path).Want(http.StatusNotFound) // a draft is no paper
	s.Send(number)
	page := bench.Get(path).Want(http.StatusOK)
	face := page.Text("reading-a4")
	for _, want := range []string{"Revision 1", number, "Mrs D'Arcy & <Sons>", "€299.40", "may be left out",
		"Thu 24 Dec 2026"} {
		if !strings.Contains(face, want) {
			t.Errorf("the paper does not say %q: %s", want, face)
		}
	}
	if got, want := page.Text("paper-url"), bench.Get("/dockets/"+number+"/estimate").Text("private-link"); got != want {
		t.Errorf("the paper leads to %q, want %q", got, want)
	}
	pdf := bench.Get(webtest.Attr(page.One("pdf"), "href")).Want(http.StatusOK)
	if pdf.Header.Get("Content-Type") != "application/pdf" || !strings.HasPrefix(pdf.Body, "%PDF-") {
		t.Errorf("sent as %s", pdf.Header.Get("Content-Type"))
	}
	bench.Get("/dockets/" + number + "/papers/estimate/2").Want(http.StatusNotFound)
	bench.Get("/dockets/" + number + "/papers/estimate/one").Want(http.StatusNotFound)
	s.Stranger().Get(path + ".pdf").Want(http.StatusSeeOther)

	clerk := s.As(s.Clerk)
	clerk.Post("/dockets/"+number+"/estimate/answer", url.Values{"version": {s.Version(number)}, "revision": {"1"},
		"decision": {"decline"}, "name": {"Ada"}}).Want(http.StatusSeeOther)
	page = bench.Get(path).Want(http.StatusOK)
	if !strings.Contains(page.Text("paper-answer"), "Declined by Ada") || len(page.All("paper-url")) != 0 {
		t.Error("an answered estimate still asks to be answered")
	}
}

func TestLinkIsMadeAndEnded(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.TakeIn()
	clerk := s.As(s.Clerk)
	link := func() string {
		page := clerk.Get("/dockets/" + number + "/estimate").Want(http.StatusOK)
		if len(page.All("private-link")) == 0 {
			return ""
		}
		return page.Text("private-link")
	}
	if link() != "" {
		t.Error("a link before any was made")
	}
	clerk.Post("/dockets/"+number+"/link", url.Values{"version": {s.Version(number)}}).Want(http.StatusSeeOther)
	first := link()
	clerk.Post("/dockets/"+number+"/link", url.Values{"version": {s.Version(number)}}).Want(http.StatusSeeOther)
	if second := link(); second == first || second == "" {
		t.Errorf("remade %q as %q", first, second)
	}
	clerk.Post("/dockets/"+number+"/link/end", url.Values{"version": {s.Version(number)}}).Want(http.StatusSeeOther)
	if page := clerk.Get("/dockets/" + number + "/estimate"); len(page.All("private-link")) != 0 ||
		!strings.Contains(page.Text("link-ended"), "ended") {
		t.Error("an ended link is still handed out")
	}
	s.Pass(time.Minute)
	if h := s.Sheet(number).Head; h.Facts.Estimate != docket.EstimateNone {
		t.Errorf("links changed the estimate to %q", h.Facts.Estimate)
	}
}

// A price that can mean two things is refused with both readings, and kept as typed.
func TestTwofoldPriceIsRefused(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.TakeIn()
	for _, typed := range []string{"1.500", "95.125"} {
		line := slices.Clone(webtest.Service165)
		line[3] = typed
		form := webtest.DraftForm(s.Version(number), line)
		page := s.As(s.Watchmaker).Post("/dockets/"+number+"/estimate", form).Want(http.StatusUnprocessableEntity)
		if got := page.Problem("lines.0.unit_price"); !strings.Contains(got, "can be read as") {
			t.Errorf("%s: %q", typed, got)
		}
		if got := page.Value("lines.0.unit_price"); got != typed {
			t.Errorf("%s is shown again as %q", typed, got)
		}
	}
}

// A number of the catalogue that is typed into a line makes it that part's, with its price under the draft's rule, and approval
// needs the part; the line says so, and can be unlinked. Nothing turns into a part while it is typed.
func TestACatalogueNumberMakesALineThatParts(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.TakeIn()
	bench := s.As(s.Watchmaker)
	bench.Post("/stock/new", url.Values{"number": {"MS-120"}, "name": {"Mainspring"}, "unit": {"piece"}, "price": {"24"}, "includes_tax": {"yes"},
		"tax_rate": {"20"}}).Want(http.StatusSeeOther)
	path := "/dockets/" + number + "/estimate"
	f := webtest.DraftForm(s.Version(number), webtest.PricedLine{"labour", "ms-120", "2", "", ""}, webtest.PricedLine{"labour", "MS-1201", "1", "9", "20"},
		webtest.PricedLine{"part", "MS-120", "1", "30", "8"})
	f.Set("do", "follow")
	if page := bench.Post(path, f).Want(http.StatusOK); page.Value("lines.0.description") != "ms-120" {
		t.Errorf("while it is typed it turns into %q", page.Value("lines.0.description"))
	}
	f.Set("do", "recount")
	page := bench.Post(path, f).Want(http.StatusOK)
	for field, want := range map[string]string{"lines.0.description": "Mainspring", "lines.0.unit_price": "20.00", "lines.0.quantity": "2",
		"lines.1.description": "MS-1201", "lines.2.description": "Mainspring", "lines.2.unit_price": "30"} {
		if got := page.Value(field); got != want { // 24 with 20 % is 20 without
			t.Errorf("%s is %q, want %q", field, got, want)
		}
	}
	if len(page.All("part-0")) != 1 || len(page.All("part-1")) != 0 || len(page.All("part-2")) != 1 {
		t.Error("the lines don't say which are the catalogue's")
	}
	f = webtest.DraftForm(s.Version(number), webtest.PricedLine{"part", "Mainspring", "2", "20", "20"}, webtest.PricedLine{"part", "Mainspring", "1", "30", "8"})
	f.Set("lines.0.part", "1")
	f.Set("lines.1.part", "1")
	f.Set("do", "unlink:1")
	if page = bench.Post(path, f).Want(http.StatusOK); len(page.All("part-0")) != 1 || len(page.All("part-1")) != 0 || page.Hidden("lines.0.part") != "1" {
		t.Error("the second line is not unlinked")
	}
	f = webtest.DraftForm(s.Version(number), webtest.PricedLine{"labour", "ms-120", "2", "", ""}, webtest.PricedLine{"part", "Mainspring", "1", "30", "8"})
	f.Set("do", "save")
	bench.Post(path, f).Want(http.StatusSeeOther)
	sheet, err := s.Store.EstimateSheet(t.Context(), s.Number(number))
	if err != nil {
		t.Fatal(err)
	}
	lines := sheet.Estimate.Revisions[0].Lines
	if len(lines) != 2 || lines[0].PartID != 1 || lines[0].Kind != estimate.Part || lines[0].UnitMinor != 2000 || lines[1].PartID != 0 {
		t.Errorf("saved: %+v", lines)
	}
	if got := estimate.NeededParts(lines, map[int64]int{}); len(got) != 1 || got[0].PartID != 1 || got[0].Quantity != 2 {
		t.Errorf("approved, it needs %+v", got)
	}
}

// A job of the price list comes onto the estimate by its code and Enter, with its usual parts, without tax as the draft is priced;
// what can't be found is said beside the field, and keeps what was typed.
func TestJobsComeOntoTheEstimate(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.TakeIn()
	owner, bench := s.As(s.Owner), s.As(s.Watchmaker)
	for code, name := range map[string]string{"FS": "Full service, manual", "FSA": "Full service, automatic"} {
		owner.Post("/prices/new", url.Values{"code": {code}, "name": {name}, "kind": {"labour"}, "minutes": {"240"}, "price": {"185"}, "tax_rate": {"20"},
			"from": {"2026-01-01"}, "parts": {"Mainspring\ncrown?"}}).Want(http.StatusSeeOther)
	}
	owner.Post("/prices/new", url.Values{"code": {"WT"}, "name": {"Water test"}, "kind": {"labour"}, "price": {"20"}, "from": {"2099-01-01"}}).Want(http.StatusSeeOther)
	path := "/dockets/" + number + "/estimate"
	f := webtest.DraftForm(s.Version(number), webtest.Service165, webtest.PricedLine{})
	f.Set("do", "recount") // as Enter does
	f.Set("job", "fs")
	page := bench.Post(path, f).Want(http.StatusOK)
	if n := len(page.All("editor-line")); n != 4 || page.Value("lines.1.description") != "Full service, manual" || page.Value("lines.1.unit_price") != "154.17" ||
		page.Value("lines.2.description") != "Mainspring" || page.Value("lines.2.unit_price") != "" || page.Value("job") != "" {
		t.Errorf("%d lines: %q at %q, %q at %q", n, page.Value("lines.1.description"), page.Value("lines.1.unit_price"), page.Value("lines.2.description"),
			page.Value("lines.2.unit_price"))
	}
	for typed, want := range map[string]string{"glass": "No job", "full": "FS, FSA", "wt": "no price today"} {
		for _, do := range []string{"job", "recount"} {
			f.Set("do", do)
			f.Set("job", typed)
			page := bench.Post(path, f).Want(http.StatusOK)
			if got := page.Problem("job"); !strings.Contains(got, want) || page.Value("job") != typed {
				t.Errorf("%q: %q, the field has %q", typed, got, page.Value("job"))
			}
		}
	}
	f.Set("do", "save")
	if page := bench.Post(path, f).Want(http.StatusUnprocessableEntity); page.Problem("job") == "" {
		t.Error("saved without the job that was typed")
	}
	f.Set("do", "follow") // totals beside what is typed
	f.Set("job", "fs")
	if page := bench.Post(path, f).Want(http.StatusOK); len(page.All("editor-line")) != 2 {
		t.Error("a job was put on while it was typed")
	}
}
