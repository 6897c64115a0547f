package docket_test

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/staff"
)

// The table as the shop's rules state it, written out a second time: from, to, who may, the keys of the needs
// with ? where a reason may stand in and ! where only the owner's may, then "reason" where one is always wanted.
const wantMoves = `
intake > diagnosis: pass-to-bench: condition
diagnosis > estimate: diagnose: findings hazards as-received-run?
estimate > parts: pass-to-bench: agreed
estimate > service: pass-to-bench: agreed hazards parts?
estimate > regulation: pass-to-bench: agreed hazards parts?
estimate > diagnosis: price-estimate: reason
estimate > declined: record-approval: estimate-declined
parts > service: pass-to-bench: agreed hazards parts?
parts > regulation: pass-to-bench: agreed hazards parts?
parts > estimate: price-estimate: reason
service > regulation: do-service: agreed hazards service-steps parts?
service > parts: do-service: agreed
service > estimate: do-service: reason
service > diagnosis: do-service: reason
regulation > final-test: take-readings: agreed final-run final-run-passed?
regulation > service: take-readings: agreed reason
regulation > parts: take-readings: agreed reason
regulation > estimate: take-readings: reason
regulation > diagnosis: take-readings: reason
final-test > ready: do-final-test: final-run final-test-passed! cover?
final-test > diagnosis: do-final-test: final-test-failed?
final-test > parts: do-final-test: agreed final-test-failed?
final-test > service: do-final-test: agreed final-test-failed?
final-test > regulation: do-final-test: agreed final-test-failed?
ready > final-test: do-final-test: reason
ready > diagnosis: do-final-test: reason
ready > handed-over: hand-over: final-test-passed! in-shop collector old-parts paid! loan-back closes
declined > estimate: record-approval: reason
declined > declined: hand-over: in-shop collector old-parts paid! loan-back closes
withdrawn > diagnosis: withdraw: reason
withdrawn > withdrawn: hand-over: in-shop collector old-parts paid! loan-back closes
intake > withdrawn: withdraw: reason
diagnosis > withdrawn: withdraw: reason
estimate > withdrawn: withdraw: reason
parts > withdrawn: withdraw: reason
service > withdrawn: withdraw: reason
regulation > withdrawn: withdraw: reason
final-test > withdrawn: withdraw: reason
ready > withdrawn: withdraw: reason
`

func TestTableOfMoves(t *testing.T) {
	t.Parallel()
	var got []string
	for _, m := range docket.AllMoves() {
		words := []string{}
		for _, n := range m.Needs {
			words = append(words, n.Key+map[docket.Waiver]string{docket.ByReason: "?", docket.ByOwnerReason: "!"}[n.Waiver])
		}
		if m.Reason {
			words = append(words, "reason")
		}
		if m.Closes {
			words = append(words, "closes")
		}
		got = append(got, fmt.Sprintf("%s > %s: %s: %s", m.From, m.To, m.May, strings.Join(words, " ")))
	}
	want := strings.Split(strings.TrimSpace(wantMoves), "\n")
	if !slices.Equal(got, want) {
		for i := range max(len(got), len(want)) {
			switch {
			case i >= len(got):
				t.Errorf("missing: %s", want[i])
			case i >= len(want):
				t.Errorf("unexpected: %s", got[i])
			case got[i] != want[i]:
				t.Errorf("got  %s\nwant %s", got[i], want[i])
			}
		}
	}
}

func TestTableIsWhole(t *testing.T) {
	t.Parallel()
	type pair struct{ from, to docket.Stage }
	seen := map[pair]bool{}
	for _, m := range docket.AllMoves() {
		p := pair{m.From, m.To}
		if seen[p] {
			t.Errorf("two rows for %v", p)
		}
		seen[p] = true
		if !m.From.Known() || !m.To.Known() || m.Label == "" || len(m.Places) == 0 {
			t.Errorf("%v lacks a stage, label or place", p)
		}
		if len(m.May.Holders()) == 0 {
			t.Errorf("%v: nobody holds %s", p, m.May)
		}
		if m.From == m.To != (m.Closes && m.From.Exit()) {
			t.Errorf("%v: only handing back stays in its stage", p)
		}
		if m.Closes != (slices.Equal(m.Places, []docket.PlaceKind{docket.PlaceCustomer})) {
			t.Errorf("%v: the watch is with the customer exactly when the move closes the docket", p)
		}
		if !m.Closes && slices.Contains(m.Places, docket.PlaceCustomer) {
			t.Errorf("%v gives the watch away without closing", p)
		}
		for _, n := range m.Needs {
			if n.Key == "" || n.Met == nil || !strings.HasSuffix(n.Words, ".") {
				t.Errorf("%v: need %q lacks words or rule", p, n.Key)
			}
		}
		got, err := docket.FindMove(m.From, m.To)
		if err != nil || got.Label != m.Label {
			t.Errorf("FindMove%v = %v, %v", p, got.Label, err)
		}
	}
}

// Every stage can be reached from intake, and from every stage some way leads to the watch leaving the shop.
func TestNoDeadEnds(t *testing.T) {
	t.Parallel()
	reached := reach(docket.StageIntake)
	for _, s := range docket.Stages() {
		if !reached[s] {
			t.Errorf("%s can't be reached", s)
		}
		closes := false
		for from := range reach(s) {
			for _, m := range docket.Moves(from) {
				closes = closes || m.Closes
			}
		}
		if s.Terminal() != (len(docket.Moves(s)) == 0) || !s.Terminal() && !closes {
			t.Errorf("a watch in %s can never leave", s)
		}
	}
}

func reach(from docket.Stage) map[docket.Stage]bool {
	seen := map[docket.Stage]bool{from: true}
	for queue := []docket.Stage{from}; len(queue) > 0; queue = queue[1:] {
		for _, m := range docket.Moves(queue[0]) {
			if !seen[m.To] {
				seen[m.To] = true
				queue = append(queue, m.To)
			}
		}
	}
	return seen
}

// allMet are facts with which every need is met.
func allMet() docket.Facts {
	return docket.Facts{
		Place: docket.Place{Kind: docket.PlaceSafe}, Condition: true, Findings: 1, AsReceivedRun: true,
		Estimate: docket.EstimateApproved, TotalMinor: 25000, ServiceSteps: 1,
		RunAfterWork: true, RunOutcome: docket.Passed, FinalTest: docket.Passed,
		OldPartsSettled: true, CollectedBy: "Ines Marrow",
	}
}

func place(k docket.PlaceKind) docket.Place {
	if k.NeedsDetail() {
		return docket.Place{Kind: k, Detail: "2"}
	}
	return docket.Place{Kind: k}
}

func TestEveryMoveCanBeMade(t *testing.T) {
	t.Parallel()
	for _, m := range docket.AllMoves() {
		f := factsFor(m)
		for _, role := range staff.Roles() {
			for _, k := range m.Places {
				err := m.Check(f, docket.Act{Role: role, Reason: "because", Place: place(k)})
				if allowed := staff.Can(role, m.May); allowed != (err == nil) {
					t.Errorf("%s to %s by %s to %s: %v", m.From, m.To, role, k, err)
				}
			}
		}
	}
}

// factsFor are facts that meet every need of m.
func factsFor(m docket.Move) docket.Facts {
	f := allMet()
	for _, n := range m.Needs {
		switch n.Key {
		case "estimate-declined":
			f.Estimate = docket.EstimateDeclined
		case "final-test-failed":
			f.FinalTest = docket.Failed
		}
	}
	return f
}

// spoil makes exactly the need with the given key unmet.
var spoil = map[string]func(*docket.Facts){
	"condition":         func(f *docket.Facts) { f.Condition = false },
	"findings":          func(f *docket.Facts) { f.Findings = 0 },
	"hazards":           func(f *docket.Facts) { f.HazardsOpen = 1 },
	"as-received-run":   func(f *docket.Facts) { f.AsReceivedRun = false },
	"agreed":            func(f *docket.Facts) { f.Estimate = docket.EstimateSent },
	"estimate-declined": func(f *docket.Facts) { f.Estimate = docket.EstimateSent },
	"parts":             func(f *docket.Facts) { f.PartsOutstanding = 2 },
	"service-steps":     func(f *docket.Facts) { f.ServiceSteps = 0 },
	"final-run":         func(f *docket.Facts) { f.RunAfterWork = false },
	"final-run-passed":  func(f *docket.Facts) { f.RunOutcome = docket.Undecided },
	"final-test-passed": func(f *docket.Facts) { f.FinalTest = docket.Failed },
	"final-test-failed": func(f *docket.Facts) { f.FinalTest = docket.Passed },
	"collector":         func(f *docket.Facts) { f.CollectedBy = "" },
	"old-parts":         func(f *docket.Facts) { f.OldPartsSettled = false },
	"paid":              func(f *docket.Facts) { f.DueMinor = 1 },
	"cover":             func(f *docket.Facts) { f.Cover = docket.CoverOpen },
	"loan-back":         func(f *docket.Facts) { f.LoanOut = true },
	"in-shop": func(f *docket.Facts) {
		f.Place = docket.Place{Kind: docket.PlaceSentOut,
			Detail: "Gannet Dialworks"}
	},
}

// Every need of every move, spoilt alone, stops the move with a sentence of its own; a written reason stands
// in exactly where the table says so.
func TestEveryNeedStopsItsMove(t *testing.T) {
	t.Parallel()
	for _, m := range docket.AllMoves() {
		for _, n := range m.Needs {
			f := factsFor(m)
			spoil[n.Key](&f)
			for _, role := range m.May.Holders() {
				for _, reason := range []string{"", " \n", "the customer insists"} {
					err := m.Check(f, docket.Act{Role: role, Reason: reason, Place: place(m.Places[0])})
					written := strings.TrimSpace(reason) != ""
					waived := written && (n.Waiver == docket.ByReason || n.Waiver == docket.ByOwnerReason && role == staff.Owner)
					if (err == nil) != waived {
						t.Errorf("%s to %s without %s by %s with reason %q: %v", m.From, m.To, n.Key, role, reason, err)
					}
					if err != nil && !strings.Contains(err.Error(), n.Words) {
						t.Errorf("%s to %s without %s: says only %q", m.From, m.To, n.Key, err)
					}
				}
			}
			if want := m.Reason || n.Waiver != docket.NoWaiver; m.WantsReason(f) != want {
				t.Errorf("%s to %s without %s: wants reason %v", m.From, m.To, n.Key, !want)
			}
		}
	}
}

func TestRefusals(t *testing.T) {
	t.Parallel()
	back, err := docket.FindMove(docket.StageEstimate, docket.StageDiagnosis)
	if err != nil {
		t.Fatal(err)
	}
	bench := docket.Place{Kind: docket.PlaceBench, Detail: "2"}
	closed := allMet()
	closed.Closed = true
	for name, c := range map[string]struct {
		facts docket.Facts
		act   docket.Act
		field string // where the problem stands; empty for none of the fields
		says  string
	}{
		"no reason": {allMet(), docket.Act{Role: staff.Watchmaker, Place: bench}, "reason", "Write why"},
		"long reason": {allMet(), docket.Act{Role: staff.Owner, Place: bench, Reason: strings.Repeat("é", 2001)},
			"reason", "2000"},
		"no place": {allMet(), docket.Act{Role: staff.Owner, Reason: "x"}, "place", "Say where"},
		"unnamed bench": {allMet(), docket.Act{Role: staff.Owner, Reason: "x",
			Place: docket.Place{Kind: docket.PlaceBench}}, "place_detail", "which bench"},
		"impossible place": {allMet(), docket.Act{Role: staff.Owner, Reason: "x", Place: place(docket.PlaceCustomer)},
			"place", "choose bench, safe, sent out"},
		"wrong role": {allMet(), docket.Act{Role: staff.Clerk, Reason: "x", Place: bench}, "",
			"ask the owner or the watchmaker"},
		"no role": {allMet(), docket.Act{Reason: "x", Place: bench}, "", "ask the owner"},
		"closed":  {closed, docket.Act{Role: staff.Owner, Reason: "x", Place: bench}, "", "docket is closed"},
	} {
		err := back.Check(c.facts, c.act)
		var r *docket.Refusal
		if !errors.As(err, &r) {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if !strings.Contains(r.Error(), c.says) || c.field != "" && r.Problems[c.field] == "" || c.field == "" &&
			len(r.Problems) > 0 {
			t.Errorf("%s: %q, problems %v", name, r.Error(), r.Problems)
		}
		if errors.Is(err, domain.ErrClosed) != (name == "closed") {
			t.Errorf("%s: closed %v", name, errors.Is(err, domain.ErrClosed))
		}
	}
	var none *docket.NoMoveError
	if _, err := docket.FindMove(docket.StageIntake, docket.StageReady); !errors.As(err, &none) ||
		!strings.Contains(err.Error(), "from intake to ready") {
		t.Errorf("FindMove = %v", err)
	}
}

func TestAgreed(t *testing.T) {
	t.Parallel()
	limit := func(n int64) *int64 { return &n }
	for _, c := range []struct {
		state docket.EstimateState
		total int64
		limit *int64
		want  bool
	}{
		{docket.EstimateNone, 0, limit(10000), false}, // nothing priced yet
		{docket.EstimateDraft, 10000, nil, false},
		{docket.EstimateDraft, 10000, limit(10000), true}, // equal counts as within
		{docket.EstimateDraft, 10001, limit(10000), false},
		{docket.EstimateDraft, 0, nil, false}, // no limit: always ask
		{docket.EstimateDraft, 0, limit(0), true},
		{docket.EstimateSent, 9999, limit(10000), true},
		{docket.EstimateSent, 99999, limit(10000), false},
		{docket.EstimateApproved, 99999, limit(10000), true},
		{docket.EstimateApproved, 99999, nil, true},
		{docket.EstimateDeclined, 1, limit(10000), false}, // a spoken no outweighs the limit
		{docket.EstimateState("other"), 1, limit(10000), false},
	} {
		f := docket.Facts{Estimate: c.state, TotalMinor: c.total, ApprovalLimitMinor: c.limit}
		if got := f.Agreed(); got != c.want {
			t.Errorf("%+v: agreed %v", c, got)
		}
	}
}
