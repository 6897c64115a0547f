package e2e

import (
	"net/http"
	"regexp"
	"strings"
	"testing"

	"ledgerwheel/domain/staff"
)

// TestOwner follows the owner: people, settings, rate limits, a watch let go on the owner's word, and its card.
func TestOwner(t *testing.T) {
	t.Parallel()
	ownersDay(t, site(t))
}

// TestOwnerInFirefox is the same journey in Firefox.
func TestOwnerInFirefox(t *testing.T) {
	t.Parallel()
	ownersDay(t, firefoxSite(t))
}

func ownersDay(t *testing.T, shop *program) {
	owner := signedIn(t, shop, staff.Owner)

	invites(t, owner, shop)
	publishesLimits(owner)
	number := overrides(owner)
	settles(owner, shop, number)
	code := issuesCard(t, owner, shop, number)
	reissuesAndVoids(t, owner, shop, number, code)
}

// invites has somebody join by a link that works once, and sends them away again.
func invites(t *testing.T, owner *person, shop *program) {
	owner.open("/staff")
	form := owner.within("invite-form")
	form.fillAll("name", "Sorcha Finch-O'Neill", "email", "counter@ternquay.example")
	form.tick("role", "watchmaker")
	form.press("invite")
	owner.refused("email")
	form.fill("email", "sorcha@ternquay.example")
	form.press("invite")
	link := owner.text(byTest("invite-link"))

	joiner := stranger(t, shop)
	path := strings.TrimPrefix(link, shop.address)
	joiner.accessible(path)
	joiner.sees("Sorcha Finch-O'Neill")
	joiner.fillAll("password", "short", "again", "short")
	joiner.press("join")
	joiner.refused("password")
	joiner.fillAll("password", "gull feather sundial", "again", "gull feather sundial")
	joiner.press("join")
	joiner.within("who").sees("Sorcha Finch-O'Neill", "watchmaker")
	joiner.open("/settings")
	joiner.sees("Not yours to do")
	second := stranger(t, shop)
	second.open(path)
	second.sees("This link was used before")

	owner.open("/staff")
	owner.sees("Sorcha Finch-O'Neill")
	owner.follow(`[aria-label="Disable Sorcha Finch-O'Neill"]`)
	joiner.open("/dockets")
	joiner.arrives("/sign-in")
}

// publishesLimits makes a new version of a grade that no other journey uses. The old one stays to be read.
func publishesLimits(p *person) {
	p.open("/rate-limits/small-calibre")
	p.press("publish-link")
	form := p.within("publish-form")
	const lower, upper = "lower-mean_rate", "upper-mean_rate"
	old := form.value(upper)
	form.fillAll(lower, "9", upper, "-4")
	form.press("publish")
	if !p.has(byTest("form-errors")) {
		p.fatalf("limits the wrong way round were published")
	}
	form.fillAll(lower, "-8", upper, "17")
	form.press("publish")
	p.sees("−8 to +17 s/d")
	p.within("versions").sees("Version 2", "Version 1")
	p.open("/rate-limits/small-calibre?version=1")
	p.within("older-version").sees("older version")
	p.within("limit-"+meanRate).sees("−8 to +20 s/d", old)
}

// overrides lets a watch become ready without a passed final test, with the owner's reason in the journal.
func overrides(p *person) string {
	number := p.takesIn(handedIn{customer: "Perpetua Lindqvist", phone: "01632 960 781", maker: "Shearwater",
		model:  "Neap",
		serial: "SN 3 3301", complaint: "Will not start", more: []string{"email", "perpetua@saltby.example", "approval_limit",
			"100", "winding", "hand", "lume", "none"}})
	p.repairs(number)
	p.tries(number, move{to: "ready", place: "safe"})
	p.sees("Nothing was saved yet")
	p.sheet(number, "")
	p.stage("final test")
	p.moves(number, move{to: "ready", place: "safe", reason: "She sails tonight; the reserve is tested by letter."})
	p.sheet(number, "journal")
	p.sees("She sails tonight; the reserve is tested by letter.", "Ottilie Brandt")
	return number
}

// settles takes the money and hands over against the ticket, as a scanner reads it; another watch's ticket is refused.
func settles(p *person, shop *program, number string) {
	p.sheet(number, "hand-over")
	p.sees("75.00")
	form := p.within("leave-form")
	form.fill("ticket", mistyped(number))
	form.tick("old_parts", "none")
	form.press("hand-over")
	p.refused("ticket")

	p.sheet(number, "hand-over")
	form.tick("pay", "several")
	form.fillAll("given-cash", "a lot", "given-card", "70")
	form.press("hand-over")
	p.refused("given-cash")
	p.sheet(number, "hand-over") // what was typed and not saved is here again, until it is cleared
	p.within("leave-form").sees("What you typed before is here again.")
	p.js(`document.querySelector('[data-testid="leave-form"] [data-testid="clear-typed"]').click()`)
	p.open("/dockets/" + number + "/papers/invoice")
	p.prints("invoice-page").says(number, "75.00", "Clean and oil")
	p.download("invoice", "/dockets/"+number+"/papers/invoice.pdf").says(number, "75.00", "Perpetua Lindqvist")
	scanned := shop.address + "/d/" + strings.ReplaceAll(number, "-", "")
	p.sheet(number, "hand-over")
	form.tick("pay", "card")
	form.fill("ticket", scanned)
	form.tick("card", "yes") // not with it: the owner words it afterwards
	form.press("hand-over")
	p.within("left").sees("Perpetua Lindqvist")
	p.within("docket-line").sees("Closed")
}

var cardCode = regexp.MustCompile(`/w/([0-9A-Z]+)`)

// issuesCard prints the card and follows its code as a stranger would.
func issuesCard(t *testing.T, p *person, shop *program, number string) string {
	p.sheet(number, "card")
	p.press("issue-card")
	p.within("card-now").sees("genuine")
	code := firstGroup(cardCode.FindStringSubmatch(p.attr(byTest("card-now")+` a[href^="/w/"]`, "href")))
	p.press("print-card")
	page := p.prints("card-page")
	page.measures(cardSize, cardMM, 2)
	pdf := p.download("card", "/dockets/"+number+"/papers/warranty-card.pdf")
	pdf.measures(cardSize, exactMM, 2)
	var scanned string
	for _, d := range []paper{page, pdf} {
		d.says(number, "Shearwater Neap", "SN 3 3301", "Clean and oil")
		codes := d.codes()
		if len(codes) != 1 || !strings.HasPrefix(codes[0], "QR-Code:"+shop.address+"/card#") {
			t.Fatalf("the card bears %q, want one code that proves it", codes)
		}
		scanned = strings.TrimPrefix(codes[0], "QR-Code:"+shop.address)
	}
	s := stranger(t, shop)
	s.open(scanned)
	s.until(`document.body.innerText.includes("signed by the shop")`)
	s.sees("Shearwater Neap", "SN 3 3301", "Clean and oil")
	checks(t, shop, code, "genuine", "Shearwater Neap", "…3301")
	return code
}

// checks opens the check page as a stranger. Nothing on it, nor in its source, tells whose watch it is.
func checks(t *testing.T, shop *program, code string, words ...string) {
	t.Helper()
	s := stranger(t, shop)
	s.open("/w/" + code)
	s.sees(words...)
	_, source := fetch(t, http.DefaultClient, shop.address+"/w/"+code)
	for _, private := range []string{"Perpetua", "Lindqvist", "960781", "960 781", "perpetua@saltby.example",
		"sails tonight", "75.00", "SN 3"} {
		if strings.Contains(string(source), private) {
			t.Errorf("the check page tells %q", private)
		}
	}
	s.fill("code", strings.ToLower(code[:4]+" "+code[4:]))
	s.press("check")
	s.arrives("/w/" + code)
	s.fill("code", code[:len(code)-1]+map[bool]string{true: "3", false: "2"}[code[len(code)-1] == '2'])
	s.press("check")
	s.seesNot("Shearwater")
}

// reissuesAndVoids changes the signing key, reissues the card and voids it: a card is never edited.
func reissuesAndVoids(t *testing.T, p *person, shop *program, number, code string) {
	p.open("/keys")
	p.press("rotate-key")
	p.sees("Retire key", "This can't be undone")
	p.lookOver("asked once more")
	p.press("sure")
	if n := p.count(byTest("key")); n < 2 {
		p.errorf("%d keys are listed after a change, want the old one too", n)
	}
	checks(t, shop, code, "genuine")

	p.sheet(number, "card")
	form := p.within("card-form")
	form.press("reissue-card")
	p.refused("reason")
	form.fill("reason", "Card lost at sea")
	form.press("reissue-card")
	again := firstGroup(cardCode.FindStringSubmatch(p.attr(byTest("card-now")+` a[href^="/w/"]`, "href")))
	if again == code || again == "" {
		t.Fatalf("the card reissued bears the code %q, the first %q", again, code)
	}
	checks(t, shop, again, "genuine", "…3301")
	checks(t, shop, code, "replaced")

	p.sheet(number, "card")
	p.within("void-form").fill("reason", "Case opened elsewhere")
	p.press("void-card")
	p.sees("Declare the card void?")
	p.press("not-sure")
	checks(t, shop, again, "genuine")
	p.within("void-form").fill("reason", "Case opened elsewhere")
	p.press("void-card")
	p.press("sure")
	checks(t, shop, again, "void")
	p.sheet(number, "journal")
	p.sees("Card lost at sea", "Case opened elsewhere", "are unbroken")
}
