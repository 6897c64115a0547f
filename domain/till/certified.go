package till

import "slices"

// Place is a country whose law is taken to ask for a certified till. It is a starting point, to be held against the law by
// the owner, who knows the place.
type Place struct {
	Region string // ISO 3166, two letters
	Place  string
	Law    string
	Source string // where it was read; "" where it comes from memory
}

// Places are the countries that are known here.
var Places = []Place{
	{"DE", "Germany", "Section 146a AO and the Kassensicherungsverordnung: software that is able to take cash needs the certified security module.",
		"nwb.de, Kassenführung 2020; the section's number from memory"},
	{"AT", "Austria", "Section 131b BAO and the Registrierkassensicherheitsverordnung: above a turnover, cash goes through a till with a signature unit.", ""},
	{"FR", "France", "CGI article 286, I, 3° bis: software that records private customers' payments must be certified.", ""},
	{"IT", "Italy", "Takings of the day go to the tax office through a certified recorder.", ""},
}

// What the owner said of the place, as it is kept; "" leaves it to the country.
const (
	Asked    = "asked"
	NotAsked = "not-asked"
)

// SaidProblem says why what the owner said can't be kept; "" where it can.
func SaidProblem(said string) string {
	if !slices.Contains([]string{"", Asked, NotAsked}, said) {
		return "Choose one of these."
	}
	return ""
}

// Certified reports whether a certified till is asked for: as the owner said, else as the country is known here, with the
// place where that decides.
func Certified(said, region string) (asked bool, p Place) {
	i := slices.IndexFunc(Places, func(p Place) bool { return p.Region == region })
	if i >= 0 {
		p = Places[i]
	}
	return said == Asked || said == "" && i >= 0, p
}

// NotCertified is said wherever cash is written down while a certified till is asked for.
const NotCertified = "This is no certified till. Ring cash up in the certified till of the shop; here it is only written down, and its receipt is the one that counts."
