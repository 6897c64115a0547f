package estimate_test

import (
	"testing"

	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/stock"
)

// A line for a part holds the pieces it names, whatever else it says of them; labour and what was left out hold none.
func TestHolds(t *testing.T) {
	t.Parallel()
	line := func(k estimate.Kind, description string, pieces int64) estimate.Line {
		return estimate.Line{Kind: k, Description: description, QuantityMilli: pieces * 1000}
	}
	left := line(estimate.Part, "Crown", 1)
	left.Declined = true
	r := estimate.Revision{Lines: []estimate.Line{line(estimate.Part, "New  mainspring (GS-9)", 2), left,
		line(estimate.Labour, "Fit a case tube", 1)}}
	fitted := stock.PartLine{ID: 1, Description: "MAINSPRING", Quantity: 1, State: stock.Fitted}
	paid := fitted
	paid.Money.Payer = stock.PayerShop
	for _, tc := range []struct {
		name   string
		part   stock.PartLine
		others []stock.PartLine
		want   bool
	}{
		{"one of two", stock.PartLine{ID: 2, Description: "Mainspring", Quantity: 1}, nil, true},
		{"the second of two", stock.PartLine{ID: 2, Description: "Mainspring", Quantity: 1}, []stock.PartLine{fitted}, true},
		{"a third", stock.PartLine{ID: 2, Description: "Mainspring", Quantity: 2}, []stock.PartLine{fitted}, false},
		{"beside one on the house", stock.PartLine{ID: 2, Description: "Mainspring", Quantity: 2}, []stock.PartLine{paid}, true},
		{"itself, fitted", fitted, []stock.PartLine{fitted}, true},
		{"part of a word", stock.PartLine{ID: 2, Description: "Spring", Quantity: 1}, nil, false},
		{"left out by the customer", stock.PartLine{ID: 2, Description: "Crown", Quantity: 1}, nil, false},
		{"in the labour", stock.PartLine{ID: 2, Description: "Case tube", Quantity: 1}, nil, false},
	} {
		if got := r.Holds(tc.part, tc.others); got != tc.want {
			t.Errorf("%s: %v", tc.name, got)
		}
	}
	if (estimate.Estimate{}).HoldsPart(true, fitted, nil) {
		t.Error("no estimate holds a part")
	}
}
