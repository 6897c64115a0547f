package docket

import (
	"slices"
	"strings"

	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/text"
)

// Method is how money passed over the counter.
type Method string

// The methods.
const (
	Cash     Method = "cash"
	Card     Method = "card"
	Transfer Method = "transfer"
	OtherWay Method = "other"
)

// Methods returns every method, in the order in which the form offers them.
func Methods() []Method { return []Method{Cash, Card, Transfer, OtherWay} }

// Words is m in plain words.
func (m Method) Words() string {
	switch m {
	case Cash, Card:
		return string(m)
	case Transfer:
		return "bank transfer"
	}
	return "otherwise"
}

// Payment is money taken for a docket, or given back.
type Payment struct {
	Minor  int64 // in the docket's currency; below nought when it goes back
	Method Method
	Note   string
	// Beyond confirms that more than is due is meant, as with a deposit.
	Beyond bool
}

const maxMoneyNote = 500 // characters

// Problems says, by form field, what stops p being kept where so much is paid already and so much is still
// due, in minor units: "amount", "method", "note", "beyond".
func (p Payment) Problems(paidMinor, dueMinor int64) map[string]string {
	bad := map[string]string{}
	switch {
	case p.Minor == 0:
		bad["amount"] = "Give an amount above zero."
	case p.Minor > maxAmountMinor || p.Minor < -maxAmountMinor:
		bad["amount"] = "That amount is too large; check the zeros."
	case -p.Minor > max(0, paidMinor):
		bad["amount"] = "No more can go back than was paid."
	case p.Minor > max(0, dueMinor) && !p.Beyond:
		bad["beyond"] = "This is more than is due. If it is meant, as with a deposit, say so here."
	}
	if !slices.Contains(Methods(), p.Method) {
		bad["method"] = "Say how it was paid."
	}
	switch {
	case text.TooLong(p.Note, maxMoneyNote):
		bad["note"] = "Keep the note to 500 characters."
	case p.Minor < 0 && p.Note == "":
		bad["note"] = "Write why the money goes back: it goes into the journal."
	case p.Method == OtherWay && p.Note == "":
		bad["note"] = "Write how it was paid."
	}
	return bad
}

// Charge sets what the customer owes in all, in place of what the estimate says.
type Charge struct {
	Minor  *int64 // in the docket's currency; nil goes back to the estimate
	Reason string
}

// Problems says, by form field, what stops the charge being set by someone of the given role, where so much
// would be owed as the estimate stands, in minor units: "charged", "reason". Charging less than was agreed
// gives away the shop's money, so it is for whoever may override.
func (c Charge) Problems(agreedMinor int64, role staff.Role) map[string]string {
	bad := map[string]string{}
	amountProblem(bad, "charged", c.Minor)
	if c.Minor != nil && bad["charged"] == "" && *c.Minor < agreedMinor && !staff.Can(role, staff.Override) {
		bad["charged"] = "Only the owner may charge less than was agreed."
	}
	switch {
	case strings.TrimSpace(c.Reason) == "":
		bad["reason"] = "Write why: the reason goes into the journal."
	case text.TooLong(c.Reason, maxReason):
		bad["reason"] = "Keep the reason to 2000 characters."
	}
	return bad
}
