package docket_test

import (
	"math/rand/v2"
	"testing"
	"time"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/staff"
)

// shopFloor plays a docket at random: people record things, try moves with and without reasons, and only
// what Check allows happens. It remembers, apart from the program's own facts, what must have been true.
type shopFloor struct {
	rng   *rand.Rand
	d     docket.Docket
	f     docket.Facts
	now   time.Time
	runAt time.Time // newest final run
	test  docket.Outcome
	tstAt time.Time // newest final test

	workAt    time.Time // newest entry into service or regulation
	ownerAt   time.Time // newest reason with which the owner let it out
	agreedAny bool      // an estimate was agreed when work began
}

func newShopFloor(seed uint64) *shopFloor {
	s := &shopFloor{rng: rand.New(rand.NewPCG(seed, 3159)), now: time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)}
	s.d = docket.Docket{ID: 1, Stage: docket.StageIntake, Place: docket.Place{Kind: docket.PlaceCounter}}
	if s.rng.IntN(2) == 0 {
		limit := int64(s.rng.IntN(30000))
		s.d.ApprovalLimitMinor = &limit
	}
	return s
}

// facts are gathered as the store does it: what is older than the docket's clocks does not count.
func (s *shopFloor) facts() docket.Facts {
	f, own := s.f, s.d.Facts()
	f.Place, f.Closed, f.ApprovalLimitMinor, f.OwnerReason = own.Place, own.Closed, own.ApprovalLimitMinor, own.OwnerReason
	f.RunAfterWork = !s.runAt.IsZero() && s.runAt.After(s.d.WorkSince)
	if !f.RunAfterWork {
		f.RunOutcome = docket.NotYet
	}
	if s.tstAt.After(s.d.TestSince) {
		f.FinalTest = s.test
	}
	return f
}

// record lets one random thing happen on the floor.
func (s *shopFloor) record() {
	outcomes := []docket.Outcome{docket.Passed, docket.Failed, docket.Undecided}
	switch s.rng.IntN(12) {
	case 0:
		s.f.Condition = true
	case 1:
		s.f.Findings++
		s.f.HazardsOpen += s.rng.IntN(2)
	case 2:
		s.f.HazardsOpen = 0
	case 3:
		s.f.AsReceivedRun = true
	case 4:
		if s.f.Estimate == docket.EstimateNone || s.f.Estimate == docket.EstimateDeclined || s.rng.IntN(8) == 0 {
			s.f.Estimate, s.f.TotalMinor = docket.EstimateDraft, int64(s.rng.IntN(60000))
		}
	case 5:
		if s.f.Estimate == docket.EstimateDraft {
			s.f.Estimate = docket.EstimateSent
		}
	case 6:
		if s.f.Estimate == docket.EstimateSent {
			s.f.Estimate = docket.EstimateApproved
			if s.rng.IntN(5) == 0 {
				s.f.Estimate = docket.EstimateDeclined
			}
		}
	case 7:
		s.f.PartsOutstanding = s.rng.IntN(3)
	case 8:
		s.f.ServiceSteps++
	case 9:
		s.runAt, s.f.RunOutcome = s.now, outcomes[s.rng.IntN(3)]
	case 10:
		if s.d.Stage == docket.StageFinalTest {
			s.test, s.tstAt = outcomes[s.rng.IntN(2)], s.now
		}
	case 11:
		s.f.CollectedBy, s.f.OldPartsSettled = "Ines Marrow", true
		s.f.DueMinor = int64(s.rng.IntN(2))
	}
}

// try attempts one random move and checks what must hold if it is allowed.
func (s *shopFloor) try(t *testing.T) {
	choices := docket.Moves(s.d.Stage)
	if len(choices) == 0 {
		return
	}
	m := choices[s.rng.IntN(len(choices))]
	if m.To == docket.StageWithdrawn && m.From != m.To && s.rng.IntN(60) > 0 {
		return // few customers lose patience
	}
	a := docket.Act{Role: staff.Roles()[s.rng.IntN(3)], Place: place(m.Places[s.rng.IntN(len(m.Places))])}
	if s.rng.IntN(3) == 0 {
		a.Reason = "because"
	}
	f := s.facts()
	if m.Check(f, a) != nil {
		return
	}
	s.mustHold(t, m, f, a)
	s.d = s.d.Apply(m, f, a, s.now)
}

func (s *shopFloor) mustHold(t *testing.T, m docket.Move, f docket.Facts, a docket.Act) {
	switch m.To {
	case docket.StageService, docket.StageRegulation:
		limit := s.d.ApprovalLimitMinor
		within := limit != nil && f.TotalMinor <= *limit && f.Estimate != docket.EstimateNone &&
			f.Estimate != docket.EstimateDeclined
		if f.Estimate != docket.EstimateApproved && !within {
			t.Fatalf("%s began unagreed: %+v", m.To, f)
		}
		s.workAt, s.agreedAny = s.now, true
	case docket.StageReady:
		if !s.runAt.After(s.workAt) {
			t.Fatal("ready without a run after the work")
		}
		if f.FinalTest != docket.Passed && a.Role == staff.Owner && a.Reason != "" {
			s.ownerAt = s.now
		}
	case docket.StageHandedOver:
		if f.FinalTest != docket.Passed && a.Role == staff.Owner && a.Reason != "" {
			s.ownerAt = s.now
		}
		tested := s.test == docket.Passed && s.tstAt.After(s.workAt)
		if !tested && !s.ownerAt.After(s.workAt) {
			t.Fatalf("handed over neither tested nor allowed by the owner: %+v", f)
		}
		if !s.agreedAny {
			t.Fatal("handed over without agreed work")
		}
	}
	if m.Closes && (!f.Place.InShop() || f.CollectedBy == "") {
		t.Fatalf("given away from %s to %q", f.Place, f.CollectedBy)
	}
}

func TestRandomWalks(t *testing.T) {
	t.Parallel()
	const walks, steps = 1500, 600
	ends := map[docket.Stage]int{}
	visits := map[docket.Stage]int{}
	byOwner := 0
	for seed := range uint64(walks) {
		s := newShopFloor(seed)
		for range steps {
			s.now = s.now.Add(time.Minute)
			if s.rng.IntN(3) > 0 {
				s.record()
			} else {
				s.try(t)
			}
			visits[s.d.Stage]++
			if s.d.Closed() {
				break
			}
		}
		if s.d.Closed() {
			ends[s.d.Stage]++
			if s.d.HandedBackAt.IsZero() || s.d.Place.Kind != docket.PlaceCustomer {
				t.Fatalf("closed, but at %s since %s", s.d.Place, s.d.HandedBackAt)
			}
			if s.d.OwnerReason != "" {
				byOwner++
			}
		}
	}
	// The walks prove nothing unless they get about.
	for _, stage := range docket.Stages() {
		if visits[stage] == 0 {
			t.Errorf("no walk came to %s", stage)
		}
	}
	for _, stage := range []docket.Stage{docket.StageHandedOver, docket.StageDeclined, docket.StageWithdrawn} {
		if ends[stage] < 20 {
			t.Errorf("only %d walks end in %s", ends[stage], stage)
		}
	}
	if byOwner < 5 {
		t.Errorf("only %d watches left on the owner's reason", byOwner)
	}
	t.Logf("ends %v, on the owner's reason %d", ends, byOwner)
}

func TestApply(t *testing.T) {
	t.Parallel()
	now := time.Date(2026, 3, 2, 9, 0, 0, 123456789, time.FixedZone("x", 3600))
	cut := time.Date(2026, 3, 2, 8, 0, 0, 123456000, time.UTC)
	move := func(from, to docket.Stage) docket.Move {
		m, err := docket.FindMove(from, to)
		if err != nil {
			t.Fatal(err)
		}
		return m
	}
	d := docket.Docket{Stage: docket.StageFinalTest, Place: place(docket.PlaceBench)}
	failed := docket.Facts{FinalTest: docket.Failed}

	out := d.Apply(move(docket.StageFinalTest, docket.StageReady), failed,
		docket.Act{Role: staff.Owner, Reason: " sold as a display piece ", Place: place(docket.PlaceSafe)}, now)
	if out.OwnerReason != "sold as a display piece" || out.Stage != docket.StageReady ||
		out.Place.Kind != docket.PlaceSafe || out.Closed() {
		t.Errorf("ready on the owner's reason: %+v", out)
	}
	passed := d.Apply(move(docket.StageFinalTest, docket.StageReady), docket.Facts{FinalTest: docket.Passed},
		docket.Act{Reason: "a remark", Place: place(docket.PlaceSafe)}, now)
	if passed.OwnerReason != "" {
		t.Errorf("a remark became the owner's reason: %+v", passed)
	}
	again := out.Apply(move(docket.StageReady, docket.StageFinalTest), failed,
		docket.Act{Reason: "x", Place: place(docket.PlaceBench)}, now)
	if again.OwnerReason != "" || !again.TestSince.Equal(cut) || !again.WorkSince.IsZero() {
		t.Errorf("tested again: %+v", again)
	}
	work := d.Apply(move(docket.StageFinalTest, docket.StageRegulation), failed,
		docket.Act{Place: place(docket.PlaceBench)}, now)
	if !work.WorkSince.Equal(cut) || !work.TestSince.IsZero() {
		t.Errorf("back at work: %+v", work)
	}
	declined := docket.Docket{Stage: docket.StageDeclined}
	back := declined.Apply(move(docket.StageDeclined, docket.StageDeclined), docket.Facts{},
		docket.Act{Place: place(docket.PlaceCustomer)}, now)
	if !back.Closed() || back.Stage != docket.StageDeclined || !back.HandedBackAt.Equal(cut) || declined.Closed() {
		t.Errorf("handed back: %+v", back)
	}
}

// After bench work the final run and every line of the final test are open again, and no reason of the owner stands.
func TestWorked(t *testing.T) {
	t.Parallel()
	then := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	now := then.Add(time.Hour)
	d := docket.Docket{Stage: docket.StageReady, WorkSince: then, TestSince: then, OwnerReason: "sails tonight"}
	if out := d.Worked(now); !out.WorkSince.Equal(now) || !out.TestSince.Equal(now) || out.OwnerReason != "" ||
		out.Stage != docket.StageReady {
		t.Errorf("worked on when ready: %+v", out)
	}
	d.TestSince = time.Time{}
	if out := d.Worked(now); !out.WorkSince.Equal(now) || !out.TestSince.IsZero() {
		t.Errorf("worked on before any test: %+v", out)
	}
	if out := (docket.Docket{Stage: docket.StageDiagnosis}).Worked(now); !out.WorkSince.IsZero() {
		t.Errorf("a step at diagnosis began the work: %+v", out)
	}
}
