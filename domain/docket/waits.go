package docket

import "fmt"

// WaitsFor says in a few plain words what a docket waits for, for lists. It reads from the facts only
// Closed, Place, Estimate and the amounts, Cover, PartsOutstanding, RunAfterWork, FinalTest and OwnerReason.
func WaitsFor(s Stage, f Facts) string {
	if f.Closed || s == StageHandedOver {
		return "nothing"
	}
	if f.Place.Kind == PlaceSentOut {
		return "return from " + sentTo(f.Place)
	}
	switch s {
	case StageIntake:
		return "the bench, to diagnose"
	case StageDiagnosis:
		return "diagnosis"
	case StageEstimate:
		return estimateWaits(f)
	case StageParts:
		if f.PartsOutstanding > 0 {
			return partsWait(f.PartsOutstanding)
		}
		return "the bench: parts are in"
	case StageService:
		if f.PartsOutstanding > 0 {
			return partsWait(f.PartsOutstanding)
		}
		return "service"
	case StageRegulation:
		if f.RunAfterWork {
			return "final test"
		}
		return "regulation"
	case StageFinalTest:
		return finalTestWaits(f)
	case StageReady:
		if !f.Cleared() {
			return "the final test again"
		}
		return "collection"
	case StageDeclined, StageWithdrawn:
		return "collection, unrepaired"
	}
	return "nothing known"
}

func sentTo(p Place) string {
	if p.Detail == "" {
		return "outside"
	}
	return p.Detail
}

func estimateWaits(f Facts) string {
	switch {
	case f.Estimate == EstimateDeclined:
		return "a new estimate or return: declined"
	case f.Estimate == EstimateApproved:
		return "parts or the bench: approved"
	case f.Free():
		return "parts or the bench: under warranty"
	case f.Agreed():
		return "parts or the bench: within the limit"
	case f.Estimate == EstimateSent:
		return "the customer's approval"
	case f.Estimate == EstimateDraft:
		return "the estimate to be sent"
	}
	return "an estimate"
}

func finalTestWaits(f Facts) string {
	switch {
	case f.FinalTest == Failed && f.OwnerReason == "":
		return "being put right: final test failed"
	case f.Cleared():
		return "the counter: final test done"
	}
	return "final test"
}

func partsWait(n int) string { return fmt.Sprintf("parts: %d outstanding", n) }
