package ledger

import "ledgerwheel/domain/stock"

// OfLine are the moves of stock that a docket's part makes by going from was to now, both of the same part of the
// catalogue; none where it is of none. A zero was is a part that is added. A part that has arrived is held back for the
// docket, one that is fitted is out of the drawer, and one that was ordered comes into the drawer first. Lots are left
// to be chosen.
func OfLine(was, now stock.PartLine) []Move {
	if now.PartID == 0 {
		return nil
	}
	heldWas, fittedWas := inStock(was)
	held, fitted := inStock(now)
	var moves []Move
	add := func(kind Kind, pieces int) {
		if pieces > 0 {
			moves = append(moves, Move{Kind: kind, Pieces: pieces})
		}
	}
	if was.State == stock.Ordered && now.State == stock.Arrived {
		add(Received, now.Quantity)
	}
	out := fitted - fittedWas
	add(PutBack, -out)
	more := held + max(out, 0) - heldWas
	add(Reserved, more)
	add(Released, -more)
	add(Fitted, out)
	return moves
}

// inStock is how many pieces of a docket's part are held back, and how many are fitted.
func inStock(p stock.PartLine) (held, fitted int) {
	switch p.State {
	case stock.Arrived:
		return p.Quantity, 0
	case stock.Fitted:
		return 0, p.Quantity
	}
	return 0, 0
}
