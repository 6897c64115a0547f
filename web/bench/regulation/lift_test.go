package regulation_test

import (
	"testing"

	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
	"ledgerwheel/web/bench/regulation"
)

// TestAdviceAndVerdictShareTheLiftAngle: both take the run's own, a degree where nobody determined it; the verdict on an
// amplitude becomes narrower once somebody did.
func TestAdviceAndVerdictShareTheLiftAngle(t *testing.T) {
	t.Parallel()
	sheet := benchSheet(2)
	run := &sheet.Runs[1]
	var usual float64
	for _, c := range []struct {
		lift timing.LiftAngle
		rel  float64
	}{{timing.LiftAngle{}, 1.0 / 52}, {timing.LiftAngle{Deg: 50}, 1.0 / 50}, {timing.LiftAngle{Deg: 50, StdDeg: 0.25}, 0.005}} {
		run.Sheet.LiftAngle = c.lift
		advice := regulation.FitOptions(sheet, *run, regulation.JudgingOf(sheet, *run)).Instruments.LiftAngleRel
		if verdict := run.Sheet.Instruments().LiftAngleRel; advice != verdict || advice != c.rel {
			t.Errorf("%+v: advice %v, verdict %v, want %v", c.lift, advice, verdict, c.rel)
		}
		j := run.Judge(timing.ShippedGrades()[0], metrology.Guarded)
		state, _ := j.Statistics.At(0)
		u := state.HorizontalAmplitude.Value.StdUncertainty
		if usual = max(usual, u); c.lift.Determined() && !(u < usual/2) {
			t.Errorf("amplitude ± %v with a determined angle, ± %v without", u, usual)
		}
	}
}
