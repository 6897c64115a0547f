package purchase

import "ledgerwheel/domain/stock"

// Reach is how a docket's part takes part in what happens to the order's line that was made for it.
type Reach struct {
	Pieces int         // of the part that go to a state
	To     stock.State // Arrived, Needed or Cancelled
	Rest   stock.State // where the pieces go that the order brings no longer; "" where they stay
}

// After is what is left of p once r's pieces went: the whole part, or the rest of it.
func (r Reach) After(p stock.PartLine) stock.PartLine {
	switch {
	case r.Pieces == p.Quantity:
		return p.Split(p.Quantity, r.To)
	case r.Rest != "":
		return p.Split(p.Quantity-r.Pieces, r.Rest)
	}
	return p.Split(p.Quantity-r.Pieces, p.State)
}

// Arriving is what becomes of a docket's part where pieces of its line came, after which so many are to come; gone says that
// the watch has left. A part of the catalogue that nobody waits for any more goes free into the drawer, whoever it was
// ordered for.
func Arriving(p stock.PartLine, pieces, toCome int, gone bool) Reach {
	waits := p.State == stock.Ordered || p.State == stock.Needed && !gone
	switch {
	case !waits:
		return Reach{}
	case gone && p.PartID != 0:
		return Reach{Pieces: p.Quantity, To: stock.Cancelled}
	}
	r := Reach{Pieces: min(pieces, p.Quantity), To: stock.Arrived}
	if r.Pieces < p.Quantity && toCome == 0 && p.State == stock.Ordered {
		r.Rest = stock.Needed
	}
	return r
}

// Missing is what becomes of a docket's part where pieces of its line are not to come: they are needed again.
func Missing(p stock.PartLine, pieces, toCome int, gone bool) Reach {
	if p.State != stock.Ordered {
		return Reach{}
	}
	n := min(pieces, p.Quantity)
	if toCome == 0 {
		n = p.Quantity
	}
	if gone {
		return Reach{Pieces: n, To: stock.Cancelled}
	}
	return Reach{Pieces: n, To: stock.Needed}
}

// Again is what becomes of a docket's parts where pieces that were booked in never came.
type Again struct {
	Own      stock.PartLine   // the part that the line was made for: it waits again
	Kept     int              // pieces of it that did come, and become a part of their own
	Others   []stock.PartLine // what changes of those that arrived beside it
	Released int              // pieces that the docket holds back no longer
}

// OrderedAgain has the part that an order's line was made for wait again for pieces that were miscounted. others are the docket's
// parts of the same kind that arrived beside it, as a delivery in part leaves them, the newest first. A part that was fitted or
// moved on by hand stays where it is.
func OrderedAgain(own stock.PartLine, others []stock.PartLine, pieces int) Again {
	a := Again{Own: own}
	switch own.State {
	case stock.Arrived:
		n := min(pieces, own.Quantity)
		a.Own, a.Kept, a.Released = own.Split(n, stock.Ordered), own.Quantity-n, n
		pieces -= n
	case stock.Ordered:
	default:
		return a
	}
	for _, p := range others {
		n := min(pieces, p.Quantity)
		if n == 0 || p.State != stock.Arrived {
			continue
		}
		if n == p.Quantity { // its pieces are the own part's now
			p.State = stock.Cancelled
		} else {
			p.Quantity -= n
		}
		a.Others = append(a.Others, p)
		a.Own.Quantity += n
		a.Released += n
		pieces -= n
	}
	return a
}
