package comeback_test

import (
	"maps"
	"slices"
	"strings"
	"testing"

	"ledgerwheel/domain/comeback"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/staff"
)

func said(c comeback.Cause, cover docket.Cover) comeback.Said {
	s := comeback.Said{Cause: c, Found: "The bridge lifts.", Cover: cover, Why: "It is our own work."}
	return s.Tidied()
}

// TestProblems goes through what may be said when, and by whom. That a warranty on work answers for work and parts, and not for
// accidents or other hands, is common practice; the rows are the rule, not a source.
func TestProblems(t *testing.T) {
	t.Parallel()
	none := comeback.Said{}
	longest := strings.Repeat("x", 501)
	for name, tt := range map[string]struct {
		said, was comeback.Said
		role      staff.Role
		left      bool
		reason    string
		bad       []string
	}{
		"our own work, covered":              {said(comeback.Workmanship, docket.Covered), none, staff.Watchmaker, false, "", nil},
		"a part, covered":                    {said(comeback.Part, docket.Covered), none, staff.Watchmaker, false, "", nil},
		"our own work, refused":              {said(comeback.Workmanship, docket.NotCovered), none, staff.Watchmaker, false, "", []string{"cover"}},
		"our own work, refused by the owner": {said(comeback.Workmanship, docket.NotCovered), none, staff.Owner, false, "", nil},
		"our own work, left to the owner":    {said(comeback.Workmanship, docket.CoverOpen), none, staff.Watchmaker, false, "", nil},
		"an accident, not covered":           {said(comeback.Accident, docket.NotCovered), none, staff.Watchmaker, false, "", nil},
		"an accident, covered":               {said(comeback.Accident, docket.Covered), none, staff.Watchmaker, false, "", []string{"cover"}},
		"an accident, covered by the owner":  {said(comeback.Accident, docket.Covered), none, staff.Owner, false, "", nil},
		"another hand, covered":              {said(comeback.OtherHand, docket.Covered), none, staff.Watchmaker, false, "", []string{"cover"}},
		"wear, either way":                   {said(comeback.Wear, docket.Covered), none, staff.Watchmaker, false, "", nil},
		"nothing found, either way":          {said(comeback.NothingFound, docket.NotCovered), none, staff.Watchmaker, false, "", nil},
		"words corrected of what the owner decided": {comeback.Said{Cause: comeback.Accident, Found: "A fall.", Cover: docket.Covered, Why: "Goodwill."},
			said(comeback.Accident, docket.Covered), staff.Watchmaker, false, "", nil},
		"another cause under what the owner decided": {said(comeback.OtherHand, docket.Covered), said(comeback.Accident, docket.Covered), staff.Watchmaker, false,
			"", []string{"cover"}},
		"no cause":       {said("", docket.Covered), none, staff.Watchmaker, false, "", []string{"cause"}},
		"unknown cause":  {said("fate", docket.Covered), none, staff.Owner, false, "", []string{"cause"}},
		"nothing at all": {none, none, staff.Watchmaker, false, "", []string{"cause", "found", "cover", "cover_why"}},
		"no sentence":    {comeback.Said{Cause: comeback.Wear, Cover: docket.Covered, Why: "So."}, none, staff.Watchmaker, false, "", []string{"found"}},
		"too long": {comeback.Said{Cause: comeback.Wear, Found: longest, Cover: docket.Covered, Why: longest}, none, staff.Watchmaker, false, "",
			[]string{"found", "cover_why"}},
		"no reason for the customer":  {comeback.Said{Cause: comeback.Wear, Found: "Worn.", Cover: docket.NotCovered}, none, staff.Watchmaker, false, "", []string{"cover_why"}},
		"corrected without a reason":  {said(comeback.Part, docket.Covered), said(comeback.Workmanship, docket.Covered), staff.Watchmaker, true, " ", []string{"why"}},
		"corrected with one":          {said(comeback.Part, docket.Covered), said(comeback.Workmanship, docket.Covered), staff.Watchmaker, true, "Seen again.", nil},
		"another cover once it left":  {said(comeback.Wear, docket.Covered), said(comeback.Wear, docket.NotCovered), staff.Watchmaker, true, "Seen again.", []string{"cover"}},
		"the owner's, once it left":   {said(comeback.Wear, docket.Covered), said(comeback.Wear, docket.NotCovered), staff.Owner, true, "Seen again.", nil},
		"decided once it left":        {said(comeback.Wear, docket.Covered), none, staff.Watchmaker, true, "Forgotten.", []string{"cover"}},
		"said late, the owner's turn": {said(comeback.Wear, docket.CoverOpen), none, staff.Watchmaker, true, "Forgotten.", []string{"cover"}},
	} {
		bad := tt.said.Problems(tt.was, tt.role, tt.left, tt.reason)
		got, want := slices.Sorted(maps.Keys(bad)), slices.Clone(tt.bad)
		slices.Sort(want)
		if !slices.Equal(got, want) {
			t.Errorf("%s: problems %v, want %v", name, bad, want)
		}
	}
}

func TestNothingIsSaidBeforeDiagnosis(t *testing.T) {
	t.Parallel()
	for _, st := range docket.Stages() {
		if got, want := comeback.TooEarly(st) != "", st == docket.StageIntake; got != want {
			t.Errorf("%s: too early %v, want %v", st, got, want)
		}
	}
}

// TestEveryCauseIsSaid holds each cause to words, a hint and a sentence of the journal.
func TestEveryCauseIsSaid(t *testing.T) {
	t.Parallel()
	seen := map[string]bool{}
	for _, c := range comeback.Causes {
		s := said(c, docket.Covered)
		if c.Words() == "" || c.Hint() == "" || seen[c.Words()] || seen[s.Summary()] || !strings.Contains(s.Summary(), "covers it") {
			t.Errorf("%s: %q, %q, %q", c, c.Words(), c.Hint(), s.Summary())
		}
		seen[c.Words()], seen[s.Summary()] = true, true
	}
	if comeback.Cause("fate").Words() != "" {
		t.Error("an unknown cause has words")
	}
}

func TestPricedWarnsOfACoveredComeback(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		cover docket.Cover
		minor int64
		warns bool
	}{{docket.Covered, 1, true}, {docket.Covered, 0, false}, {docket.NotCovered, 100, false}, {docket.CoverOpen, 100, false}, {docket.NoComeback, 100, false}} {
		if got := comeback.Priced(tt.cover, tt.minor) != ""; got != tt.warns {
			t.Errorf("%q at %d warns: %v", tt.cover, tt.minor, got)
		}
	}
}

// TestCost is worked by hand: 55 min at 90.00 an hour are 82.50, 1 min is 1.50; an hour of 100.01 gives 1.67 for a minute, as
// 100.01/60 = 1.6668...
func TestCost(t *testing.T) {
	t.Parallel()
	eight := int64(800)
	for name, tt := range map[string]struct {
		spent   comeback.Spent
		minor   int64
		known   bool
		time    bool
		unknown int
	}{
		"time and parts":   {comeback.Spent{Minutes: 55, HourMinor: 9000, Parts: []comeback.SpentPart{{2, &eight}}}, 8250 + 1600, true, true, 0},
		"rounded once":     {comeback.Spent{Minutes: 1, HourMinor: 10001}, 167, true, true, 0},
		"no rate":          {comeback.Spent{Minutes: 55, Parts: []comeback.SpentPart{{1, &eight}}}, 800, false, false, 0},
		"a part unknown":   {comeback.Spent{Minutes: 60, HourMinor: 9000, Parts: []comeback.SpentPart{{1, nil}, {1, &eight}}}, 9800, false, true, 1},
		"nothing was done": {comeback.Spent{}, 0, true, true, 0},
	} {
		c := tt.spent.Cost()
		if c.Minor() != tt.minor || c.Known() != tt.known || (c.TimeMinor != nil) != tt.time || c.Unknown != tt.unknown {
			t.Errorf("%s: %+v comes to %d, known %v", name, c, c.Minor(), c.Known())
		}
	}
}
