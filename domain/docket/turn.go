package docket

import (
	"fmt"
	"time"
)

// Side is whose move a docket waits for.
type Side string

// The sides. SideBoth is work that has come back from a customer: the counter tells the bench, the bench may begin.
const (
	SideCounter  Side = "counter"
	SideBench    Side = "bench"
	SideBoth     Side = "both"
	SideCustomer Side = "customer"
	SideSupplier Side = "supplier"
	SideOutside  Side = "outside" // a workshop that has the watch
	SideNobody   Side = "nobody"
)

// Turn is the next thing to do with a docket, in the imperative, and whose move it is. For a side that is not of the
// shop Act says what is waited for.
type Turn struct {
	Side Side
	Act  string
}

// Of reports whether the move is one of the shop's counter (bench false) or of its bench.
func (t Turn) Of(bench bool) bool {
	return t.Side == SideBoth || bench && t.Side == SideBench || !bench && t.Side == SideCounter
}

// OfShop reports whether the move is the shop's at all.
func (t Turn) OfShop() bool { return t.Of(true) || t.Of(false) }

// NextTurn says whose move it is. It reads the facts that [WaitsFor] reads.
func NextTurn(s Stage, f Facts) Turn {
	if f.Closed || s == StageHandedOver {
		return Turn{SideNobody, ""}
	}
	if f.Place.Kind == PlaceSentOut {
		return Turn{SideOutside, "back from " + sentTo(f.Place)}
	}
	switch s {
	case StageIntake:
		return Turn{SideCounter, "Pass to the bench"}
	case StageDiagnosis:
		return Turn{SideBench, "Diagnose"}
	case StageEstimate:
		return estimateTurn(f)
	case StageParts, StageService:
		if f.PartsOutstanding > 0 {
			return Turn{SideSupplier, partsWait(f.PartsOutstanding)}
		}
		if s == StageParts {
			return Turn{SideBoth, "Parts are in: begin the service"}
		}
		return Turn{SideBench, "Service"}
	case StageRegulation:
		if f.RunAfterWork {
			return Turn{SideBench, "To the final test"}
		}
		return Turn{SideBench, "Regulate"}
	case StageFinalTest:
		return finalTestTurn(f)
	case StageReady:
		return Turn{SideCounter, "Hand over"}
	case StageDeclined, StageWithdrawn:
		return Turn{SideCounter, "Hand back, unrepaired"}
	}
	return Turn{SideNobody, ""}
}

func estimateTurn(f Facts) Turn {
	switch {
	case f.Estimate == EstimateDeclined:
		return Turn{SideCounter, "Declined: new estimate, or hand back"}
	case f.Estimate == EstimateApproved:
		return Turn{SideBoth, "Approved: begin"}
	case f.Free():
		return Turn{SideBoth, "Under warranty: begin"}
	case f.Agreed():
		return Turn{SideBoth, "Within the limit: begin"}
	case f.Estimate == EstimateSent:
		return Turn{SideCustomer, "answer to the estimate"}
	case f.Estimate == EstimateDraft:
		return Turn{SideCounter, "Send the estimate"}
	}
	return Turn{SideBench, "Price the estimate"}
}

func finalTestTurn(f Facts) Turn {
	switch {
	case f.Cleared():
		return Turn{SideBoth, "Tested: make ready"}
	case f.FinalTest == Failed:
		return Turn{SideBench, "Failed the final test: put right"}
	}
	return Turn{SideBench, "Final test"}
}

// PromiseWords says when a docket was promised for as one reads it on the civil day today, such as "8 days late",
// "today", "tomorrow" or "Mon 7 Dec"; empty without a promise. A watch that is ready is not late: its customer is.
func (d Docket) PromiseWords(today time.Time) string {
	days := int(d.PromisedOn.Sub(today).Hours() / 24)
	switch {
	case d.PromisedOn.IsZero():
		return ""
	case d.Overdue(today) && days == -1:
		return "1 day late"
	case d.Overdue(today):
		return fmt.Sprintf("%d days late", -days)
	case days == 0:
		return "today"
	case days == 1:
		return "tomorrow"
	case d.PromisedOn.Year() == today.Year():
		return d.PromisedOn.Format("Mon 2 Jan")
	}
	return d.PromisedOn.Format("2 Jan 2006")
}
