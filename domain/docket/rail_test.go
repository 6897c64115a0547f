package docket_test

import (
	"slices"
	"testing"

	"ledgerwheel/domain/docket"
)

func TestAlong(t *testing.T) {
	const done, now, next, not = docket.StageDone, docket.StageNow, docket.StageToCome, docket.StageNotTaken
	all := docket.Rail()[1:]
	for name, c := range map[string]struct {
		at      docket.Stage
		entered []docket.Stage
		want    []docket.Progress
	}{
		"taken in": {docket.StageIntake, nil, []docket.Progress{now, next, next, next, next, next, next, next, next}},
		"parts passed by": {docket.StageService, []docket.Stage{"diagnosis", "estimate", "service"},
			[]docket.Progress{done, done, done, not, now, next, next, next, next}},
		"sent back": {docket.StageDiagnosis, []docket.Stage{"diagnosis", "estimate", "service", "diagnosis"},
			[]docket.Progress{done, now, next, next, next, next, next, next, next}},
		"handed over": {docket.StageHandedOver, all, []docket.Progress{done, done, done, done, done, done, done, done, now}},
		"declined": {docket.StageDeclined, []docket.Stage{"diagnosis", "estimate", "declined"},
			[]docket.Progress{done, done, done, not, not, not, not, not, not}},
		"declined after work": {docket.StageDeclined,
			[]docket.Stage{"diagnosis", "estimate", "service", "estimate", "declined"},
			[]docket.Progress{done, done, done, not, done, not, not, not, not}},
		"withdrawn at the counter": {docket.StageWithdrawn, []docket.Stage{"withdrawn"},
			[]docket.Progress{done, not, not, not, not, not, not, not, not}},
	} {
		var got []docket.Progress
		for i, step := range docket.Along(c.at, c.entered) {
			if step.Stage != docket.Rail()[i] {
				t.Errorf("%s: step %d is %s", name, i, step.Stage)
			}
			got = append(got, step.Progress)
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, want %v", name, got, c.want)
		}
	}
}
