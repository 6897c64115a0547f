package e2e

import (
	"testing"

	"ledgerwheel/domain/staff"
)

// TestWithoutScripts does the counter's work in a window in which no script runs.
func TestWithoutScripts(t *testing.T) {
	t.Parallel()
	p := stranger(t, site(t))
	p.try(p.tab.WithoutScripts())
	p.open("/sign-in")
	who, err := signInOf(staff.Clerk)
	p.try(err)
	p.signIn(who.Email, who.Password)
	p.open("/intake")
	if p.count(".outline-live") != 0 {
		p.fatalf("scripts run in a window that was to have none")
	}
	form := p.within("intake-form")
	form.fillAll("phone", "01632 960 751", "name", "Agnès d'Aubigné-Thwaite", "maker", "Corrie", "model", "Lugger",
		"serial", "CL 20 551")
	form.press("take-in")
	p.refused("complaint")
	form.fill("complaint", "Hands touch at noon")
	p.try(p.tab.Click(byTest("condition-fold") + " summary"))
	form.inside(`[data-outline-part="crystal"]`).fill("mark_kind", "crack")
	for _, part := range []string{"dial", "case", "crown", "bracelet"} {
		form.tick("clear", part)
	}
	form.press("take-in-print")
	number := p.docket()
	p.arrives("/dockets/" + number + "/papers/ticket-and-label")
	p.sees("Claim ticket", "CL 20 551")
	p.follow(`a[href="/dockets/` + number + `/intake"]`)
	p.within("condition").sees("Crack")

	p.within("photo-form").try(p.tab.Choose(`[name="photos"]`, telephonePhoto(t, "hands.jpg")))
	p.press("add-photos")
	p.sees("One photograph was added")

	p.open("/intake") // the same customer again: looked up by a press instead of while typing
	form.fillAll("sought", "+44 (0)1632 960 751", "complaint", "Loses time")
	form.press("look-up")
	p.within("found").sees("Agnès d'Aubigné-Thwaite", "in the shop now, docket "+number)
	form.follow(`[value^="another:"]`)
	form.within("chosen-customer").sees("Agnès d'Aubigné-Thwaite")
	form.fillAll("maker", "Corrie", "serial", "CL20551")
	form.press("take-in")
	p.refused("watch_choice", "this serial")
	form.press("change-customer")
	form.fill("sought", "Nobody Known")
	form.press("look-up")
	if form.value("name") != "Nobody Known" || form.value("maker") != "Corrie" || form.value("complaint") != "Loses time" {
		p.errorf("what was looked for in vain is no new customer's name, or typing was lost")
	}

	p.moves(number, move{to: "diagnosis", place: "bench", detail: "2"})
	p.sheet(number, "journal")
	p.sees("Nuala Reed", "bench 2", "are unbroken")
	p.fill("q", number)
	p.press("find-button")
	p.arrives("/dockets/" + number)
	p.press("sign-out")
	p.open("/dockets/" + number)
	p.arrives("/sign-in")
}
