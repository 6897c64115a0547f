package e2e

import (
	"bytes"
	"encoding/csv"
	"maps"
	"net/http"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp/kb"

	"ledgerwheel/domain/staff"
	"ledgerwheel/e2e/browser"
)

// TestFromThePriceListToTheBooks follows one watch from the price list to the books: standard work, an estimate, its
// approval, which reserves; an order, of which first the wrong part comes; fitting, a deposit invoice, the invoice that
// takes it off, paid part in cash and part by card, a credit note with its refund, and a day that is closed with a difference.
// Then the export for book-keeping is added up anew.
func TestFromThePriceListToTheBooks(t *testing.T) {
	t.Parallel()
	shop := otherSite(t)
	m := &moneyJourney{t: t, shop: shop, owner: signedIn(t, shop, staff.Owner), bench: signedIn(t, shop, staff.Watchmaker), clerk: signedIn(t, shop, staff.Clerk)}
	m.standardWork()
	m.estimateAndDeposit()
	m.reserved()
	m.ordersOne()
	m.wrongThenRight()
	m.fitsAndFinishes()
	m.invoiced()
	m.credited()
	m.closesTheDay()
	m.booksAddUp()
}

// moneyJourney is one watch's.
type moneyJourney struct {
	t                   *testing.T
	shop                *program
	owner, bench, clerk *person
	number              string // of the docket
	spring              string // path of the part from the drawer
	order               string // path of the order
}

const (
	staffPart  = "Balance staff, turned to measure"
	springPart = "Setting lever spring"
)

// standardWork is a job of the price list and a part in the drawer.
func (m *moneyJourney) standardWork() {
	job := m.owner
	job.open("/prices/new")
	form := job.within("job-form")
	form.fillAll("code", "KEYLESS", "name", "Keyless work overhauled", "minutes", "60", "price", "180.00")
	form.press("save-job")
	job.sees("KEYLESS")

	m.bench.open("/stock/new")
	form = m.bench.within("part-form")
	form.fillAll("number", "SLS-77", "name", springPart, "drawer", "Z 9", "price", "24.00")
	form.press("save-part")
	m.spring = m.bench.path()
	m.bench.unfold(byTest("fold-receive"))
	form = m.bench.within("receive-form")
	form.fill("pieces", "1")
	form.press("receive")
	m.bench.sees(springPart)
}

// estimateAndDeposit drafts the estimate from the price list in a few keys, asks for a deposit, and has the customer approve.
func (m *moneyJourney) estimateAndDeposit() {
	m.number = m.clerk.takesIn(handedIn{customer: "Loveday Trevanion", phone: "01632 960 788", maker: "Shearwater", model: "Ebbing", serial: "SE 7 7714",
		complaint: "The hands cannot be set.", more: []string{"winding", "hand", "lume", "none"}})
	p := m.bench
	p.moves(m.number, move{to: "diagnosis", place: "bench", detail: "South bench"})
	p.readsCautions(m.number)
	p.findsWrong(m.number, "crown-and-stem", "lever spring broken", "require", "Replace.")
	p.moves(m.number, move{to: "estimate", place: "safe", reason: "It does not run as it came in."})
	for _, part := range [][]string{{"drawer", "SLS-77"}, {"description", staffPart, "reference", "BS 120", "supplier", "Coldharbour Watch Materials"}} {
		p.sheet(m.number, "parts")
		form := p.within("part-form")
		form.fillAll(part...)
		form.press("add-part")
	}
	p.sheet(m.number, "estimate")
	for n := p.count(byTest("editor-line")); n > 1; n-- {
		p.try(p.tab.Click(byTest("remove-1")))
		p.until(`document.querySelectorAll('` + byTest("editor-line") + `').length === ` + strconv.Itoa(n-1))
	}
	form := p.within("estimate-form")
	form.fillAll("lines.0.kind", "part", "lines.0.description", staffPart, "lines.0.quantity", "1", "lines.0.unit_price", "45.00")
	p.addsLine(2)
	form.fillAll("lines.1.kind", "part", "lines.1.description", springPart, "lines.1.quantity", "1", "lines.1.unit_price", "24.00")
	form.fill("job", "KEYLESS")
	p.try(p.tab.Keys(kb.Enter))
	p.until(`document.querySelector('[name="lines.2.description"]')?.value === "Keyless work overhauled"`)
	if got := p.value("lines.2.unit_price"); got != "180.00" {
		m.t.Errorf("the price list gave %q", got)
	}
	form.press("save-and-send")
	link := p.text(byTest("private-link"))
	stranger(m.t, m.shop).answers(link, "approve", "Loveday Trevanion", "")

	m.clerk.sheet(m.number, "invoices")
	m.clerk.unfold(byTest("fold-deposit"))
	form = m.clerk.within("deposit-form")
	form.fill("amount", "500")
	form.press("issue-deposit")
	m.clerk.refused("amount")
	form.fill("amount", "60.00")
	form.press("issue-deposit")
	m.clerk.within("issued").sees("Deposit invoice", "60.00")
	m.clerk.sheet(m.number, "hand-over")
	m.clerk.unfold(byTest("money"))
	m.clerk.unfold(byTest("fold-payment"))
	form = m.clerk.within("form-payment")
	form.fill("amount", "60.00")
	form.tick("method", "card")
	form.press("take-payment")
	m.clerk.sheet(m.number, "hand-over")
	m.clerk.sees("£249.00 in total, £60.00 paid")
}

// reserved: the approval holds back the piece of the drawer.
func (m *moneyJourney) reserved() {
	m.bench.open(m.spring)
	m.bench.within("held").sees(m.number)
}

// ordersOne orders what the docket needs and no drawer has.
func (m *moneyJourney) ordersOne() {
	p := m.bench
	p.open("/orders/needs")
	p.js(`document.querySelectorAll('[name="need"]').forEach(b => b.checked = b.getAttribute("aria-label").includes(` + quoted(staffPart) + `))`)
	if n := p.count(`[name="need"]:checked`); n != 1 {
		m.t.Fatalf("%d needs of %s", n, staffPart)
	}
	p.press("gather")
	p.sees("Coldharbour")
	if !strings.HasPrefix(p.path(), "/orders/") || p.path() == "/orders/needs" {
		p.follow(`main a[href^="/orders/"]`)
	}
	m.order = p.path()
	form := p.within("draft-form")
	form.fill("way", "telephone")
	form.press("send")
	p.within("standing").sees(staffPart)
}

// wrongThenRight books in another part than was ordered, as what it is, and then the right one.
func (m *moneyJourney) wrongThenRight() {
	p := m.bench
	p.open(m.order)
	p.unfold(byTest("fold-wrong"))
	form := p.within("wrong-form")
	p.js(`document.querySelector('[data-testid="wrong-form"] [name="line"]').selectedIndex = 1`)
	form.fillAll("pieces", "1", "note", "A staff for the larger calibre")
	form.tick("fate", "sent-back")
	form.press("wrong")
	p.sees("A staff for the larger calibre")
	p.open(m.order)
	p.within("came-form").sees("of 1")
	p.js(`document.querySelector('[name^="pieces."]').value = "1"`)
	p.press("book-in")
	p.sheet(m.number, "parts")
	p.sees(staffPart, "arrived")
}

// fitsAndFinishes fits both and takes the watch to ready.
func (m *moneyJourney) fitsAndFinishes() {
	p := m.bench
	p.moves(m.number, move{to: "service", place: "bench", detail: "South bench"})
	for range 2 {
		p.sheet(m.number, "parts")
		p.follow(`button[data-testid^="fit-"]`)
	}
	p.open(m.spring)
	if p.has(byTest("held")) {
		m.t.Error("what was fitted is still held back")
	}
	p.works(m.number, "clean", "lubricate")
	p.moves(m.number, move{to: "regulation", place: "bench", detail: "South bench"})
	p.measures(m.number, "final", soundReadings)
	p.moves(m.number, move{to: "final-test", place: "bench", detail: "South bench"})
	p.tests(m.number)
	p.moves(m.number, move{to: "ready", place: "safe"})
}

// invoiced issues the invoice: £180.00, £45.00 and £24.00, less the deposit of £60.00. It is paid £65.00 by card and the rest in cash.
func (m *moneyJourney) invoiced() {
	p := m.clerk
	p.sheet(m.number, "invoices")
	p.within("bill").sees("189.00", staffPart)
	p.press("issue-bill")
	p.within("issued").sees("189.00")
	p.sheet(m.number, "hand-over")
	form := p.within("leave-form")
	p.js(`document.querySelector('[name="pay"][value="several"]').click()`)
	form.fillAll("given-card", "65", "given-cash", "140")
	form.fill("ticket", m.number)
	form.tick("old_parts", "none")
	form.press("hand-over")
	p.within("left").sees("Loveday Trevanion")
}

// credited takes £20.00 off the invoice, and gives it back by the way that it came.
func (m *moneyJourney) credited() {
	p := m.owner
	p.sheet(m.number, "invoices")
	p.follow(`[data-testid="issued"] a[href*="/credit"]`)
	form := p.within("credit-form")
	form.fillAll("amount", "2000", "why", "The hands were scratched when they were set.")
	form.press("issue-credit")
	p.refused("amount")
	form.fill("amount", "20.00")
	form.press("issue-credit")
	p.within("issued").sees("Credit note", "20.00")
	p.sheet(m.number, "hand-over")
	p.unfold(byTest("money"))
	p.unfold(byTest("fold-refund"))
	form = p.within("form-refund")
	form.fillAll("amount", "20.00", "note", "By the credit note.")
	form.tick("method", "card")
	form.press("give-back")
	p.sheet(m.number, "hand-over")
	p.sees("£229.00 in total, £229.00 paid")
}

// closesTheDay counts the till three pounds short, and closes the day. Who takes cash meanwhile in another journey has it counted again.
func (m *moneyJourney) closesTheDay() {
	p := m.clerk
	const short = "£3.00 too little"
	for again := range 8 {
		p.open("/till")
		p.within("taken").sees("Cash", "Card")
		book := amountIn(m.t, p.text(byTest("cash")))
		p.press("to-count")
		p.follow(byTest("by-sum"))
		form := p.within("count-form")
		form.fill("counted", strconv.FormatFloat(float64(book-300)/100, 'f', 2, 64))
		form.press("compare")
		if !strings.Contains(p.text(byTest("compared")), "3.00") {
			continue
		}
		if again == 0 {
			form.press("close-day")
			p.refused("why")
		}
		form.fill("why", "Change for the parking meter, by all likelihood.")
		form.press("close-day")
		p.open("/till")
		if strings.Contains(p.text(byTest("closed-days")), short) {
			return
		}
	}
	m.t.Errorf("the day is not closed: %s", p.text(byTest("closed-days")))
}

// amountIn is the last amount of a text, in minor units.
func amountIn(t *testing.T, said string) int64 {
	t.Helper()
	last := int64(0)
	for _, word := range strings.Fields(strings.ReplaceAll(said, ",", "")) {
		if number, ok := strings.CutPrefix(word, "£"); ok {
			f, err := strconv.ParseFloat(number, 64)
			if err != nil {
				t.Fatal(err)
			}
			last = int64(f*100 + 0.5)
		}
	}
	return last
}

// booksAddUp reads the day's export as a book-keeper's program would, and adds up anew, by hand, what this watch put into it:
// £249.00 with 20 % in them were billed, of which £60.00 as a deposit, and £20.00 credited.
func (m *moneyJourney) booksAddUp() {
	p := m.owner
	p.sheet(m.number, "invoices")
	documents, err := browser.Eval[[]string](p.tab, `[...document.querySelectorAll('[data-testid="issued-table"] tbody tr')].map(r => r.cells[0].textContent.trim())`)
	p.try(err)
	if len(documents) != 3 {
		m.t.Fatalf("%d documents were issued: %q", len(documents), documents)
	}
	vouchers := map[string]bool{m.number: true}
	for _, d := range documents {
		vouchers[strings.Fields(d)[0]] = true
	}
	zone, err := time.LoadLocation("Europe/London")
	p.try(err)
	res, body := p.get("/books/" + time.Now().In(zone).Format(time.DateOnly) + "/lines.csv")
	if res.StatusCode != http.StatusOK {
		m.t.Fatalf("the export: %s", res.Status)
	}
	rows, err := csv.NewReader(bytes.NewReader(body)).ReadAll()
	p.try(err)
	sides, ours := map[string]int64{}, map[string]int64{}
	for _, row := range rows[1:] {
		voucher, account, minor := row[1], row[4], pence(m.t, row[5])-pence(m.t, row[6])
		sides[voucher] += minor
		if vouchers[voucher] {
			ours[account] += minor
		}
	}
	for voucher, rest := range sides {
		if rest != 0 {
			m.t.Errorf("voucher %s is out of balance by %d", voucher, rest)
		}
	}
	want := map[string]int64{"Customers": 0, "Deposits of customers": 0, "Card terminal": 6000 + 6500 - 2000, "Till": 24900 - 6000 - 6500,
		"Repairs, 20 %": -(20750 - 1667), "VAT 20 %": -(4150 - 333)}
	if !maps.Equal(ours, want) {
		m.t.Errorf("the export has of this watch\n%v, want\n%v", ours, want)
	}
}

// pence reads an amount of the export.
func pence(t *testing.T, typed string) int64 {
	t.Helper()
	if typed == "" {
		return 0
	}
	minor, err := strconv.ParseInt(strings.Replace(typed, ".", "", 1), 10, 64)
	if err != nil {
		t.Fatal(err)
	}
	return minor
}
