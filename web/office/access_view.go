package view

// SignInView is the sign-in page. Next is where the reader wanted to go.
type SignInView struct {
	Form Form
	Next string
	Demo bool
}

// SetupView is the page on which the first owner opens the shop.
type SetupView struct {
	Form Form
}

func signInEmail(f Form) Field {
	e := f.Field("email", "E-mail address").Need().WithAutocomplete("username")
	e.Type, e.InputMode = "email", "email"
	return e
}

// signInPassword never shows again what was typed.
func signInPassword(f Form, name, label, autocomplete string) Field {
	p := f.Field(name, label).Need().WithAutocomplete(autocomplete).WithValue("")
	p.Type = "password"
	return p
}
