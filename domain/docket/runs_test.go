package docket

import (
	"slices"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/timing"
)

// The table of which run is taken when, written out again.
func TestRunKinds(t *testing.T) {
	t.Parallel()
	worked := time.Date(2026, 11, 24, 9, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		stage     Stage
		workSince time.Time
		want      string
	}{
		{StageIntake, time.Time{}, "as received"},
		{StageDiagnosis, time.Time{}, "as received"},
		{StageEstimate, time.Time{}, "as received"},
		{StageParts, time.Time{}, "as received"},
		{StageService, worked, "after service, adjustment"},
		{StageRegulation, worked, "after service, adjustment, final"},
		{StageFinalTest, worked, "final"},
		{StageReady, worked, ""},
		{StageHandedOver, worked, ""},
		{StageDeclined, time.Time{}, ""},
		{StageWithdrawn, worked, ""},
		{StageDiagnosis, worked, ""}, // sent back after work: no longer as received
	} {
		d := Docket{Stage: c.stage, WorkSince: c.workSince}
		var got []string
		for _, k := range d.RunKinds() {
			got = append(got, string(k))
		}
		if strings.Join(got, ", ") != c.want {
			t.Errorf("%s: %q, want %q", c.stage, got, c.want)
		}
		for _, k := range timing.Kinds() {
			if allowed := slices.Contains(d.RunKinds(), k); allowed != (d.RunProblem(k) == "") {
				t.Errorf("%s: %s offered %v, but the reason is %q", c.stage, k, allowed, d.RunProblem(k))
			}
		}
	}
	gone := Docket{Stage: StageWithdrawn, HandedBackAt: worked}
	if why := gone.RunProblem(timing.AsReceived); !strings.Contains(why, "left the shop") {
		t.Errorf("a closed docket: %q", why)
	}
	if why := (Docket{Stage: StageRegulation}).RunProblem("often"); why == "" {
		t.Error("an unknown kind is allowed")
	}
}

func TestJudgeProblem(t *testing.T) {
	t.Parallel()
	for _, st := range Stages() {
		refused := (Docket{Stage: st}).JudgeProblem() != ""
		if want := st == StageReady || st == StageHandedOver; refused != want {
			t.Errorf("%s: refused %v, want %v", st, refused, want)
		}
	}
}

func TestRunPermission(t *testing.T) {
	t.Parallel()
	for _, k := range timing.Kinds() {
		want := staff.TakeReadings
		if k == timing.AsReceived {
			want = staff.Diagnose
		}
		if got := RunPermission(k); got != want {
			t.Errorf("%s: %s, want %s", k, got, want)
		}
	}
}

// TestUsualRun: the kind that is offered first, stage by stage.
func TestUsualRun(t *testing.T) {
	t.Parallel()
	worked := time.Date(2026, 11, 24, 9, 0, 0, 0, time.UTC)
	after, adjusted := []timing.Kind{timing.AfterService}, []timing.Kind{timing.AfterService, timing.Adjustment}
	for _, c := range []struct {
		stage  Stage
		taken  []timing.Kind
		newest Outcome
		want   timing.Kind
	}{
		{StageDiagnosis, nil, NotYet, timing.AsReceived},
		{StageService, nil, NotYet, timing.AfterService},
		{StageService, after, Failed, timing.Adjustment},
		{StageRegulation, nil, NotYet, timing.AfterService},
		{StageRegulation, after, Failed, timing.Adjustment},
		{StageRegulation, adjusted, Undecided, timing.Adjustment},
		{StageRegulation, adjusted, Passed, timing.Final},
		{StageFinalTest, adjusted, Failed, timing.Final},
		{StageHandedOver, adjusted, Passed, ""},
	} {
		d := Docket{Stage: c.stage}
		if c.stage != StageDiagnosis {
			d.WorkSince = worked
		}
		if got := d.UsualRun(c.taken, c.newest); got != c.want {
			t.Errorf("%s after %v, %q: %q, want %q", c.stage, c.taken, c.newest, got, c.want)
		}
	}
}
