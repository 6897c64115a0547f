package purchase

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"ledgerwheel/domain/text"
)

// Way is how an order went out.
type Way string

// The ways.
const (
	ByMail      Way = "mail"
	ByTelephone Way = "telephone"
	Otherwise   Way = "otherwise" // by the supplier's own form, by letter, at their counter
)

// Ways lists every Way.
var Ways = []Way{ByMail, ByTelephone, Otherwise}

// Words says w in plain words.
func (w Way) Words() string {
	switch w {
	case ByMail:
		return "by mail"
	case ByTelephone:
		return "by telephone"
	}
	return string(w)
}

// WayProblems says, by form field, what stops an order going that way to a supplier with such an address: "way".
func WayProblems(w Way, email string) map[string]string {
	switch {
	case !slices.Contains(Ways, w):
		return map[string]string{"way": "Say how the order goes out."}
	case w == ByMail && email == "":
		return map[string]string{"way": "No e-mail address of this supplier is known: add it under Suppliers, or send the order another way."}
	}
	return nil
}

// NoteProblem says what stops a note being kept, "" for nothing.
func NoteProblem(note string) string {
	if text.TooLong(note, maxNote) {
		return "Keep this to 2000 characters."
	}
	return ""
}

// Title is l in a phrase: "2 × mainspring, CH MS-120".
func (l Line) Title() string {
	words := l.Description
	if l.Number != "" && words != "" {
		words += ", "
	}
	words += l.Number
	if l.Pieces != 1 {
		words = fmt.Sprintf("%d × %s", l.Pieces, words)
	}
	return words
}

// Name is l without its pieces.
func (l Line) Name() string {
	l.Pieces = 1
	return l.Title()
}

// Refusal says, by the form field that asks for it, why an event is refused; nil for another error.
func Refusal(err error) map[string]string {
	switch {
	case errors.Is(err, ErrPieces):
		return map[string]string{"pieces": "Give the number of pieces, from 1 to 10000."}
	case errors.Is(err, ErrNothing):
		return map[string]string{"pieces": "Fewer are still to come."}
	case errors.Is(err, ErrNote):
		return map[string]string{"note": "Say what came, in at most 2000 characters."}
	case errors.Is(err, ErrFate):
		return map[string]string{"fate": "Say what became of it, and of the drawer which part it is."}
	case errors.Is(err, ErrReason):
		return map[string]string{"note": "Say how it was miscounted, in at most 2000 characters."}
	case errors.Is(err, ErrFewer):
		return map[string]string{"pieces": "Fewer came by what is written down."}
	case errors.Is(err, ErrKept):
		return map[string]string{"pieces": "Fewer are kept aside."}
	case errors.Is(err, ErrNotSent):
		return map[string]string{"": "The order was not sent yet."}
	case errors.Is(err, ErrSent):
		return map[string]string{"": "The order was sent already."}
	case errors.Is(err, ErrNoLine):
		return map[string]string{"line": "Say which line."}
	}
	return nil
}

// The sentences that the shop's journal tells of an order.

// NeededNoMore says of a docket's part, which stands so, that it can't be ordered for it.
func NeededNoMore(docket, state string) string {
	return "For docket " + docket + " this is " + state + " by now: take the line off."
}

// GatheredSummary says what was put on a draft.
func GatheredSummary(number, supplier string, lines []Line) string {
	return fmt.Sprintf("Order %s to %s: %s put on the draft.", number, supplier, titles(lines))
}

// DraftSummary says that a draft was changed.
func DraftSummary(number, supplier string, lines []Line) string {
	if len(lines) == 0 {
		return fmt.Sprintf("Order %s to %s: the draft has no line now.", number, supplier)
	}
	return fmt.Sprintf("Order %s to %s: the draft has %s now.", number, supplier, titles(lines))
}

// DroppedSummary says that a draft was given up.
func DroppedSummary(number, supplier string) string {
	return fmt.Sprintf("Order %s to %s was given up before it was sent.", number, supplier)
}

// SentSummary says that an order went out.
func SentSummary(number, supplier string, w Way, lines []Line) string {
	return fmt.Sprintf("Order %s to %s went out %s: %s.", number, supplier, w.Words(), titles(lines))
}

// NothingRefused is said where an order is to go out again though its mail was not refused.
const NothingRefused = "The mail with this order was not refused."

// SentAgainSummary says that an order whose mail was refused went out once more.
func SentAgainSummary(number, supplier string, w Way) string {
	return fmt.Sprintf("Order %s to %s went out again %s.", number, supplier, w.Words())
}

// MailedSummary says what became of the mail with an order.
func MailedSummary(number, to string, sent bool) string {
	if sent {
		return fmt.Sprintf("The mail with order %s was taken for %s.", number, to)
	}
	return fmt.Sprintf("The mail with order %s to %s was given up.", number, to)
}

// HappenedSummary says what happened to an order.
func HappenedSummary(number, supplier string, o Order, events []Event) string {
	said := make([]string, len(events))
	for i, e := range events {
		said[i] = o.words(e)
	}
	return fmt.Sprintf("Order %s to %s: %s.", number, supplier, strings.Join(said, "; "))
}

// Said says an event in words, without its end.
func (o Order) Said(e Event) string { return text.Capital(o.words(e)) }

func (o Order) words(e Event) string {
	l, _ := o.line(e.LineID)
	day := ""
	if !e.DueOn.IsZero() {
		day = " for " + e.DueOn.Format("2 January 2006")
	}
	switch e.Kind {
	case Sent, Dropped:
		return e.Kind.Words()
	case Confirmed:
		if e.LineID == 0 {
			return "confirmed" + day
		}
		return l.Name() + " confirmed" + day
	case BackOrdered:
		return l.Name() + " on back order" + day
	case CameWrong:
		return fmt.Sprintf("%d came in place of %s: %s, %s", e.Pieces, l.Name(), e.Note, e.Fate.Words())
	case Unordered:
		return fmt.Sprintf("%d came that nobody ordered: %s, %s", e.Pieces, e.Note, e.Fate.Words())
	}
	switch e.Kind {
	case Miscounted:
		return fmt.Sprintf("%d of %s miscounted, still to come: %s", e.Pieces, l.Name(), e.Note)
	case Settled:
		return fmt.Sprintf("%d kept aside (%s) %s", e.Pieces, e.Note, e.Fate.Words())
	}
	return fmt.Sprintf("%d of %s %s", e.Pieces, l.Name(), e.Kind.Words())
}

// NewsSummary is what the journal of the docket that l is for tells of an event that does not move its part; "" for another.
func (l Line) NewsSummary(order string, e Event) string {
	day := "no day is named"
	if !e.DueOn.IsZero() {
		day = "expected " + e.DueOn.Format("2 January 2006")
	}
	switch e.Kind {
	case Confirmed:
		return fmt.Sprintf("Order %s confirmed, %s: %s.", order, l.Name(), day)
	case BackOrdered:
		return fmt.Sprintf("On back order, %s: %s.", l.Name(), day)
	case CameWrong:
		return fmt.Sprintf("Came wrong for %s: %s, %s.", l.Name(), e.Note, e.Fate.Words())
	case Miscounted:
		return fmt.Sprintf("The delivery of order %s was miscounted, %s: %d did not come. %s", order, l.Name(), e.Pieces, e.Note)
	}
	return ""
}

// OrderedElsewhere says that what a docket waited for is on another order by now.
func OrderedElsewhere(docket, order string) string {
	return "Docket " + docket + " has this on order " + order + " by now: call it off there first."
}

// MiscountReason is why the ledger takes out of the drawer what an order's delivery did not bring.
func MiscountReason(order, why string) string {
	return "Delivery of order " + order + " miscounted: " + why
}

func titles(lines []Line) string {
	said := make([]string, len(lines))
	for i, l := range lines {
		said[i] = l.Title()
	}
	return strings.Join(said, "; ")
}
