package promise

import (
	"math"
	"math/rand/v2"

	"ledgerwheel/domain/docket"
)

// Start is what is taken to be usual before the shop has a history of its own: how long a watch stands in each stage, and as
// how many watches of the shop's own it counts. A shop with as many finished watches is believed half.
type Start struct {
	Weight float64
	Stages []StartStage
}

// StartStage is the usual stay in one stage: median and spread of a lognormal, in open days where the shop works and in days
// of the calendar where it waits, and the share of watches that come to the stage at all.
type StartStage struct {
	Stage      docket.Stage
	MedianDays float64
	LogSD      float64
	Share      float64
}

// UsualStart is the start of every shop: a mechanical watch that is serviced in three to six weeks, as is common practice.
// The figures are from memory and stand for no shop in particular.
func UsualStart() Start {
	return Start{Weight: 5, Stages: []StartStage{
		{docket.StageIntake, 1, 0.9, 1},
		{docket.StageDiagnosis, 2, 0.9, 1},
		{docket.StageEstimate, 2.5, 1, 1},
		{docket.StageParts, 9, 0.7, 0.4},
		{docket.StageService, 3, 0.8, 0.95},
		{docket.StageRegulation, 2, 0.7, 1},
		{docket.StageFinalTest, 2, 0.6, 1},
	}}
}

// startPaths is how many watches are made up of a start.
const startPaths = 48

// paths makes up watches as s states them, always the same ones.
func (s Start) paths() []path {
	chance := rand.New(rand.NewPCG(startPaths, 8))
	list := make([]path, startPaths)
	for i := range list {
		for _, stage := range s.Stages {
			length := stage.MedianDays * math.Exp(stage.LogSD*chance.NormFloat64())
			if chance.Float64() < stage.Share {
				list[i] = append(list[i], piece{stage: stage.Stage.Order(), own: !waits(stage.Stage), length: length})
			}
		}
	}
	return list
}

// waits reports whether a watch in s waits for its customer or for a supplier, so that closed days count too.
func waits(s docket.Stage) bool { return s == docket.StageEstimate || s == docket.StageParts }
