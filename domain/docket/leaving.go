package docket

import (
	"errors"
	"slices"
	"strings"

	"ledgerwheel/domain/text"
)

// OldParts is what becomes of the parts that were taken out, as the counter asks when the watch leaves. The
// value is what the form sends; the docket keeps the words.
type OldParts string

// The answers.
const (
	OldPartsReturned OldParts = "returned"
	OldPartsLeft     OldParts = "left"
	OldPartsNone     OldParts = "none"
)

// OldPartsAnswers returns every answer, in the order in which the form offers them.
func OldPartsAnswers() []OldParts { return []OldParts{OldPartsReturned, OldPartsLeft, OldPartsNone} }

// Words is the answer in plain words, as the docket keeps it.
func (o OldParts) Words() string {
	switch o {
	case OldPartsReturned:
		return "returned with the watch"
	case OldPartsLeft:
		return "left with the shop"
	case OldPartsNone:
		return "there are none"
	}
	return "not said"
}

// Problem says why the answer can't be given where old parts of these names are kept to go back with the watch, or
// nothing.
func (o OldParts) Problem(kept []string) string {
	if o == OldPartsNone && len(kept) > 0 {
		return "Old parts are kept to go back with this watch: " + strings.Join(kept, "; ") + ". Say whether they do."
	}
	return ""
}

// Proof is how whoever collects a watch shows that they may have it.
type Proof string

// The proofs.
const (
	ProofTicket   Proof = "ticket"   // the claim ticket of this docket
	ProofIdentity Proof = "identity" // known or checked otherwise, with a note of how
)

// Leaving is what the counter records when a watch leaves the shop.
type Leaving struct {
	CollectedBy string // name of the person who takes it
	Proof       Proof
	Ticket      string // the number on the ticket, as scanned or typed
	Identity    string // how the person was checked without a ticket
	OldParts    OldParts
}

const (
	maxCollector = 200 // characters
	maxIdentity  = 500
)

// Tidied returns l with its texts fit to be kept. What belongs to the other proof is dropped.
func (l Leaving) Tidied() Leaving {
	l.CollectedBy, l.Identity, l.Ticket = text.Line(l.CollectedBy), text.Lines(l.Identity), strings.TrimSpace(l.Ticket)
	switch l.Proof {
	case ProofTicket:
		l.Identity = ""
	case ProofIdentity:
		l.Ticket = ""
	}
	return l
}

// Problems says, by form field, what stops the watch of docket n leaving so: "collected_by", "proof",
// "ticket", "identity", "old_parts".
func (l Leaving) Problems(n Number) map[string]string {
	bad := map[string]string{}
	switch {
	case l.CollectedBy == "":
		bad["collected_by"] = "Write the name of the person who takes the watch."
	case text.TooLong(l.CollectedBy, maxCollector):
		bad["collected_by"] = "Keep the name to 200 characters."
	}
	switch l.Proof {
	case ProofTicket:
		if why := ticketProblem(l.Ticket, n); why != "" {
			bad["ticket"] = why
		}
	case ProofIdentity:
		if l.Identity == "" {
			bad["identity"] = "Write how you made sure who it is: it goes into the journal."
		} else if text.TooLong(l.Identity, maxIdentity) {
			bad["identity"] = "Keep this to 500 characters."
		}
	default:
		bad["proof"] = "Say whether the claim ticket was shown."
	}
	if !slices.Contains(OldPartsAnswers(), l.OldParts) {
		bad["old_parts"] = "Say what becomes of the old parts."
	}
	return bad
}

// ticketProblem says why a number scanned or typed from a ticket is not that of docket n.
func ticketProblem(typed string, n Number) string {
	if typed == "" {
		return "Scan the ticket, or type the number on it."
	}
	shown, err := ParseNumber(typed)
	var check *CheckError
	switch {
	case errors.As(err, &check):
		return "This number was misread: " + check.Error() + ". Scan or type it again."
	case err != nil:
		return "This is not a docket number: write it as it stands on the ticket, such as 26-00042-6."
	case shown != n:
		return "This is the ticket of docket " + shown.String() + ", not of " + n.String() +
			". Keep the watch until that is cleared up."
	}
	return ""
}

// LeavingMove returns the move by which a watch leaves from the given stage; ok is false where it can't leave
// from there at all.
func LeavingMove(from Stage) (m Move, ok bool) {
	for _, m := range Moves(from) {
		if m.Closes {
			return m, true
		}
	}
	return Move{}, false
}

// BesidesLeaving returns those of the needs that [Leaving] does not itself record.
func BesidesLeaving(needs []Need) []Need {
	return slices.DeleteFunc(slices.Clone(needs), func(n Need) bool {
		return n.Key == needCollector.Key || n.Key == needOldParts.Key
	})
}

// FinalTestOpen reports whether a final test may be recorded: only while the docket is at that stage, so that
// no test speaks of a watch that was worked on since.
func (d Docket) FinalTestOpen() bool { return d.Stage == StageFinalTest && !d.Closed() }

// FinalTestProblem says why no final test may be recorded on the docket as it stands; "" when one may.
func (d Docket) FinalTestProblem() string {
	if d.FinalTestOpen() {
		return ""
	}
	return "A final test is recorded while the docket is at that stage; it is at " + d.Stage.Label() + "."
}

// StayProblem says why the watch can't leave from a stage that has no [LeavingMove].
func StayProblem(s Stage) string {
	return "A watch is handed over when it is ready, declined or withdrawn; this docket is at " + s.Label() + "."
}
