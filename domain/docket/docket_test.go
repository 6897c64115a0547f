package docket_test

import (
	"maps"
	"slices"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/docket"
)

func day(y int, m time.Month, d int) time.Time { return time.Date(y, m, d, 0, 0, 0, 0, time.UTC) }

func amount(n int64) *int64 { return &n }

func goodIntake() docket.Intake {
	return docket.Intake{CustomerID: 1, WatchID: 2, Complaint: "stops at night", Wanted: docket.WantedService,
		Currency: "EUR", DeclaredValueMinor: amount(450000), ApprovalLimitMinor: amount(20000),
		ReceivedOn: day(2026, 3, 2), PromisedOn: day(2026, 4, 1)}
}

func TestIntakeProblems(t *testing.T) {
	t.Parallel()
	if bad := goodIntake().Problems(); len(bad) > 0 {
		t.Errorf("a good intake: %v", bad)
	}
	least := goodIntake()
	least.DeclaredValueMinor, least.ApprovalLimitMinor, least.PromisedOn = nil, amount(0), time.Time{}
	if bad := least.Problems(); len(bad) > 0 {
		t.Errorf("an intake with the least: %v", bad)
	}
	for name, c := range map[string]struct {
		spoil func(*docket.Intake)
		field string
	}{
		"no customer":      {func(in *docket.Intake) { in.CustomerID = 0 }, "customer"},
		"no watch":         {func(in *docket.Intake) { in.WatchID = 0 }, "watch"},
		"blank complaint":  {func(in *docket.Intake) { in.Complaint = " \n" }, "complaint"},
		"long complaint":   {func(in *docket.Intake) { in.Complaint = strings.Repeat("ж", 4001) }, "complaint"},
		"no service":       {func(in *docket.Intake) { in.Wanted = "" }, "service_wanted"},
		"odd service":      {func(in *docket.Intake) { in.Wanted = "polish" }, "service_wanted"},
		"currency":         {func(in *docket.Intake) { in.Currency = "eur" }, "currency"},
		"currency symbol":  {func(in *docket.Intake) { in.Currency = "€" }, "currency"},
		"negative value":   {func(in *docket.Intake) { in.DeclaredValueMinor = amount(-1) }, "declared_value"},
		"huge limit":       {func(in *docket.Intake) { in.ApprovalLimitMinor = amount(1e12) }, "approval_limit"},
		"no day":           {func(in *docket.Intake) { in.ReceivedOn = time.Time{} }, "received_on"},
		"promised before":  {func(in *docket.Intake) { in.PromisedOn = day(2026, 3, 1) }, "promised_on"},
		"promised far off": {func(in *docket.Intake) { in.PromisedOn = day(2062, 4, 1) }, "promised_on"},
		"comeback":         {func(in *docket.Intake) { in.WarrantyOf = -1 }, "warranty_of"},
	} {
		in := goodIntake()
		c.spoil(&in)
		fields := slices.Collect(maps.Keys(in.Problems()))
		if !slices.Equal(fields, []string{c.field}) {
			t.Errorf("%s: problems with %v, want %s", name, fields, c.field)
		}
	}
	long := goodIntake()
	long.Complaint = strings.Repeat("ж", 4000) // counted in characters, not bytes
	if bad := long.Problems(); len(bad) > 0 {
		t.Errorf("4000 characters: %v", bad)
	}
}

func TestClosedAndOverdue(t *testing.T) {
	t.Parallel()
	d := docket.Docket{Stage: docket.StageService, Intake: goodIntake()}
	on, late := day(2026, 4, 1), day(2026, 4, 2)
	if d.Overdue(on) || !d.Overdue(late) || d.Closed() {
		t.Errorf("on the day %v, the day after %v, closed %v", d.Overdue(on), d.Overdue(late), d.Closed())
	}
	d.Stage = docket.StageReady
	if d.Overdue(late) {
		t.Error("a ready watch waits for its customer, not for the shop")
	}
	d.Stage, d.HandedBackAt = docket.StageWithdrawn, late
	if !d.Closed() {
		t.Error("handed back, but open")
	}
	if bad := d.RelocateProblems(docket.Place{Kind: docket.PlaceSafe}); bad["place"] == "" {
		t.Error("a watch that left was put in the safe")
	}
}

func TestPlaces(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		p      docket.Place
		words  string
		field  string // of the problem; empty for none
		inShop bool
	}{
		{docket.PlaceAt(docket.PlaceSafe, "2"), "safe", "", true}, // a leftover bench number does no harm
		{docket.PlaceAt(docket.PlaceBench, " 2 "), "bench 2", "", true},
		{docket.PlaceAt(docket.PlaceCounter, ""), "counter", "", true},
		{docket.PlaceAt(docket.PlaceSentOut, "Gannet Dialworks"), "sent out to Gannet Dialworks", "", false},
		{docket.PlaceAt(docket.PlaceCustomer, ""), "with the customer", "", false},
		{docket.PlaceAt(docket.PlaceBench, " "), "bench", "place_detail", true},
		{docket.PlaceAt(docket.PlaceSentOut, ""), "sent out", "place_detail", false},
		{docket.Place{Kind: docket.PlaceSafe, Detail: "2"}, "safe", "place_detail", true},
		{docket.PlaceAt(docket.PlaceBench, strings.Repeat("a", 81)), "bench " + strings.Repeat("a", 81), "place_detail",
			true},
		{docket.Place{}, "unknown place", "place", false},
		{docket.Place{Kind: "moon"}, "unknown place", "place", false},
	} {
		if c.p.String() != c.words || c.p.InShop() != c.inShop {
			t.Errorf("%+v reads %q, in shop %v", c.p, c.p.String(), c.p.InShop())
		}
		bad := c.p.Problems()
		if c.field == "" && len(bad) > 0 || c.field != "" && (len(bad) != 1 || bad[c.field] == "") {
			t.Errorf("%+v: problems %v, want %q", c.p, bad, c.field)
		}
	}
	open := docket.Docket{Stage: docket.StageService}
	if bad := open.RelocateProblems(docket.Place{Kind: docket.PlaceCustomer}); bad["place"] == "" {
		t.Error("a watch left by being put somewhere")
	}
	if bad := open.RelocateProblems(docket.Place{Kind: docket.PlaceSafe}); len(bad) > 0 {
		t.Errorf("into the safe: %v", bad)
	}
}

func TestStages(t *testing.T) {
	t.Parallel()
	labels := map[string]bool{}
	for i, s := range docket.Stages() {
		if !s.Known() || labels[s.Label()] || strings.Contains(s.Label(), "-") || strings.Contains(string(s), " ") {
			t.Errorf("%q has the label %q", s, s.Label())
		}
		labels[s.Label()] = true
		if s.Exit() != (s.Order() < 0) || !s.Exit() && s.Order() != i {
			t.Errorf("%s: exit %v, order %d", s, s.Exit(), s.Order())
		}
	}
	if len(labels) != 11 || docket.Stage("polishing").Known() || docket.Stage("").Label() != "unknown stage" {
		t.Errorf("stages: %v", labels)
	}
}

func TestLists(t *testing.T) {
	t.Parallel()
	for _, w := range docket.WantedServices() {
		if w.Label() == "not stated" || !w.Known() {
			t.Errorf("%s has no label", w)
		}
	}
	for _, k := range docket.PlaceKinds() {
		if k.Label() == "unknown place" {
			t.Errorf("%s has no label", k)
		}
	}
	seen := map[docket.Kind]bool{}
	for _, k := range docket.Kinds() {
		if seen[k] || !k.Known() || k == "" {
			t.Errorf("kind %q twice or blank", k)
		}
		seen[k] = true
	}
	if docket.Kind("gossip").Known() {
		t.Error("gossip is no event")
	}
}

func TestWaitsFor(t *testing.T) {
	t.Parallel()
	safe := docket.Place{Kind: docket.PlaceSafe}
	for _, c := range []struct {
		s    docket.Stage
		f    docket.Facts
		want string
	}{
		{docket.StageIntake, docket.Facts{Place: safe}, "the bench, to diagnose"},
		{docket.StageDiagnosis, docket.Facts{Place: safe}, "diagnosis"},
		{docket.StageEstimate, docket.Facts{Place: safe}, "an estimate"},
		{docket.StageEstimate, docket.Facts{Place: safe, Estimate: docket.EstimateDraft}, "the estimate to be sent"},
		{docket.StageEstimate, docket.Facts{Place: safe, Estimate: docket.EstimateSent}, "the customer's approval"},
		{docket.StageEstimate, docket.Facts{Place: safe, Estimate: docket.EstimateSent, ApprovalLimitMinor: amount(5)},
			"parts or the bench: within the limit"},
		{docket.StageEstimate, docket.Facts{Place: safe, Estimate: docket.EstimateApproved}, "parts or the bench: approved"},
		{docket.StageEstimate, docket.Facts{Place: safe, Estimate: docket.EstimateDeclined},
			"a new estimate or return: declined"},
		{docket.StageParts, docket.Facts{Place: safe, PartsOutstanding: 2}, "parts: 2 outstanding"},
		{docket.StageParts, docket.Facts{Place: safe}, "the bench: parts are in"},
		{docket.StageService, docket.Facts{Place: safe}, "service"},
		{docket.StageService, docket.Facts{Place: safe, PartsOutstanding: 1}, "parts: 1 outstanding"},
		{docket.StageService, docket.Facts{Place: docket.Place{Kind: docket.PlaceSentOut, Detail: "Gannet Dialworks"}},
			"return from Gannet Dialworks"},
		{docket.StageService, docket.Facts{Place: docket.Place{Kind: docket.PlaceSentOut}}, "return from outside"},
		{docket.StageRegulation, docket.Facts{Place: safe}, "regulation"},
		{docket.StageRegulation, docket.Facts{Place: safe, RunAfterWork: true}, "final test"},
		{docket.StageFinalTest, docket.Facts{Place: safe}, "final test"},
		{docket.StageFinalTest, docket.Facts{Place: safe, FinalTest: docket.Failed}, "being put right: final test failed"},
		{docket.StageFinalTest, docket.Facts{Place: safe, FinalTest: docket.Passed}, "the counter: final test done"},
		{docket.StageFinalTest, docket.Facts{Place: safe, FinalTest: docket.Failed, OwnerReason: "x"},
			"the counter: final test done"},
		{docket.StageReady, docket.Facts{Place: safe, FinalTest: docket.Passed}, "collection"},
		{docket.StageReady, docket.Facts{Place: safe, OwnerReason: "sails tonight"}, "collection"},
		{docket.StageReady, docket.Facts{Place: safe}, "the final test again"},
		{docket.StageDeclined, docket.Facts{Place: safe}, "collection, unrepaired"},
		{docket.StageWithdrawn, docket.Facts{Place: safe}, "collection, unrepaired"},
		{docket.StageWithdrawn, docket.Facts{Closed: true}, "nothing"},
		{docket.StageHandedOver, docket.Facts{}, "nothing"},
	} {
		if got := docket.WaitsFor(c.s, c.f); got != c.want {
			t.Errorf("%s %+v waits for %q, want %q", c.s, c.f, got, c.want)
		}
	}
}
