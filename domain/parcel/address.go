package parcel

import (
	"slices"
	"strings"
	"unicode"

	"golang.org/x/text/language"
	"golang.org/x/text/language/display"

	"ledgerwheel/domain/text"
)

// Address is where a parcel goes. Country is an ISO 3166-1 alpha-2 code.
type Address struct {
	Name, Firm string
	Street     string // one or more lines: street and number, flat, district
	Town       string
	Region     string // state, province, county: where the country's addresses have one
	Postcode   string
	Country    string
}

// orders are those in which addresses of countries are written, each with the countries that write so: N name, O firm, A street
// lines, C town, S region, Z postcode; a stroke ends a line. What stands in no row is written in the order of usual. They were
// read in November 2026 from the address data published with libaddressinput (its fields "fmt" and "lfmt", without districts,
// which stand in the street lines here); the Universal Postal Union's sheets are the authority above them.
var orders = map[string]string{
	"O/N/A/Z C":    "FR",
	"N/O/A/C Z":    "AS BH BM BN BT CC CX GU HM IL JO KH LB LS MP MT MV NF NP NZ PR SA SG VC VI",
	"N/O/A/C/Z":    "AC AF AI FK GB GG GS IM IO JE KE LK NA PN SD SH SZ TA TC VG ZA",
	"N/O/A/Z C S":  "EE ES IT LT PF PY UY",
	"N/O/A/C/S":    "HK JM PA SC SR TV ZW",
	"N/O/A/Z C/S":  "AR CL CV MY TR UZ",
	"N/O/A/C S Z":  "AU CA FM MH PW UM",
	"N/O/A/C/S/Z":  "EG IE KR RU UA",
	"N/O/A/Z/C":    "AL EC MU OM",
	"N/O/A/C, S Z": "BB SO TW US",
	"N/O/A/C/S Z":  "ID MN TH VN",
	"N/O/A/C, S":   "AE BS KN",
	"N/O/A/C, S/Z": "HN IQ JP",
	"N/O/A/C Z/S":  "IN NG PE",
	"N/O/A/Z, C/S": "BY KZ",
	"N/O/A/C/S, Z": "CN KP",
	"N/O/A/C, Z":   "LV MM",
	"N/O/A/C-S/Z":  "BR",
	"C/N/O/A/Z":    "HU",
	"N/O/A/Z C, S": "MX",
	"N/O/A/C/Z S":  "PH",
	"N/O/A/C-Z":    "PK",
}

// usual is the order of most of Europe and of many countries besides: the postcode before the town.
const usual = "N/O/A/Z C"

// ownScript are the orders of addresses written in the script of their country: there they go from the greatest to the smallest.
var ownScript = map[string]string{"CN": "Z/SC/A/O/N", "TW": "Z/SC/A/O/N", "HK": "S/C/A/O/N", "JP": "〒Z/SC/A/O/N", "KR": "S C/A/O/N/Z"}

func (a Address) order() string {
	if own, ok := ownScript[a.Country]; ok && hasOwnScript(a.Town+a.Street) {
		return own
	}
	for order, countries := range orders {
		if a.Country != "" && slices.Contains(strings.Fields(countries), a.Country) {
			return order
		}
	}
	return usual
}

// Lines is the address as the post of its country reads it, without the country.
func (a Address) Lines() []string {
	var lines []string
	for _, line := range strings.Split(a.order(), "/") {
		if line == "A" {
			lines = append(lines, nonEmpty(a.Street)...)
			continue
		}
		if set := a.set(line); set != "" {
			lines = append(lines, set)
		}
	}
	return lines
}

// set puts the fields of one line in their places; what parts two of them goes with a field that is empty.
func (a Address) set(line string) string {
	fields := map[rune]string{'N': a.Name, 'O': a.Firm, 'C': a.Town, 'S': a.Region, 'Z': a.Postcode}
	var out strings.Builder
	between := ""
	for _, r := range line {
		value, isField := fields[r]
		switch {
		case !isField:
			between += string(r)
		case value != "":
			if out.Len() > 0 || between == "〒" {
				out.WriteString(between)
			}
			out.WriteString(value)
			between = ""
		default:
			between = ""
		}
	}
	return out.String()
}

func hasOwnScript(s string) bool {
	return strings.ContainsFunc(s, func(r rune) bool {
		return unicode.In(r, unicode.Han, unicode.Hiragana, unicode.Katakana, unicode.Hangul)
	})
}

func nonEmpty(lines string) []string {
	return slices.DeleteFunc(strings.Split(lines, "\n"), func(l string) bool { return strings.TrimSpace(l) == "" })
}

// CountryName is the country in English, "" where the code is none.
func CountryName(code string) string {
	region, err := language.ParseRegion(code)
	if err != nil || len(code) != 2 || !region.IsCountry() {
		return ""
	}
	return display.English.Regions().Name(region)
}

// For is the whole address on a parcel sent from the country home: abroad its last line is the country in capitals, as the
// Universal Postal Union asks for.
func (a Address) For(home string) []string {
	lines := a.Lines()
	if a.Country != home {
		lines = append(lines, strings.ToUpper(CountryName(a.Country)))
	}
	return lines
}

const (
	maxLine     = 200
	maxPostcode = 20
)

// Tidied returns a with its texts fit to be kept.
func (a Address) Tidied() Address {
	a.Name, a.Firm, a.Street, a.Town = text.Line(a.Name), text.Line(a.Firm), text.Lines(a.Street), text.Line(a.Town)
	a.Region, a.Postcode, a.Country = text.Line(a.Region), strings.ToUpper(text.Line(a.Postcode)), strings.ToUpper(text.Line(a.Country))
	return a
}

// Problems says, by form field, what the address lacks: "to_name", "street", "town", "postcode", "country".
func (a Address) Problems() map[string]string {
	bad := map[string]string{}
	switch {
	case a.Name == "" && a.Firm == "":
		bad["to_name"] = "Write to whom it goes."
	case text.TooLong(a.Name, maxLine):
		bad["to_name"] = "Keep the name to 200 characters."
	}
	switch {
	case a.Street == "":
		bad["street"] = "Write street and number."
	case text.TooLong(a.Street, maxLine), len(nonEmpty(a.Street)) > 4:
		bad["street"] = "Keep the street to 4 lines and 200 characters."
	}
	if a.Town == "" || text.TooLong(a.Town, maxLine) {
		bad["town"] = "Write the town."
	}
	if text.TooLong(a.Postcode, maxPostcode) {
		bad["postcode"] = "Keep the postcode to 20 characters."
	}
	if CountryName(a.Country) == "" {
		bad["country"] = "Write the country by its two letters, such as GB."
	}
	return bad
}

// Guess reads an address as people type it: the last line is taken for the town, and what stands above it for the street.
func Guess(name, lines, home string) Address {
	a := Address{Name: name, Country: home}
	list := nonEmpty(lines)
	if len(list) > 1 {
		a.Town, list = strings.TrimSpace(list[len(list)-1]), list[:len(list)-1]
	}
	a.Street = strings.Join(list, "\n")
	return a
}
