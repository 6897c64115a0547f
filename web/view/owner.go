package view

import "slices"

// SettingsView is the form of the shop's settings.
type SettingsView struct {
	Form Form
}

// WatchListView is the list of serials reported stolen. Older leads on; "" at the end.
type WatchListView struct {
	Form    Form
	Entries []ListedEntry
	Older   string
}

// ListedEntry is one line of the watch list.
type ListedEntry struct {
	ID                                           int64
	Serial, Maker, Source, Note, Reported, Added string
}

func (e ListedEntry) removeURL() string { return "/watch-list/" + itoa(int(e.ID)) + "/remove" }

// CalibresView is the shop's list of calibres.
type CalibresView struct {
	Calibres []CalibreRow
	MayEdit  bool
}

// CalibreRow is one line of it; figures not known are "".
type CalibreRow struct {
	ID                                                                int64
	Name, Maker, BeatsPerHour, LiftAngleDeg, PowerReserveHours, Grade string
}

// CalibreView is the form of one calibre; ID 0 is a new one.
type CalibreView struct {
	Form   Form
	ID     int64
	Grades []Option
}

func (v CalibreView) action() string {
	if v.ID == 0 {
		return "/calibres/new"
	}
	return "/calibres/" + itoa(int(v.ID))
}

func (v CalibreView) title() string {
	if v.ID == 0 {
		return "New calibre"
	}
	return v.Form.Values.Get("name")
}

// calibreFields and balanceNames are the form's fields in their order on the page.
var (
	calibreFields = []string{"name", "maker", "beats_per_hour", "lift_angle_deg", "power_reserve_hours", "grade"}
	balanceNames  = []string{"balance_inertia", "balance_diameter", "impulse_jewel_hour", "stud_radius", "regulator_step",
		"screw_count", "screw_first", "screw_radius", "screw_mass", "screw_travel"}
)

func (v CalibreView) order() []string { return slices.Concat(calibreFields, balanceNames) }

// balanceOpen reports whether something of the balance is known or must be mended.
func (v CalibreView) balanceOpen() bool {
	return slices.ContainsFunc(balanceNames, func(name string) bool {
		return v.Form.Values.Get(name) != "" || v.Form.Problems[name] != ""
	})
}

func (v CalibresView) data() DataView {
	d := DataView{TableView: TableView{Caption: "Calibres", HideCaption: true, TestID: "calibres"}, Stack: true,
		Columns: []Column{{Text: "Calibre"}, {Text: "Maker"}, {Text: "Beats per hour", Numeric: true},
			{Text: "Lift angle", Unit: "°", Numeric: true}, {Text: "Power reserve", Unit: "h", Numeric: true}, {Text: "Grade"}}}
	for _, k := range v.Calibres {
		name := Cell{Text: k.Name, Auto: true}
		if v.MayEdit {
			name.Href = "/calibres/" + itoa(int(k.ID))
		}
		d.Rows = append(d.Rows, Row{Head: true, Cells: []Cell{name, {Text: k.Maker, Auto: true}, Txt(k.BeatsPerHour),
			Txt(or(k.LiftAngleDeg, "–")), Txt(or(k.PowerReserveHours, "–")), Txt(k.Grade)}})
	}
	return d
}

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
