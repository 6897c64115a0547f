package warranty

import (
	"time"

	"ledgerwheel/domain/docket"
)

// Promise is what a watch that left the shop may come back on. Days are civil days, midnight UTC.
type Promise struct {
	Stage        docket.Stage
	HandedOverOn time.Time // zero for a watch still in the shop
	// Carded says that a card was issued. Its term is then what was signed; Card is the one that stands, nil where none
	// does or where it no longer proves itself.
	Carded bool
	Card   *Card
	// Months is the shop's usual term when the watch left, for one that left without a card.
	Months int
}

// MayComeBack reports whether the watch may come back under its warranty today: until the last day that its card was
// signed for or, without a card, for the months that the shop gave when it left. A watch that went back unrepaired has
// no warranty, nor has one whose card was declared void.
func (p Promise) MayComeBack(today time.Time) bool {
	until, ok := p.Until()
	return ok && !today.Before(p.HandedOverOn) && !today.After(until)
}

// Until is the last day on which the watch may come back under its warranty; ok is false where it never may.
func (p Promise) Until() (day time.Time, ok bool) {
	switch {
	case p.Stage != docket.StageHandedOver || p.HandedOverOn.IsZero():
		return time.Time{}, false
	case p.Carded && p.Card == nil:
		return time.Time{}, false
	case p.Carded:
		return p.Card.ExpiresOn, true
	}
	return Expires(p.HandedOverOn, p.Months), p.Months > 0
}
