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
	CostMinor   *int64 // of one piece, without tax, in the order's currency; nil where the supplier's list holds
}

// EventKind is what happened to an order.
type EventKind string

// The kinds. Sent, Unordered and Dropped are about the whole order, Confirmed about the whole of it or one line, and the
// rest about one line.
const (
	Sent        EventKind = "sent"
	Confirmed   EventKind = "confirmed"      // by the supplier, with the day
	Came        EventKind = "came"           // the right part; more than was ordered is surplus
	CameWrong   EventKind = "came-wrong"     // another part in its place, or a bad one: the order stands
	Unordered   EventKind = "came-unordered" // beside what was ordered
	BackOrdered EventKind = "back-ordered"   // the supplier has none; comes later
	Cancelled   EventKind = "cancelled"      // pieces that are not to come
	Dropped     EventKind = "dropped"        // the draft was given up
	Miscounted  EventKind = "miscounted"     // pieces of Came that never came: they are still to come
	Settled     EventKind = "settled"        // what was kept aside went back, or into the drawer
)

// EventKinds lists every EventKind.
var EventKinds = []EventKind{Sent, Confirmed, Came, CameWrong, Unordered, BackOrdered, Cancelled, Dropped, Miscounted, Settled}

// Words says k in plain words.
func (k EventKind) Words() string {
	switch k {
	case CameWrong:
		return "came wrong"
	case Unordered:
		return "came unordered"
	case BackOrdered:
		return "on back order"
	case Dropped:
		return "given up"
	}
	return string(k)
}

// Arrives reports whether an event of k is pieces that came into the shop.
func (k EventKind) Arrives() bool { return k == Came || k == CameWrong || k == Unordered }

// Fate is what became of pieces that came wrong or unordered.
type Fate string

// The fates.
const (
	KeptAside Fate = "kept"      // until the supplier says what to do
	SentBack  Fate = "sent-back" // to the supplier
	IntoStock Fate = "drawer"    // as a part of the catalogue
)

// Fates lists every Fate.
var Fates = []Fate{KeptAside, SentBack, IntoStock}

// Words says f in plain words.
func (f Fate) Words() string {
	switch f {
	case KeptAside:
		return "kept aside"
	case SentBack:
		return "sent back"
	case IntoStock:
		return "put into the drawer"
	}
	return ""
}

// Event is one thing that happened to an order.
type Event struct {
	ID     int64 // 0 for one that is not kept yet
	Kind   EventKind
	LineID int64     // 0 for the whole order
	OfID   int64     // of Settled: the event by which it was kept aside
	Pieces int       // of what came, of Cancelled, Miscounted and Settled
	DueOn  time.Time // civil day as midnight UTC, of Confirmed and BackOrdered, of Sent by the usual time; zero where nobody named one
	Note   string    // of CameWrong, Unordered and Settled: what came; of Miscounted: why
	Fate   Fate      // of the first three
	PartID int64     // of the catalogue, as which the same went into the drawer
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
	DueOn                  time.Time // the day the supplier named last, or by the usual time; zero for none
	Named                  bool      // the supplier named it
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
	ErrFate    = errors.New("say what became of it")
	ErrReason  = errors.New("say how it was miscounted")
	ErrFewer   = errors.New("fewer came")
	ErrKept    = errors.New("so many are not kept aside")
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
		if l.CostMinor != nil && (*l.CostMinor < 0 || *l.CostMinor > money.Max) {
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
	if e.Kind == Sent || e.Kind == Unordered || e.Kind == Dropped {
		e.LineID = 0
	}
	if e.Kind == Settled {
		kept, _ := o.event(e.OfID)
		e.LineID, e.Note = kept.LineID, kept.Note
	}
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
	case (e.Kind == Sent || e.Kind == Dropped) && o.IsSent():
		return ErrSent
	case o.dropped():
		return ErrNothing
	case e.Kind == Sent && len(o.Problems()) > 0:
		return ErrPieces
	case e.Kind != Sent && e.Kind != Dropped && !o.IsSent():
		return ErrNotSent
	case text.TooLong(e.Note, maxNote):
		return ErrNote
	case e.Kind == Sent || e.Kind == Dropped || e.Kind == Confirmed && e.LineID == 0:
		return nil
	}
	if e.Kind == Settled {
		return o.refusesSettling(e)
	}
	if _, ok := o.line(e.LineID); !ok && e.Kind != Unordered {
		return ErrNoLine
	}
	toCome := o.Standing(e.LineID).ToCome
	switch e.Kind {
	case BackOrdered, Confirmed:
		if toCome == 0 {
			return ErrNothing
		}
		return nil
	case Cancelled:
		if e.Pieces > toCome {
			return ErrNothing
		}
	case Miscounted:
		if text.Lines(e.Note) == "" {
			return ErrReason
		}
		if e.Pieces > o.Standing(e.LineID).Came {
			return ErrFewer
		}
	case CameWrong, Unordered:
		if text.Lines(e.Note) == "" {
			return ErrNote
		}
		if !slices.Contains(Fates, e.Fate) || (e.Fate == IntoStock) != (e.PartID != 0) {
			return ErrFate
		}
	}
	if e.Pieces < 1 || e.Pieces > maxPieces {
		return ErrPieces
	}
	return nil
}

func (o Order) refusesSettling(e Event) error {
	switch {
	case e.Fate != SentBack && e.Fate != IntoStock || (e.Fate == IntoStock) != (e.PartID != 0):
		return ErrFate
	case e.Pieces < 1 || e.Pieces > maxPieces:
		return ErrPieces
	case e.Pieces > o.keptOf(e.OfID):
		return ErrKept
	}
	return nil
}

// event is the kept event of that id.
func (o Order) event(id int64) (Event, bool) {
	at := slices.IndexFunc(o.Events, func(e Event) bool { return e.ID == id && id != 0 })
	if at < 0 {
		return Event{}, false
	}
	return o.Events[at], true
}

// keptOf is how many pieces of the event of that id are still kept aside.
func (o Order) keptOf(id int64) int {
	e, _ := o.event(id)
	if e.Fate != KeptAside {
		return 0
	}
	pieces := e.Pieces
	for _, later := range o.Events {
		if later.Kind == Settled && later.OfID == id {
			pieces -= later.Pieces
		}
	}
	return pieces
}

// Kept are the events by which pieces were kept aside that still lie there, each with so many as do.
func (o Order) Kept() []Event {
	var list []Event
	for _, e := range o.Events {
		if pieces := o.keptOf(e.ID); pieces > 0 {
			e.Pieces = pieces
			list = append(list, e)
		}
	}
	return list
}

func (o Order) dropped() bool {
	return slices.ContainsFunc(o.Events, func(e Event) bool { return e.Kind == Dropped })
}

// Standing is how the line of that id stands after all that happened.
func (o Order) Standing(lineID int64) Standing {
	l, _ := o.line(lineID)
	var s Standing
	for _, e := range o.Events {
		if e.LineID != lineID && e.LineID != 0 {
			continue
		}
		switch e.Kind {
		case Sent:
			s.DueOn = e.DueOn
		case Confirmed:
			if !e.DueOn.IsZero() {
				s.DueOn, s.Named, s.BackOrder = e.DueOn, true, false
			}
		case Came:
			s.Came += e.Pieces
		case CameWrong:
			s.Wrong += e.Pieces
		case Miscounted:
			s.Came -= e.Pieces
		case Cancelled:
			s.Cancelled += e.Pieces
		case BackOrdered:
			s.DueOn, s.Named, s.BackOrder = e.DueOn, !e.DueOn.IsZero(), true
		case Dropped:
			s.Cancelled = l.Pieces
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

// Words says s in plain words.
func (s Stage) Words() string { return string(s) }

// Stages lists every Stage, what asks for something first.
var Stages = []Stage{Drafted, Underway, InPart, Complete, CalledOff}

// Stage is where the order stands.
func (o Order) Stage() Stage {
	if !o.IsSent() && !o.dropped() {
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
func (s Standing) Late(today time.Time) bool { return s.DaysLate(today) > 0 }

// DaysLate is by how many days they are, 0 for not.
func (s Standing) DaysLate(today time.Time) int {
	if s.ToCome == 0 || s.DueOn.IsZero() || !today.After(s.DueOn) {
		return 0
	}
	return int(today.Sub(s.DueOn).Hours() / 24)
}

// TotalMinor is what the lines cost as ordered, without tax; known is false where a line has no price.
func (o Order) TotalMinor() (sum int64, known bool) {
	known = true
	for _, l := range o.Lines {
		if l.CostMinor == nil {
			known = false
			continue
		}
		sum += *l.CostMinor * int64(l.Pieces)
	}
	return sum, known
}

// BenchDays is how many days after its last part a watch is proposed to be ready: a week on the bench, this program's own
// guess, that whoever promises the day changes as they know better.
const BenchDays = 7

// Propose is the promised day that is proposed for a docket whose last part comes, or came, on a civil day; ok is false where
// the day that is promised leaves the bench its time.
func Propose(lastPartOn, promised time.Time) (day time.Time, ok bool) {
	day = lastPartOn.AddDate(0, 0, BenchDays)
	return day, promised.IsZero() || promised.Before(day)
}

// Number is how an order of a year, the n-th of it, is called: 2027-014.
func Number(year, n int) string { return fmt.Sprintf("%d-%03d", year, n) }
