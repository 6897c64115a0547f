package docket

import (
	"slices"
	"strings"
	"unicode/utf8"

	"ledgerwheel/domain"
	"ledgerwheel/domain/staff"
)

// Act is one person's attempt to make a move.
type Act struct {
	Role   staff.Role
	Reason string // as typed
	Place  Place  // where the watch is after the move
}

func (a Act) reason() string { return strings.TrimSpace(a.Reason) }

const maxReason = 2000 // characters

// Refusal reports why a move was not made.
type Refusal struct {
	Move      Move
	Closed    bool   // the watch has left the shop
	Forbidden bool   // the role may not make this move
	Unmet     []Need // requirements neither met nor waived
	// Problems are by form field: "reason", "place", "place_detail".
	Problems map[string]string
}

// Error says everything that stands in the way.
func (r *Refusal) Error() string { return strings.Join(r.Sentences(), " ") }

// Unwrap makes the refusal of a closed docket a [domain.ErrClosed].
func (r *Refusal) Unwrap() error {
	if r.Closed {
		return domain.ErrClosed
	}
	return nil
}

// Sentences says what stands in the way, one sentence for each thing, never none.
func (r *Refusal) Sentences() []string {
	var out []string
	if r.Closed {
		out = append(out, "The watch has left the shop, so this docket is closed.")
	}
	if r.Forbidden {
		out = append(out, "Your role does not let you do this; ask "+holders(r.Move.May)+".")
	}
	for _, n := range r.Unmet {
		out = append(out, n.Sentence())
	}
	for _, field := range []string{"reason", "place", "place_detail"} {
		if p := r.Problems[field]; p != "" {
			out = append(out, p)
		}
	}
	return out
}

func holders(p staff.Permission) string {
	var names []string
	for _, r := range p.Holders() {
		names = append(names, "the "+r.Label())
	}
	return strings.Join(names, " or ")
}

// Unmet returns the needs that the facts don't meet, whatever may stand in for them: what the docket's page
// shows beside a move before anyone tries it.
func (m Move) Unmet(f Facts) []Need {
	var out []Need
	for _, n := range m.Needs {
		if !n.Met(f) {
			out = append(out, n)
		}
	}
	return out
}

// WantsReason reports whether a reason must be written for m as the facts stand, by rule or in place of an
// unmet need.
func (m Move) WantsReason(f Facts) bool {
	return m.Reason || slices.ContainsFunc(m.Unmet(f), func(n Need) bool { return n.Waiver != NoWaiver })
}

// Check reports whether a may make the move m with the facts f: nil if so, else a [*Refusal].
func (m Move) Check(f Facts, a Act) error {
	r := &Refusal{Move: m, Closed: f.Closed, Problems: a.Place.Problems()}
	r.Forbidden = !staff.Can(a.Role, m.May)
	if r.Problems["place"] == "" && !slices.Contains(m.Places, a.Place.Kind) {
		r.Problems["place"] = "After this move the watch can't be there: choose " + kindList(m.Places) + "."
	}
	for _, n := range m.Unmet(f) {
		if !n.waived(a) {
			r.Unmet = append(r.Unmet, n)
		}
	}
	switch {
	case utf8.RuneCountInString(a.Reason) > maxReason:
		r.Problems["reason"] = "Keep the reason to 2000 characters."
	case m.Reason && a.reason() == "":
		r.Problems["reason"] = "Write why: the reason goes into the journal."
	}
	if r.Closed || r.Forbidden || len(r.Unmet) > 0 || len(r.Problems) > 0 {
		return r
	}
	return nil
}

// waived reports whether a's reason may stand in for n.
func (n Need) waived(a Act) bool {
	if a.reason() == "" {
		return false
	}
	return n.Waiver == ByReason || n.Waiver == ByOwnerReason && staff.Can(a.Role, staff.Override)
}

// leansOnOwner reports whether m, with the facts f, goes ahead without a passed final test.
func (m Move) leansOnOwner(f Facts) bool {
	return slices.ContainsFunc(m.Unmet(f), func(n Need) bool { return n.Key == needCleared.Key })
}

func kindList(kinds []PlaceKind) string {
	var names []string
	for _, k := range kinds {
		names = append(names, k.Label())
	}
	return strings.Join(names, ", ")
}
