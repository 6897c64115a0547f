package e2e

import (
	"strings"
	"testing"

	"ledgerwheel/domain/staff"
)

// TestParcelFromArrivalToDispatch follows a watch that comes by post and goes back by it: refused above what the carrier insures,
// sent with the customer's written consent, labelled, given to the carrier, and its customer told so.
func TestParcelFromArrivalToDispatch(t *testing.T) {
	t.Parallel()
	shop := otherSite(t)
	owner := signedIn(t, shop, staff.Owner)
	owner.accessible("/carriers")
	owner.within("carrier-form").fillAll("name", "Gull Registered", "limit", "500", "note", "Terms of March.")
	owner.press("keep-carrier")
	owner.within("carriers").sees("Gull Registered", "500.00", "takes no lithium cells")

	owner.accessible("/parcels/new")
	form := owner.within("parcel-form")
	form.fillAll("carrier", "Gull Registered", "number", "GR 77 12", "sender", "Mads Holt-Ferry", "things", "2", "contents", "watch\nbox")
	form.tick("seal", "whole")
	form.tick("box", "damaged")
	owner.try(owner.tab.Choose(form.field("photos"), telephonePhoto(t, "box.jpg")))
	form.press("keep-parcel")
	owner.sees("Gull Registered", "GR 77 12")
	owner.within("parcel").sees("Mads Holt-Ferry", "Seal whole, box damaged, 2 things counted", "not taken in yet")
	owner.until(`document.querySelector('img[src^="/parcels/photos/"]')?.naturalWidth > 0`)
	owner.lookOver("the parcel that came")
	owner.open("/parcels")
	owner.sees("GR 77 12", "not taken in yet")
	owner.follow(`main a[href^="/parcels/"]` + owner.named("GR 77 12"))
	owner.press("take-in-from-parcel")
	intake := owner.unfoldsIntake()
	intake.fillAll("phone", "01632 960 762", "name", "Mads Holt-Ferry", "email", "mads@holt-ferry.example", "preferred_contact", "email", "tongue", "en", "maker", "Shearwater", "model", "Neap", "serial", "SN 762", "complaint", "Stops.", "lume", "none")
	for _, part := range []string{"dial", "crystal", "case", "crown", "bracelet"} {
		intake.tick("clear", part)
	}
	intake.press("take-in")
	number := owner.docket()
	owner.moves(number, move{to: "withdrawn", place: "safe", reason: "He wants it back as it is."})

	owner.accessible("/dockets/" + number + "/post")
	prepare := owner.within("prepare-form")
	prepare.js(`[...document.querySelectorAll("label")].find((l) => l.textContent.includes("Gull Registered")).click()`)
	prepare.fillAll("value", "500.01", "to_name", "Mads Holt-Ferry", "street", "Havnegata 4", "postcode", "0150", "town", "Oslo", "country", "NO",
		"contents", "1 watch", "consent_by", "")
	prepare.tick("cell", "lithium")
	prepare.press("prepare-parcel")
	owner.refused("value", "Gull Registered insures up to 500.00 GBP", "not sent by them")
	owner.refused("consent_by", "Write who agreed")
	owner.refused("cell", "lithium")
	owner.sees("none of this goes by post")

	prepare = owner.within("prepare-form")
	prepare.fillAll("value", "500", "consent_by", "Mads Holt-Ferry")
	prepare.tick("cell", "none")
	prepare.tick("nothing_barred", "yes")
	prepare.press("prepare-parcel")
	owner.within("parcel").sees("Gull Registered", "500.00", "Mads Holt-Ferry, by e-mail")
	label := owner.download("address-label", "/dockets/"+number+"/papers/address-label.pdf")
	label.measures(ticketSize, exactMM, 1)
	label.says("Mads Holt-Ferry", "Havnegata 4", "0150 Oslo", "NORWAY", number)
	owner.press("print-label")
	owner.arrives("/dockets/" + number + "/papers/address-label")
	owner.lookOver("the address label")
	owner.prints("label-page").measures(ticketSize, browserMM, 1)
	owner.sheet(number, "post")

	give := owner.within("give-form")
	give.tick("old_parts", "none")
	give.press("give-parcel")
	owner.refused("number", "number of the parcel")
	owner.refused("proof", "proof of posting")
	give = owner.within("give-form")
	give.fillAll("number", "GR 78 01", "proof", "Receipt 4")
	give.press("give-parcel")
	owner.sees("The carrier has the parcel. The docket is closed.")
	owner.within("parcel").sees("GR 78 01", "Receipt 4")

	bag := &postbag{person: owner, to: "mads@holt-ferry.example", in: "en", greeting: "Dear"}
	told := bag.newest("Your watch is on its way").says("Dear Mads Holt-Ferry,", "Shearwater Neap", "Gull Registered", "GR 78 01", "look at the parcel before you sign")
	he := stranger(t, shop)
	he.accessible(strings.TrimPrefix(told.link(he.address+"/c/"), he.address))
	he.within("stay").sees("Given to Gull Registered on", "parcel GR 78 01")
	owner.sheet(number, "journal")
	owner.sees("Came by post in parcel GR 77 12 of Gull Registered", "Given to Gull Registered as parcel GR 78 01.")
}
