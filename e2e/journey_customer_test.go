package e2e

import (
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/tongue"
	"ledgerwheel/e2e/browser"
)

// inGerman is a day so many days ahead, as a form takes it and as a German reader reads it.
func inGerman(days int) (typed, read string) {
	day := time.Now().AddDate(0, 0, days)
	return day.Format(time.DateOnly), tongue.German.Day(day)
}

// slowReadings are of a watch as it came: a minute slow, in every position.
const slowReadings = "-58\t240\t0.9\t-64\t205\t1.1\n-55\t238\t0.9\t-61\t204\t1.0\n-63\t215\t1.2\t-70\t182\t1.4\n" +
	"-60\t212\t1.1\t-66\t180\t1.3\n-57\t216\t1.0\t-62\t184\t1.2\n-61\t214\t1.1\t-68\t181\t1.3\n"

// TestACustomerAnswersByTheLinkInHerLanguage follows a customer who reads German and is written to at each step: she answers
// by the link in the letter, on a telephone; asks, and is answered; and has her papers at the end, and no more mail.
func TestACustomerAnswersByTheLinkInHerLanguage(t *testing.T) {
	t.Parallel()
	shop := site(t)
	owner := signedIn(t, shop, staff.Owner)
	const name = "Walburga Nebelung"
	promised, _ := inGerman(20)
	number := owner.takesIn(handedIn{customer: name, phone: "+49 30 23125 114", maker: "Shearwater", model: "Neap", serial: "SN 3 114",
		complaint: "Geht nach.", more: []string{"email", "walburga@nebelung.example", "preferred_contact", "email", "tongue", "de",
			"promised_on", promised, "lume", "none", "calibre", "VM 8"}})
	bag := &postbag{person: owner, to: "walburga@nebelung.example", in: "de", greeting: "Guten Tag"}
	her := stranger(t, shop)
	her.try(her.tab.LookAt(390, 844, "light"))

	link := herEstimate(owner, her, bag, number)
	herQuestion(owner, her, number, link)
	herWatchIsLate(owner, her, bag, number, link)
	herWatchIsReady(owner, her, bag, number, link)
	herPapers(owner, her, bag, number, link)
	noMoreMail(owner, her, bag, number)
}

// herEstimate is sent, read in German, and approved without the line that may be left out. It returns the private path.
func herEstimate(owner, her *person, bag *postbag, number string) string {
	owner.moves(number, move{to: "diagnosis", place: "bench", detail: "South bench"})
	owner.readsCautions(number)
	owner.measures(number, "as-received", slowReadings)
	owner.findsWrong(number, "escapement", "oil gone", "require", "Clean and oil.")
	owner.moves(number, move{to: "estimate", place: "safe"})
	owner.offersTwo(number, "Reinigen und ölen", "Neue Krone")

	sent := bag.newest("Der Kostenvoranschlag für Ihre Uhr").says("Guten Tag Walburga Nebelung,", "243,00 £", number, "Der Link ist nur für Sie")
	owner.open(sent.at + "/html")
	link := sent.link(her.address + "/c/")
	if !owner.has(`a[href="` + link + `"]`) {
		owner.errorf("the letter as most see it has no link to press")
	}
	owner.accessible(sent.at)
	path := strings.TrimPrefix(link, her.address)

	her.open(path)
	if got := her.attr("html", "lang"); got != "de" {
		her.errorf("her page is in %q", got)
	}
	her.sees("Shearwater Neap", "Wie es weitergeht:", "Reinigen und ölen", "Neue Krone")
	answer := her.within("answer-form")
	total := func(want string) {
		her.t.Helper()
		if got := her.text(byTest("total")) + " | " + her.text(byTest("approve")); got != "Gesamtbetrag "+want+" | "+want+" zustimmen" {
			her.errorf("before it is sent the total reads %q, want %s", got, want)
		}
	}
	total("243,00 £")
	her.try(her.tab.Click(byTest("take-1")))
	total("185,00 £")
	answer.press("approve")
	her.refused("name")
	total("185,00 £") // what was left out stays out, and nothing is agreed
	answer.fill("name", "Walburga Nebelung")
	answer.press("approve")
	her.within("answered").sees("zugestimmt", "185,00 £", "Walburga Nebelung")
	her.inSight(byTest("thanks"), byTest("next"))
	her.within("thanks").sees("Danke, Walburga Nebelung")
	bag.newest("Ihre Zusage zum Kostenvoranschlag").says("185,00 £")
	owner.sheet(number, "estimate")
	owner.within("standing").sees("185.00", "left out")
	return path
}

// offersTwo sends an estimate of two lines, 185.00 and 58.00, of which the second may be left out.
func (p *person) offersTwo(number, first, second string) {
	p.t.Helper()
	p.sheet(number, "estimate")
	for n := p.count(byTest("editor-line")); n < 2; n++ {
		p.addsLine(n + 1)
	}
	form := p.within("estimate-form")
	form.fillAll("lines.0.kind", "labour", "lines.0.description", first, "lines.0.quantity", "1", "lines.0.unit_price", "185.00",
		"lines.1.kind", "part", "lines.1.description", second, "lines.1.quantity", "1", "lines.1.unit_price", "58.00")
	form.tick("lines.1.optional", "yes")
	if got := form.value("tell"); got != "mail" {
		p.fatalf("who wants mail is told by %q unless said otherwise", got)
	}
	form.press("save-and-send")
	p.within("standing").sees(first, second)
}

// inSight checks that what the selectors find is within the window, without scrolling.
func (p *person) inSight(selectors ...string) {
	p.t.Helper()
	for _, selector := range selectors {
		seen, err := browser.Eval[bool](p.tab, `new Promise((drawn) => requestAnimationFrame(() => requestAnimationFrame(() => {
			const box = document.querySelector(`+quoted(selector)+`)?.getBoundingClientRect();
			drawn(Boolean(box) && box.height > 0 && box.top >= 0 && box.bottom <= innerHeight);
		})))`)
		p.try(err)
		if !seen {
			p.errorf("%s is not in sight", selector)
		}
	}
}

// herQuestion is asked on the page, stands in Today, and is answered where she asked.
func herQuestion(owner, her *person, number, link string) {
	her.open(link)
	her.unfold(byTest("ask-fold"))
	her.within("ask-form").press("send-question")
	her.refused("question")
	her.within("ask-form").fill("question", "Bekomme ich die alte Krone zurück?")
	her.within("ask-form").press("send-question")
	her.within("ask").sees("Bekomme ich die alte Krone zurück?", "Noch nicht beantwortet.")
	owner.open("/?show=asks&rows=all")
	owner.sheet(number, "")
	owner.within("asks").sees("Bekomme ich die alte Krone zurück?")
	owner.try(owner.tab.Fill(byTest("answer-question")+" textarea", "Ja, sie liegt bei der Uhr."))
	owner.press("send-answer")
	her.open(link)
	her.within("ask").sees("Ja, sie liegt bei der Uhr.")
	her.within("ask").seesNot("Noch nicht beantwortet.")
}

// herWatchIsLate moves the promised day: she is told the new one and the old one, and so is her page.
func herWatchIsLate(owner, her *person, bag *postbag, number, link string) {
	_, before := inGerman(20)
	typed, later := inGerman(34)
	owner.sheet(number, "intake")
	owner.unfold(byTest("work-form"))
	form := owner.within("work-form")
	form.fill("promised_on", typed)
	if got := form.value("tell"); got != "mail" {
		owner.fatalf("of another day she is told by %q", got)
	}
	form.press("save-work")
	bag.newest("Ein späterer Tag für Ihre Uhr").says("Neuer Tag: "+later, "Bisher versprochen: "+before, "Das tut uns leid.")
	her.open(link)
	her.within("stay").sees(later, before)
}

// herWatchIsReady takes the watch through the work; the letter says what is due and when the shop is open, and so does her page.
func herWatchIsReady(owner, her *person, bag *postbag, number, link string) {
	owner.moves(number, move{to: "service", place: "bench", detail: "South bench"})
	owner.works(number, "clean", "lubricate")
	owner.moves(number, move{to: "regulation", place: "bench", detail: "South bench"})
	owner.measures(number, "final", soundReadings)
	owner.moves(number, move{to: "final-test", place: "bench", detail: "South bench"})
	owner.tests(number)
	owner.moves(number, move{to: "ready", place: "safe"})
	ready := bag.newest("Ihre Uhr ist fertig").says("Noch zu zahlen: 185,00 £", "Dienstag bis Freitag: 09:00 bis 17:30", "Sonntag: geschlossen",
		"3 Chandlers’ Slip", "Abholschein")
	if got := ready.link(her.address + "/c/"); got != her.address+link {
		owner.errorf("the letter leads to %s, the first one led to %s", got, link)
	}
	her.open(link)
	her.sees("Ihre Uhr liegt zur Abholung bereit.")
	her.within("account").sees("Noch offen 185,00 £", "bei der Abholung zahlen")
	her.within("contact").sees("Dienstag bis Freitag: 09:00 bis 17:30")
	above, err := browser.Eval[bool](her.tab, `document.querySelector('`+byTest("contact")+`').getBoundingClientRect().top <
		document.querySelector('`+byTest("estimate")+`').getBoundingClientRect().top`)
	her.try(err)
	if !above {
		her.errorf("what was agreed long ago stands above when the shop is open")
	}
}

// herPapers are on her page once the watch is home.
func herPapers(owner, her *person, bag *postbag, number, link string) {
	owner.handsOver(number, number, "Walburga Nebelung", "returned", "cash")
	her.open(link)
	her.within("account").sees("Es ist nichts offen.")
	her.download("invoice", her.attr(byTest("invoice"), "href")).says("Rechnung", number, "Reinigen und ölen", "185,00 £")
	her.download("receipt", her.attr(byTest("receipt"), "href")).says("Quittung", number, "Bar", "185,00 £", "Walburga Nebelung")
	her.within("warranty").sees("Ihre Garantie gilt vom")
	her.within("next-service").sees("nächste")
	her.unfold(byTest("measured"))
	her.within("measured").sees("±", "s am Tag")
	her.unfold(byTest("wheels"))
	her.within("wheels").sees("VM 8")
	her.accessible(link)
	her.try(her.tab.LookAt(390, 844, "light"))
	her.open(link)
	her.follow(byTest("card"))
	her.within("check-result").sees("Diese Karte ist echt")
	owner.sheet(number, "told")
	if n := owner.count(byTest("story-line")); n < bag.read {
		owner.errorf("the sheet tells of %d words, and %d letters came", n, bag.read)
	}
	owner.within("story").seesNot("refused", "waiting")
}

// noMoreMail is asked for by the link at the end of a letter, and holds.
func noMoreMail(owner, her *person, bag *postbag, number string) {
	rows := bag.rows(bag.read)
	owner.open(rows[0])
	_, body := owner.get(owner.attr(byTest("letter-raw"), "href"))
	stop := readLetter(owner.t, body).link(her.address + "/no-mail/")
	her.open(strings.TrimPrefix(stop, her.address))
	her.accessible(strings.TrimPrefix(stop, her.address))
	if got := her.attr("html", "lang"); got != "de" {
		her.errorf("the page that stops mail is in %q", got)
	}
	her.press("mail-stop")
	her.sees("keine")

	owner.sheet(number, "told")
	owner.unfold(byTest("now-form"))
	form := owner.within("now-form")
	if options := form.text(`[name="tell"]`); strings.Contains(options, "e-mail") {
		owner.errorf("who wants no mail could be told by it: %s", options)
	}
	form.fill("question", "Möchten Sie das alte Band?")
	form.press("tell-now")
	owner.within("to-tell").sees("Möchten Sie das alte Band?") // for a person to tell
	time.Sleep(3 * time.Second)                                // a letter takes a second or two
	if rows := bag.rows(bag.read); len(rows) != bag.read {
		owner.errorf("%d letters came after she wanted no more, of %d", len(rows)-bag.read, len(rows))
	}
}
