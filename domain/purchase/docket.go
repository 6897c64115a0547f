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
