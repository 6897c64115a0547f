package purchase

import (
	"net/mail"
	"time"

	"ledgerwheel/domain/text"
)

// Supplier is whom the shop orders parts from.
type Supplier struct {
	ID       int64
	Name     string
	Email    string
	Phone    string
	Address  string // lines
	Account  string // the number by which the supplier knows the shop
	LeadDays *int   // days from order to arrival, as usual; nil where nobody said
	Note     string
}

const (
	maxSupplierName = 100
	maxLeadDays     = 730
)

// Tidied returns s with its texts fit to be kept.
func (s Supplier) Tidied() Supplier {
	s.Name, s.Email, s.Phone, s.Account = text.Line(s.Name), text.Line(s.Email), text.Line(s.Phone), text.Line(s.Account)
	s.Address, s.Note = text.Lines(s.Address), text.Lines(s.Note)
	return s
}

// Problems says, by form field, what stops s being kept: "name", "email", "phone", "account", "address", "lead_days",
// "note".
func (s Supplier) Problems() map[string]string {
	bad := map[string]string{}
	switch {
	case s.Name == "":
		bad["name"] = "Name the supplier."
	case text.TooLong(s.Name, maxSupplierName):
		bad["name"] = "Keep the name to 100 characters."
	}
	if s.Email != "" {
		if a, err := mail.ParseAddress(s.Email); err != nil || a.Address != s.Email {
			bad["email"] = "Give an e-mail address such as orders@materials.example."
		}
	}
	for field, typed := range map[string]string{"phone": s.Phone, "account": s.Account} {
		if text.TooLong(typed, maxSupplierName) {
			bad[field] = "Keep this to 100 characters."
		}
	}
	for field, typed := range map[string]string{"address": s.Address, "note": s.Note} {
		if text.TooLong(typed, maxNote) {
			bad[field] = "Keep this to 2000 characters."
		}
	}
	if s.LeadDays != nil && (*s.LeadDays < 0 || *s.LeadDays > maxLeadDays) {
		bad["lead_days"] = "Give a number of days, 0 to 730."
	}
	return bad
}

// UsuallyOn is the civil day on which what is ordered today usually comes; zero where nobody said.
func (s Supplier) UsuallyOn(today time.Time) time.Time {
	if s.LeadDays == nil {
		return time.Time{}
	}
	return today.AddDate(0, 0, *s.LeadDays)
}

// KeptSummary is what the shop's journal tells of a supplier that was added or changed.
func (s Supplier) KeptSummary() string { return "Supplier " + s.Name + " was saved." }
