package docket

import (
	"slices"

	"ledgerwheel/domain/money"
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
	// GivenMinor is the cash that was counted over the counter, of which change went back; 0 where it was not said.
	GivenMinor int64
	// RoundedMinor is by how much it is over what was due, below zero for under it, because cash goes in steps.
	RoundedMinor int64
	// Beyond confirms that more than is due is meant, as with a deposit.
	Beyond bool
}

const maxMoneyNote = 500 // characters

// Problems says, by form field, what stops p being kept where so much is paid already and so much is still
// due, in minor units: "amount", "method", "note", "beyond".
func (p Payment) Problems(paidMinor, dueMinor int64) map[string]string {
	bad := map[string]string{}
	switch {
	case p.Minor == 0 && p.RoundedMinor == 0:
		bad["amount"] = "Give an amount above zero."
	case p.Minor > maxAmountMinor || p.Minor < -maxAmountMinor:
		bad["amount"] = "That amount is too large; check the zeros."
	case p.RoundedMinor-p.Minor > max(0, paidMinor):
		bad["amount"] = "No more can go back than was paid."
	case p.Minor-p.RoundedMinor > max(0, dueMinor) && !p.Beyond:
		bad["beyond"] = "This is more than is due. If it is meant, as with a deposit, say so here."
	}
	if !slices.Contains(Methods(), p.Method) {
		bad["method"] = "Say how it was paid."
	}
	switch {
	case text.TooLong(p.Note, maxMoneyNote):
		bad["note"] = "Keep the note to 500 characters."
	case holdsCardNumber(p.Note):
		bad["note"] = cardNumberProblem(p.Note)
	case p.Minor < 0 && p.Note == "":
		bad["note"] = "Write why the money goes back: it goes into the journal."
	case p.Method == OtherWay && p.Note == "":
		bad["note"] = "Write how it was paid."
	}
	return bad
}

// InCash is p with what rounding gave or forgave, where it is the cash that settles dueMinor of the currency.
func (p Payment) InCash(dueMinor int64, currency string) Payment {
	if p.Method == Cash && p.Minor != dueMinor && p.Minor == money.CashRounded(dueMinor, currency) {
		p.RoundedMinor = p.Minor - dueMinor
	}
	return p
}

// WayProblem says why money may not go back by p's method, by which cameMinor came and was not given back yet; "" where it
// may. The owner may decide otherwise: the note says why.
func (p Payment) WayProblem(cameMinor int64, owner bool) string {
	if owner || -p.Minor <= max(0, cameMinor) {
		return ""
	}
	return "Less than that came by " + p.Method.Words() + ". Give it back by the way it came; only the owner may decide otherwise."
}

// WayBack is a method by which money may go back, and how much came by it and was not given back yet, in minor units.
type WayBack struct {
	Method    Method
	CameMinor int64 // 0 where none came so, which only the owner may choose
}

// WaysBack are the ways by which money may go back, in the order of Methods: those by which it came and, for the owner, the others
// too. came is what was taken less what was given back by each.
func WaysBack(came map[Method]int64, owner bool) []WayBack {
	var ways []WayBack
	for _, m := range Methods() {
		if minor := max(0, came[m]); minor > 0 || owner {
			ways = append(ways, WayBack{m, minor})
		}
	}
	return ways
}

// ChangeMinor is what went back of the cash that was given, in minor units.
func (p Payment) ChangeMinor() int64 {
	if p.GivenMinor == 0 {
		return 0
	}
	return p.GivenMinor - p.Minor
}
