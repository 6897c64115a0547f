package e2e

import (
	"path/filepath"
	"strings"
	"testing"

	"ledgerwheel/domain/staff"
)

// TestErasedOnRequest follows somebody who asks for their data to go: while the watch is in the shop nothing goes; then name
// and number go from pages, from finding and from the journal as it is shown, and the docket stays.
func TestErasedOnRequest(t *testing.T) {
	t.Parallel()
	shop := site(t)
	owner, clerk := signedIn(t, shop, staff.Owner), signedIn(t, shop, staff.Clerk)
	const name, phone = "Quirina Ostlund", "01632 960 877"
	number := clerk.takesIn(handedIn{customer: name, phone: phone, maker: "Turnstone", model: "Race", serial: "TR 877",
		complaint: "Quirina says it stops; call 01632-960877"})
	owner.sheet(number, "")
	owner.open("/customers?q=960877")
	customer := owner.attr(byTest("customer-row")+" a", "href")
	owner.accessible(customer + "/erase")
	owner.sees("Not yet", "A watch is in the shop, on docket "+number)

	clerk.moves(number, move{to: "diagnosis", place: "bench", detail: "2"})
	clerk.moves(number, move{to: "withdrawn", place: "counter", reason: "She wants it back."})
	clerk.handsOver(number, number, name, "none")

	owner.accessible(customer + "/erase")
	owner.sees("What goes", "What stays", "article 17(3)(e)")
	form := owner.within("erase-form")
	form.press("erase")
	owner.refused("why")
	form.fill("why", "Asked for by letter.")
	form.press("erase")
	owner.sees("This can't be undone")
	owner.press("sure")
	owner.arrives(customer)
	pseudonym := "Customer " + strings.TrimPrefix(customer, "/customers/")
	owner.sees(pseudonym, "This person's data were erased", "Asked for by letter.")
	for _, path := range []string{customer, "/dockets/" + number, "/dockets/" + number + "/journal", "/dockets/" + number + "/intake",
		"/dockets/" + number + "/hand-over", "/dockets/" + number + "/papers/claim-ticket"} {
		owner.open(path)
		owner.unfoldAll()
		owner.seesNot("Quirina", "Ostlund", "960877", "960 877")
	}
	owner.sheet(number, "")
	owner.sees(pseudonym, "Turnstone")
	for _, typed := range []string{"Quirina", "960877"} {
		owner.open("/customers?q=" + typed)
		owner.sees("Nobody found")
	}
}

// TestFirstMorning follows an empty shop from the key that the program prints to the first watch taken in.
func TestFirstMorning(t *testing.T) {
	t.Parallel()
	data := filepath.Join(openFolder(t), "shop")
	p := launch(t, "serve", "--listen", "127.0.0.1:0", "--data", data, "--setup-key", "tide-table")
	p.healthy(t)
	owner := stranger(t, p)
	owner.open("/setup?key=tide-table")
	owner.until(`location.search.includes("time_zone")`)
	form := owner.within("setup-form")
	if zone := form.value("time_zone"); zone == "" {
		owner.fatalf("no time zone was found")
	}
	form.fillAll("shop_name", "Curlew Steps Watch Repairs", "time_zone", "Europe/London", "currency", "GBP", "phone_region", "GB",
		"name", "Ishbel Marrow", "email", "ishbel@curlew.example", "password", "heron kettle stairwell", "again", "heron kettle stairwell")
	form.press("set-up")
	owner.arrives("/first-steps")
	owner.accessible("/first-steps")
	owner.sees("1 of 11 done", "Europe/London, GBP, GB")

	owner.press("next-step")
	owner.arrives("/settings")
	settings := owner.within("settings-form")
	settings.fillAll("address", "2 Curlew Steps\nSaltby", "hours", "Mo-Fr 09:00-17:00")
	settings.press("save-settings")
	owner.open("/first-steps")
	owner.press("next-step")
	owner.arrives("/first-steps/tax")
	owner.accessible("/first-steps/tax")
	tax := owner.within("tax-form")
	tax.press("save-tax")
	owner.refused("tax")
	tax.tick("tax", "no")
	tax.press("save-tax")
	owner.arrives("/first-steps")
	owner.press("next-step")
	owner.arrives("/settings/logo")
	owner.accessible("/settings/logo")
	owner.press("no-logo")
	owner.arrives("/first-steps")
	owner.press("next-step")
	owner.arrives("/first-steps/print")
	owner.accessible("/first-steps/print")
	owner.download("test-print", "/first-steps/print.pdf")
	ruler := owner.within("ruler-form")
	ruler.fill("ruler_mm", "97.5")
	ruler.press("save-ruler")
	owner.arrives("/first-steps")
	owner.sees("103 %", "5 of 11 done")
	if !strings.Contains(owner.text(byTest("step-backup")), "to do") {
		owner.errorf("a backup is ticked that nobody made")
	}

	number := owner.takesIn(handedIn{customer: "Bram Tolliver", phone: "07700 900 312", maker: "Turnstone", model: "Eddy", serial: "TE 7",
		complaint: "Loses ten minutes a day"})
	owner.stage("intake")
	owner.open("/first-steps")
	if !strings.Contains(owner.text(byTest("step-watch")), "done") {
		owner.errorf("docket %s does not tick the first watch", number)
	}
	owner.press("steps-away")
	owner.open("/owner")
	if owner.has(byTest("owner-steps")) {
		owner.errorf("the list was put away and stands there")
	}
	owner.open("/first-steps")
	owner.press("steps-back")
	owner.open("/owner")
	owner.sees("6 of 11 done")
}
