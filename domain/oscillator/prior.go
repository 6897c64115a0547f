package oscillator

import "math"

// What is taken of a watch before its readings are looked at, as standard deviations about zero. They are judgements
// from the figures that handbooks give of watches in and out of order (Kleinlein 1920, sections 28 to 72, for the
// differences of positions and for the spring's own 12 to 15 s/d), wide enough to give way to readings.
const (
	priorBase       = 1000 // s/d
	priorHorizontal = 15   // s/d
	priorSide       = 10   // s/d
	priorSlope      = 25   // s/d for 100°
	priorSlopeBlind = 10   // s/d for 100°, where no later state of wind was read
	priorPoise      = 200  // s/d: 86400·S, of a run whose poise is not advised on
	priorSpring     = 2.5  // s/d: each part of the spring's own error, likewise
	priorAmplitude  = 1.5  // °: what an amplitude is read to, where the reading states nothing
)

// weighted is a value a quantity may have, with its weight before the readings are looked at.
type weighted struct{ value, weight float64 }

// The scales that the readings are left to choose among: of the repeatability of a rate (standard deviation, s/d;
// common practice: laid again, a sound watch comes back within about ±2 s/d), of the poise and of the spring's own
// error (standard deviation of each component, ppm and s/d). Scales without steps would say the same: the answer is an
// average over them.
var (
	repeatScales = logNormal(1.2, 0.7, 0.3, 0.5, 0.8, 1.2, 1.8, 2.7, 4, 7, 12)
	poiseScales  = []weighted{{100, 0.3}, {400, 0.25}, {1200, 0.25}, {4000, 0.2}}
	springScales = []weighted{{0.4, 0.3}, {1.5, 0.35}, {4, 0.35}}
)

// liftScales are the steps of the lift angle's error in its standard uncertainties.
var liftScales = normalSteps(-2, -1, 0, 1, 2)

func logNormal(median, sigma float64, at ...float64) []weighted {
	out := make([]weighted, len(at))
	for i, x := range at {
		z := math.Log(x/median) / sigma
		out[i] = weighted{x, math.Exp(-z * z / 2)}
	}
	return normalised(out)
}

func normalSteps(at ...float64) []weighted {
	out := make([]weighted, len(at))
	for i, z := range at {
		out[i] = weighted{z, math.Exp(-z * z / 2)}
	}
	return normalised(out)
}

func normalised(list []weighted) []weighted {
	sum := 0.0
	for _, x := range list {
		sum += x.weight
	}
	for i := range list {
		list[i].weight /= sum
	}
	return list
}

// springShape is how the second kind of spring error goes with the amplitude: that of a spring whose point of
// attachment turns with the collet, J0(A) to first order, 1 at the neutral amplitude, nothing at 138°. The first kind,
// that of a spring out of centre or out of flat, is the same at every amplitude. Integration of elastic spirals leaves up
// to 0.55 of the error at 145° and 0.7 at 160° (held in madeup), so that the fit always takes both kinds together.
func springShape(amplitudeDeg float64) float64 {
	return math.J0(radians(amplitudeDeg)) / springShapeAtNeutral
}

// springShapeAtNeutral is J0 at the first zero of J1 (Abramowitz and Stegun, table 9.5: its least value).
const springShapeAtNeutral = -0.402759395702553
