// Package insured holds the values of the watches in the shop's keeping against the limits of its insurer: per place, for
// one piece, out of the safe, and in all. Policies of the trade limit the item, the window, what lies in and out of the
// safe after hours, and what is sent (extract of a block policy, docplayer.net 16614879).
//
// A value is what a customer declared, never the shop's guess: one that staff suggest can void the cover
// (jckonline.com, "Jewelry take-in procedures"). A watch without one stands in no sum, and is counted by itself.
package insured

import (
	"fmt"
	"maps"
	"slices"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/money"
)

// Limit names one of the insurer's limits. The value is the form's field and the journal's word.
type Limit string

// The limits. Those of places have the slugs of docket.PlaceKind.
const (
	Counter  Limit = Limit(docket.PlaceCounter)
	Safe     Limit = Limit(docket.PlaceSafe)
	Bench    Limit = Limit(docket.PlaceBench)
	SentOut  Limit = Limit(docket.PlaceSentOut)
	Unlocked Limit = "unlocked" // counter and benches together: what lies out of the safe
	InAll    Limit = "in-all"
	Item     Limit = "item"
)

// AllLimits lists every Limit, in the order in which pages show them.
var AllLimits = []Limit{Safe, Bench, Counter, SentOut, Unlocked, InAll, Item}

// Words name what is limited.
func (l Limit) Words() string {
	switch l {
	case Unlocked:
		return "out of the safe"
	case InAll:
		return "in all"
	case Item:
		return "one watch"
	}
	return docket.PlaceKind(l).Label()
}

// Limits are what the insurer covers, as the owner wrote it down from the policy. A limit that is not there is none that the
// shop knows of.
type Limits struct {
	Currency string // ISO 4217
	Minor    map[Limit]int64
}

// Problems says, by form field (the slugs of Limit, "currency"), what stops l being kept.
func (l Limits) Problems() map[string]string {
	bad := map[string]string{}
	if _, ok := money.Digits(l.Currency); !ok {
		bad["currency"] = "Give a three-letter currency code such as EUR."
	}
	for of, minor := range l.Minor {
		switch {
		case !slices.Contains(AllLimits, of):
			bad["currency"] = "Choose one of the limits listed."
		case minor < 0 || minor > money.Max:
			bad[string(of)] = "Give an amount of 0 or more, or leave it empty where the policy names no limit."
		}
	}
	return bad
}

// KeptSummary is what the shop's journal tells of limits that were written down.
func (l Limits) KeptSummary() string {
	said := "The insurer's limits:"
	for _, of := range AllLimits {
		if minor, ok := l.Minor[of]; ok {
			said += fmt.Sprintf(" %s %s %s,", of.Words(), money.Plain(minor, l.Currency), l.Currency)
		}
	}
	if len(l.Minor) == 0 {
		return "The insurer's limits: none."
	}
	return said[:len(said)-1] + "."
}

// Held is what lies at one kind of place, in one currency.
type Held struct {
	Place      docket.PlaceKind // "" for loan watches that are in the shop
	Currency   string
	Watches    int
	Undeclared int   // of them, without a declared value
	Minor      int64 // of the others together
}

// Counts reports whether what lies at a place counts against a limit.
func (l Limit) Counts(place docket.PlaceKind) bool {
	switch l {
	case InAll:
		return true
	case Unlocked:
		return place == docket.PlaceCounter || place == docket.PlaceBench
	case Item:
		return false
	}
	return docket.PlaceKind(l) == place
}

// Sum is what counts against a limit of all that is held, in one currency; of Item it is zero.
func Sum(held []Held, l Limit, currency string) Held {
	sum := Held{Currency: currency}
	for _, h := range held {
		if l.Counts(h.Place) && h.Currency == currency {
			sum.Watches, sum.Undeclared, sum.Minor = sum.Watches+h.Watches, sum.Undeclared+h.Undeclared, sum.Minor+h.Minor
		}
	}
	return sum
}

// Currencies are those of what is held, the given one first whether or not anything is held in it.
func Currencies(held []Held, first string) []string {
	found := map[string]bool{}
	for _, h := range held {
		found[h.Currency] = h.Currency != first
	}
	delete(found, first)
	return append([]string{first}, slices.Sorted(maps.Keys(found))...)
}

// Over is a limit that is exceeded.
type Over struct {
	Limit      Limit
	LimitMinor int64
	HeldMinor  int64 // what there is against it
	Currency   string
}

// ByMinor is how far.
func (o Over) ByMinor() int64 { return o.HeldMinor - o.LimitMinor }

// Sentence says it, with amounts as people of a locale write them. would is for what is not done yet.
func (o Over) Sentence(locale string, would bool) string {
	holds, is := "holds", "is"
	if would {
		holds, is = "would hold", "would be"
	}
	amounts := fmt.Sprintf("%s above the insurer's limit of %s", money.Format(o.ByMinor(), o.Currency, locale), money.Format(o.LimitMinor, o.Currency, locale))
	held := money.Format(o.HeldMinor, o.Currency, locale)
	switch o.Limit {
	case Item:
		return "This watch alone is " + amounts + " for one watch."
	case InAll:
		return fmt.Sprintf("In all it %s %s: %s.", is, held, amounts)
	case Unlocked:
		return fmt.Sprintf("Out of the safe it %s %s: %s.", is, held, amounts)
	case SentOut:
		return fmt.Sprintf("Sent out it %s %s: %s.", is, held, amounts)
	}
	return fmt.Sprintf("The %s %s %s: %s.", o.Limit.Words(), holds, held, amounts)
}

// Exceeded are the limits that what is held exceeds, in the order of AllLimits; what is in another currency than theirs is
// held against none of them.
func (l Limits) Exceeded(held []Held) []Over {
	var list []Over
	for _, of := range AllLimits {
		if o, over := l.over(of, Sum(held, of, l.Currency).Minor); over {
			list = append(list, o)
		}
	}
	return list
}

func (l Limits) over(of Limit, held int64) (Over, bool) {
	limit, ok := l.Minor[of]
	return Over{of, limit, held, l.Currency}, ok && held > limit
}

// Coming is a watch that is to lie at a place.
type Coming struct {
	Minor    *int64 // its declared value, nil where nobody declared one
	Currency string
	From     docket.PlaceKind // where it lies now; "" for one that is not in the shop yet
	To       docket.PlaceKind
}

// Brings are the limits that a watch would exceed, or exceed further, by lying where it is to go; those that it leaves as
// they are, however far exceeded, are not among them. A watch without a declared value, or in another currency
// than the limits, exceeds none that anybody could name.
func (l Limits) Brings(held []Held, c Coming) []Over {
	if c.Minor == nil || *c.Minor == 0 || c.Currency != l.Currency || c.To == docket.PlaceCustomer || c.From == c.To {
		return nil
	}
	var list []Over
	for _, of := range AllLimits {
		sum := Sum(held, of, l.Currency).Minor + *c.Minor
		if of == Item {
			if c.From != "" {
				continue // said when it was taken in
			}
		} else if !of.Counts(c.To) || c.From != "" && of.Counts(c.From) {
			continue
		}
		if o, over := l.over(of, sum); over {
			list = append(list, o)
		}
	}
	return list
}

// Piece is one watch in the shop's keeping.
type Piece struct {
	Number   string // of its docket
	Watch    string
	Place    docket.Place
	Minor    int64 // its declared value; of no meaning where it has none
	Currency string
}
