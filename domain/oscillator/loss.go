package oscillator

import "ledgerwheel/domain/timing"

// hangingLoss is the amplitude a sound watch loses from lying to hanging at full wind, degrees.
type hangingLoss struct {
	Of               string // the watches it is of, as a page says it
	Least, Most      int    // usual
	MiddleDeg        float64
	SuspicionFromDeg float64
}

// lossOf is the loss of a grade's watches. Wrist watches of today lose 20° to 40° and from 50° on are looked into
// (common practice; Horopedia, amplitude: about 30°). Old pocket watches lose more, an eighth of a turn, 45°, being
// normal (Kleinlein, Rules and Practice for Adjusting Watches, 1920, sections 51 and 55: one and a half turns lying,
// one and a quarter hanging); their upper ends, 50° and 60°, are common practice. The vintage grade holds pocket
// watches among others and is given the wider figures.
func lossOf(grade string) hangingLoss {
	if grade == timing.GradeVintage {
		return hangingLoss{Of: "old watches, pocket watches among them", Least: 20, Most: 50, MiddleDeg: 45, SuspicionFromDeg: 60}
	}
	return hangingLoss{Of: "wrist watches", Least: 20, Most: 40, MiddleDeg: 30, SuspicionFromDeg: 50}
}
