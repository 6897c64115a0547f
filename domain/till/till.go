// Package till has the rules of the shop's day of money: what was taken by which way, cash counted at closing against
// the book, and the day that is closed and is not written into again.
package till

import (
	"cmp"
	"errors"
	"fmt"
	"maps"
	"slices"
	"time"

	"ledgerwheel/domain/money"
	"ledgerwheel/domain/text"
)

// Way is how money passed, as payments name it.
type Way string

// Taking is money that passed on a day: above zero came in, below went back.
type Taking struct {
	Way   Way
	Minor int64
}

// MoveKind is what moves cash in or out of the till without a payment.
type MoveKind string

// The kinds of moves.
const (
	Float    MoveKind = "float"    // put in so that there is change
	Banked   MoveKind = "banked"   // taken to the bank
	Expense  MoveKind = "expense"  // paid out of the till, with its paper
	Deposits MoveKind = "deposits" // taken for something lent, or given back
)

// MoveKinds lists every MoveKind in the order a form shows them.
var MoveKinds = []MoveKind{Banked, Float, Expense, Deposits}

// Words says k in plain words.
func (k MoveKind) Words() string {
	switch k {
	case Float:
		return "put in as change"
	case Banked:
		return "taken to the bank"
	case Expense:
		return "paid out of the till"
	case Deposits:
		return "deposit for something lent"
	}
	return string(k)
}

// Move is cash put in, above zero, or taken out, below.
type Move struct {
	Kind  MoveKind
	Minor int64
	Note  string
}

const maxNote = 500

// Problems says, by form field, what stops m being kept beside cash of bookMinor: "kind", "amount", "note".
func (m Move) Problems(bookMinor int64) map[string]string {
	bad := map[string]string{}
	if !slices.Contains(MoveKinds, m.Kind) {
		bad["kind"] = "Say what it is."
	}
	switch {
	case m.Minor == 0 || m.Minor > money.Max || m.Minor < -money.Max:
		bad["amount"] = "Give an amount above zero."
	case (m.Kind == Banked || m.Kind == Expense) && m.Minor > 0 || m.Kind == Float && m.Minor < 0:
		bad["amount"] = "This goes the other way."
	case bookMinor+m.Minor < 0:
		bad["amount"] = "The book has less cash than that. Count the till first."
	}
	if m.Kind == Expense && text.Line(m.Note) == "" {
		bad["note"] = "Say what was paid, and where its paper is."
	}
	if text.TooLong(m.Note, maxNote) {
		bad["note"] = "Keep the note to 500 characters."
	}
	return bad
}

// Day is one civil day of the shop's till in one currency.
type Day struct {
	On          time.Time // midnight UTC
	OpenedMinor int64     // cash counted when the day before was closed
	Takings     []Taking
	Moves       []Move
}

// Cash is the way that goes through the till.
const Cash Way = "cash"

// ByWay is what each way came to, by name.
func (d Day) ByWay() []Taking {
	sums := map[Way]int64{}
	for _, t := range d.Takings {
		sums[t.Way] += t.Minor
	}
	var list []Taking
	for _, w := range slices.Sorted(maps.Keys(sums)) {
		list = append(list, Taking{w, sums[w]})
	}
	return list
}

// BookMinor is the cash that should be in the till.
func (d Day) BookMinor() int64 {
	sum := d.OpenedMinor
	for _, t := range d.Takings {
		if t.Way == Cash {
			sum += t.Minor
		}
	}
	for _, m := range d.Moves {
		sum += m.Minor
	}
	return sum
}

// Counted is the cash that was counted, by the worth of a piece.
type Counted struct {
	WorthMinor int64
	Pieces     int
}

// SumMinor is what the pieces come to.
func SumMinor(list []Counted) int64 {
	sum := int64(0)
	for _, c := range list {
		sum += c.WorthMinor * int64(c.Pieces)
	}
	return sum
}

// Closing is what closes a day.
type Closing struct {
	CountedMinor int64
	Why          string // of a difference
}

// The ways a closing is refused.
var (
	ErrClosed = errors.New("the day is closed")
	ErrEarly  = errors.New("an earlier day is still open")
)

// DifferenceMinor is what was counted beyond the book, below zero for what is missing.
func (d Day) DifferenceMinor(c Closing) int64 { return c.CountedMinor - d.BookMinor() }

// Problems says, by form field, what stops the day being closed by c: "counted", "why".
func (d Day) Problems(c Closing) map[string]string {
	bad := map[string]string{}
	if c.CountedMinor < 0 || c.CountedMinor > money.Max {
		bad["counted"] = "Give the cash that you counted."
	} else if d.DifferenceMinor(c) != 0 && text.Line(c.Why) == "" {
		bad["why"] = "The count differs from the book. Say why, or that nobody knows."
	}
	if text.TooLong(c.Why, maxNote) {
		bad["why"] = "Keep the reason to 500 characters."
	}
	return bad
}

// OpenDay is the civil day that an act now falls to: today's, or the next that is open where today's was closed already.
// closedTo is the last closed day, zero where none is. What happens after closing counts for the next day, so that a
// closed day is never written into.
func OpenDay(today, closedTo time.Time) time.Time {
	if closedTo.IsZero() || today.After(closedTo) {
		return today
	}
	return closedTo.AddDate(0, 0, 1)
}

// Denominations are the coins and notes by which cash is counted, in minor units, the greatest first; nil where they are
// not known here, and the sum is typed. From memory; a shop that has others types the sum.
func Denominations(code string) []int64 {
	list := denominations[code]
	return slices.SortedFunc(slices.Values(list), func(a, b int64) int { return cmp.Compare(b, a) })
}

var denominations = map[string][]int64{
	"EUR": {1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10000, 20000},
	"GBP": {1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000},
	"CHF": {5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10000, 20000, 100000},
	"USD": {1, 5, 10, 25, 50, 100, 200, 500, 1000, 2000, 5000, 10000},
	"JPY": {1, 5, 10, 50, 100, 500, 1000, 2000, 5000, 10000},
}

// Summary is what the shop's journal tells of a closed day.
func (d Day) Summary(c Closing, code string) string {
	diff := d.DifferenceMinor(c)
	said := fmt.Sprintf("Day %s closed: %s %s counted", d.On.Format(time.DateOnly), code, money.Plain(c.CountedMinor, code))
	switch {
	case diff > 0:
		said += ", " + money.Plain(diff, code) + " more than the book"
	case diff < 0:
		said += ", " + money.Plain(-diff, code) + " less than the book"
	default:
		said += ", as the book has it"
	}
	return said + "."
}
