package visit

import (
	"slices"

	"ledgerwheel/domain/docket"
)

// TicketProblem says why a ticket, as scanned or typed, is not that of visit n, whose dockets are of; "" where it is. The number
// of one of its dockets does as well: it stands on the ticket.
func TicketProblem(typed string, n Number, of []docket.Number) string {
	if other, err := Parse(typed); err == nil {
		if other == n {
			return ""
		}
		return "This is the ticket of other watches, visit " + other.String() + ". Keep these until that is cleared up."
	}
	if shown, err := docket.ParseNumber(typed); err == nil {
		if slices.Contains(of, shown) {
			return ""
		}
		return "This is the ticket of docket " + shown.String() + ", which is none of these. Keep them until that is cleared up."
	}
	return docket.TicketProblem(typed, of[0])
}

// GoneProblem says of one of several watches that are to leave at once that it has left already, and with whom.
func GoneProblem(n docket.Number, to string) string {
	said := n.String() + " was already handed over"
	if to != "" {
		said += ", to " + to
	}
	return said + ". Nothing was done: look at what stands here now, and at the sum."
}

// ChangedProblem says of one of several that it is no longer as the form showed it.
func ChangedProblem(n docket.Number) string {
	return "Someone else saved first on " + n.String() + ". Nothing was done: look at what stands here now, then tick it again."
}

// NoneProblem says that no watch is ticked.
const NoneProblem = "Tick the watches that go."
