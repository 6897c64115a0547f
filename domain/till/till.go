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
	Way   Way   `json:"way"`
	Minor int64 `json:"minor"`
}

// MoveKind is what moves cash in or out of the till without a payment.
type MoveKind string

// The kinds of moves.
const (
	Float    MoveKind = "float"    // put in so that there is change
	Banked   MoveKind = "banked"   // taken to the bank
	Expense  MoveKind = "expense"  // paid out of the till, with its paper
	Deposits MoveKind = "deposits" // taken for something lent, or given back
	Kept     MoveKind = "kept"     // of a deposit that went out: what pays for harm
	Drawn    MoveKind = "drawn"    // taken out by the owner
)

// MoveKinds lists every MoveKind in the order a form shows them.
var MoveKinds = []MoveKind{Banked, Float, Expense, Deposits, Kept, Drawn}

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
	case Kept:
		return "kept of a deposit"
	case Drawn:
		return "taken out by the owner"
	}
	return string(k)
}

// Move is cash put in, above zero, or taken out, below.
type Move struct {
	Kind  MoveKind
	Minor int64
	Note  string
	// TakesBack is the id of the move that was a mistake and that this one takes back, 0 for none.
	TakesBack int64
}

// Act is what a form offers: a kind of move, and the way that the cash goes.
type Act struct {
	Kind MoveKind
	In   bool
}

// Acts lists every Act, the usual ones first.
var Acts = []Act{{Banked, false}, {Float, true}, {Expense, false}, {Deposits, true}, {Deposits, false}, {Drawn, false}}

// Key names an act in forms.
func (a Act) Key() string {
	if a.Kind == Deposits && !a.In {
		return "deposits-back"
	}
	return string(a.Kind)
}

// Words says an act in plain words.
func (a Act) Words() string {
	if a.Kind == Deposits && !a.In {
		return "deposit for something lent, given back"
	}
	return a.Kind.Words()
}

// ActOf is the act of a form's key; ok is false for another key.
func ActOf(key string) (a Act, ok bool) {
	i := slices.IndexFunc(Acts, func(a Act) bool { return a.Key() == key })
	if i < 0 {
		return a, false
	}
	return Acts[i], true
}

// Move is the act with an amount, above zero as it was typed.
func (a Act) Move(minor int64, note string) Move {
	if !a.In {
		minor = -minor
	}
	return Move{Kind: a.Kind, Minor: minor, Note: text.Line(note)}
}

// Back is the move that takes m back, whose id is given.
func (m Move) Back(id int64) Move {
	return Move{Kind: m.Kind, Minor: -m.Minor, Note: m.Note, TakesBack: id}
}

// Words says m in plain words.
func (m Move) Words() string {
	words := Act{m.Kind, m.Minor > 0}.Words()
	if m.TakesBack != 0 {
		return "taken back: " + Act{m.Kind, m.Minor < 0}.Words()
	}
	return words
}

// Summary is what the shop's journal tells of m on a day.
func (m Move) Summary(on time.Time, code string) string {
	return fmt.Sprintf("Till, day %s: %s %s, %s.", on.Format(time.DateOnly), code, money.Plain(max(m.Minor, -m.Minor), code), m.Words())
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
	case m.TakesBack == 0 && m.Kind != Kept && !slices.ContainsFunc(Acts, func(a Act) bool { return a.Kind == m.Kind && a.In == (m.Minor > 0) }),
		m.Kind == Kept && m.Minor < 0:
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
	// SinceMinor is cash of later days that lies in the till already, where a day is counted late.
	SinceMinor int64
}

// Last is the last closed day; zero where none was.
type Last struct {
	On       time.Time
	EndMinor int64 // cash that was counted, without that of later days
}

// AtHand is the day that is to be counted next, of what happened on the days after the last closed one: the earliest
// day before today on which cash moved, else today or, where that is closed, the next. Cash of later days is its SinceMinor.
func AtHand(last Last, days []Day, today time.Time) Day {
	slices.SortFunc(days, func(a, b Day) int { return a.On.Compare(b.On) })
	on := OpenDay(today, last.On)
	if i := slices.IndexFunc(days, Day.Waits); i >= 0 && days[i].On.Before(on) {
		on = days[i].On
	}
	d := Day{On: on, OpenedMinor: last.EndMinor}
	for _, other := range days {
		switch other.On.Compare(on) {
		case 0:
			d.Takings, d.Moves = append(d.Takings, other.Takings...), append(d.Moves, other.Moves...)
		case 1:
			d.SinceMinor += other.cashMinor()
		case -1:
			d.OpenedMinor += other.cashMinor() // comes to zero: no cash moved
		}
	}
	return d
}

// Waits reports whether cash moved on d, so that it must be counted.
func (d Day) Waits() bool {
	return len(d.Moves) > 0 || slices.ContainsFunc(d.Takings, func(t Taking) bool { return t.Way == Cash })
}

// Early reports whether d has not begun: it can't be closed yet.
func (d Day) Early(today time.Time) bool { return d.On.After(today) }

// Late reports whether d should have been closed before today.
func (d Day) Late(today time.Time) bool { return d.On.Before(today) }

// cashMinor is the cash that moved on d.
func (d Day) cashMinor() int64 { return d.BookMinor() - d.OpenedMinor }

// HoldsMinor is the cash that should lie in the till now, with that of later days.
func (d Day) HoldsMinor() int64 { return d.BookMinor() + d.SinceMinor }

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
	WorthMinor int64 `json:"worth_minor"`
	Pieces     int   `json:"pieces"`
}

// MaxPieces is how many of one coin or note can be counted.
const MaxPieces = 100_000

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
	CountedMinor int64     // with the cash of later days
	Pieces       []Counted // nil where the sum was typed
	Why          string    // of a difference
}

// The ways a closing is refused.
var (
	ErrClosed = errors.New("the day is closed")
	ErrEarly  = errors.New("the day has not begun, or an earlier one is still open")
)

// DifferenceMinor is what was counted beyond the book, below zero for what is missing.
func (d Day) DifferenceMinor(c Closing) int64 { return c.CountedMinor - d.HoldsMinor() }

// EndMinor is the cash with which d ends and the next day begins.
func (d Day) EndMinor(c Closing) int64 { return c.CountedMinor - d.SinceMinor }

// Problems says, by form field, what stops the day being closed by c: "counted", "why".
func (d Day) Problems(c Closing) map[string]string {
	bad := map[string]string{}
	switch {
	case c.CountedMinor < 0 || c.CountedMinor > money.Max:
		bad["counted"] = "Give the cash that you counted."
	case c.Pieces != nil && SumMinor(c.Pieces) != c.CountedMinor:
		bad["counted"] = "The coins and notes come to another sum."
	case slices.ContainsFunc(c.Pieces, func(p Counted) bool { return p.Pieces < 0 || p.Pieces > MaxPieces }):
		bad["counted"] = "Give a number of pieces, 0 or more."
	}
	if bad["counted"] == "" && d.DifferenceMinor(c) != 0 && text.Line(c.Why) == "" {
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
	said := fmt.Sprintf("Day %s closed: %s %s counted", d.On.Format(time.DateOnly), code, money.Plain(d.EndMinor(c), code))
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
