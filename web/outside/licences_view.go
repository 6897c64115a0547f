package outside

// licencesView is the public page that lists what the program is made of.
type licencesView struct{ Parts []licenceView }

// licenceView is one part with the address of its licence's text.
type licenceView struct{ Name, Version, Licences, Href string }
