package docket

import "ledgerwheel/domain/staff"

// Action is the one next thing that a person can do with a docket. With To set it is a move whose needs are all met;
// else it is done on the sheet that meets what the next move still needs.
type Action struct {
	Text string // in the imperative
	To   Stage
	Need string // the key of the requirement that it meets; empty for a move
}

// meets says how a requirement is met and who may do so. What depends on how far the estimate is stands in meetAgreed.
var meets = map[string]struct {
	text string
	may  staff.Permission
}{
	needCondition.Key:  {"Note the condition", staff.TakeIn},
	needFindings.Key:   {"Record what you find", staff.Diagnose},
	needHazards.Key:    {"Read and confirm the cautions", staff.Diagnose},
	needAsReceived.Key: {"Take the as-received run", staff.Diagnose},
	needParts.Key:      {"Book in the parts", staff.OrderParts},
	needSteps.Key:      {"Record the service", staff.DoService},
	needRun.Key:        {"Take the final run", staff.TakeReadings},
	needRunPassed.Key:  {"See what to correct", staff.TakeReadings},
	needCleared.Key:    {"Record the final test", staff.DoFinalTest},
	needCover.Key:      {"Say why it came back", staff.Diagnose},
	needCollector.Key:  {"Hand over", staff.HandOver},
	needOldParts.Key:   {"Hand over", staff.HandOver},
	needPaid.Key:       {"Take the payment", staff.TakePayment},
	needLoan.Key:       {"Take the loan watch back", staff.HandOver},
}

// meetAgreed is what brings an estimate on.
func meetAgreed(f Facts) (text string, may staff.Permission) {
	switch f.Estimate {
	case EstimateNone:
		return "Price the estimate", staff.PriceEstimate
	case EstimateDraft:
		return "Send the estimate", staff.SendEstimate
	case EstimateDeclined:
		return "Price it again", staff.PriceEstimate
	}
	return "Write down the answer", staff.RecordApproval
}

// onward is where a docket goes from s when all goes well; ok is false where it goes nowhere further.
func onward(s Stage, f Facts) (to Stage, ok bool) {
	switch s {
	case StageIntake:
		return StageDiagnosis, true
	case StageDiagnosis:
		return StageEstimate, true
	case StageEstimate:
		if f.Estimate == EstimateDeclined {
			return StageDeclined, true
		}
		if f.PartsOutstanding > 0 {
			return StageParts, true
		}
		return StageService, true
	case StageParts:
		return StageService, true
	case StageService:
		return StageRegulation, true
	case StageRegulation:
		return StageFinalTest, true
	case StageFinalTest:
		return StageReady, true
	case StageReady:
		return StageHandedOver, true
	case StageDeclined, StageWithdrawn:
		return s, true
	}
	return "", false
}

// NextAction returns the one next thing that someone of the role can do with an open docket; ok is false where it is
// others' turn. A run that failed is corrected before the next is taken. It never offers a step back, and no move that
// needs a reason: those are there, but are not next.
func NextAction(s Stage, f Facts, role staff.Role) (Action, bool) {
	to, ok := onward(s, f)
	if !ok || f.Closed {
		return Action{}, false
	}
	m, err := FindMove(s, to)
	if err != nil {
		return Action{}, false
	}
	if s == StageFinalTest && f.FinalTest == Failed && !f.Cleared() {
		return Action{Text: "Send it back to be put right", Need: needTestFailed.Key}, staff.Can(role, staff.DoFinalTest)
	}
	if s == StageRegulation && f.NewestRun == Failed {
		way := meets[needRunPassed.Key]
		return Action{Text: way.text, Need: needRunPassed.Key}, staff.Can(role, way.may)
	}
	for _, n := range m.Unmet(f) {
		way, known := meets[n.Key]
		if n.Key == needAgreed.Key {
			way.text, way.may = meetAgreed(f)
			known = true
		}
		if known {
			return Action{Text: way.text, Need: n.Key}, staff.Can(role, way.may)
		}
	}
	if len(m.Unmet(f)) > 0 { // such as a watch that is outside: nothing on a sheet brings it back
		return Action{}, false
	}
	return Action{Text: m.Label, To: to}, staff.Can(role, m.May)
}
