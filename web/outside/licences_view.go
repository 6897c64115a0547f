package view

// LicencesView is the public page that lists what the program is made of.
type LicencesView struct{ Parts []LicenceView }

// LicenceView is one part with the address of its licence's text.
type LicenceView struct{ Name, Version, Licences, Href string }
