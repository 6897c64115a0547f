package acoustic

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Escape wheels of lever watches have 12 to 21 teeth; 15 is by far the commonest (common practice).
const leastTeeth, greatestTeeth = 12, 21

const (
	// wheelChance is the probability below which a pattern is not taken for chance.
	wheelChance = 1e-4
	// wheelTurns is how many turns have to be heard.
	wheelTurns = 2.5
	// wheelBeats bounds the beats looked at.
	wheelBeats = 2400
)

// wheelPattern looks for what repeats with the turns of the escape wheel: the number of teeth at which the means of
// the residuals by beat of a turn differ most beyond chance, by the F-test of the analysis of variance (Scheffé, The
// Analysis of Variance, 1959, 3.1).
func wheelPattern(beats []Beat) *WheelPattern {
	if len(beats) > wheelBeats {
		beats = beats[:wheelBeats]
	}
	var best *WheelPattern
	least := wheelChance / (greatestTeeth - leastTeeth + 1)
	for teeth := leastTeeth; teeth <= greatestTeeth; teeth++ {
		if p, chance := turnMeans(beats, teeth); p != nil && chance < least {
			best, least = p, chance
		}
	}
	return best
}

// turnMeans returns the means by beat of a turn of a wheel with teeth teeth and the probability that scatter alone
// makes them differ so much.
func turnMeans(beats []Beat, teeth int) (*WheelPattern, float64) {
	turn := 2 * teeth
	sums, squares, counts := make([]float64, turn), 0.0, make([]float64, turn)
	var swing, swingCount [2]float64
	n := 0.0
	for _, b := range beats {
		if !b.Used {
			continue
		}
		k := int(b.Number % int64(turn))
		sums[k] += b.ResidualMs
		counts[k]++
		squares += b.ResidualMs * b.ResidualMs
		swing[b.Swing()] += b.ResidualMs
		swingCount[b.Swing()]++
		n++
	}
	if n < wheelTurns*float64(turn) {
		return nil, 1
	}
	within, between := squares, 0.0
	p := &WheelPattern{Teeth: teeth, Ms: make([]float64, turn)}
	smallest := math.Inf(1)
	for k, c := range counts {
		if c == 0 {
			return nil, 1
		}
		smallest = math.Min(smallest, c)
		p.Ms[k] = sums[k]/c - swing[k&1]/swingCount[k&1]
		within -= sums[k] * sums[k] / c
		between += c * p.Ms[k] * p.Ms[k]
	}
	free, freeWithin := float64(turn-2), n-float64(turn)
	if within <= 0 || freeWithin < 8 {
		return nil, 1
	}
	variance := within / freeWithin
	p.StdMs = math.Sqrt(variance / smallest)
	return p, distuv.F{D1: free, D2: freeWithin}.Survival(between / free / variance)
}
