// Package parcel has the rules of watches that come and go by post: how a parcel came, by which carrier one may be sent, to
// what value, and what must not go.
package parcel

import (
	"fmt"

	"ledgerwheel/domain/money"
	"ledgerwheel/domain/text"
)

// Carrier is one of those that the shop sends by, as its owner wrote it down from the carrier's terms. The program knows no
// carrier's terms by itself: they differ and change.
type Carrier struct {
	ID         int64
	Name       string
	LimitMinor int64  // the most that the carrier insures a parcel for, in minor units
	Currency   string // of the limit, ISO 4217
	// CellsInEquipment says that the carrier takes lithium cells which are installed in what is sent.
	CellsInEquipment bool
	Note             string // such as where its terms are found, and of which day they are
}

const (
	maxCarrier = 80
	maxNote    = 1000
	maxMinor   = 99_999_999_999 // a slip of typing beyond any parcel
)

// Tidied returns c with its texts fit to be kept.
func (c Carrier) Tidied() Carrier {
	c.Name, c.Note = text.Line(c.Name), text.Lines(c.Note)
	return c
}

// Problems says, by form field, what stops c being kept: "name", "limit", "note".
func (c Carrier) Problems() map[string]string {
	bad := map[string]string{}
	switch {
	case c.Name == "":
		bad["name"] = "Write the carrier's name."
	case text.TooLong(c.Name, maxCarrier):
		bad["name"] = "Keep the name to 80 characters."
	}
	if c.LimitMinor < 1 || c.LimitMinor > maxMinor {
		bad["limit"] = "Write up to what value the carrier insures a parcel, as its terms say."
	}
	if text.TooLong(c.Note, maxNote) {
		bad["note"] = "Keep the note to 1000 characters."
	}
	return bad
}

// LimitWords is the limit as people of a locale write it.
func (c Carrier) LimitWords(locale string) string {
	return money.Format(c.LimitMinor, c.Currency, locale)
}

// CellWords says whether lithium cells may go with the carrier.
func (c Carrier) CellWords() string {
	if c.CellsInEquipment {
		return "takes lithium cells inside a watch"
	}
	return "takes no lithium cells"
}

// CarrierKeptSummary says in the shop's journal what was written down of a carrier.
func (c Carrier) CarrierKeptSummary() string {
	return fmt.Sprintf("Carrier %s: insures up to %s, %s.", c.Name, Amount(c.LimitMinor, c.Currency), c.CellWords())
}

// CarrierEndedSummary says that the shop no longer sends by it.
func (c Carrier) CarrierEndedSummary() string { return "The shop sends no longer by " + c.Name + "." }

// Amount is an amount in minor units as journals write it.
func Amount(minor int64, currency string) string {
	return money.Plain(minor, currency) + " " + currency
}
