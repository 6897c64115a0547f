// Package ledger is the stock ledger: moves of parts, from which every quantity follows and is never typed. It has the
// catalogue's part, its lots with their shelf life, what an approved estimate holds back, and the stocktake.
package ledger

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"time"
)

// Kind is what a move of stock is.
type Kind string

// The kinds of move.
const (
	Received   Kind = "received"    // into the drawer: from a supplier, or counted in at the opening of the shop
	Reserved   Kind = "reserved"    // held back for a docket; nothing leaves the drawer
	Released   Kind = "released"    // held back no longer
	Fitted     Kind = "fitted"      // out of the drawer into a docket's watch
	PutBack    Kind = "put-back"    // off a docket's watch into the drawer, unused
	SentBack   Kind = "sent-back"   // to the supplier
	Counted    Kind = "counted"     // the difference a stocktake found
	WrittenOff Kind = "written-off" // broken, lost or past its life
)

// Kinds lists every Kind.
var Kinds = []Kind{Received, Reserved, Released, Fitted, PutBack, SentBack, Counted, WrittenOff}

// Words says k in plain words.
func (k Kind) Words() string {
	switch k {
	case PutBack:
		return "put back"
	case SentBack:
		return "sent back"
	case WrittenOff:
		return "written off"
	}
	return string(k)
}

// Move is one line of the ledger of one part.
type Move struct {
	Kind     Kind
	Pieces   int    // above zero; of Counted, the difference of either sign
	Lot      int64  // of a move in or out of the drawer: the lot, 0 for pieces without one
	DocketID int64  // of the docket a move is for, 0 for none
	Why      string // of Counted, WrittenOff and SentBack
}

// Reservation is what a docket holds back.
type Reservation struct {
	DocketID int64
	Pieces   int
}

// Balance is how one part stands after the moves so far. The zero value is an empty drawer.
type Balance struct {
	lots     []LotCount    // those with pieces, in the order of their ids
	reserved []Reservation // those with pieces, the oldest first
}

// The ways a move is refused.
var (
	ErrMove    = errors.New("not a move of stock")
	ErrTooMany = errors.New("a drawer holds no more")
)

// ShortError reports that fewer pieces are there than a move takes.
type ShortError struct {
	Asked, There int
	What         string // what there is too little of: "free", "reserved for this docket", "in this lot"
}

// Error says it with its numbers.
func (e *ShortError) Error() string { return fmt.Sprintf("%d asked, %d %s", e.Asked, e.There, e.What) }

// MaxPieces is the most of one part that is kept.
const MaxPieces = 1_000_000

// LotCount is how many pieces of a lot are in the drawer; lot 0 stands for those without one.
type LotCount struct {
	Lot    int64
	Pieces int
}

// Standing is the balance of lots by their ids, and of reservations, the oldest first, as they were kept.
func Standing(lots []LotCount, reserved []Reservation) Balance {
	b := Balance{slices.Clone(lots), slices.Clone(reserved)}
	slices.SortFunc(b.lots, func(a, b LotCount) int { return cmp.Compare(a.Lot, b.Lot) })
	return b
}

// OnHand is how many pieces are in the drawer, held back or not.
func (b Balance) OnHand() int {
	sum := 0
	for _, l := range b.lots {
		sum += l.Pieces
	}
	return sum
}

// InLot is how many of them are of a lot, 0 being those without one.
func (b Balance) InLot(lot int64) int {
	for _, l := range b.lots {
		if l.Lot == lot {
			return l.Pieces
		}
	}
	return 0
}

// Lots are the lots with pieces in the drawer, by their ids.
func (b Balance) Lots() []LotCount {
	return slices.Clone(b.lots)
}

// Reserved is how many pieces are held back in all, ReservedFor how many for one docket.
func (b Balance) Reserved() int {
	sum := 0
	for _, r := range b.reserved {
		sum += r.Pieces
	}
	return sum
}

// ReservedFor is how many pieces a docket holds back.
func (b Balance) ReservedFor(docketID int64) int {
	for _, r := range b.reserved {
		if r.DocketID == docketID {
			return r.Pieces
		}
	}
	return 0
}

// Reservations are what dockets hold back, the oldest first.
func (b Balance) Reservations() []Reservation { return slices.Clone(b.reserved) }

// Free is how many pieces nobody holds back.
func (b Balance) Free() int { return b.OnHand() - b.Reserved() }

// After is the balance after a move. No part is made or lost by it, and never is more held back than is in the drawer.
// The error wraps ErrMove for what is no move, ErrTooMany, or is a *ShortError; the balance is then as it was.
func (b Balance) After(m Move) (Balance, error) {
	if !slices.Contains(Kinds, m.Kind) || m.Pieces == 0 || m.Pieces < 0 && m.Kind != Counted || m.Pieces > MaxPieces {
		return b, fmt.Errorf("%s of %d: %w", m.Kind, m.Pieces, ErrMove)
	}
	if m.needsDocket() && m.DocketID == 0 || (m.Kind == Reserved || m.Kind == Released) && m.Lot != 0 {
		return b, fmt.Errorf("%s: %w", m.Kind, ErrMove)
	}
	next := Balance{slices.Clone(b.lots), slices.Clone(b.reserved)}
	var err error
	switch m.Kind {
	case Received, PutBack:
		err = next.into(m.Lot, m.Pieces)
	case Reserved:
		err = next.hold(m.DocketID, m.Pieces)
	case Released:
		err = next.release(m.DocketID, m.Pieces)
	case Fitted, WrittenOff, SentBack:
		err = next.take(m)
	case Counted:
		if m.Pieces > 0 {
			err = next.into(m.Lot, m.Pieces)
		} else {
			err = next.outOf(m.Lot, -m.Pieces)
		}
	}
	if err == nil && next.Free() < 0 {
		err = &ShortError{Asked: b.OnHand() - next.OnHand(), There: max(b.Free(), 0), What: "free"}
	}
	if err != nil {
		return b, err
	}
	return next, nil
}

// needsDocket reports whether a move is for a docket by its kind.
func (m Move) needsDocket() bool {
	return m.Kind == Reserved || m.Kind == Released || m.Kind == Fitted || m.Kind == PutBack
}

func (b *Balance) into(lot int64, pieces int) error {
	if b.OnHand()+pieces > MaxPieces {
		return ErrTooMany
	}
	at, found := slices.BinarySearchFunc(b.lots, lot, func(l LotCount, id int64) int { return cmp.Compare(l.Lot, id) })
	if !found {
		b.lots = slices.Insert(b.lots, at, LotCount{Lot: lot})
	}
	b.lots[at].Pieces += pieces
	return nil
}

func (b *Balance) outOf(lot int64, pieces int) error {
	if there := b.InLot(lot); there < pieces {
		what := "in this lot"
		if lot == 0 {
			what = "in the drawer"
		}
		return &ShortError{pieces, there, what}
	}
	for i := range b.lots {
		if b.lots[i].Lot == lot {
			b.lots[i].Pieces -= pieces
		}
	}
	b.lots = slices.DeleteFunc(b.lots, func(l LotCount) bool { return l.Pieces == 0 })
	return nil
}

func (b *Balance) hold(docketID int64, pieces int) error {
	if free := b.Free(); free < pieces {
		return &ShortError{pieces, free, "free"}
	}
	for i := range b.reserved {
		if b.reserved[i].DocketID == docketID {
			b.reserved[i].Pieces += pieces
			return nil
		}
	}
	b.reserved = append(b.reserved, Reservation{docketID, pieces})
	return nil
}

func (b *Balance) release(docketID int64, pieces int) error {
	if held := b.ReservedFor(docketID); held < pieces {
		return &ShortError{pieces, held, "reserved for this docket"}
	}
	for i := range b.reserved {
		if b.reserved[i].DocketID == docketID {
			b.reserved[i].Pieces -= pieces
		}
	}
	b.reserved = slices.DeleteFunc(b.reserved, func(r Reservation) bool { return r.Pieces == 0 })
	return nil
}

// take takes pieces out of the drawer: first those that the docket of the move holds back, then free ones.
func (b *Balance) take(m Move) error {
	if held := min(b.ReservedFor(m.DocketID), m.Pieces); m.DocketID != 0 && held > 0 {
		if err := b.release(m.DocketID, held); err != nil {
			return err
		}
	}
	return b.outOf(m.Lot, m.Pieces)
}

// Replay is the balance after the moves in their order. The error names the first that could not have been made.
func Replay(moves []Move) (Balance, error) {
	var b Balance
	for i, m := range moves {
		next, err := b.After(m)
		if err != nil {
			return b, fmt.Errorf("move %d, %s: %w", i+1, m.Kind, err)
		}
		b = next
	}
	return b, nil
}

// Lot is a delivery that is told from others because it ages: oils, seals, cells.
type Lot struct {
	ID       int64
	Number   string    // the maker's
	MadeOn   time.Time // civil day as midnight UTC; zero where the label does not say
	UsableTo time.Time // the last day, inclusive; zero for no end
}

// Past reports whether the lot is past its life on the civil day today.
func (l Lot) Past(today time.Time) bool { return !l.UsableTo.IsZero() && today.After(l.UsableTo) }

// Pick chooses from which lots so many pieces are taken: of those within their life the one that ends first, and
// pieces without an end last. The error is a *ShortError where too few are within their life.
func (b Balance) Pick(pieces int, lots []Lot, today time.Time) ([]Move, error) {
	known := map[int64]Lot{}
	for _, l := range lots {
		known[l.ID] = l
	}
	var good []Lot
	usable := 0
	for _, c := range b.lots {
		l := known[c.Lot]
		l.ID = c.Lot
		if !l.Past(today) {
			good = append(good, l)
			usable += c.Pieces
		}
	}
	if usable < pieces {
		return nil, &ShortError{pieces, usable, "within their life"}
	}
	slices.SortStableFunc(good, func(a, b Lot) int {
		switch {
		case a.UsableTo.IsZero() && b.UsableTo.IsZero():
			return 0
		case a.UsableTo.IsZero():
			return 1
		case b.UsableTo.IsZero():
			return -1
		}
		return a.UsableTo.Compare(b.UsableTo)
	})
	var taken []Move
	for _, l := range good {
		if pieces == 0 {
			break
		}
		n := min(pieces, b.InLot(l.ID))
		taken = append(taken, Move{Kind: Fitted, Pieces: n, Lot: l.ID})
		pieces -= n
	}
	return taken, nil
}

// Count is what a stocktake found of one lot of a part, 0 being pieces without a lot.
type Count struct {
	Lot    int64
	Pieces int
	Why    string // where it differs from the book
}

// Booked are the moves that bring the book to what was counted: the differences, and where fewer are left than dockets
// hold back, the newest reservations released first, since whoever asked first is served first. A lot that was not
// counted stays as it is. The error wraps ErrMove for a count below zero, or one given twice.
func (b Balance) Booked(counts []Count) ([]Move, error) {
	var moves []Move
	seen := map[int64]bool{}
	lost := 0
	for _, c := range counts {
		if c.Pieces < 0 || c.Pieces > MaxPieces || seen[c.Lot] {
			return nil, fmt.Errorf("count of %d: %w", c.Pieces, ErrMove)
		}
		seen[c.Lot] = true
		if differs := c.Pieces - b.InLot(c.Lot); differs != 0 {
			moves = append(moves, Move{Kind: Counted, Pieces: differs, Lot: c.Lot, Why: c.Why})
			lost -= differs
		}
	}
	var released []Move
	for _, r := range slices.Backward(b.reserved) {
		short := lost - b.Free()
		for _, m := range released {
			short -= m.Pieces
		}
		if short <= 0 {
			break
		}
		released = append(released, Move{Kind: Released, Pieces: min(short, r.Pieces), DocketID: r.DocketID})
	}
	// Whoever is left without is released first, then what was found is added before what is missing is taken.
	slices.SortStableFunc(moves, func(a, b Move) int { return b.Pieces - a.Pieces })
	return append(released, moves...), nil
}
