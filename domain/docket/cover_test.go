package docket_test

import (
	"testing"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/staff"
)

// TestACoveredComebackNeedsNoAnswer: nobody is asked to agree to what costs nothing; what is priced is agreed to as ever.
func TestACoveredComebackNeedsNoAnswer(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		cover    docket.Cover
		estimate docket.EstimateState
		minor    int64
		agreed   bool
	}{
		{docket.Covered, docket.EstimateNone, 0, true},
		{docket.Covered, docket.EstimateDraft, 0, true},
		{docket.Covered, docket.EstimateSent, 0, true},
		{docket.Covered, docket.EstimateSent, 100, false},
		{docket.Covered, docket.EstimateDeclined, 0, false},
		{docket.NotCovered, docket.EstimateNone, 0, false},
		{docket.CoverOpen, docket.EstimateDraft, 0, false},
		{docket.NoComeback, docket.EstimateNone, 0, false},
	} {
		f := docket.Facts{Cover: tt.cover, Estimate: tt.estimate, TotalMinor: tt.minor}
		if got := f.Agreed(); got != tt.agreed {
			t.Errorf("%q with estimate %q of %d: agreed %v", tt.cover, tt.estimate, tt.minor, got)
		}
		if got := docket.AgreedMinor(docket.StageService, f); got != 0 && !tt.agreed {
			t.Errorf("%q with estimate %q: %d is owed", tt.cover, tt.estimate, got)
		}
	}
}

// TestAComebackIsNotMadeReadyUnsaid: the watchmaker is asked while the watch lies there, never the counter before a customer.
func TestAComebackIsNotMadeReadyUnsaid(t *testing.T) {
	t.Parallel()
	ready, err := docket.FindMove(docket.StageFinalTest, docket.StageReady)
	if err != nil {
		t.Fatal(err)
	}
	f := allMet()
	f.Cover = docket.CoverOpen
	act := docket.Act{Role: staff.Watchmaker, Place: place(docket.PlaceSafe)}
	if ready.Check(f, act) == nil {
		t.Error("made ready although nobody said why it came back")
	}
	if a, ok := docket.NextAction(docket.StageFinalTest, f, staff.Watchmaker); !ok || a.Need != docket.NeedCover {
		t.Errorf("next is %+v", a)
	}
	act.Reason = "The owner is away and will decide."
	if err := ready.Check(f, act); err != nil {
		t.Errorf("with a reason: %v", err)
	}
	if handOver, _ := docket.FindMove(docket.StageReady, docket.StageHandedOver); len(handOver.Unmet(f)) > 0 {
		t.Errorf("the counter is asked: %v", handOver.Unmet(f))
	}
}
