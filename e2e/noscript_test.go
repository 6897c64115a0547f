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
	form.inside(`[data-outline-part="crystal"]`).fill("mark_kind", "crack")
	for _, part := range []string{"dial", "case", "crown", "bracelet"} {
		form.tick("clear", part)
	}
	form.press("take-in")
	number := p.docket()
	p.within("condition").sees("Crack")

	p.within("photo-form").try(p.tab.Choose(`[name="photos"]`, telephonePhoto(t, "hands.jpg")))
	p.press("add-photos")
	p.sees("One photograph was added")

	p.open("/intake") // the same customer again: looked up by a press instead of while typing
	form.fillAll("phone", "01632960751", "name", "Agnes d’Aubigne Thwaite")
	form.press("look-up-customer")
	p.inside("#customer-choices").sees("Agnès d'Aubigné-Thwaite")

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
