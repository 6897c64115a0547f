package handover_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/visit"
	"ledgerwheel/web/webtest"
)

// party is a visit of three watches, 120 euros due for each: two are ready, the third is at its final test.
type party struct {
	*webtest.Leaving
	numbers []string
	path    string
}

func newParty(t *testing.T) *party {
	t.Helper()
	p := &party{Leaving: webtest.NewLeaving(t)}
	p.Ready()
	p.numbers = append(p.numbers, p.N.String())
	for _, serial := range []string{"HM-2", "HM-3"} {
		p.Another("Skiff", serial)
		p.numbers = append(p.numbers, p.N.String())
		if serial == "HM-2" {
			p.Ready()
		}
	}
	p.path = "/visits/" + visit.Number(p.Sheet(p.N.String()).Head.VisitID).String() + "/hand-over"
	return p
}

// form hands these over by card, as the page sends it now.
func (p *party) form(numbers []string, changes ...string) url.Values {
	f := url.Values{"collected_by": {"Ada Quillmarsh"}, "ticket": {strings.Split(p.path, "/")[2]}, "pay": {"card"}}
	for _, n := range numbers {
		f.Set("go-"+n, "yes")
		f.Set("version-"+n, p.Version(n))
	}
	for i := 0; i < len(changes); i += 2 {
		f.Set(changes[i], changes[i+1])
	}
	return f
}

func (p *party) gone(number string) bool { return p.Sheet(number).Head.Docket.Closed() }

// The page lists all watches of the ticket: which go and which stay, and why, and what is due for those ticked. It is where the
// hand-over of each leads, unless one is asked for alone. Two go by one press, and receipt and cards name each.
func TestWatchesOfOneTicketAreHandedOverTogether(t *testing.T) {
	t.Parallel()
	p := newParty(t)
	clerk := p.As(p.Clerk)
	if to := clerk.Get("/dockets/" + p.numbers[0] + "/hand-over").Want(http.StatusSeeOther).Location(); to != p.path {
		t.Fatalf("the hand-over of the first leads to %s, want %s", to, p.path)
	}
	if got := clerk.Get("/dockets/" + p.numbers[0] + "/hand-over?alone=yes").Want(http.StatusOK); !strings.Contains(got.Text("also-"+p.numbers[1]), "hand over together") ||
		!strings.Contains(got.Text("also-"+p.numbers[2]), "final test") {
		t.Errorf("alone, beside it stands %q and %q", got.Text("also-"+p.numbers[1]), got.Text("also-"+p.numbers[2]))
	}
	clerk.Get("/dockets/" + p.numbers[2] + "/hand-over").Want(http.StatusOK) // which stays: nothing to hand over with it

	page := clerk.Get(p.path).Want(http.StatusOK)
	if got := page.Text("leave-due"); got != "€240.00" {
		t.Errorf("due for both: %q", got)
	}
	for _, n := range p.numbers[:2] {
		if len(page.All("go-"+n)) == 0 || !strings.Contains(page.Text("watch-"+n), "€120.00") {
			t.Errorf("%s: %q", n, page.Text("watch-"+n))
		}
	}
	if len(page.All("go-"+p.numbers[2])) > 0 || !strings.Contains(page.Text("watch-"+p.numbers[2]), "final test") {
		t.Errorf("the third: %q", page.Text("watch-"+p.numbers[2]))
	}
	said := clerk.Get(p.path + "/sum?go-" + p.numbers[0] + "=yes&pay=cash&given-cash=150").Want(http.StatusOK)
	if got := said.Text("leave-due"); got != "€120.00" || !strings.Contains(said.Text("change"), "€30.00") {
		t.Errorf("for one of them: %q, %q", got, said.Text("change"))
	}

	checked := clerk.Post(p.path, p.form(p.numbers[:1], "do", "check", "pay", "")).Want(http.StatusOK)
	if checked.Text("leave-due") != "€120.00" || !strings.Contains(checked.Text("scan-said"), "The ticket of these watches") || p.gone(p.numbers[0]) {
		t.Errorf("looked at without scripts: %q, %q", checked.Text("leave-due"), checked.Text("scan-said"))
	}

	to := clerk.Post(p.path, p.form(p.numbers[:2], "pay", "several", "given-cash", "150", "given-card", "100", "due", "24000")).Want(http.StatusSeeOther).Location()
	after := clerk.Get(to).Want(http.StatusOK)
	webtest.Contains(t, "the answer", webtest.TextOf(after.Document), "Change to give: €10.00", "2 watches have left the shop with Ada Quillmarsh", "by the same ticket")
	if !p.gone(p.numbers[0]) || !p.gone(p.numbers[1]) || p.gone(p.numbers[2]) {
		t.Error("another than the two is gone")
	}
	visitPath := strings.TrimSuffix(p.path, "/hand-over")
	receipt := clerk.Get(visitPath + "/papers/receipt").Want(http.StatusOK)
	webtest.Contains(t, "receipt", webtest.TextOf(receipt.Document), p.numbers[0], p.numbers[1], "Gannet Harbourmaster", "Gannet Skiff", "€240.00",
		"€140.00 (€150.00 given, €10.00 change)", "€100.00", "of which VAT 20 %", "€40.00", "Paid in full", "Still in the shop, on the same ticket: "+p.numbers[2])
	if got := clerk.Get("/dockets/" + p.numbers[0] + "/hand-over").Want(http.StatusOK); webtest.Attr(got.One("to-visit-receipt"), "href") != visitPath+"/papers/receipt" {
		t.Error("the sheet of one does not lead to the receipt of all")
	}
	if got := clerk.Get(visitPath).Want(http.StatusOK); webtest.Attr(got.One("to-hand-over"), "href") != p.path {
		t.Error("the page of the visit does not lead to the hand-over")
	}
	if pdf := clerk.Get(visitPath + "/papers/receipt.pdf").Want(http.StatusOK); !strings.HasPrefix(pdf.Body, "%PDF") {
		t.Error("the receipt is no PDF")
	}
	clerk.Get(visitPath + "/papers/cards").Want(http.StatusNotFound) // the clerk may issue none
}

// The owner's press issues the cards, and they print in one go; the ticket stays good for the watch that stays.
func TestCardsOfAllAreIssuedAndPrinted(t *testing.T) {
	t.Parallel()
	p := newParty(t)
	owner := p.As(p.Owner)
	owner.Post(p.path, p.form(p.numbers[:2], "card", "yes")).Want(http.StatusSeeOther)
	cards := owner.Get(strings.TrimSuffix(p.path, "/hand-over") + "/papers/cards").Want(http.StatusOK)
	for _, n := range p.numbers[:2] {
		sheet, err := p.Store.CardSheet(t.Context(), p.Number(n))
		if err != nil {
			t.Fatal(err)
		}
		card, ok := sheet.Newest()
		if !ok {
			t.Fatalf("%s has no card", n)
		}
		webtest.Contains(t, "cards", webtest.TextOf(cards.Document), card.Code.Grouped())
	}
	p.Ready()
	p.As(p.Clerk).Post(p.path, p.form(p.numbers[2:])).Want(http.StatusSeeOther)
	if !p.gone(p.numbers[2]) {
		t.Error("the third did not go by the same ticket")
	}
}

// What is wrong is said beside its field, keeps what was typed, and nothing is saved.
func TestBadInputTogether(t *testing.T) {
	t.Parallel()
	p := newParty(t)
	clerk := p.As(p.Clerk)
	both := p.numbers[:2]
	older := p.form(both)
	p.Pass(time.Minute)
	clerk.Post("/dockets/"+both[1]+"/hand-over/payment", url.Values{"version": {p.Version(both[1])}, "amount": {"20"}, "method": {"cash"}}).Want(http.StatusSeeOther)
	for what, c := range map[string]struct {
		form   url.Values
		status int
		field  string
		says   string
	}{
		"a sum that is another":   {p.form(both, "due", "24000"), http.StatusUnprocessableEntity, "pay", "220.00 EUR is due, not 240.00 EUR"},
		"too little cash":         {p.form(both, "pay", "cash", "given-cash", "219.99"), http.StatusUnprocessableEntity, "given-cash", "0.01 EUR"},
		"an amount that is none":  {p.form(both, "pay", "several", "given-card", "ten"), http.StatusUnprocessableEntity, "given-card", ""},
		"one that is not ready":   {p.form(p.numbers), http.StatusUnprocessableEntity, "go-" + p.numbers[2], "final test"},
		"none":                    {p.form(nil), http.StatusUnprocessableEntity, "go", "Tick the watches"},
		"another visit's ticket":  {p.form(both, "ticket", visit.Number(9999).String()), http.StatusUnprocessableEntity, "ticket", "visit V-09999"},
		"no ticket":               {p.form(both, "ticket", ""), http.StatusUnprocessableEntity, "ticket", "Scan the ticket"},
		"a form that is older":    {older, http.StatusConflict, "go-" + both[1], "Someone else saved first"},
		"a watch of no ticket":    {p.form(both, "go-26-09999-"+checkOf(t, 9999), "yes", "version-26-09999-"+checkOf(t, 9999), "1"), http.StatusUnprocessableEntity, "go", "not on this ticket"},
		"somebody else, unproven": {p.form(both, "collected_by", "A nephew"), http.StatusUnprocessableEntity, "shown", "what was shown"},
	} {
		got := clerk.Post(p.path, c.form).Want(c.status)
		if said := got.Text("form-errors"); !strings.Contains(said, c.says) {
			t.Errorf("%s: %q", what, said)
		}
		if c.field != "go" && got.Problem(c.field) == "" {
			t.Errorf("%s: nothing stands beside %s", what, c.field)
		}
		if typed := c.form.Get("ticket"); got.Value("ticket") != typed {
			t.Errorf("%s: the ticket became %q", what, got.Value("ticket"))
		}
	}
	for _, n := range p.numbers {
		if p.gone(n) {
			t.Errorf("%s is gone", n)
		}
	}
	for _, broken := range []url.Values{p.form(both, "version-"+both[0], "x"), p.form(both, "due", "much"), p.form(both, "go-nothing", "yes")} {
		clerk.Post(p.path, broken).Want(http.StatusBadRequest)
	}
	clerk.Get("/visits/V-00001-X/hand-over").Want(http.StatusNotFound)
	p.As(p.Watchmaker).Post(p.path, p.form(both)).Want(http.StatusForbidden)

	again := clerk.Post(p.path, older).Want(http.StatusConflict)
	if again.Hidden("version-"+both[1]) != p.Version(both[1]) || webtest.Attr(again.One("go-"+both[1]), "checked") != "" {
		t.Error("what was changed meanwhile is still ticked, or at its old version")
	}
	clerk.Post(p.path, p.form(both)).Want(http.StatusSeeOther)
	late := clerk.Post(p.path, p.form(both)).Want(http.StatusConflict)
	webtest.Contains(t, "too late", late.Text("form-errors"), both[0]+" was already handed over, to Ada Quillmarsh")
}

// checkOf is the check character of docket 26-n.
func checkOf(t *testing.T, n int) string {
	t.Helper()
	s := docket.Number{Year: 2026, Seq: n}.String()
	return s[len(s)-1:]
}
