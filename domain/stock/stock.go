// Package stock holds the parts that one repair needs, and where each stands.
package stock

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/text"
)

// State is where a part stands.
type State string

// The states.
const (
	Needed    State = "needed"
	Ordered   State = "ordered"
	Arrived   State = "arrived"
	Fitted    State = "fitted"
	Cancelled State = "cancelled" // not needed after all
)

// States lists every State in the order a part usually passes through.
var States = []State{Needed, Ordered, Arrived, Fitted, Cancelled}

// Words says s in plain words.
func (s State) Words() string { return string(s) }

// moves are the allowed changes of state. A part from the drawer goes straight
// from needed to arrived; what fell through, or came wrong, is needed again;
// what was fitted and did not serve can come off.
var moves = map[State][]State{
	Needed:    {Ordered, Arrived, Cancelled},
	Ordered:   {Arrived, Needed, Cancelled},
	Arrived:   {Fitted, Needed, Cancelled},
	Fitted:    {Arrived, Needed},
	Cancelled: {Needed},
}

// Moves returns the states that a part in s may go to.
func (s State) Moves() []State { return slices.Clone(moves[s]) }

// ErrMove reports a change of state that is not allowed.
var ErrMove = errors.New("a part can't go there from where it stands")

// OldPart is what becomes of the part that a new one replaces.
type OldPart string

// The fates of an old part. OldPartNone is the zero value.
const (
	OldPartNone     OldPart = ""
	OldPartToReturn OldPart = "to-return" // kept, to go back with the watch
	OldPartReturned OldPart = "returned"  // went back with the watch
	OldPartLeft     OldPart = "left"      // the customer left it with the shop
)

// OldParts lists every OldPart in the order a form shows them.
var OldParts = []OldPart{OldPartNone, OldPartToReturn, OldPartReturned, OldPartLeft}

// Words says o in plain words.
func (o OldPart) Words() string {
	switch o {
	case OldPartNone:
		return "no old part"
	case OldPartToReturn:
		return "old part to go back with the watch"
	case OldPartReturned:
		return "old part returned with the watch"
	case OldPartLeft:
		return "old part left with the shop"
	}
	return string(o)
}

// The longest texts, in characters, and the greatest quantity that may be saved.
const (
	MaxText     = 200
	MaxNote     = 2000
	maxQuantity = 1000
)

// PartLine is one part that a docket needs.
type PartLine struct {
	ID          int64
	Description string
	Reference   string // the supplier's or maker's number
	Supplier    string
	Quantity    int // pieces
	State       State
	OldPart     OldPart
	Note        string
	Money       Money // of a fitted part that no agreed estimate held
	PartID      int64 // of the catalogue, 0 for one that never is stock
}

// Problems says, by form field, what stops p being saved.
func (p PartLine) Problems() map[string]string {
	bad := map[string]string{}
	if p.Description == "" {
		bad["description"] = "Say which part."
	}
	for field, typed := range map[string]string{"description": p.Description, "reference": p.Reference,
		"supplier": p.Supplier} {
		if text.TooLong(typed, MaxText) {
			bad[field] = "Keep this to at most 200 characters."
		}
	}
	if p.Quantity < 1 || p.Quantity > maxQuantity {
		bad["quantity"] = "Give the number of pieces, from 1 to 1000."
	}
	if !slices.Contains(States, p.State) {
		bad["state"] = "Choose where the part stands."
	}
	if p.State == Ordered && p.Supplier == "" {
		bad["supplier"] = "Say from whom it is ordered."
	}
	if !slices.Contains(OldParts, p.OldPart) {
		bad["old_part"] = "Choose what becomes of the old part."
	}
	if text.TooLong(p.Note, MaxNote) {
		bad["note"] = "Keep the note to at most 2000 characters."
	}
	return bad
}

// Move returns p in state to. The error wraps ErrMove where that is not
// allowed; moving to the state it is in is not a move.
func (p PartLine) Move(to State) (PartLine, error) {
	if !slices.Contains(moves[p.State], to) {
		return p, fmt.Errorf("%q from %s to %s: %w", p.Description, p.State, to, ErrMove)
	}
	p.State = to
	return p, nil
}

// Split is so many pieces of p in a state, as a part of their own.
func (p PartLine) Split(pieces int, state State) PartLine {
	p.Quantity, p.State = pieces, state
	return p
}

// AfterLeaving reports whether a part may still go from one state to another
// once the watch it was for has left the shop: what was on its way still
// arrives or is cancelled, and nothing else happens to it.
func AfterLeaving(from, to State) bool {
	return (from == Needed || from == Ordered) && (to == Arrived || to == Cancelled)
}

// Form is a part line as typed.
type Form struct {
	Description, Reference, Supplier, Quantity, State, OldPart, Note string
}

// Check reads f and returns the line with what stops it being saved, by form
// field. Nothing typed for the quantity means one piece, and for the state,
// needed.
func (f Form) Check() (PartLine, map[string]string) {
	p := PartLine{
		Description: text.Line(f.Description), Reference: text.Line(f.Reference), Supplier: text.Line(f.Supplier),
		Quantity: 1, State: Needed, OldPart: OldPart(strings.TrimSpace(f.OldPart)), Note: text.Lines(f.Note),
	}
	if s := strings.TrimSpace(f.State); s != "" {
		p.State = State(s)
	}
	if q := strings.TrimSpace(f.Quantity); q != "" {
		n, err := figure.ParseWhole(q)
		if err != nil {
			n = 0 // Problems says why
		}
		p.Quantity = n
	}
	return p, p.Problems()
}

// Form returns p as it would be typed.
func (p PartLine) Form() Form {
	return Form{
		Description: p.Description, Reference: p.Reference, Supplier: p.Supplier, Quantity: strconv.Itoa(p.Quantity),
		State: string(p.State), OldPart: string(p.OldPart), Note: p.Note,
	}
}

// Outstanding counts the lines whose part has still to come: a docket waits
// while there are any.
func Outstanding(lines []PartLine) int { return count(lines, Needed, Ordered) }

// ToFit counts the lines whose part is here and not yet fitted.
func ToFit(lines []PartLine) int { return count(lines, Arrived) }

// ToReturn returns the lines whose old part goes back with the watch.
func ToReturn(lines []PartLine) []PartLine {
	var back []PartLine
	for _, p := range lines {
		if p.OldPart == OldPartToReturn {
			back = append(back, p)
		}
	}
	return back
}

func count(lines []PartLine, states ...State) int {
	n := 0
	for _, p := range lines {
		if slices.Contains(states, p.State) {
			n++
		}
	}
	return n
}

// Words is p in a phrase: "2 × mainspring, 771".
func (p PartLine) Words() string {
	words := p.Description
	if p.Reference != "" {
		words += ", " + p.Reference
	}
	if p.Quantity != 1 {
		words = fmt.Sprintf("%d × %s", p.Quantity, words)
	}
	return words
}

// Summary is what the journal tells of a part that came to its state.
func (p PartLine) Summary() string { return "Part " + p.State.Words() + ": " + p.Words() + "." }

// OrderedSummary is what it tells of one that went out on an order of that number.
func (p PartLine) OrderedSummary(order string) string {
	return "Part ordered: " + p.Words() + ", on order " + order + "."
}

// HeldSummary is what it tells of a part that an approved estimate holds back in the drawer.
func (p PartLine) HeldSummary() string { return "Part reserved in the drawer: " + p.Words() + "." }

// CorrectedSummary is what it tells of one described anew.
func (p PartLine) CorrectedSummary() string { return "Part corrected: " + p.Words() + "." }

// OldPartSummary is what it tells of the part that p replaces.
func (p PartLine) OldPartSummary() string { return "For " + p.Words() + ": " + p.OldPart.Words() + "." }
