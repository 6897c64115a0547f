package office

import (
	"cmp"
	"strings"

	"ledgerwheel/domain/till"
	"ledgerwheel/domain/tongue"
	"ledgerwheel/domain/warranty"
	"ledgerwheel/web/view"
)

var coversHint = "At most " + view.Itoa(warranty.MaxCardCovers) + " characters, so that it fits the card."

// certifiedOptions are what the owner may say of the law of the place.
var certifiedOptions = []view.Option{{Value: "", Text: "As the country has it"}, {Value: till.Asked, Text: "The law asks for one"}, {Value: till.NotAsked, Text: "The law asks for none"}}

// certifiedHint says which countries are known to ask, and what follows.
var certifiedHint = func() string {
	var places []string
	for _, p := range till.Places {
		places = append(places, p.Place)
	}
	return "Known to ask: " + strings.Join(places, ", ") + ". Ask your adviser. Where one is asked for, cash is taken outside this program and only written down here."
}()

// settingsView is the form of the shop's settings.
type settingsView struct {
	Form  view.Form
	Logo  bool   // papers print one
	Saved string // when, and by whom where that is known

	Papers []samplePaper       // as they print with what is typed; nil where that can't stand
	Beware map[string][]string // by field, what it leads to on them
}

func (v settingsView) field(name, label string) view.Field {
	return v.Form.Field(name, label).WithBeware(v.Beware[name]...)
}

// otherTongues unfolds the texts by language where there is one, or where one is wrong.
func (v settingsView) otherTongues() bool {
	for _, t := range tongue.All {
		for _, name := range []string{"warranty_covers_" + string(t), "ticket_terms_" + string(t)} {
			if v.Form.Values.Get(name) != "" || v.Form.Problems[name] != "" {
				return true
			}
		}
	}
	return false
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
	Twice                                        bool
}

// table sets each entry as a small card on a phone, so that nothing of it lies off the screen.
func (v watchListView) table() view.DataView {
	d := view.DataView{TableView: view.TableView{Caption: "Serials on the list", HideCaption: true}, Stack: true,
		Columns: []view.Column{{Text: "Serial"}, {Text: "Maker"}, {Text: "Reported"}, {Text: "By whom"},
			{Text: "Put here by"}, {Text: "Change", Hide: true}}}
	for _, e := range v.Entries {
		serial := view.Cell{Text: e.Serial}
		if e.Twice {
			serial.Note = "On the list twice: withdraw one."
		}
		d.Rows = append(d.Rows, view.Row{Head: true, TestID: "listed", Cells: []view.Cell{serial,
			{Text: cmp.Or(e.Maker, "not said"), Auto: true}, view.Txt(e.Reported), {Text: e.Source, Auto: true, Note: e.Note}, view.Txt(e.Added),
			view.Show(withdrawForm(e))}})
	}
	return d
}

func (e listedEntry) removeURL() string { return "/watch-list/" + view.Itoa(int(e.ID)) + "/remove" }

// ownerPages are what the owner keeps, in the order of the page.
var ownerPages = []struct{ href, name, what string }{
	{"/staff", "Staff", "Who works here and what each may do; invitations and password links."},
	{"/settings", "Settings", "Name, address, time zone, currency, tax, warranty and the rule by which runs are decided."},
	{"/messages", "Messages to customers", "What customers are told, in which words, and what is told by itself."},
	{"/mail", "Mail", "The mail server that takes messages to customers, a test mail, and what waits."},
	{"/series", "Invoice numbers", "The series in which invoices and credit notes are numbered."},
	{"/prices", "Price list", "The shop's own jobs: what each costs from which day on, and what it usually needs."},
	{"/figures", "Figures", "How long work takes, whether promises and first tests hold, what comes back, what is taken: by month, bench, calibre, kind of work."},
	{"/books", "Books", "What was billed, taken and is owed, by month and day, and the export for book-keeping."},
	{"/till", "Till", "The day's takings, cash counted against the book, and the days that are closed."},
	{"/orders", "Orders", "What is to be ordered, what suppliers have still to send, and what is late."},
	{"/stock", "Stock", "The catalogue of parts, what is in the drawers, and what is to be ordered again."},
	{"/promises", "Promised days", "How many of the days that were proposed were kept, by the chance that was said."},
	{"/settings/holidays", "Holidays", "Days on which the shop is closed, so that none of them is promised."},
	{"/rate-limits", "Rate limits", "What a run must satisfy to pass, by grade, in numbered versions."},
	{"/calibres", "Calibres", "Movements the shop knows: beats per hour, lift angle, power reserve, grade."},
	{"/recorders", "Recorders", "The microphones that watches are listened to with, and how fast the clock of each runs."},
	{"/place-profile", "Uncollected watches", "The waits of your place's law by which their days are counted, once you confirmed them."},
	{"/loans", "Loan watches", "What the shop lends to customers, where each is, and what is overdue."},
	{"/value-at-risk", "Value at risk", "What the watches here are declared at, by place, against what your insurer covers."},
	{"/carriers", "Carriers", "Whom the shop sends by, and up to what value each insures a parcel."},
	{"/watch-list", "Watch list", "Serials reported stolen. The counter is warned discreetly when one comes in."},
	{"/access", "Sign-ins", "Who signed in and from where, who was refused, and what changed in how people sign in."},
	{"/take-away", "Take the record away", "Everything in one file that any program can read: tables, journals, papers, photographs, sounds."},
	{"/tokens", "Access tokens", "By which the shop's web site, a spreadsheet, a calendar or an instrument reads the record."},
	{"/keys", "Signing keys", "The keys that prove warranty cards genuine."},
}
