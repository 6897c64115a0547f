package customer

import (
	"slices"
	"strings"

	"ledgerwheel/domain/tongue"
)

// Side says which of two records of one person a particular is taken from.
type Side string

// The sides. OfBoth is for notes alone, which are put one below the other.
const (
	OfKept  Side = "kept"
	OfOther Side = "other"
	OfBoth  Side = "both"
)

// Particular is one field of two records laid side by side.
type Particular struct {
	Field       string // as forms name it
	Label       string
	Kept, Other string // as they read; a way to be reached in words
	// Usual is the side that is offered: the kept record's, unless only the other says anything.
	Usual Side
	// Both says that both may be kept.
	Both bool
}

// Differs reports whether somebody must choose.
func (p Particular) Differs() bool { return p.Kept != p.Other }

// SideBySide lays two records beside each other, in the order of the form. home is the country in which the shop writes
// telephone numbers.
func SideBySide(kept, other Customer, home string) []Particular {
	list := []Particular{
		{Field: "name", Label: "Name", Kept: kept.Name, Other: other.Name},
		{Field: "phone", Label: "Telephone", Kept: kept.PhoneIn(home), Other: other.PhoneIn(home)},
		{Field: "email", Label: "E-mail address", Kept: kept.Email, Other: other.Email},
		{Field: "address", Label: "Address", Kept: kept.Address, Other: other.Address},
		{Field: "tax_number", Label: "Tax number", Kept: kept.TaxNumber, Other: other.TaxNumber},
		{Field: "preferred_contact", Label: "Would rather be reached", Kept: kept.PreferredContact.Words(), Other: other.PreferredContact.Words()},
		{Field: "tongue", Label: "Language", Kept: tongueWords(kept.Tongue), Other: tongueWords(other.Tongue)},
		{Field: "notes", Label: "Notes", Kept: kept.Notes, Other: other.Notes, Both: kept.Notes != "" && other.Notes != ""},
	}
	for i := range list {
		p := &list[i]
		p.Usual = OfKept
		switch {
		case p.Both && p.Differs():
			p.Usual = OfBoth
		case p.Kept == "" && p.Other != "", p.Field == "preferred_contact" && kept.PreferredContact == ContactAny,
			p.Field == "tongue" && kept.Tongue == "":
			p.Usual = OfOther
		}
	}
	return list
}

// Merged is the one record made of two, each particular from the side that sides names; what is not named is the kept
// record's. The problems are by form field, also those of the record that would come of it.
func Merged(kept, other Customer, sides map[string]Side) (Customer, map[string]string) {
	c := kept
	bad := map[string]string{}
	for field, side := range sides {
		if side == OfKept || side == "" {
			continue
		}
		if side == OfBoth && field == "notes" {
			c.Notes = bothNotes(kept.Notes, other.Notes)
			continue
		}
		if side != OfOther || !c.take(field, other) {
			bad[field] = "Choose one of the two."
		}
	}
	for field, why := range c.Problems() {
		if bad[field] == "" {
			bad[field] = why
		}
	}
	return c, bad
}

func tongueWords(t tongue.Tongue) string {
	if t == "" {
		return "the shop's own"
	}
	return t.Words()
}

// take copies one particular of another record, and says whether there is such a field.
func (c *Customer) take(field string, from Customer) bool {
	switch field {
	case "name":
		c.Name = from.Name
	case "phone": // all that was read of it goes together
		c.Phone, c.PhoneE164, c.PhoneRegion, c.PhoneUnread = from.Phone, from.PhoneE164, from.PhoneRegion, from.PhoneUnread
	case "email":
		c.Email = from.Email
	case "address":
		c.Address = from.Address
	case "preferred_contact":
		c.PreferredContact = from.PreferredContact
	case "tax_number":
		c.TaxNumber = from.TaxNumber
	case "tongue":
		c.Tongue = from.Tongue
	case "notes":
		c.Notes = from.Notes
	default:
		return false
	}
	return true
}

func bothNotes(kept, other string) string {
	parts := slices.DeleteFunc([]string{kept, other}, func(s string) bool { return s == "" })
	if kept == other {
		return kept
	}
	return strings.Join(parts, "\n")
}
