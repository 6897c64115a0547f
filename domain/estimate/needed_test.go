package estimate_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/stock"
)

func TestWhatApprovedLinesNeed(t *testing.T) {
	part := func(id, milli int64, declined bool) estimate.Line {
		return estimate.Line{Kind: estimate.Part, Description: "Seal", QuantityMilli: milli, PartID: id, Declined: declined}
	}
	lines := []estimate.Line{part(1, 2000, false), part(1, 1000, false), part(2, 1000, true), part(3, 500, false), part(4, 3000, false), part(0, 1000, false),
		{Kind: estimate.Labour, Description: "Service", QuantityMilli: 1000, PartID: 5}}
	got := estimate.NeededParts(lines, map[int64]int{1: 1, 4: 9})
	want := []stock.PartLine{{Description: "Seal", Quantity: 1, State: stock.Needed, PartID: 1}, {Description: "Seal", Quantity: 1, State: stock.Needed, PartID: 1},
		{Description: "Seal", Quantity: 1, State: stock.Needed, PartID: 3}}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}
