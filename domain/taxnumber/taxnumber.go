// Package taxnumber reads the numbers under which firms are registered for VAT: how each country forms them, and where the
// rule of its check digits is published, that they agree. Nobody is asked whether the number was ever given.
package taxnumber

import (
	"regexp"
	"strings"

	"ledgerwheel/domain/text"
)

// Max is the longest number that is kept, in characters.
const Max = 24

// Hint says beside a field what is asked for and how far it is checked: of some countries only the shape is known.
const Hint = "With the country's letters, as in DE or CHE. Stands on invoices. Its shape is checked, and of many countries its check digits; nobody is asked whether it was ever given."

// parted are the signs that people write between the digits.
var parted = strings.NewReplacer(" ", "", ".", "", "-", "", "/", "", ",", "", ":", "", "\u00a0", "", "\u202f", "", "–", "")

// Tidied is a number as it is kept: capitals without signs between, as GB980780684, but a Swiss one as CHE-100.155.212 MWST.
// What begins with no country's letters stays as it was typed.
func Tidied(typed string) string {
	typed = text.Line(typed)
	n := parted.Replace(strings.ToUpper(typed))
	if strings.HasPrefix(n, "GR") { // the Union writes Greece as EL
		n = "EL" + n[2:]
	}
	if m := swiss.FindStringSubmatch(n); m != nil {
		n = "CHE-" + m[1][:3] + "." + m[1][3:6] + "." + m[1][6:]
		if m[2] != "" {
			n += " " + m[2]
		}
		return n
	}
	if belgian.MatchString(n) { // of before 2005, which have since got a 0 in front
		n = "BE0" + n[2:]
	}
	if !prefixed.MatchString(n) {
		return typed
	}
	return n
}

var (
	prefixed = regexp.MustCompile(`^[A-Z]{2}[0-9A-Z+*]*[0-9][0-9A-Z+*]*$`)
	swiss    = regexp.MustCompile(`^CHE?([0-9]{9})(MWST|TVA|IVA|VAT)?$`)
	belgian  = regexp.MustCompile(`^BE[0-9]{9}$`)
	anywhere = regexp.MustCompile(`^[A-Z]{2}[0-9A-Z]{3,20}$`)
)

// Country is the ISO 3166-1 alpha-2 code of the country that gave a tidied number, "" where it names none.
func Country(n string) string {
	if !prefixed.MatchString(parted.Replace(n)) {
		return ""
	}
	switch c := n[:2]; c {
	case "EL":
		return "GR"
	case "XI": // Northern Ireland, for goods
		return "GB"
	default:
		return c
	}
}

// Problem says what is wrong with a tidied number, "" for nothing. A number of a country that is not in the list of rules is
// only asked to begin with the country's letters.
func Problem(n string) string {
	if text.TooLong(n, Max) {
		return "Keep the number to 24 characters."
	}
	bare := parted.Replace(n)
	if !prefixed.MatchString(bare) {
		return "Begin with the two letters of the country that gave the number, as in DE, then the number."
	}
	r, known := rules[bare[:2]]
	switch {
	case !known && !anywhere.MatchString(bare):
		return "Give the two letters of the country, then letters and digits."
	case !known:
		return ""
	case !r.shape.MatchString(bare[2:]):
		return "A VAT number of this country is " + bare[:2] + " and then " + r.words + "."
	case r.agrees != nil && !r.agrees(bare[2:]):
		return "The check digits of this number don't agree: compare it with the paper that it stands on."
	}
	return ""
}
