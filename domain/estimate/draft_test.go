package estimate_test

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"ledgerwheel/domain/diagnosis"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/stock"
)

func TestDiscard(t *testing.T) {
	t.Parallel()
	e := do(t, estimate.Estimate{}, 10000)
	if _, err := e.Discard(1); !errors.Is(err, estimate.ErrNotDraft) {
		t.Errorf("what was sent: %v", err)
	}
	e, n, err := e.Begin(content(20000))
	if err != nil {
		t.Fatal(err)
	}
	if shown, ok := e.Shown(); !ok || shown.Number != 1 {
		t.Errorf("the customer sees revision %d, want 1: the draft is nobody's to see", shown.Number)
	}
	was := e
	if e, err = e.Discard(n); err != nil || states(e) != "sent" {
		t.Errorf("left %q, %v", states(e), err)
	}
	if states(was) != "sent draft" {
		t.Errorf("the receiver changed to %q", states(was))
	}
	if _, err := e.Discard(n); !errors.Is(err, estimate.ErrNoRevision) {
		t.Errorf("twice: %v", err)
	}
	if _, again, err := e.Begin(content(1)); err != nil || again != n {
		t.Errorf("next number %d, %v; want %d", again, err, n)
	}
	if _, ok := (estimate.Estimate{}).Shown(); ok {
		t.Error("an empty estimate shows something")
	}
}

func TestSuggest(t *testing.T) {
	t.Parallel()
	findings := []diagnosis.Finding{
		{Component: diagnosis.Mainspring, Fault: "broken", Severity: diagnosis.Require},
		{Component: diagnosis.CrownAndStem, Fault: "crown worn", Severity: diagnosis.Advise},
		{Component: diagnosis.Train, Fault: "dirty", Severity: diagnosis.Observe},
		{Component: diagnosis.Mainspring, Fault: "broken", Severity: diagnosis.Require},
	}
	parts := []stock.PartLine{
		{Description: "Mainspring", Reference: "MS-27", Quantity: 1, State: stock.Needed},
		{Description: "Screws", Quantity: 3, State: stock.Arrived},
		{Description: "Stem", Quantity: 1, State: stock.Cancelled},
	}
	typed := []estimate.LineForm{{Description: "crown  and stem: CROWN worn"}}
	got := estimate.Suggest(findings, parts, typed, "20")
	want := []estimate.LineForm{
		{Kind: "labour", Description: "Mainspring: broken", Quantity: "1", TaxRate: "20"},
		{Kind: "part", Description: "Mainspring, MS-27", Quantity: "1", TaxRate: "20"},
		{Kind: "part", Description: "Screws", Quantity: "3", TaxRate: "20"},
	}
	if !slices.Equal(got, want) {
		t.Errorf("suggested %+v\nwant %+v", got, want)
	}
	if l := estimate.Suggest(findings[1:2], nil, nil, "")[0]; !l.Optional {
		t.Error("what only should be mended is not optional")
	}
	if again := estimate.Suggest(findings, parts, append(typed, want...), "20"); len(again) != 0 {
		t.Errorf("suggested twice: %+v", again)
	}
}

// A line that was taken over from a finding is known by its words, whatever their spaces and capitals; a reworded one is not.
func TestFindingOfALine(t *testing.T) {
	t.Parallel()
	findings := []diagnosis.Finding{{ID: 1, Component: diagnosis.Mainspring, Fault: "set"}, {ID: 2, Component: diagnosis.CrownAndStem, Fault: "worn"}}
	for _, f := range findings {
		taken := estimate.Suggest([]diagnosis.Finding{{ID: f.ID, Component: f.Component, Fault: f.Fault, Severity: diagnosis.Require}}, nil, nil, "")
		got, ok := estimate.FindingOf(estimate.Line{Description: " " + strings.ToUpper(taken[0].Description)}, findings)
		if !ok || got.ID != f.ID {
			t.Errorf("%q is the line of finding %d, %t", taken[0].Description, got.ID, ok)
		}
		if _, ok := estimate.FindingOf(estimate.Line{Description: taken[0].Description + " and more"}, findings); ok {
			t.Error("a reworded line is held for the finding's")
		}
	}
}
