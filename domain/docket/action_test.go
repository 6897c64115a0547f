package docket_test

import (
	"testing"

	"pgregory.net/rapid"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/staff"
)

func TestNextAction(t *testing.T) {
	t.Parallel()
	safe := docket.Place{Kind: docket.PlaceSafe}
	agreed := docket.Facts{Place: safe, Estimate: docket.EstimateApproved, ServiceSteps: 1}
	tested := agreed
	tested.RunAfterWork, tested.RunOutcome, tested.FinalTest = true, docket.Passed, docket.Passed
	for name, tt := range map[string]struct {
		stage docket.Stage
		facts docket.Facts
		role  staff.Role
		want  string // empty: others' turn
		to    docket.Stage
	}{
		"condition to note":       {docket.StageIntake, docket.Facts{Place: safe}, staff.Clerk, "Note the condition", ""},
		"noted":                   {docket.StageIntake, docket.Facts{Place: safe, Condition: true}, staff.Clerk, "Pass to the bench for diagnosis", docket.StageDiagnosis},
		"clerk at diagnosis":      {docket.StageDiagnosis, docket.Facts{Place: safe}, staff.Clerk, "", ""},
		"bench at diagnosis":      {docket.StageDiagnosis, docket.Facts{Place: safe}, staff.Watchmaker, "Record what you find", ""},
		"nothing priced":          {docket.StageEstimate, docket.Facts{Place: safe}, staff.Watchmaker, "Price the estimate", ""},
		"clerk, nothing priced":   {docket.StageEstimate, docket.Facts{Place: safe}, staff.Clerk, "", ""},
		"priced":                  {docket.StageEstimate, docket.Facts{Place: safe, Estimate: docket.EstimateDraft}, staff.Clerk, "Send the estimate", ""},
		"sent":                    {docket.StageEstimate, docket.Facts{Place: safe, Estimate: docket.EstimateSent}, staff.Clerk, "Write down the answer", ""},
		"sent, at the bench":      {docket.StageEstimate, docket.Facts{Place: safe, Estimate: docket.EstimateSent}, staff.Watchmaker, "", ""},
		"approved":                {docket.StageEstimate, agreed, staff.Watchmaker, "Agreed: start the service", docket.StageService},
		"declined":                {docket.StageEstimate, docket.Facts{Place: safe, Estimate: docket.EstimateDeclined}, staff.Clerk, "Declined: goes back unrepaired", docket.StageDeclined},
		"serviced":                {docket.StageService, agreed, staff.Watchmaker, "Service done: regulate", docket.StageRegulation},
		"to regulate":             {docket.StageRegulation, agreed, staff.Watchmaker, "Take the final run", ""},
		"clerk, to regulate":      {docket.StageRegulation, agreed, staff.Clerk, "", ""},
		"tested, ready":           {docket.StageFinalTest, tested, staff.Watchmaker, "Ready to collect", docket.StageReady},
		"clerk on a ready docket": {docket.StageReady, tested, staff.Clerk, "Hand over", ""},
		"bench on a ready docket": {docket.StageReady, tested, staff.Watchmaker, "", ""},
		"handed over":             {docket.StageHandedOver, docket.Facts{Closed: true}, staff.Owner, "", ""},
	} {
		got, ok := docket.NextAction(tt.stage, tt.facts, tt.role)
		if ok != (tt.want != "") || ok && (got.Text != tt.want || got.To != tt.to) {
			t.Errorf("%s: %+v, %v; want %q to %q", name, got, ok, tt.want, tt.to)
		}
	}
	failed := agreed
	failed.RunAfterWork, failed.RunOutcome = true, docket.Failed
	if got, ok := docket.NextAction(docket.StageRegulation, failed, staff.Watchmaker); !ok || got.Text != "See what to correct" {
		t.Errorf("a run that failed asks for %+v: the advice says what to correct", got)
	}
	failed = agreed
	failed.NewestRun = docket.Failed
	if got, ok := docket.NextAction(docket.StageRegulation, failed, staff.Watchmaker); !ok || got.Text != "See what to correct" {
		t.Errorf("a run after an adjustment that failed asks for %+v: it is corrected before the final run", got)
	}
	failed.NewestRun = docket.Undecided
	if got, ok := docket.NextAction(docket.StageRegulation, failed, staff.Watchmaker); !ok || got.Text != "Take the final run" {
		t.Errorf("a run in doubt asks for %+v: measured again it is decided", got)
	}
	failed = tested
	failed.FinalTest = docket.Failed
	if got, ok := docket.NextAction(docket.StageFinalTest, failed, staff.Watchmaker); !ok || got.Text != "Send it back to be put right" {
		t.Errorf("a failed test asks for %+v", got)
	}
}

// Whatever the facts: what is offered as a move is allowed to whom it is offered, with no reason written.
func TestNextActionCanBeDone(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		limit := rapid.Int64Range(0, 2).Draw(t, "limit")
		f := docket.Facts{Place: docket.Place{Kind: rapid.SampledFrom(docket.PlaceKinds()).Draw(t, "place"), Detail: "1"},
			Condition: rapid.Bool().Draw(t, "condition"), Findings: rapid.IntRange(0, 1).Draw(t, "findings"),
			HazardsOpen: rapid.IntRange(0, 1).Draw(t, "hazards"), AsReceivedRun: rapid.Bool().Draw(t, "as received"),
			Estimate: rapid.SampledFrom([]docket.EstimateState{docket.EstimateNone, docket.EstimateDraft, docket.EstimateSent,
				docket.EstimateApproved, docket.EstimateDeclined}).Draw(t, "estimate"), TotalMinor: 1, ApprovalLimitMinor: &limit,
			PartsOutstanding: rapid.IntRange(0, 1).Draw(t, "parts"), ServiceSteps: rapid.IntRange(0, 1).Draw(t, "steps"),
			RunAfterWork: rapid.Bool().Draw(t, "run"),
			RunOutcome:   rapid.SampledFrom([]docket.Outcome{docket.NotYet, docket.Passed, docket.Failed}).Draw(t, "outcome"),
			NewestRun:    rapid.SampledFrom([]docket.Outcome{docket.NotYet, docket.Passed, docket.Failed}).Draw(t, "newest"),
			FinalTest:    rapid.SampledFrom([]docket.Outcome{docket.NotYet, docket.Passed, docket.Failed}).Draw(t, "test"),
			CollectedBy:  rapid.SampledFrom([]string{"", "Ines"}).Draw(t, "by"), OldPartsSettled: rapid.Bool().Draw(t, "old"),
			DueMinor: rapid.Int64Range(0, 1).Draw(t, "due")}
		stage := rapid.SampledFrom(docket.Stages()).Draw(t, "stage")
		role := rapid.SampledFrom([]staff.Role{staff.Owner, staff.Watchmaker, staff.Clerk}).Draw(t, "role")
		a, ok := docket.NextAction(stage, f, role)
		if !ok || a.To == "" {
			return
		}
		m, err := docket.FindMove(stage, a.To)
		if err != nil {
			t.Fatal(err)
		}
		if err := m.Check(f, docket.Act{Role: role, Place: docket.PlaceAt(m.Places[0], "1")}); err != nil {
			t.Errorf("%s is offered %q: %v", role, a.Text, err)
		}
	})
}
