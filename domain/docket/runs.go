package docket

import (
	"fmt"
	"slices"
	"strings"

	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/timing"
)

// runStages says in which stages a run of each kind is taken, and may still be corrected. A run taken earlier is
// evidence of what the watch did then and stays as it is.
var runStages = map[timing.Kind][]Stage{
	timing.AsReceived:   {StageIntake, StageDiagnosis, StageEstimate, StageParts},
	timing.AfterService: {StageService, StageRegulation},
	timing.Adjustment:   {StageService, StageRegulation},
	timing.Final:        {StageRegulation, StageFinalTest},
}

// RunProblem says, as a sentence, why no run of kind k may be taken or changed on the docket as it stands; "" when
// one may. A watch that was worked on is no longer as received, wherever the docket has gone back to.
func (d Docket) RunProblem(k timing.Kind) string {
	allowed, known := runStages[k]
	if k == timing.RunDown { // heard wherever a run may be taken
		allowed, known = []Stage{StageIntake, StageDiagnosis, StageEstimate, StageParts, StageService, StageRegulation, StageFinalTest}, true
	}
	switch {
	case !known:
		return "Choose as received, after service, adjustment or final."
	case d.Closed():
		return "The watch has left the shop, so its runs stay as they are."
	case k == timing.AsReceived && !d.WorkSince.IsZero():
		return "Work has begun, so the watch is no longer as received. What was measured then stays as it is."
	case !slices.Contains(allowed, d.Stage):
		return fmt.Sprintf("A run of this kind (%s) is taken and corrected in the stages %s; the docket stands in %s.",
			k, stageList(allowed), d.Stage.Label())
	}
	return ""
}

// RunKinds returns the kinds of run that may be taken on the docket as it stands, in the order they are taken in.
func (d Docket) RunKinds() []timing.Kind {
	var kinds []timing.Kind
	for _, k := range timing.Kinds() {
		if d.RunProblem(k) == "" {
			kinds = append(kinds, k)
		}
	}
	return kinds
}

// UsualRun is the kind of run that the stage calls for, of those that may be taken: after the service until one was taken,
// then after an adjustment until a run passes, then the final one. Taken are the kinds of the docket's runs since the work
// began, newest their last verdict. It is "" where no run may be taken.
func (d Docket) UsualRun(taken []timing.Kind, newest Outcome) timing.Kind {
	kinds := d.RunKinds()
	if len(kinds) == 0 {
		return ""
	}
	usual := kinds[len(kinds)-1]
	switch {
	case d.Stage == StageService && !slices.Contains(taken, timing.AfterService):
		usual = timing.AfterService
	case d.Stage != StageRegulation:
	case len(taken) == 0:
		usual = timing.AfterService
	case newest != Passed:
		usual = timing.Adjustment
	}
	if !slices.Contains(kinds, usual) {
		return kinds[0]
	}
	return usual
}

// JudgeProblem says, as a sentence, why the docket's runs may not be judged anew; "" when they may. Once the watch is
// ready the verdict is what it goes out on.
func (d Docket) JudgeProblem() string {
	switch {
	case d.Closed():
		return "The watch has left the shop, so its runs stay judged as they are."
	case d.Stage == StageReady:
		return "The watch is ready to go out on these verdicts. Send it back to the final test to judge it again."
	}
	return ""
}

// RunPermission is what taking or changing a run of kind k asks for.
func RunPermission(k timing.Kind) staff.Permission {
	if k == timing.AsReceived {
		return staff.Diagnose
	}
	return staff.TakeReadings
}

func stageList(stages []Stage) string {
	labels := make([]string, len(stages))
	for i, s := range stages {
		labels[i] = s.Label()
	}
	last := len(labels) - 1
	return strings.Join(labels[:last], ", ") + " and " + labels[last]
}
