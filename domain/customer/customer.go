// Package customer holds who owns a watch and how to reach them, and finds
// records that may be the same person so that duplicates are offered, not made.
package customer

import (
	"net/mail"
	"strings"
	"unicode"

	"ledgerwheel/domain/taxnumber"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/tongue"
)

// Contact is how a customer would rather be reached.
type Contact string

// The ways to reach a customer. ContactAny is the zero value.
const (
	ContactAny   Contact = ""
	ContactPhone Contact = "phone"
	ContactText  Contact = "text"
	ContactEmail Contact = "email"
	ContactPost  Contact = "post"
)

// Contacts lists every Contact in the order a form shows them.
var Contacts = []Contact{ContactAny, ContactPhone, ContactText, ContactEmail, ContactPost}

// Words says c in plain words.
func (c Contact) Words() string {
	switch c {
	case ContactAny:
		return "no preference"
	case ContactPhone:
		return "by telephone"
	case ContactText:
		return "by text message"
	case ContactEmail:
		return "by e-mail"
	case ContactPost:
		return "by post"
	}
	return string(c)
}

// The longest values that may be saved, in characters. 254 is the longest
// e-mail address that SMTP can carry (RFC 5321 section 4.5.3.1.3).
const (
	MaxName    = 200
	maxPhone   = 60
	maxEmail   = 254
	MaxAddress = 1000
	MaxNotes   = 4000
)

// Customer is one person, firm or household the shop works for.
type Customer struct {
	ID               int64 // 0 until saved
	Name             string
	Phone            string // as typed
	PhoneE164        string // Phone as ITU-T E.164, such as +441632960123; empty when it can't be read
	PhoneRegion      string // ISO 3166-1 alpha-2 country by which Phone was read; empty where that was not kept
	PhoneUnread      bool   // Phone stands in the record although it was never read
	Email            string
	Address          string // several lines
	Notes            string
	PreferredContact Contact
	Mail             MailStanding  // what stands against writing to them
	Firm             bool          // its orders have numbers of their own
	TaxNumber        string        // under which a firm is registered for VAT, tidied by taxnumber.Tidied; "" for none
	Tongue           tongue.Tongue // spoken to in; "" where nobody said: the shop's own
}

// Tidied returns c with stray spaces and control characters removed, text in
// Unicode NFC, and PhoneE164 worked out from Phone. region is the shop's ISO
// 3166-1 alpha-2 country code, by which a number without its country is read.
// What a form typed over a record is Tidied by Over instead.
func (c Customer) Tidied(region string) Customer {
	c.Name = text.Line(c.Name)
	c.Phone = text.Line(c.Phone)
	c.readPhone(region)
	c.Email = text.Line(c.Email)
	c.Address = text.Lines(c.Address)
	c.Notes = text.Lines(c.Notes)
	c.TaxNumber = taxnumber.Tidied(c.TaxNumber)
	c.PreferredContact = Contact(strings.TrimSpace(string(c.PreferredContact)))
	c.Tongue = tongue.Tongue(strings.TrimSpace(string(c.Tongue)))
	return c
}

// Problems says, by form field, what stops c being saved. Call it on a Tidied
// customer: a phone number without its E.164 form counts as unreadable.
func (c Customer) Problems() map[string]string {
	bad := map[string]string{}
	switch {
	case c.Name == "" && c.Phone == "":
		bad["name"] = "Give a name or a telephone number."
	case text.TooLong(c.Name, MaxName):
		bad["name"] = "Give a name of at most 200 characters."
	}
	switch {
	case text.TooLong(c.Phone, maxPhone):
		bad["phone"] = "Give a telephone number of at most 60 characters."
	case c.Phone != "" && c.PhoneE164 == "" && !c.PhoneUnread:
		bad["phone"] = "This can't be dialled: give the whole number with its area code, or with + and the country code."
	}
	switch {
	case text.TooLong(c.Email, maxEmail):
		bad["email"] = "Give an e-mail address of at most 254 characters."
	case c.Email != "" && !isEmail(c.Email):
		bad["email"] = "Give an e-mail address such as name@example.org."
	}
	if text.TooLong(c.Address, MaxAddress) {
		bad["address"] = "Give an address of at most 1000 characters."
	}
	if text.TooLong(c.Notes, MaxNotes) {
		bad["notes"] = "Keep the notes to at most 4000 characters."
	}
	if c.TaxNumber != "" {
		if why := taxnumber.Problem(c.TaxNumber); why != "" {
			bad["tax_number"] = why
		}
	}
	if c.Tongue != "" && !c.Tongue.Known() {
		bad["tongue"] = "Choose one of the languages listed."
	}
	if p := c.contactProblem(); p != "" {
		bad["preferred_contact"] = p
	}
	return bad
}

// Named returns c with the telephone number in place of a name that nobody gave, so that pages, papers and the journal
// have something to call them by.
func (c Customer) Named() Customer {
	if c.Name == "" {
		c.Name = c.Phone
	}
	return c
}

// FieldFor names the field of a new customer that what was typed belongs in: phone, email or name. It is empty where
// there are digits that can't be dialled, which no name has: a serial, or an old number.
func FieldFor(typed, region string) string {
	typed = text.Line(typed)
	letters := strings.ContainsFunc(typed, unicode.IsLetter)
	switch {
	case typed == "":
		return ""
	case strings.Contains(typed, "@"):
		return "email"
	case !strings.ContainsFunc(typed, unicode.IsDigit):
		return "name"
	}
	if _, ok := NormalisePhone(typed, region); ok && !letters {
		return "phone"
	}
	return ""
}

func (c Customer) contactProblem() string {
	switch c.PreferredContact {
	case ContactAny:
	case ContactPhone, ContactText:
		if c.Phone == "" {
			return "Give a telephone number too, or choose another way."
		}
	case ContactEmail:
		if c.Email == "" {
			return "Give an e-mail address too, or choose another way."
		}
	case ContactPost:
		if c.Address == "" {
			return "Give an address too, or choose another way."
		}
	default:
		return "Choose one of the ways listed."
	}
	return ""
}

// isEmail reports whether s is one bare address with something on both sides
// of the @. Whether it is delivered only a letter sent there can tell.
func isEmail(s string) bool {
	a, err := mail.ParseAddress(s)
	if err != nil || a.Name != "" || strings.ContainsAny(s, "<> ") {
		return false
	}
	at := strings.LastIndexByte(s, '@')
	domain := s[at+1:]
	return at > 0 && !strings.HasPrefix(domain, ".") && !strings.HasPrefix(domain, "[")
}
