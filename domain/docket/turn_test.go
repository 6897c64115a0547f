package docket_test

import (
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/docket"
)

// Whose move it is follows from the stage and what was agreed; common practice of a shop with a counter and a bench.
func TestNextTurn(t *testing.T) {
	t.Parallel()
	limit := int64(10_000)
	safe := docket.Place{Kind: docket.PlaceSafe}
	for name, tt := range map[string]struct {
		stage docket.Stage
		facts docket.Facts
		side  docket.Side
		act   string
	}{
		"taken in":         {docket.StageIntake, docket.Facts{Place: safe}, docket.SideCounter, "Pass to the bench"},
		"at diagnosis":     {docket.StageDiagnosis, docket.Facts{Place: safe}, docket.SideBench, "Diagnose"},
		"to price":         {docket.StageEstimate, docket.Facts{Place: safe}, docket.SideBench, "Price"},
		"priced":           {docket.StageEstimate, docket.Facts{Estimate: docket.EstimateDraft}, docket.SideCounter, "Send"},
		"priced within":    {docket.StageEstimate, docket.Facts{Estimate: docket.EstimateDraft, TotalMinor: 9_000, ApprovalLimitMinor: &limit}, docket.SideBoth, "Within the limit"},
		"sent":             {docket.StageEstimate, docket.Facts{Estimate: docket.EstimateSent}, docket.SideCustomer, "answer"},
		"approved":         {docket.StageEstimate, docket.Facts{Estimate: docket.EstimateApproved}, docket.SideBoth, "Approved"},
		"declined":         {docket.StageEstimate, docket.Facts{Estimate: docket.EstimateDeclined}, docket.SideCounter, "Declined"},
		"parts to come":    {docket.StageParts, docket.Facts{PartsOutstanding: 2}, docket.SideSupplier, "parts: 2"},
		"parts in":         {docket.StageParts, docket.Facts{}, docket.SideBoth, "Parts are in"},
		"serviced, a part": {docket.StageService, docket.Facts{PartsOutstanding: 1}, docket.SideSupplier, "parts: 1"},
		"at service":       {docket.StageService, docket.Facts{}, docket.SideBench, "Service"},
		"to regulate":      {docket.StageRegulation, docket.Facts{}, docket.SideBench, "Regulate"},
		"regulated":        {docket.StageRegulation, docket.Facts{RunAfterWork: true}, docket.SideBench, "To the final test"},
		"to test":          {docket.StageFinalTest, docket.Facts{}, docket.SideBench, "Final test"},
		"failed":           {docket.StageFinalTest, docket.Facts{FinalTest: docket.Failed}, docket.SideBench, "Failed"},
		"failed, let go": {docket.StageFinalTest, docket.Facts{FinalTest: docket.Failed, OwnerReason: "x"}, docket.SideBoth,
			"Tested"},
		"tested":    {docket.StageFinalTest, docket.Facts{FinalTest: docket.Passed}, docket.SideBoth, "Tested"},
		"ready":     {docket.StageReady, docket.Facts{}, docket.SideCounter, "Hand over"},
		"withdrawn": {docket.StageWithdrawn, docket.Facts{}, docket.SideCounter, "Hand back"},
		"gone":      {docket.StageWithdrawn, docket.Facts{Closed: true}, docket.SideNobody, ""},
		"sent out": {docket.StageService, docket.Facts{Place: docket.Place{Kind: docket.PlaceSentOut,
			Detail: "Gannet Dialworks"}}, docket.SideOutside, "back from Gannet Dialworks"},
	} {
		got := docket.NextTurn(tt.stage, tt.facts)
		if got.Side != tt.side || !strings.HasPrefix(got.Act, tt.act) {
			t.Errorf("%s: %v, want %s %q", name, got, tt.side, tt.act)
		}
	}
}

// Every open docket is somebody's move, whatever its facts say.
func TestNextTurnOfEveryStage(t *testing.T) {
	t.Parallel()
	for _, stage := range docket.Stages() {
		for _, e := range []docket.EstimateState{docket.EstimateNone, docket.EstimateDraft, docket.EstimateSent,
			docket.EstimateApproved, docket.EstimateDeclined} {
			for _, test := range []docket.Outcome{docket.NotYet, docket.Passed, docket.Failed, docket.Undecided} {
				for parts := range 2 {
					got := docket.NextTurn(stage, docket.Facts{Estimate: e, FinalTest: test, PartsOutstanding: parts})
					if open := stage != docket.StageHandedOver; open == (got.Side == docket.SideNobody) || open != (got.Act != "") {
						t.Errorf("%s, %s, %s, %d parts: %v", stage, e, test, parts, got)
					}
				}
			}
		}
	}
}

func TestPromiseWords(t *testing.T) {
	t.Parallel()
	today := day(2026, time.December, 30)
	for _, tt := range []struct {
		promised time.Time
		stage    docket.Stage
		want     string
	}{
		{time.Time{}, docket.StageService, ""},
		{day(2026, 12, 17), docket.StageService, "13 days late"},
		{day(2026, 12, 29), docket.StageService, "1 day late"},
		{day(2026, 12, 29), docket.StageReady, "Tue 29 Dec"},
		{day(2026, 12, 30), docket.StageService, "today"},
		{day(2026, 12, 31), docket.StageService, "tomorrow"},
		{day(2027, 1, 1), docket.StageService, "1 Jan 2027"},
		{day(2026, 12, 7).AddDate(0, 0, 30), docket.StageService, "6 Jan 2027"},
	} {
		d := docket.Docket{Stage: tt.stage, Intake: docket.Intake{PromisedOn: tt.promised}}
		if got := d.PromiseWords(today); got != tt.want {
			t.Errorf("%v: %q, want %q", tt.promised, got, tt.want)
		}
	}
}
