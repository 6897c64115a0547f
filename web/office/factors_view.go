package office

import (
	"cmp"

	"ledgerwheel/web/view"
)

// factorsView is what somebody signs in with besides the password. App is when it was set up, "" without one.
type factorsView struct {
	Any          bool
	App, AppUsed string
	Passkeys     []passkeyRow
	RecoveryLeft int
	CanPasskey   bool   // at the address at which the page is open
	NoPasskeys   string // why not
}

type passkeyRow struct {
	ID                     int64
	Name, Host, Made, Used string
}

func (k passkeyRow) removeURL() string {
	return "/account/sign-in/passkeys/" + view.Itoa(int(k.ID)) + "/remove"
}

func (v factorsView) table() view.DataView {
	d := view.DataView{TableView: view.TableView{Caption: "Your second factors", HideCaption: true}, Stack: true,
		Columns: []view.Column{{Text: "What"}, {Text: "Since"}, {Text: "Last used"}, {Text: "Change", Hide: true}}}
	for _, k := range v.Passkeys {
		d.Rows = append(d.Rows, view.Row{Head: true, TestID: "passkey-row", Cells: []view.Cell{
			{Text: "Passkey: " + k.Name, Note: "for " + k.Host, Auto: true}, view.Txt(k.Made), view.Txt(cmp.Or(k.Used, "not yet")),
			view.Show(removeFactorForm(k.removeURL(), "Remove", "remove-passkey", "Remove the passkey "+k.Name))}})
	}
	if v.App != "" {
		d.Rows = append(d.Rows, view.Row{Head: true, TestID: "app-row", Cells: []view.Cell{{Text: "Codes from an app"},
			view.Txt(v.App), view.Txt(cmp.Or(v.AppUsed, "not yet")),
			view.Show(removeFactorForm("/account/sign-in/app/remove", "Remove", "remove-app", "Remove the codes from an app"))}})
	}
	if v.Any {
		left := view.Itoa(v.RecoveryLeft) + " of them not used"
		row := view.Cell{Text: "Recovery codes", Note: left}
		if v.RecoveryLeft < 3 {
			row.Note = left + ": make new ones soon"
		}
		d.Rows = append(d.Rows, view.Row{Head: true, TestID: "recovery-row", Cells: []view.Cell{row, view.Txt(""), view.Txt(""),
			view.Show(removeFactorForm("/account/sign-in/recovery", "Make new ones", "renew-recovery", "Make new ones: recovery codes"))}})
	}
	return d
}

func (v factorsView) appWords() string {
	if v.App != "" {
		return "Move the codes to another app"
	}
	return "Set up codes from an app"
}

// appView is the page on which an app is set up. QR is an SVG.
type appView struct {
	Form       view.Form
	QR, Secret string
}

// recoveryView is the page that shows recovery codes once.
type recoveryView struct {
	Said             string
	Codes            []string
	Next, Email, Day string
}

// passkeyView is the page on which a passkey is made; Options is "" where that can't be done.
type passkeyView struct {
	Form         view.Form
	Options, Why string
}
