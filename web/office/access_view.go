package office

import "ledgerwheel/web/view"

// signInView is the sign-in page. Next is where the reader wanted to go.
type signInView struct {
	Form view.Form
	Next string
	Kept string // the form that waits for whoever signs in
	Demo bool
}

// setupView is the page on which the first owner opens the shop.
type setupView struct {
	Form view.Form
}

func signInEmail(f view.Form) view.Field {
	e := f.Field("email", "E-mail address").Need().WithAutocomplete("username")
	e.Type, e.InputMode = "email", "email"
	return e
}

// signInPassword never shows again what was typed.
func signInPassword(f view.Form, name, label, autocomplete string) view.Field {
	p := f.Field(name, label).Need().WithAutocomplete(autocomplete).WithValue("")
	p.Type = "password"
	return p
}
