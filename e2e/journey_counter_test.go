package e2e

import (
	"strings"
	"testing"

	"ledgerwheel/domain/staff"
)

// TestPhoneNumberStays corrects a note of a customer from abroad, and of one at home: their numbers are shown as each
// is dialled from the shop, and stay what they were read as.
func TestPhoneNumberStays(t *testing.T) {
	t.Parallel()
	clerk := signedIn(t, otherSite(t), staff.Clerk)
	for _, c := range []struct{ name, typed, shown, dials string }{
		{"Gerold Nixwasser", "+49 30 23125 113", "+49 30 23125113", "tel:+493023125113"},
		{"Nell Ropewalk", "(01632) 960-747", "01632 960747", "tel:+441632960747"},
	} {
		number := clerk.takesIn(handedIn{customer: c.name, phone: c.typed, maker: "Shearwater", model: "Ebb",
			serial: "SE " + c.typed[5:], complaint: "Stops in the night."})
		clerk.sheet(number, "")
		clerk.sees(c.shown)
		clerk.follow(`a[href^="/customers/"]`)
		clerk.press("customer-edit")
		if got := clerk.value("phone"); got != c.shown {
			t.Errorf("the form shows %q, want %q", got, c.shown)
		}
		clerk.fill("notes", "Calls back in the evening.")
		clerk.press("save-customer")
		clerk.within("particulars").sees(c.shown, "Calls back in the evening.")
		if got := clerk.attr(byTest("particulars")+` a[href^="tel:"]`, "href"); got != c.dials {
			t.Errorf("the link dials %q, want %q", got, c.dials)
		}
	}
}

// TestPhotographsChosenForTheCustomer follows photographs from the counter to the customer's page and out of it again:
// chosen as they come in, hidden, and removed for good by the owner.
func TestPhotographsChosenForTheCustomer(t *testing.T) {
	t.Parallel()
	owner := signedIn(t, otherSite(t), staff.Owner)
	number := owner.takesIn(handedIn{customer: "Hedda Marlin-Stope", phone: "01632 960 746", maker: "Shearwater",
		model: "Bore", serial: "SB 7 0110", complaint: "Scratched crystal.", more: []string{"lume", "none"}})
	adds := func(caption string, seen bool) {
		owner.sheet(number, "intake")
		form := owner.within("photo-form")
		owner.try(owner.tab.Choose(form.field("photos"), telephonePhoto(t, "crystal.jpg")))
		form.fill("caption", caption)
		if seen {
			form.tick("customer_sees", "yes")
		}
		form.press("add-photos")
	}
	adds("The crystal", true)
	adds("Bench, with her papers", false)
	owner.within("photographs").sees("The customer sees it.")

	owner.moves(number, move{to: "diagnosis", place: "bench", detail: "South bench"})
	owner.readsCautions(number)
	owner.findsWrong(number, "escapement", "oil gone", "require", "Clean and oil.")
	owner.moves(number, move{to: "estimate", place: "safe", reason: "It does not run as it came in."})
	path := strings.TrimPrefix(owner.estimates(number, "New crystal", "75.00"), owner.address)
	customer := stranger(t, otherSite(t))
	customerSees := func(captions ...string) {
		customer.open(path)
		if n := customer.count(".photos img"); n != len(captions) {
			t.Errorf("the customer sees %d photographs, want %q", n, captions)
		}
		customer.sees(captions...)
	}
	customerSees("The crystal")
	customer.seesNot("her papers")

	owner.sheet(number, "intake")
	owner.unfold(byTest("photo-forms"))
	owner.follow(byTest("photo-forms") + ` [data-testid^="hide-photo-"]`)
	customerSees()

	owner.sheet(number, "intake")
	owner.unfold(byTest("photo-forms"))
	second := byTest("photo-forms") + ` li:nth-child(2) `
	owner.unfold(second + "details")
	owner.follow(second + `[data-testid^="confirm-remove-"]`)
	owner.sees("Write why the photograph is removed")
	owner.inside(second).fill("reason", "It shows her papers.")
	owner.follow(second + `[data-testid^="confirm-remove-"]`)
	owner.within("removed-photo").sees("Bench, with her papers", "removed on", "Ottilie Brandt", "It shows her papers.")
	if n := owner.count(byTest("photographs") + " .photos img"); n != 1 {
		t.Errorf("%d photographs are left, want 1", n)
	}
}

// TestChargingAboveWhatWasAgreed takes the customer's word for a charge above the one agreed; text alone is not enough.
func TestChargingAboveWhatWasAgreed(t *testing.T) {
	t.Parallel()
	owner := signedIn(t, otherSite(t), staff.Owner)
	number := owner.takesIn(handedIn{customer: "Una Gannister", phone: "01632 960 748", maker: "Shearwater", model: "Slack",
		serial: "SS 4 4471", complaint: "Loses time.", more: []string{"approval_limit", "60", "lume", "none"}})
	charges := func(amount string) {
		owner.sheet(number, "hand-over")
		owner.unfold(byTest("money"))
		owner.unfold(byTest("fold-charge"))
		form := owner.within("form-charge")
		form.fillAll("charged", amount, "reason", "A strap besides.")
		form.press("charge")
	}
	charges("60")
	owner.within("accounts").sees("60.00", "A strap besides.")
	charges("600")
	owner.refused("word", "more than the customer agreed to")
	form := owner.within("form-charge")
	form.tick("word", "telephone")
	form.fill("word_by", "Nuala Reed")
	form.press("charge")
	owner.within("accounts").sees("600.00", "The customer agreed by telephone on", "told to Nuala Reed")
}
