package stock

import (
	"slices"

	"ledgerwheel/domain/text"
)

// Payer is who pays for a part that no agreed estimate holds.
type Payer string

// The answers. PayerNone is the zero value: nothing was asked, as the estimate holds the part, or the part was fitted
// before the question was.
const (
	PayerNone     Payer = ""
	PayerEstimate Payer = "estimate" // another line of the agreed estimate covers it
	PayerShop     Payer = "shop"     // on the house
	PayerCustomer Payer = "customer" // to be asked: it is priced in a new revision of the estimate
)

// Payers lists the answers in the order a form shows them.
var Payers = []Payer{PayerCustomer, PayerEstimate, PayerShop}

// Words says p in plain words.
func (p Payer) Words() string {
	switch p {
	case PayerEstimate:
		return "a line of the agreed estimate covers it"
	case PayerShop:
		return "on the house"
	case PayerCustomer:
		return "the customer is asked, by a new revision of the estimate"
	}
	return ""
}

// Money is who pays for a part, and why, or by which line.
type Money struct {
	Payer Payer
	Why   string
}

// NotHeld is said of a part that no agreed estimate holds.
const NotHeld = "No agreed estimate holds this part."

// Problems says, by form field, what stops a part that no agreed estimate holds being fitted: "payer" or "payer_why".
func (m Money) Problems() map[string]string {
	bad := map[string]string{}
	switch {
	case !slices.Contains(Payers, m.Payer):
		bad["payer"] = NotHeld + " Say who pays for it."
	case m.Payer == PayerEstimate && m.Why == "":
		bad["payer_why"] = "Say which line of the estimate covers it."
	case m.Payer == PayerShop && m.Why == "":
		bad["payer_why"] = "Say why it is on the house: it goes into the journal."
	}
	if text.TooLong(m.Why, MaxNote) {
		bad["payer_why"] = "Keep this to at most 2000 characters."
	}
	return bad
}

// MoneySummary is what the journal tells of who pays for p.
func (p PartLine) MoneySummary() string {
	return "For " + p.Words() + ": " + p.Money.Payer.Words() + "."
}
