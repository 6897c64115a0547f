package customer

import (
	"strings"

	"ledgerwheel/domain/text"

	"github.com/nyaruka/phonenumbers"
	"golang.org/x/text/unicode/norm"
)

// NormalisePhone reads a telephone number as typed and returns it in ITU-T
// E.164 form. region is the ISO 3166-1 alpha-2 code of the country in which a
// number without + and a country code is read. ok is false where the text is
// not a number of a length that can be dialled there. An extension is dropped:
// E.164 has no place for it.
func NormalisePhone(typed, region string) (e164 string, ok bool) {
	n, ok := parsePhone(typed, region)
	if !ok {
		return "", false
	}
	e164 = phonenumbers.Format(n, phonenumbers.E164)
	// What is kept must be what was read: in few countries the digits behind the code can be read another way.
	again, ok := parsePhone(e164, "")
	if !ok || phonenumbers.Format(again, phonenumbers.E164) != e164 {
		return "", false
	}
	return e164, true
}

func parsePhone(typed, region string) (*phonenumbers.PhoneNumber, bool) {
	typed = norm.NFKC.String(strings.TrimSpace(typed))
	if typed == "" {
		return nil, false
	}
	n, err := phonenumbers.Parse(typed, strings.ToUpper(region))
	// Possible rather than valid: numbering plans change faster than tables,
	// and a clerk at the counter must be able to save a new range.
	return n, err == nil && phonenumbers.IsPossibleNumberWithReason(n) == phonenumbers.IS_POSSIBLE
}

func (c *Customer) readPhone(region string) {
	c.PhoneRegion, c.PhoneUnread = "", false
	var ok bool
	if c.PhoneE164, ok = NormalisePhone(c.Phone, region); ok {
		c.PhoneRegion = strings.ToUpper(region)
	}
}

// Over returns c, which a form typed over the record was, Tidied. The form showed the record's number as shown: where
// that still stands there nobody typed a number, and the record's is kept as it is, whatever country the shop reads
// numbers in by now.
func (c Customer) Over(was Customer, shown, region string) Customer {
	c.ID = was.ID
	c = c.Tidied(region)
	if c.Phone != "" && c.Phone == text.Line(shown) {
		c.Phone, c.PhoneE164, c.PhoneRegion, c.PhoneUnread = was.Phone, was.PhoneE164, was.PhoneRegion, was.PhoneUnread
	}
	return c
}

// PhoneIn writes the number for people in home, an ISO 3166-1 alpha-2 country: as it is dialled within the country
// when it belongs there, else with + and its country's code; an extension stands behind it. Tidied(home) reads the
// same number back. What was never read stays as typed.
func (c Customer) PhoneIn(home string) string {
	n, ok := parsePhone(c.PhoneE164, "")
	if !ok {
		return c.Phone
	}
	if typed, ok := parsePhone(c.Phone, c.PhoneRegion); ok && typed.GetExtension() != "" {
		n.Extension = typed.Extension
	}
	forms := []phonenumbers.PhoneNumberFormat{phonenumbers.INTERNATIONAL}
	if n.GetCountryCode() == int32(phonenumbers.GetCountryCodeForRegion(strings.ToUpper(home))) {
		forms = []phonenumbers.PhoneNumberFormat{phonenumbers.NATIONAL, phonenumbers.INTERNATIONAL}
	}
	// A number of no known range may lack its trunk prefix when it is written so, and would then be another number.
	for _, form := range forms {
		shown := phonenumbers.Format(n, form)
		if again, _ := NormalisePhone(shown, home); again == c.PhoneE164 {
			return shown
		}
	}
	return c.PhoneE164
}
