package e2e

import (
	"testing"

	"ledgerwheel/domain/staff"
)

// TestPhoneNumberStays corrects a note of a customer from abroad, and of one at home: their numbers are shown as each
// is dialled from the shop, and stay what they were read as.
func TestPhoneNumberStays(t *testing.T) {
	t.Parallel()
	clerk := signedIn(t, site(t), staff.Clerk)
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
