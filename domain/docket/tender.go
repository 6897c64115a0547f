package docket

import (
	"ledgerwheel/domain/money"
	"ledgerwheel/domain/text"
)

// PayWay is how the amount due is settled as a watch leaves: the value that the form sends.
type PayWay string

// The ways. The first three settle all of it by the method of the same name.
const (
	PayCash     PayWay = "cash"
	PayCard     PayWay = "card"
	PayTransfer PayWay = "transfer"
	PayInParts  PayWay = "several" // by several methods at once, or otherwise
	PayLater    PayWay = "later"   // not now: takes the owner's reason
)

// PayWays returns every way, in the order in which the form offers them.
func PayWays() []PayWay { return []PayWay{PayCash, PayCard, PayTransfer, PayInParts, PayLater} }

// Words is w in plain words.
func (w PayWay) Words() string {
	switch w {
	case PayInParts:
		return "several ways"
	case PayLater:
		return "not now"
	}
	return Method(w).Words()
}

// Tender is what is given for what is due, as it is typed in one form. Amounts are in minor units of the docket's
// currency, 0 where nothing was typed.
type Tender struct {
	Way PayWay
	// Given is cash as it was counted over the counter, which may be more than is owed: the rest is change.
	Given                 int64
	Card, Transfer, Other int64
	Note                  string // a voucher's number, or what was given otherwise
}

// Settlement is what becomes of a tender.
type Settlement struct {
	Payments    []Payment
	ChangeMinor int64 // to be given back in cash
}

// Settle works out what is paid by which method and what change goes back, so that the payments come to dueMinor, what
// cash makes up to the nearest step in which the currency's cash goes (the difference stands in RoundedMinor); or says,
// by form field, why they don't: "pay", "given-cash", "given-card", "given-transfer", "given-other", "given-note". Nothing is due
// where dueMinor is not above zero, and then nothing is taken.
func (t Tender) Settle(dueMinor int64, currency string) (Settlement, map[string]string) {
	amount := func(minor int64) string { return amountWords(&minor, currency) }
	bad := map[string]string{}
	if dueMinor <= 0 || t.Way == PayLater {
		return Settlement{}, bad
	}
	t.Note = text.Lines(t.Note)
	switch t.Way {
	case PayCash:
		if t.Given == 0 {
			take := money.CashRounded(dueMinor, currency)
			return Settlement{Payments: []Payment{{Minor: take, RoundedMinor: take - dueMinor, Method: Cash}}}, bad
		}
		t.Card, t.Transfer, t.Other, t.Note = 0, 0, 0, ""
	case PayCard, PayTransfer:
		return Settlement{Payments: []Payment{{Minor: dueMinor, Method: Method(t.Way)}}}, bad
	case PayInParts:
	default:
		bad["pay"] = "Say how it is paid."
		return Settlement{}, bad
	}
	t.amountProblems(bad)
	if len(bad) > 0 {
		return Settlement{}, bad
	}
	exact := dueMinor - t.Card - t.Transfer - t.Other // what cash has to make up
	rest := exact
	if exact > 0 && t.Given > 0 {
		rest = money.CashRounded(exact, currency)
	}
	switch {
	case t.Given+t.Card+t.Transfer+t.Other == 0:
		bad["given-cash"] = "Write what is paid by each way."
	case exact < 0:
		bad[t.field()] = "This comes to more than the " + amount(dueMinor) + " that is due."
	case exact == 0 && t.Given > 0:
		bad["given-cash"] = "The other amounts come to all that is due: no cash is needed."
	case t.Given < rest:
		bad["given-cash"] = amount(rest-t.Given) + " of the " + amount(dueMinor) + " due is still missing."
	}
	if len(bad) > 0 {
		return Settlement{}, bad
	}
	return t.payments(rest, rest-exact), bad
}

// payments is the settlement where cash makes up rest, which is rounded by so much.
func (t Tender) payments(rest, rounded int64) Settlement {
	var s Settlement
	if rest > 0 || rounded != 0 {
		s.Payments = append(s.Payments, Payment{Minor: rest, RoundedMinor: rounded, Method: Cash, GivenMinor: t.Given})
		s.ChangeMinor = t.Given - rest
	}
	for _, p := range []Payment{{Minor: t.Card, Method: Card}, {Minor: t.Transfer, Method: Transfer},
		{Minor: t.Other, Method: OtherWay, Note: t.Note}} {
		if p.Minor > 0 {
			s.Payments = append(s.Payments, p)
		}
	}
	return s
}

// field is that of the greatest amount that is no cash: where too much stands, it is most likely there.
func (t Tender) field() string {
	switch max(t.Card, t.Transfer, t.Other) {
	case t.Card:
		return "given-card"
	case t.Transfer:
		return "given-transfer"
	}
	return "given-other"
}

func (t Tender) amountProblems(bad map[string]string) {
	for field, minor := range map[string]int64{"given-cash": t.Given, "given-card": t.Card, "given-transfer": t.Transfer,
		"given-other": t.Other} {
		switch {
		case minor < 0:
			bad[field] = "Give an amount above zero."
		case minor > maxAmountMinor:
			bad[field] = "That amount is too large; check the zeros."
		}
	}
	switch {
	case text.TooLong(t.Note, maxMoneyNote):
		bad["given-note"] = "Keep the note to 500 characters."
	case holdsCardNumber(t.Note):
		bad["given-note"] = cardNumberProblem(t.Note)
	case t.Other > 0 && t.Note == "":
		bad["given-note"] = "Write how it was paid."
	}
}
