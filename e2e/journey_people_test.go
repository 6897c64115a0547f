package e2e

import (
	"archive/zip"
	"bytes"
	"io"
	"log/slog"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/staff"
	"ledgerwheel/store/post/letterbox"
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
	holdsAll(owner, owner.attr(`main a[href$="everything.zip"]`, "href"), number, name)
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
		owner.open("/find?q=" + typed)
		owner.seesNot("TR 877", number)
	}
	owner.accessible(customer)
	owner.open("/record")
	owner.press("check-record")
	owner.within("record-standing").sees("whole")
}

// holdsAll takes everything about somebody away before it is erased: what is written in it names them and their docket.
func holdsAll(p *person, path, number, name string) {
	p.t.Helper()
	res, body := p.get(path)
	if res.StatusCode != 200 || res.Header.Get("Content-Type") != "application/zip" {
		p.fatalf("%s: %s, %s", path, res.Status, res.Header.Get("Content-Type"))
	}
	z, err := zip.NewReader(bytes.NewReader(body), int64(len(body)))
	p.try(err)
	var names []string
	var named bool
	for _, file := range z.File {
		names = append(names, file.Name)
		if strings.HasSuffix(file.Name, ".json") {
			r, err := file.Open()
			p.try(err)
			words, err := io.ReadAll(r)
			p.try(err)
			named = named || bytes.Contains(words, []byte(name))
		}
	}
	if all := strings.Join(names, " "); !named || !strings.Contains(all, number) || !strings.Contains(all, ".pdf") {
		p.errorf("what is taken away has %q, named: %t", names, named)
	}
}

// TestFirstMorning follows an empty shop from the key that the program prints to the first watch taken in: each of the first
// steps is ticked by doing it.
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
	owner.press("steps-away")
	owner.open("/owner")
	if owner.has(byTest("owner-steps")) {
		owner.errorf("the list was put away and stands there")
	}
	owner.open("/first-steps")
	owner.press("steps-back")
	owner.open("/owner")
	owner.within("owner-steps").sees("5 of 11 done")
	owner.open("/first-steps")
	for i, step := range []struct {
		key string
		do  func()
	}{
		{"mail", func() { mailsTheFirst(owner) }},
		{"backup", func() {
			wants(t, 0, "Proven.", "backup", "create", "--to", filepath.Join(openFolder(t), "first.backup"), "--data", data, "--verify")
		}},
		{"calibre", func() {
			form := owner.within("calibre-form")
			owner.unfoldAll()
			form.fillAll("name", "CS 1", "beats_per_hour", "18000", "lift_angle_deg", "48", "power_reserve_hours", "40")
			form.press("save-calibre")
		}},
		{"prices", func() {
			form := owner.within("job-form")
			form.fillAll("code", "SV", "name", "Full service", "price", "180", "from", time.Now().Format(time.DateOnly))
			form.press("save-job")
		}},
		{"people", func() {
			form := owner.within("invite-form")
			form.fillAll("name", "Corin Dace", "email", "corin@curlew.example")
			form.tick("role", "watchmaker")
			form.press("invite")
			joins := stranger(t, p)
			joins.open(strings.TrimPrefix(owner.text(byTest("invite-link")), p.address))
			joins.fillAll("password", "gull feather sundial", "again", "gull feather sundial")
			joins.press("join")
			joins.within("who").sees("Corin Dace", "watchmaker")
		}},
	} {
		if !strings.Contains(owner.text(byTest("step-"+step.key)), "to do") {
			owner.errorf("%s is ticked before anybody did it", step.key)
		}
		owner.press("next-step")
		step.do()
		owner.open("/first-steps")
		if !strings.Contains(owner.text(byTest("step-"+step.key)), "done") {
			owner.errorf("%s was done and is not ticked", step.key)
		}
		owner.sees(strconv.Itoa(6+i) + " of 11 done")
	}
	owner.press("next-step")
	owner.arrives("/intake")

	number := owner.takesIn(handedIn{customer: "Bram Tolliver", phone: "07700 900 312", maker: "Turnstone", model: "Eddy", serial: "TE 7",
		complaint: "Loses ten minutes a day"})
	owner.stage("intake")
	owner.open("/first-steps")
	if !strings.Contains(owner.text(byTest("step-watch")), "done") {
		owner.errorf("docket %s does not tick the first watch", number)
	}
	owner.sees("All is done.")
	owner.open("/owner")
	if owner.has(byTest("owner-steps")) {
		owner.errorf("all is done and the list stands there")
	}
}

// mailsTheFirst has mail go by a server of this machine, and the test mail arrive there.
func mailsTheFirst(owner *person) {
	owner.t.Helper()
	box, err := letterbox.Open(time.Now, slog.New(slog.DiscardHandler))
	owner.try(err)
	owner.t.Cleanup(func() { box.Close() })
	form := owner.within("mail-form")
	form.press("save-mail")
	owner.refused("sender_address")
	form = owner.within("mail-form")
	owner.unfoldAll()
	form.fillAll("sender_address", "counter@curlew.example", "host", box.Server().Host, "port", strconv.Itoa(box.Server().Port))
	form.tick("security", "none")
	form.press("save-mail")
	owner.within("mail-test-form").fill("to", "ishbel@curlew.example")
	owner.press("test-mail")
	owner.within("mail-tested").sees("ishbel@curlew.example")
	letters := box.Letters()
	if len(letters) != 1 || letters[0].To != "ishbel@curlew.example" {
		owner.fatalf("%d letters came of the test", len(letters))
	}
	readLetter(owner.t, letters[0].Raw).says("Curlew Steps Watch Repairs")
}
