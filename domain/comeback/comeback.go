// Package comeback holds what is said of a watch that returned under warranty: what brought it back, whether the
// warranty covers it, and what it costs the shop.
package comeback

import (
	"fmt"
	"slices"
	"strings"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/text"
)

// Cause is what brought a watch back. The value is kept in the database.
type Cause string

// The causes, a closed set, so that they can be counted. That these are told apart is common practice of repair shops.
const (
	Workmanship  Cause = "workmanship"
	Part         Cause = "part"
	Wear         Cause = "wear"
	Accident     Cause = "accident"
	OtherHand    Cause = "other-hand"
	NothingFound Cause = "nothing-found"
)

// Causes are all of them, in the order in which forms offer and lists count them.
var Causes = []Cause{Workmanship, Part, Wear, Accident, OtherHand, NothingFound}

// Words is c in plain words; "" for none that is known.
func (c Cause) Words() string {
	switch c {
	case Workmanship:
		return "our own work"
	case Part:
		return "a part that we fitted"
	case Wear:
		return "wear"
	case Accident:
		return "an accident"
	case OtherHand:
		return "another hand"
	case NothingFound:
		return "nothing found"
	}
	return ""
}

// Hint says what belongs to c.
func (c Cause) Hint() string {
	switch c {
	case Workmanship:
		return "Something that we did, or left undone."
	case Part:
		return "It failed by itself, within the warranty."
	case Wear:
		return "What use alone brings, such as a seal or a strap."
	case Accident:
		return "A knock, a fall, water or magnetism."
	case OtherHand:
		return "Opened or altered by somebody else."
	case NothingFound:
		return "It runs as it left."
	}
	return ""
}

// Usual is the cover that follows from c: a warranty on work answers for the work and for what was fitted, and not for
// what befell the watch since (common practice; the shop's own terms stand on its card). [docket.CoverOpen] is a cause that
// decides nothing by itself.
func (c Cause) Usual() docket.Cover {
	switch c {
	case Workmanship, Part:
		return docket.Covered
	case Accident, OtherHand:
		return docket.NotCovered
	}
	return docket.CoverOpen
}

// Said is what was said of a comeback. The zero value is nothing yet.
type Said struct {
	Cause Cause
	Found string       // in a sentence, for the shop
	Cover docket.Cover // docket.CoverOpen where the cause is known and the owner still has to decide
	Why   string       // why it is covered or not, for the customer
}

// Any reports whether anything was said.
func (s Said) Any() bool { return s.Cause != "" }

const maxSaid = 500 // characters

// Tidied is s with its sentences on one line each, and without a reason where nothing was decided.
func (s Said) Tidied() Said {
	s.Found, s.Why = text.Line(s.Found), text.Line(s.Why)
	if s.Cover == docket.CoverOpen {
		s.Why = ""
	}
	return s
}

// TooEarly says why nothing may be said of a comeback at a stage yet; "" where it may.
func TooEarly(st docket.Stage) string {
	if st == docket.StageIntake {
		return "Nobody has looked at the watch yet: pass it on for diagnosis first."
	}
	return ""
}

// Problems says, by form field, what stops s being said in the place of was by someone of the role: "cause", "found",
// "cover", "cover_why", "why". Until the watch has left anything may be said again; after that it is corrected, with a
// reason.
func (s Said) Problems(was Said, role staff.Role, left bool, reason string) map[string]string {
	bad := map[string]string{}
	if !slices.Contains(Causes, s.Cause) {
		bad["cause"] = "Choose what brought it back."
	}
	switch {
	case s.Found == "":
		bad["found"] = "Say in a sentence what was found."
	case text.TooLong(s.Found, maxSaid):
		bad["found"] = "Keep it to 500 characters."
	}
	if why := s.coverProblem(was, role, left); why != "" {
		bad["cover"] = why
	}
	switch {
	case s.Cover != docket.CoverOpen && s.Why == "":
		bad["cover_why"] = "Give the reason: the customer reads it."
	case text.TooLong(s.Why, maxSaid):
		bad["cover_why"] = "Keep it to 500 characters."
	}
	switch {
	case left && strings.TrimSpace(reason) == "":
		bad["why"] = "Write why it is corrected: the reason goes into the journal."
	case text.TooLong(reason, maxSaid):
		bad["why"] = "Keep the reason to 500 characters."
	}
	return bad
}

// coverProblem says why someone of the role may not decide so; "" where they may. What the cause decides by itself is
// decided otherwise by the owner alone: refusing gives away the shop's word, covering its money. What the owner decided
// stands while others correct the words.
func (s Said) coverProblem(was Said, role staff.Role, left bool) string {
	owner := staff.Can(role, staff.CoverOtherwise)
	same := was.Any() && s.Cover == was.Cover && s.Cause == was.Cause
	switch {
	case !slices.Contains([]docket.Cover{docket.Covered, docket.NotCovered, docket.CoverOpen}, s.Cover):
		return "Say whether the warranty covers it."
	case same || owner:
		return ""
	case left && s.Cover != was.Cover:
		return "The watch has left by what was decided; only the owner may decide otherwise now."
	case s.Against():
		return fmt.Sprintf("With %s it is usually %s. Leave the decision to the owner, who alone may decide otherwise.", s.Cause.Words(),
			s.Cause.Usual().Words())
	}
	return ""
}

// Against reports whether the cover is another than follows from the cause.
func (s Said) Against() bool {
	usual := s.Cause.Usual()
	return s.Cover != docket.CoverOpen && usual != docket.CoverOpen && s.Cover != usual
}

// Priced says what stands against pricing a covered comeback at grossMinor, tax included; "" where nothing does. It warns and
// forbids nothing: a customer may order more with the same visit.
func Priced(c docket.Cover, grossMinor int64) string {
	if c != docket.Covered || grossMinor <= 0 {
		return ""
	}
	return "The warranty covers what brought this watch back. What is priced here is charged all the same: keep it only for " +
		"work that the customer wants besides."
}

// Summary is what the journal tells of s.
func (s Said) Summary() string {
	cover := "Whether the warranty covers it is not decided yet."
	switch s.Cover {
	case docket.Covered:
		cover = "The warranty covers it."
	case docket.NotCovered:
		cover = "The warranty does not cover it."
	}
	return s.lead() + " " + cover
}

func (s Said) lead() string {
	if s.Cause == NothingFound {
		return "It came back, and nothing was found."
	}
	return "Brought back by " + s.Cause.Words() + "."
}

// Facts are what the journal keeps of s.
func (s Said) Facts() map[string]string {
	facts := map[string]string{"brought_back_by": s.Cause.Words(), "found_of_it": s.Found, "warranty": s.Cover.Words()}
	if s.Why != "" {
		facts["warranty_why"] = s.Why
	}
	return facts
}
