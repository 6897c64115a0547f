package docket_test

import (
	"testing"

	"ledgerwheel/domain/docket"
)

func TestOwed(t *testing.T) {
	t.Parallel()
	limit, charged := int64(20000), int64(4500)
	approved := docket.Facts{Estimate: docket.EstimateApproved, TotalMinor: 31250}
	within := docket.Facts{Estimate: docket.EstimateSent, TotalMinor: 18000, ApprovalLimitMinor: &limit}
	beyond := docket.Facts{Estimate: docket.EstimateSent, TotalMinor: 21000, ApprovalLimitMinor: &limit}
	declined := docket.Facts{Estimate: docket.EstimateDeclined, TotalMinor: 40000, ApprovedMinor: 31250}
	drafted := docket.Facts{Estimate: docket.EstimateDraft, TotalMinor: 0, ApprovedMinor: 31250}
	for _, c := range []struct {
		name    string
		stage   docket.Stage
		facts   docket.Facts
		charged *int64
		want    int64
	}{
		{"approved", docket.StageReady, approved, nil, 31250},
		{"within the limit", docket.StageReady, within, nil, 18000},
		{"beyond the limit, not agreed", docket.StageEstimate, beyond, nil, 0},
		{"more work declined", docket.StageReady, declined, nil, 31250},
		{"another revision begun", docket.StageReady, drafted, nil, 31250},
		{"withdrawn after approval", docket.StageWithdrawn, declined, nil, 0},
		{"declined owes nothing", docket.StageDeclined, approved, nil, 0},
		{"a set charge stands", docket.StageDeclined, approved, &charged, 4500},
	} {
		if got := docket.OwedMinor(c.stage, c.facts, c.charged); got != c.want {
			t.Errorf("%s: got %d, want %d", c.name, got, c.want)
		}
	}
}

// Before an answer the shop may go up to the limit; an answer, or the watch's going back, leaves what was agreed.
func TestAllowedMinor(t *testing.T) {
	t.Parallel()
	limit := int64(12000)
	for name, c := range map[string]struct {
		stage docket.Stage
		facts docket.Facts
		want  int64
	}{
		"nothing priced":      {docket.StageReady, docket.Facts{ApprovalLimitMinor: &limit}, 12000},
		"no limit":            {docket.StageReady, docket.Facts{Estimate: docket.EstimateDraft, TotalMinor: 9000}, 0},
		"within the limit":    {docket.StageReady, docket.Facts{Estimate: docket.EstimateDraft, TotalMinor: 9000, ApprovalLimitMinor: &limit}, 12000},
		"sent above it":       {docket.StageReady, docket.Facts{Estimate: docket.EstimateSent, TotalMinor: 19000, ApprovalLimitMinor: &limit}, 12000},
		"approved below it":   {docket.StageReady, docket.Facts{Estimate: docket.EstimateApproved, TotalMinor: 9000, ApprovedMinor: 9000, ApprovalLimitMinor: &limit}, 9000},
		"approved above it":   {docket.StageReady, docket.Facts{Estimate: docket.EstimateApproved, TotalMinor: 19000, ApprovedMinor: 19000, ApprovalLimitMinor: &limit}, 19000},
		"more work declined":  {docket.StageReady, docket.Facts{Estimate: docket.EstimateDeclined, TotalMinor: 19000, ApprovedMinor: 9000, ApprovalLimitMinor: &limit}, 9000},
		"declined altogether": {docket.StageReady, docket.Facts{Estimate: docket.EstimateDeclined, TotalMinor: 9000, ApprovalLimitMinor: &limit}, 0},
		"goes back":           {docket.StageDeclined, docket.Facts{Estimate: docket.EstimateDraft, TotalMinor: 9000, ApprovalLimitMinor: &limit}, 0},
	} {
		if got := docket.AllowedMinor(c.stage, c.facts); got != c.want {
			t.Errorf("%s: %d, want %d", name, got, c.want)
		}
	}
}
