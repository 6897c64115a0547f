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

// Unanswered says that nobody said what becomes of the old parts, or nothing.
func (o OldParts) Unanswered() string {
	if slices.Contains(OldPartsAnswers(), o) {
		return ""
	}
	return "Say what becomes of the old parts."
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
	ProofCarrier  Proof = "carrier"  // it goes by post: see package parcel; nothing that is said over the counter
)

// Shown is by what somebody showed who they are: the kind of document, never its number. The value is what the form
// sends; the docket keeps the words.
type Shown string

// The kinds.
const (
	ShownPassport  Shown = "passport"
	ShownLicence   Shown = "driving-licence"
	ShownCard      Shown = "identity-card"
	ShownAuthority Shown = "authority" // the customer's signed authority, for somebody else
	ShownKnown     Shown = "known"     // known to the shop by sight
	ShownOther     Shown = "other"
)

// ShownKinds returns every kind, in the order in which the form offers them.
func ShownKinds() []Shown {
	return []Shown{ShownPassport, ShownLicence, ShownCard, ShownAuthority, ShownKnown, ShownOther}
}

// Words is s in plain words.
func (s Shown) Words() string {
	switch s {
	case ShownPassport:
		return "passport"
	case ShownLicence:
		return "driving licence"
	case ShownCard:
		return "identity card"
	case ShownAuthority:
		return "the customer's written authority"
	case ShownKnown:
		return "known to the shop by sight"
	case ShownOther:
		return "something else"
	}
	return "nothing"
}

// Leaving is what the counter records when a watch leaves the shop.
type Leaving struct {
	CollectedBy string   // name of the person who takes it
	Proof       Proof    // where it is blank, the ticket if its number is there, else how the person was checked
	Ticket      string   // the number on the ticket, as scanned or typed
	Shown       Shown    // by what the person showed who they are
	Done        []string // of what the house asks without a ticket: the lines that were done
	Identity    string   // in words, what else was done to make sure
	OldParts    OldParts
	Pay         Tender // for what is still due
	IssueCard   bool   // also issues the warranty card, worded as the record suggests
}

// House is what a leaving is held against.
type House struct {
	Customer string   // who the watch is collected by, unless it is somebody else
	NoTicket []string // what the house asks of whoever comes without the ticket, a line for each
	// Owner says that whoever hands over may override the house's rule, with words.
	Owner bool
}

const (
	maxCollector = 200 // characters
	maxIdentity  = 500
)

// Tidied returns l with its texts fit to be kept. What belongs to the other proof is dropped.
func (l Leaving) Tidied() Leaving {
	l.CollectedBy, l.Identity, l.Ticket = text.Line(l.CollectedBy), text.Lines(l.Identity), strings.TrimSpace(l.Ticket)
	if l.Proof == "" {
		switch {
		case l.Ticket != "":
			l.Proof = ProofTicket
		case l.Shown != "" || l.Identity != "" || len(l.Done) > 0:
			l.Proof = ProofIdentity
		}
	}
	switch l.Proof {
	case ProofTicket:
		l.Done = nil
	case ProofIdentity:
		l.Ticket = ""
	}
	return l
}

// ByAnother reports whether somebody else than the customer collects the watch, whatever the case and spaces of the names.
func (l Leaving) ByAnother(customer string) bool {
	return !strings.EqualFold(text.Line(l.CollectedBy), text.Line(customer))
}

// Problems says, by form field, what stops the watch of docket n leaving so: "collected_by", "ticket", "shown", "done",
// "identity", "old_parts". What is paid is said by [Tender.Settle].
func (l Leaving) Problems(n Number, h House) map[string]string {
	bad := map[string]string{}
	switch {
	case l.CollectedBy == "":
		bad["collected_by"] = "Write the name of the person who takes the watch."
	case text.TooLong(l.CollectedBy, maxCollector):
		bad["collected_by"] = "Keep the name to 200 characters."
	}
	switch l.Proof {
	case ProofTicket:
		if why := TicketProblem(l.Ticket, n); why != "" {
			bad["ticket"] = why
		}
		if l.Shown == "" && bad["collected_by"] == "" && l.ByAnother(h.Customer) {
			bad["shown"] = "Somebody else collects it: say what was shown."
		}
	case ProofIdentity:
		l.withoutTicket(bad, h)
	default:
		bad["ticket"] = "Scan the ticket, or type the number on it. Without it, say below how you made sure."
	}
	if l.Shown != "" && !slices.Contains(ShownKinds(), l.Shown) {
		bad["shown"] = "Choose what was shown."
	}
	if text.TooLong(l.Identity, maxIdentity) {
		bad["identity"] = "Keep this to 500 characters."
	}
	if why := l.OldParts.Unanswered(); why != "" {
		bad["old_parts"] = why
	}
	return bad
}

// withoutTicket holds l against the rule of the house. The owner may do with less, in words.
func (l Leaving) withoutTicket(bad map[string]string, h House) {
	if h.Owner && l.Identity != "" {
		return
	}
	if l.Shown == "" {
		bad["shown"] = "Say what was shown."
	}
	for _, ask := range h.NoTicket {
		if !slices.Contains(l.Done, ask) {
			bad["done"] = "The rule of the house asks for this: " + ask
			break
		}
	}
	if (l.Shown == ShownOther || l.Shown == "" && len(h.NoTicket) == 0) && l.Identity == "" {
		bad["identity"] = "Write how you made sure who it is: it goes into the journal."
	}
}

// CheckedWords say in a few sentences how whoever collects was checked, besides by the ticket; "" where nothing was.
func (l Leaving) CheckedWords() string {
	var said []string
	switch l.Shown {
	case "":
	case ShownKnown, ShownOther:
		if l.Shown == ShownKnown || l.Identity == "" {
			said = append(said, text.Sentence(l.Shown.Words()))
		}
	default:
		said = append(said, text.Sentence(l.Shown.Words()+" seen"))
	}
	if len(l.Done) > 0 {
		said = append(said, "Done as the house asks: "+strings.Join(l.Done, " "))
	}
	if l.Identity != "" {
		said = append(said, l.Identity)
	}
	return strings.Join(said, " ")
}

// TicketProblem says why a number scanned or typed from a ticket is not that of docket n; "" where it is.
func TicketProblem(typed string, n Number) string {
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

// Waits reports whether the watch waits to be collected.
func (d Docket) Waits() bool {
	_, leaves := LeavingMove(d.Stage)
	return leaves && !d.Closed()
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
