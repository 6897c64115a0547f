package e2e

import (
	"net/http"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/chromedp/chromedp/kb"

	"ledgerwheel/domain/staff"
	"ledgerwheel/e2e/browser"
)

// TestClerk follows a counter clerk through taking in watches.
func TestClerk(t *testing.T) {
	t.Parallel()
	clerksDay(t, site(t))
}

// TestClerkInFirefox is the same journey in Firefox.
func TestClerkInFirefox(t *testing.T) {
	t.Parallel()
	clerksDay(t, firefoxSite(t))
}

func clerksDay(t *testing.T, shop *program) {
	p := stranger(t, shop)
	if p.tab.InFirefox() { // whose print dialogue, asked for by the page of ticket and label, takes the keyboard and stays
		p.try(p.tab.BeforeEachPage(`window.print = () => {}`))
	}

	number := takesInByKeyboard(t, p)
	photographs(t, p, number)
	ticketAndLabel(t, p, shop, number)
	findsByNumber(t, p, number)
	offersNotMade(t, p, number)
	marksTheOutline(t, p)
	listedSerial(t, p, shop)
}

// takesInByKeyboard signs in and takes in a watch without a mouse, and returns the docket's number.
func takesInByKeyboard(t *testing.T, p *person) string {
	k := &typist{person: p}
	who, err := signInOf(staff.Clerk)
	k.try(err)
	k.open("/sign-in")
	k.types("email", who.Email)
	k.types("password", who.Password)
	k.enters()
	k.goes("nav-take-in")
	k.arrives("/intake")

	form := &typist{person: p.within("intake-form")}
	form.types("sought", "01632 960 731")
	form.try(form.tab.Keys(kb.Enter)) // nobody has it: it is the new customer's, whose name is asked next
	form.until(`document.activeElement.name === "name"`)
	if got := form.value("phone"); got != "01632 960 731" {
		form.fatalf("the number stands as %q where it belongs", got)
	}
	form.types("name", "Siobhan O'Hara-Quill")
	form.types("email", "quill@saltby.example")
	form.types("maker", "Pellworth & Daughters")
	form.types("model", "Harbourmaster")
	form.types("serial", "PW 48 213")
	form.opens("more-of-watch")
	form.picks(form.field("winding"), "Hand")
	form.types("complaint", `Stops overnight. "It's lost ten minutes" since the fall.`)
	form.types("declared_value", "850")
	form.types("approval_limit", "60.00")
	form.marks("place", "safe")
	form.opens("condition-fold")
	form.ticks("clear-dial")
	form.picks(byTest("mark-kind-crystal"), "Scratch")
	form.to(byTest("mark-note-crystal"))
	form.try(form.tab.Keys("beside 2, shallow"))
	form.ticks("clear-case", "clear-crown", "clear-bracelet")
	form.goes("take-in-print")
	number := p.docket()
	p.arrives("/dockets/" + number + "/papers/ticket-and-label")
	k.to(`a[href="/dockets/` + number + `/intake"]`)
	k.enters()

	if n := k.stops + form.stops; n < 30 {
		t.Errorf("the keyboard was seen at only %d places: the journey looked at too little", n)
	}
	p.arrives("/dockets/" + number + "/intake")
	p.stage("intake")
	p.sees("Siobhan O'Hara-Quill", "Pellworth & Daughters Harbourmaster", "PW 48 213", `"It's lost ten minutes"`,
		"beside 2, shallow", "safe")
	return number
}

// photographs adds two at once; the system's own dialog for choosing files lies outside the page.
func photographs(t *testing.T, p *person, number string) {
	k := &typist{person: p}
	form := p.within("photo-form")
	k.to(form.field("photos"))
	p.try(p.tab.Choose(form.field("photos"), telephonePhoto(t, "dial.jpg"), telephonePhoto(t, "case back.jpg")))
	k.goes("add-photos")
	p.arrives("/dockets/" + number + "/intake")
	p.sees("2 photographs were added")
	if n := p.count(byTest("photographs") + " .photos img"); n != 2 {
		p.fatalf("%d photographs are shown, want 2", n)
	}
	for _, picture := range []string{
		p.attr(byTest("photographs")+" .photos img", "src"), p.attr(byTest("photographs")+" .photos a", "href"),
	} {
		res, jpg := p.get(picture)
		if res.StatusCode != http.StatusOK || res.Header.Get("Content-Type") != "image/jpeg" {
			t.Errorf("%s: %s %s", picture, res.Status, res.Header.Get("Content-Type"))
			continue
		}
		upright(t, picture, jpg)
		if res, _ := fetch(t, http.DefaultClient, p.address+picture); strings.HasPrefix(res.Header.Get("Content-Type"),
			"image/") {
			t.Errorf("%s is shown to strangers", picture)
		}
	}
	p.within("photo-form").press("add-photos")
	p.refused("photos", "Choose one or more photographs")
	p.open("/dockets/" + number + "/intake")
}

// ticketAndLabel prints both papers, as the browser and as the program make them.
func ticketAndLabel(t *testing.T, p *person, shop *program, number string) {
	compact := strings.ReplaceAll(number, "-", "")
	for _, c := range []struct {
		link, name string
		size       paperSize
		says       []string
	}{
		{"print-ticket", "claim-ticket", ticketSize, []string{"Siobhan O'Hara-Quill", "PW 48 213", "850", "60",
			"Stops overnight"}},
		{"print-label", "bag-label", labelSize, []string{"PW 48 213"}},
	} {
		p.open("/dockets/" + number + "/intake")
		p.press(c.link)
		sheet := p.prints(c.name + "-page")
		sheet.measures(c.size, browserMM, 1)
		sheet.says(append(c.says, number)...)
		pdf := p.download(c.name, p.attr(byTest("pdf"), "href"))
		pdf.measures(c.size, exactMM, 1)
		pdf.says(append(c.says, number)...)
		for _, d := range []paper{sheet, pdf} {
			d.bears("CODE-128", number)
			d.bears("QR-Code", shop.address+"/d/"+compact)
		}
	}
	p.open("/d/" + compact) // where the code leads whoever is signed in, while the watch is being taken in
	p.arrives("/dockets/" + number + "/intake")
	bothAtOnce(p, shop, number)
}

// findsByNumber types the number into the find box, rightly and with each kind of slip.
func findsByNumber(t *testing.T, p *person, number string) {
	find := func(typed string) {
		k := &typist{person: p}
		k.to(p.field("q"))
		p.try(p.tab.Keys(typed))
		k.enters()
	}
	p.open("/")
	find(strings.ToLower(strings.ReplaceAll(number, "-", " ")))
	p.arrives("/dockets/" + number)
	find(mistyped(number))
	p.sees("check character")
	if p.path() == "/dockets/"+number {
		t.Error("a mistyped number led straight to a docket")
	}
	find("o'hara-quill")
	p.sees(number, "Siobhan O'Hara-Quill")
	find("960731")
	p.sees(number)
	find("pw-48213")
	p.sees(number)
}

// mistyped is a docket's number with another check character.
func mistyped(number string) string {
	last := number[len(number)-1]
	if last == '7' {
		return number[:len(number)-1] + "8"
	}
	return number[:len(number)-1] + "7"
}

// bothAtOnce prints ticket and label from one page: together, and the label alone.
func bothAtOnce(p *person, shop *program, number string) {
	p.t.Helper()
	p.try(p.tab.BeforeEachPage(`window.printed = []; window.print = () => {
		printed.push([...document.querySelectorAll("[data-print-part]:not(.unprinted)")].map(e => e.dataset.printPart).join("+"));
		dispatchEvent(new Event("afterprint"));
	};`))
	printed := func(want string) {
		p.t.Helper()
		p.until(`window.printed.length > 0 && window.printed.join() === ` + quoted(want))
	}
	p.open("/dockets/" + number + "/papers/ticket-and-label?print=now")
	printed("ticket+label")
	p.try(p.tab.Click(byTest("print-label")))
	printed("ticket+label,label")
	p.open("/dockets/" + number + "/papers/ticket-and-label") // a reload prints nothing
	p.try(p.tab.Click(byTest("print-apart")))
	p.try(p.tab.Click(byTest("print")))
	printed("ticket,label")
	p.open("/dockets/" + number + "/papers/ticket-and-label?print=now") // remembered on this machine
	printed("ticket,label")
	p.try(p.tab.Click(byTest("print-apart")))
	both := p.prints("ticket-and-label")
	both.says(number, "PW 48 213", "Siobhan O'Hara-Quill")
	both.bears("QR-Code", shop.address+"/d/"+strings.ReplaceAll(number, "-", ""))
	p.open("/dockets/" + number + "/intake")
}

// offersNotMade types a customer and a watch that the record has, a little otherwise: both are offered and neither is
// doubled.
func offersNotMade(t *testing.T, p *person, earlier string) {
	p.open("/intake")
	form := p.within("intake-form")
	form.fillAll("phone", "+44 1632 960731", "name", "Siobhán O’Hara Quill")
	p.until(`document.querySelector('#customer-choices button')`)
	p.sees("Siobhan O'Hara-Quill")
	form.fillAll("maker", "Pellworth & Daughters", "serial", "pw48213")
	p.until(`document.querySelector('#watch-choices a')`)
	p.inside("#watch-choices").sees("in the shop now", earlier)

	form.fill("complaint", "Back for a new strap")
	form.press("take-in")
	p.refused("customer_choice", "somebody like this")
	p.refused("watch_choice", "this serial")
	p.lookOver("intake refused")
	if got := form.value("complaint"); got != "Back for a new strap" {
		t.Errorf("the refused form forgot the complaint: %q", got)
	}
	p.try(p.tab.Click("#customer-choices button"))
	p.until(`document.querySelector('[data-testid="chosen-customer"]')`)
	form.fillAll("serial", "PW 50 006", "model", "Estuary") // the customer's other watch
	form.press("take-in")
	number := p.docket()
	p.press("customer-link")
	p.sees("Siobhan O'Hara-Quill", number, earlier)
	p.open("/customers?q=960731")
	if n := strings.Count(p.text("main"), "O'Hara-Quill") + strings.Count(p.text("main"), "O’Hara Quill"); n != 1 {
		p.errorf("the customer stands %d times in the record, want once", n)
	}
}

// marksTheOutline takes in the watch of a customer whose name runs from right to left, and marks the drawing.
func marksTheOutline(t *testing.T, p *person) {
	p.open("/intake")
	form := p.unfoldsIntake()
	form.fillAll("name", "نور الهاشمي", "phone", "01632 960 732", "maker", "Corrie", "complaint", "الساعة تتأخر كل يوم",
		"lume", "radium")
	for i, part := range []struct{ name, kind, note string }{{"crystal", "chip", "at the edge"}, {"crown", "worn", ""}} {
		tapPart(p, part.name)
		rows := form.inside(`[data-outline-part="` + part.name + `"] [data-outline-row]:not(.blank)`)
		rows.fill("mark_kind", part.kind)
		if part.note != "" {
			rows.fill("mark_note", part.note)
		}
		if n := form.count("[data-outline-marks] .pip"); n != i+1 {
			p.errorf("%d marks stand on the drawing, want %d", n, i+1)
		}
	}
	for _, part := range []string{"dial", "case", "bracelet"} {
		form.tick("clear", part)
	}
	form.press("take-in")
	p.within("condition").sees("Chip: at the edge", "Worn", "Seen, without marks: dial, case, bracelet or strap")
	if n := p.count(byTest("condition") + " .outline:not(.editor) .pip"); n != 2 {
		p.errorf("%d marks stand on the drawing, want 2", n)
	}
	p.within("hazards").sees("adium")
	dir, err := browser.Eval[string](p.tab, `getComputedStyle(document.querySelector(".quote blockquote")).direction`)
	p.try(err)
	if dir != "rtl" {
		t.Errorf("the customer's words run %s, want rtl", dir)
	}
	p.press("print-label")
	p.prints("radium-label").says("RADIUM")
}

// tapPart clicks a part of the drawing where nothing else lies over it.
func tapPart(p *person, part string) {
	p.t.Helper()
	for range 3 {
		p.js(`new Promise((rested) => setTimeout(rested, 500))`) // what is offered for what was typed moves the drawing
		clickPart(p, part)
		if p.has(`[data-outline-part="` + part + `"] [data-outline-row]:not(.blank)`) {
			return
		}
	}
	p.fatalf("three taps did not mark the %s", part)
}

func clickPart(p *person, part string) {
	p.t.Helper()
	p.try(p.tab.BringIntoSight("[data-outline-drawing]"))
	at, err := browser.Eval[[]float64](p.tab, `(() => {
		const drawing = document.querySelector("[data-outline-drawing]");
		const zone = drawing.querySelector('[data-part="`+part+`"]'), box = zone.getBoundingClientRect();
		const on = (x, y) => document.elementFromPoint(x, y)?.closest("[data-part]") === zone;
		for (let x = Math.ceil(box.left) + 3; x < box.right; x += 4) for (let y = Math.ceil(box.top) + 3; y < box.bottom; y += 4)
			if (on(x - 2, y - 2) && on(x + 2, y + 2) && on(x, y)) return [x, y]; // not on the very edge of it
		throw new Error("no spot of the `+part+` can be tapped");
	})()`)
	p.try(err)
	p.try(p.tab.ClickAt(at[0], at[1]))
}

var noteNumber = regexp.MustCompile(`see note (\d+): call the owner`)

// listedSerial has the owner list a serial; at the counter it is a footnote, which says more only when opened, and
// only to those who may see the list.
func listedSerial(t *testing.T, p *person, shop *program) {
	owner := signedIn(t, shop, staff.Owner)
	owner.open("/watch-list")
	owner.within("watch-list-form").fillAll("serial", "KD-77 0419", "maker", "Kittiwake Dial", "reported", "2026-02-03",
		"source", "Saltby constabulary, ref. 118", "note", "Taken from a parlour in Rope Walk.")
	owner.press("list-serial")
	owner.sees("KD-77 0419")

	p.open("/intake")
	form := p.within("intake-form")
	form.fillAll("maker", "Kittiwake Dial", "serial", "kd770419")
	p.until(`document.querySelector('[data-testid="listed-note"]')`)
	note := p.within("listed-note")
	if _, err := strconv.Atoi(firstGroup(noteNumber.FindStringSubmatch(note.read()))); err != nil {
		p.errorf("the note says %q, want no more than its number", note.read())
	}
	p.seesNot("constabulary", "Rope Walk", "stolen", "Reported")
	form.fillAll("name", "Hamish Thole", "phone", "01632 960 733", "complaint", "Needs a battery, he says")
	form.press("take-in")
	number := p.docket()
	note = p.within("listed-note")
	note.seesNot("constabulary")
	p.try(p.tab.Click(byTest("listed-note") + " summary"))
	note.sees("Saltby constabulary, ref. 118", "tell the owner", "It may be chance")

	owner.open("/dockets/" + number + "/journal")
	owner.seesNot("constabulary")
}
