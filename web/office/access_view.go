package office

import "ledgerwheel/web/view"

// signInView is the sign-in page. Next is where the reader wanted to go.
type signInView struct {
	Form view.Form
	Next string
	Kept string // the form that waits for whoever signs in
	Demo bool
}

// secondView is the page after the password. Passkey is what js/passkey.js needs, "" where none can be used here.
type secondView struct {
	Form       view.Form
	Next, Kept string
	App        bool
	Passkey    string
	Elsewhere  bool // there are passkeys, for another address
	Address    string
}

func (v secondView) code() view.Field {
	f := v.Form.Field("code", "Code").WithHint("Six digits from your app, or a recovery code.").WithAutocomplete("one-time-code").
		WithValue("").Need()
	if !v.App {
		f = v.Form.Field("code", "Recovery code").WithHint("One of those that you printed. Each works once.").WithValue("").Need()
	}
	if v.Passkey == "" {
		f = f.Focused()
	}
	return f
}

// setupView is the page on which the first owner opens the shop.
type setupView struct {
	Found bool // the browser said where it is
	Form  view.Form
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
