// Package purchase has the rules of orders to suppliers: what was ordered, what came, what came wrong, and what is still
// to come. Whatever comes can be written down as what it is, also where nobody ordered it.
package purchase

import (
	"errors"
	"fmt"
	"slices"
	"time"

	"ledgerwheel/domain/money"
	"ledgerwheel/domain/text"
)

// Line is one part of an order.
type Line struct {
	ID          int64
	PartID      int64 // of the catalogue, 0 for a part that is ordered for one docket and never is stock
	PartLineID  int64 // of the docket that waits for it, 0 for the drawer
	Number      string
	Description string
	Pieces      int
	CostMinor   int64 // of one piece, in the order's currency
}

// EventKind is what happened to an order.
type EventKind string

// The kinds. All but Sent and Confirmed are about one line.
const (
	Sent        EventKind = "sent"
	Confirmed   EventKind = "confirmed"    // by the supplier, with the day
	Came        EventKind = "came"         // the right part; more than was ordered is surplus
	CameWrong   EventKind = "came-wrong"   // another part in its place, or a bad one: the order stands
	BackOrdered EventKind = "back-ordered" // the supplier has none; comes later
	Cancelled   EventKind = "cancelled"    // pieces that are not to come
)

// EventKinds lists every EventKind.
var EventKinds = []EventKind{Sent, Confirmed, Came, CameWrong, BackOrdered, Cancelled}

// Words says k in plain words.
func (k EventKind) Words() string {
	switch k {
	case CameWrong:
		return "came wrong"
	case BackOrdered:
		return "on back order"
	}
	return string(k)
}

// Event is one thing that happened to an order.
type Event struct {
	Kind   EventKind
	LineID int64
	Pieces int       // of Came, CameWrong and Cancelled
	DueOn  time.Time // civil day as midnight UTC, of Confirmed and BackOrdered; zero where the supplier names none
	Note   string    // of CameWrong: what came instead
}

// Order is one order to one supplier with what happened to it so far.
type Order struct {
	Currency string
	Lines    []Line
	Events   []Event
}

// Standing is how one line stands.
type Standing struct {
	Came, Wrong, Cancelled int
	Surplus                int       // of Came, beyond what was ordered
	ToCome                 int       // pieces
	DueOn                  time.Time // the day the supplier named last
	BackOrder              bool
}

const (
	maxPieces = 10_000
	maxNote   = 2000
	maxLines  = 300
)

// The ways an event is refused.
var (
	ErrNoLine  = errors.New("no such line")
	ErrNotSent = errors.New("the order was not sent yet")
	ErrSent    = errors.New("the order was sent already")
	ErrPieces  = errors.New("not a number of pieces")
	ErrNothing = errors.New("nothing of this line is still to come")
	ErrNote    = errors.New("say what came instead")
)

// Problems says, by form field, what stops the order being sent: "lines", or "lines.i.FIELD".
func (o Order) Problems() map[string]string {
	bad := map[string]string{}
	switch {
	case len(o.Lines) == 0:
		bad["lines"] = "Put at least one part on it."
	case len(o.Lines) > maxLines:
		bad["lines"] = "Keep an order to 300 lines."
	}
	for i, l := range o.Lines {
		at := func(field string) string { return fmt.Sprintf("lines.%d.%s", i, field) }
		if l.Description == "" && l.Number == "" {
			bad[at("description")] = "Say which part."
		}
		if text.TooLong(l.Description, 200) {
			bad[at("description")] = "Keep this to 200 characters."
		}
		if text.TooLong(l.Number, 200) {
			bad[at("number")] = "Keep this to 200 characters."
		}
		if l.Pieces < 1 || l.Pieces > maxPieces {
			bad[at("pieces")] = "Give the number of pieces, from 1 to 10000."
		}
		if l.CostMinor < 0 || l.CostMinor > money.Max {
			bad[at("cost")] = "Give a price of 0 or more."
		}
	}
	return bad
}

// line is the line of that id.
func (o Order) line(id int64) (Line, bool) {
	at := slices.IndexFunc(o.Lines, func(l Line) bool { return l.ID == id })
	if at < 0 {
		return Line{}, false
	}
	return o.Lines[at], true
}

// IsSent reports whether the order went out.
func (o Order) IsSent() bool {
	return slices.ContainsFunc(o.Events, func(e Event) bool { return e.Kind == Sent })
}

// After is the order after an event. The error is one of this package's; the order is then as it was.
func (o Order) After(e Event) (Order, error) {
	if err := o.refuses(e); err != nil {
		return o, err
	}
	o.Events = append(slices.Clone(o.Events), e)
	return o, nil
}

func (o Order) refuses(e Event) error {
	switch {
	case !slices.Contains(EventKinds, e.Kind):
		return ErrNoLine
	case e.Kind == Sent && o.IsSent():
		return ErrSent
	case e.Kind == Sent && len(o.Problems()) > 0:
		return ErrPieces
	case e.Kind != Sent && !o.IsSent():
		return ErrNotSent
	case text.TooLong(e.Note, maxNote):
		return ErrNote
	case e.Kind == Sent || e.Kind == Confirmed:
		return nil
	}
	if _, ok := o.line(e.LineID); !ok {
		return ErrNoLine
	}
	toCome := o.Standing(e.LineID).ToCome
	switch e.Kind {
	case BackOrdered:
		if toCome == 0 {
			return ErrNothing
		}
		return nil
	case Cancelled:
		if e.Pieces > toCome {
			return ErrNothing
		}
	case CameWrong:
		if text.Lines(e.Note) == "" {
			return ErrNote
		}
	}
	if e.Pieces < 1 || e.Pieces > maxPieces {
		return ErrPieces
	}
	return nil
}

// Standing is how the line of that id stands after all that happened.
func (o Order) Standing(lineID int64) Standing {
	l, _ := o.line(lineID)
	var s Standing
	for _, e := range o.Events {
		if e.Kind == Confirmed {
			s.DueOn, s.BackOrder = e.DueOn, false
			continue
		}
		if e.LineID != lineID {
			continue
		}
		switch e.Kind {
		case Came:
			s.Came += e.Pieces
		case CameWrong:
			s.Wrong += e.Pieces
		case Cancelled:
			s.Cancelled += e.Pieces
		case BackOrdered:
			s.DueOn, s.BackOrder = e.DueOn, true
		}
	}
	s.ToCome = max(l.Pieces-s.Cancelled-s.Came, 0)
	s.Surplus = max(s.Came+s.Cancelled-l.Pieces, 0)
	if s.ToCome == 0 {
		s.BackOrder = false
	}
	return s
}

// Stage is where the whole order stands.
type Stage string

// The stages, which follow from the events.
const (
	Drafted   Stage = "drafted"
	Underway  Stage = "under way"
	InPart    Stage = "came in part"
	Complete  Stage = "complete"
	CalledOff Stage = "called off" // nothing came, and nothing is to come
)

// Stage is where the order stands.
func (o Order) Stage() Stage {
	if !o.IsSent() {
		return Drafted
	}
	toCome, came := 0, 0
	for _, l := range o.Lines {
		s := o.Standing(l.ID)
		toCome += s.ToCome
		came += s.Came
	}
	switch {
	case toCome > 0 && came > 0:
		return InPart
	case toCome > 0:
		return Underway
	case came > 0:
		return Complete
	}
	return CalledOff
}

// Late reports whether pieces of a line are still to come on the civil day today, after the day that was named.
func (s Standing) Late(today time.Time) bool {
	return s.ToCome > 0 && !s.DueOn.IsZero() && today.After(s.DueOn)
}
