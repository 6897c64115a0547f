package store_test

import (
	"strings"
	"testing"

	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
	"ledgerwheel/store"
)

// TestRunsKeepTheLiftAngle: a run is judged by its calibre's lift angle, keeps it, and is judged by a better known one
// only when somebody judges again; another angle says nothing of amplitudes that are on record.
func TestRunsKeepTheLiftAngle(t *testing.T) {
	t.Parallel()
	b := regulating(t)
	var id int64
	if err := b.Pool().QueryRow(t.Context(), `SELECT calibre_id FROM watch WHERE calibre_id IS NOT NULL`).Scan(&id); err != nil {
		t.Fatal(err)
	}
	correct := func(fields map[string]string) {
		t.Helper()
		_, err := b.CorrectCalibre(t.Context(), store.CalibreChange{By: b.owner, At: b.at, Why: "measured"}, id, fields)
		if err != nil {
			t.Fatal(err)
		}
	}
	judge := func() {
		t.Helper()
		if err := b.JudgeRuns(t.Context(), b.next(), timing.GradeModern); err != nil {
			t.Fatal(err)
		}
	}
	least := 274.0 // 6° below the least of the two, which a degree of the lift angle leaves open
	limits := timing.RateLimits{Limits: []timing.Limit{{Key: timing.LeastHorizontalAmplitude,
		Limits: metrology.Limits{Lower: &least}}}}
	var run int64
	want := func(when string, lift timing.LiftAngle, verdict metrology.Verdict) {
		t.Helper()
		r, _ := b.regulation(t).Run(run)
		if got := r.Judge(limits, metrology.Guarded).Verdict; r.Sheet.LiftAngle != lift || got != verdict {
			t.Errorf("%s: %+v, %s; want %+v, %s", when, r.Sheet.LiftAngle, got, lift, verdict)
		}
	}
	correct(map[string]string{"lift_angle_deg": "52"})
	run = b.mustRecord(t, store.RunEntry{Sheet: runSheet(timing.Final, 3)})
	want("recorded", timing.LiftAngle{Deg: 52}, metrology.Undecided)
	correct(map[string]string{"lift_angle_u95_deg": "0.6", "lift_angle_how": "Amplitude seen"})
	want("determined since", timing.LiftAngle{Deg: 52}, metrology.Undecided)
	judge()
	want("judged again", timing.LiftAngle{Deg: 52, StdDeg: 0.3}, metrology.Pass)
	correct(map[string]string{"lift_angle_deg": "50"})
	if k, _, err := b.Calibre(t.Context(), id); err != nil || k.LiftAngleU95Deg != 0 || k.LiftAngleHow != "" {
		t.Errorf("another angle keeps what was determined of the last: %+v, %v", k, err)
	}
	judge()
	want("another angle", timing.LiftAngle{Deg: 52, StdDeg: 0.3}, metrology.Pass)
	correct(map[string]string{"lift_angle_u95_deg": "0.5"})
	run = b.mustRecord(t, store.RunEntry{Sheet: runSheet(timing.Final, 3)})
	want("a new run", timing.LiftAngle{Deg: 50, StdDeg: 0.25}, metrology.Pass)
	if facts := string(b.newestEntry(t).Facts); !strings.Contains(facts, `"lift_angle_u95_deg":0.5`) {
		t.Errorf("the journal says %s", facts)
	}
}
