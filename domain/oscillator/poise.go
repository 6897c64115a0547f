package oscillator

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"ledgerwheel/domain/metrology"
)

// significanceLevel is the chance of calling a sound balance out of poise (common practice: 5 %).
const significanceLevel = 0.05

// HeavySpot is the poise of the balance as the rates tell it.
type HeavySpot struct {
	// X and Y are the components of S = m·g·r/k in ppm towards 12 and towards 3 of the dial, with their covariance.
	X, Y       metrology.Value
	Covariance float64 // ppm²

	Probability float64 // of so large a figure from a balance in poise
	Significant bool    // Probability below significanceLevel

	Size       metrology.Value // S in ppm
	UpperPPM   float64         // 95 % of the way: S is likely below this
	BearingDeg metrology.Value // clockwise from 12, seen from the dial side; without meaning unless Significant

	// FromJewelDeg is clockwise from the impulse jewel as seen from the balance side; nil when it is not known where
	// the jewel stands.
	FromJewelDeg *metrology.Value
	// Moment is m·r in µg·mm; nil unless the balance's inertia and beat are known.
	Moment  *metrology.Value
	Removal *Removal    // nil unless Moment and the rim's radius are known
	Turns   []ScrewTurn // nil unless Moment, the jewel and the screws are known
}

// ppm is the unit of S as shown: parts per million of the spring's torque at one radian.
const ppm = "ppm"

// newHeavySpot derives what is shown from the two components in ppm and their covariance matrix. dof is the degrees
// of freedom that the scale of the covariance was estimated from; 0 when the scale is known.
func newHeavySpot(x, y, vxx, vyy, vxy float64, dof int, b Balance) HeavySpot {
	h := HeavySpot{
		X:          metrology.Value{Value: x, StdUncertainty: math.Sqrt(vxx), Unit: ppm},
		Y:          metrology.Value{Value: y, StdUncertainty: math.Sqrt(vyy), Unit: ppm},
		Covariance: vxy,
	}
	h.Probability = nullProbability(x, y, vxx, vyy, vxy, dof)
	h.Significant = h.Probability < significanceLevel
	size := math.Hypot(x, y)
	if size == 0 {
		size = math.SmallestNonzeroFloat64
	}
	c, s := x/size, y/size
	along := math.Sqrt(math.Max(0, c*c*vxx+s*s*vyy+2*c*s*vxy))
	across := math.Sqrt(math.Max(0, s*s*vxx+c*c*vyy-2*c*s*vxy))
	h.Size = metrology.Value{Value: math.Hypot(x, y), StdUncertainty: along, Unit: ppm}
	h.UpperPPM = h.Size.Value + 1.645*math.Max(along, across)
	h.BearingDeg = metrology.Value{
		Value: turn(degrees(math.Atan2(y, x))), StdUncertainty: math.Min(degrees(math.Atan2(across, size)), 104), Unit: "°"}
	h.addBalance(b)
	return h
}

// nullProbability is the chance that a balance in poise gives so large a vector: χ² with 2 degrees of freedom, or
// Hotelling's T² (an F distribution) when the scale was estimated.
func nullProbability(x, y, vxx, vyy, vxy float64, dof int) float64 {
	det := vxx*vyy - vxy*vxy
	if !(det > 0) {
		return 1
	}
	t2 := (x*x*vyy + y*y*vxx - 2*x*y*vxy) / det
	if dof > 0 {
		return distuv.F{D1: 2, D2: float64(dof)}.Survival(t2 / 2)
	}
	return math.Exp(-t2 / 2)
}

func (h *HeavySpot) addBalance(b Balance) {
	if unit, ok := b.momentPerUnit(); ok {
		h.Moment = &metrology.Value{
			Value: h.Size.Value * 1e-6 * unit, StdUncertainty: h.Size.StdUncertainty * 1e-6 * unit, Unit: "µg·mm"}
		h.Removal = b.removal(h.Moment)
	}
	if b.ImpulseJewel == nil {
		return
	}
	h.FromJewelDeg = &metrology.Value{
		Value:          fromJewelDeg(h.BearingDeg.Value, *b.ImpulseJewel),
		StdUncertainty: h.BearingDeg.StdUncertainty, Unit: "°"}
	if h.Moment != nil && h.Significant {
		h.Turns = b.screwTurns(h.Moment.Value, h.FromJewelDeg.Value)
	}
}

// fromJewelDeg returns the angle of a direction from the impulse jewel, clockwise as seen from the balance side, 0 to
// 360. The bearing is clockwise from 12 as seen from the dial side, so the sense is turned round.
func fromJewelDeg(bearingDeg float64, jewel Hour) float64 {
	return turn(float64(jewel)*degreesPerHour - bearingDeg)
}

const degreesPerHour = 30

// DialHour returns the direction as the hour of the dial, seen from the dial side, 0 ≤ h < 12.
func (h HeavySpot) DialHour() Hour { return Hour(h.BearingDeg.Value / degreesPerHour) }

// BalanceHour returns the direction as it looks from the balance side, the watch still standing with its 12 up: as the
// hour of a clock face in the watchmaker's view. Left and right change sides.
func (h HeavySpot) BalanceHour() Hour { return Hour(turn(-h.BearingDeg.Value) / degreesPerHour) }

// String writes an hour to the nearest half: "4½", "12".
func (h Hour) String() string {
	halves := int(math.Round(turn(float64(h)*degreesPerHour)/degreesPerHour*2)) % 24
	whole, half := halves/2, ""
	if halves%2 == 1 {
		half = "½"
	}
	if whole == 0 {
		whole = 12
	}
	return fmt.Sprintf("%d%s", whole, half)
}

// Text says the finding in one sentence.
func (h HeavySpot) Text() string {
	if !h.Significant {
		return fmt.Sprintf("No significant poise error: S is likely below %.0f ppm.", h.UpperPPM)
	}
	return fmt.Sprintf("With the balance at rest the heavy spot lies towards %s o'clock seen from the dial side "+
		"(%s o'clock seen from the balance side, 12 up); S = m·g·r/k is %s.",
		h.DialHour(), h.BalanceHour(), h.Size.Format())
}
