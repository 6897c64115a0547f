package docket

import "slices"

// Progress is where a docket stands with one stage of the rail.
type Progress string

// The kinds of progress.
const (
	StageDone     Progress = "done"
	StageNow      Progress = "now"
	StageToCome   Progress = "to come"
	StageNotTaken Progress = "not taken" // passed without stopping, or never to be reached
)

// RailStep is one stage of the rail and how the docket stands with it.
type RailStep struct {
	Stage    Stage
	Progress Progress
}

// Along returns the rail of a docket that stands at now, in order. entered are the stages that its moves led to, as the
// journal has them; intake counts without. A stage after now is to come even where work sent back had reached it once;
// of a watch that leaves the rail, what was entered stays done.
func Along(now Stage, entered []Stage) []RailStep {
	at := now.Order()
	var steps []RailStep
	for i, s := range Rail() {
		p := StageNotTaken
		switch {
		case i == at:
			p = StageNow
		case at >= 0 && i > at:
			p = StageToCome
		case i == 0 || slices.Contains(entered, s):
			p = StageDone
		}
		steps = append(steps, RailStep{s, p})
	}
	return steps
}
