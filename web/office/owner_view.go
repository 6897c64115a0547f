package office

import (
	"ledgerwheel/domain/warranty"
	"ledgerwheel/web/view"
)

var coversHint = "At most " + view.Itoa(warranty.MaxCardCovers) + " characters, so that it fits the card."

// settingsView is the form of the shop's settings.
type settingsView struct {
	Form  view.Form
	Saved string // when, and by whom where that is known
}

func (v settingsView) lede() string {
	return "Saved " + v.Saved + ". A change counts for what is made from then on: papers that were made before keep what " +
		"they say."
}

// watchListView is the list of serials reported stolen. Older leads on; "" at the end.
type watchListView struct {
	Form    view.Form
	Entries []listedEntry
	Older   string
}

// listedEntry is one line of the watch list.
type listedEntry struct {
	ID                                           int64
	Serial, Maker, Source, Note, Reported, Added string
}

func (e listedEntry) removeURL() string { return "/watch-list/" + view.Itoa(int(e.ID)) + "/remove" }

// ownerPages are what the owner keeps, in the order of the page.
var ownerPages = []struct{ href, name, what string }{
	{"/staff", "Staff", "Who works here and what each may do; invitations and password links."},
	{"/settings", "Settings", "Name, address, time zone, currency, tax, warranty and the rule by which runs are decided."},
	{"/rate-limits", "Rate limits", "What a run must satisfy to pass, by grade, in numbered versions."},
	{"/calibres", "Calibres", "Movements the shop knows: beats per hour, lift angle, power reserve, grade."},
	{"/recorders", "Recorders", "The microphones that watches are listened to with, and how fast the clock of each runs."},
	{"/watch-list", "Watch list", "Serials reported stolen. The counter is warned discreetly when one comes in."},
	{"/keys", "Signing keys", "The keys that prove warranty cards genuine."},
}
