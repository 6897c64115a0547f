package docket

import "time"

// Facts are everything about a docket that its moves depend on, gathered by the store in the transaction
// that makes the move.
//
// What went before counts no longer once a docket is sent back: RunAfterWork, RunOutcome and NewestRun speak only
// of runs taken since [Docket.WorkSince], FinalTest only of tests recorded since [Docket.TestSince], and
// OwnerReason lapses when the docket is reopened (see [Move.Reopens]).
type Facts struct {
	Place     Place
	Closed    bool // the watch has left; see [Docket.Closed]
	Condition bool // the condition at intake is noted, on the outline or by a photograph

	Findings int // findings recorded
	// HazardsOpen counts hazards found whose cautions nobody has acknowledged yet.
	HazardsOpen int
	// AsReceivedRun is true once a timing run was taken before any work.
	AsReceivedRun bool

	// Estimate is the state of the newest revision; amounts are in the docket's currency, tax included.
	Estimate           EstimateState
	TotalMinor         int64  // the newest revision's total
	ApprovedMinor      int64  // total of the revision approved last, 0 if none was
	ApprovalLimitMinor *int64 // see [Intake.ApprovalLimitMinor]

	// PartsOutstanding counts parts needed or ordered that have neither arrived nor been cancelled.
	PartsOutstanding int
	ServiceSteps     int // service steps done

	RunAfterWork bool    // a final run was taken since work began
	RunOutcome   Outcome // that run against the rate limits
	NewestRun    Outcome // the newest run since work began, of whatever kind, against the rate limits
	FinalTest    Outcome // the newest final test since the docket entered that stage
	// OwnerReason is the reason the owner wrote for letting the watch go without a passed final test.
	OwnerReason string

	// Cover says whether the warranty covers a comeback; [NoComeback] for a docket that is none.
	Cover Cover

	// OldPartsSettled is true when it is recorded that the old parts were returned or left, or when
	// there are none.
	OldPartsSettled bool
	// CollectedBy is who collects the watch, checked against the claim ticket or otherwise; empty if
	// not recorded.
	CollectedBy string
	// LoanOut is true while a loan watch is out with the docket, and nobody noted why it stays out.
	LoanOut  bool
	DueMinor int64 // still to pay: charged less paid, in minor units
}

// EstimateState is how far the newest revision of the estimate has come.
type EstimateState string

// The states of an estimate.
const (
	EstimateNone     EstimateState = ""
	EstimateDraft    EstimateState = "draft"
	EstimateSent     EstimateState = "sent"
	EstimateApproved EstimateState = "approved"
	EstimateDeclined EstimateState = "declined"
)

// Outcome is the result of a run or a final test. The zero value is not yet.
type Outcome string

// The outcomes.
const (
	NotYet    Outcome = ""
	Passed    Outcome = "pass"
	Failed    Outcome = "fail"
	Undecided Outcome = "undecided"
	// NotMeasured is a run that lacks readings which its limits ask for.
	NotMeasured Outcome = "not measured"
)

// Agreed reports whether the customer has agreed to the work as it is now priced: the newest revision is
// approved, or it is priced within the approval limit and was not declined, or the warranty covers it and nothing is priced.
func (f Facts) Agreed() bool {
	if f.Free() {
		return true
	}
	switch f.Estimate {
	case EstimateApproved:
		return true
	case EstimateDraft, EstimateSent:
		return f.ApprovalLimitMinor != nil && f.TotalMinor <= *f.ApprovalLimitMinor
	}
	return false
}

// Cleared reports whether the watch may go out as repaired: its final test passed, or the owner wrote why
// it may go without.
func (f Facts) Cleared() bool { return f.FinalTest == Passed || f.OwnerReason != "" }

// WorkOpens says what bench work recorded now opens again; "" where nothing was measured or tested yet.
func (f Facts) WorkOpens() string {
	if f.Closed || !f.RunAfterWork && f.FinalTest == NotYet {
		return ""
	}
	return "The final run, and every line of the final test, is open again once work is recorded here or a part is " +
		"fitted. What was done before them is added by correcting an earlier entry."
}

// Facts returns the facts that the docket's own fields hold; the store adds what other tables know.
func (d Docket) Facts() Facts {
	return Facts{
		Place:              d.Place,
		Closed:             d.Closed(),
		ApprovalLimitMinor: d.ApprovalLimitMinor,
		OwnerReason:        d.OwnerReason,
	}
}

// Worked returns d after bench work was recorded at the time now: a stretch of work, a part fitted, an adjustment.
// What was measured and tested before it speaks of another watch, so the final run and every line of the final test
// are open again, and the owner's reason lapses. Work recorded before the docket first came to service or regulation
// changes nothing.
func (d Docket) Worked(now time.Time) Docket {
	if d.WorkSince.IsZero() {
		return d
	}
	d.WorkSince = Moment(now)
	if !d.TestSince.IsZero() {
		d.TestSince = d.WorkSince
	}
	d.OwnerReason = ""
	return d
}

// Apply returns d after the move m made by a at the time now, once [Move.Check] has allowed it. It changes
// stage and place, starts the clock of work and of test, keeps the owner's reason where one was needed,
// lets it lapse when the docket is reopened, and closes the docket when the watch leaves.
func (d Docket) Apply(m Move, f Facts, a Act, now time.Time) Docket {
	d.Stage, d.Place = m.To, a.Place
	now = Moment(now)
	switch m.To {
	case StageService, StageRegulation:
		d.WorkSince = now
	case StageFinalTest:
		d.TestSince = now
	}
	switch {
	case m.Reopens():
		d.OwnerReason = ""
	case m.leansOnOwner(f):
		d.OwnerReason = a.reason()
	}
	if m.Closes {
		d.HandedBackAt = now
	}
	return d
}
