package oscillator

import (
	"errors"
	"math"
	"slices"

	"ledgerwheel/domain/metrology"
)

// TemperaturePoint is a rate at a temperature.
type TemperaturePoint struct {
	TemperatureC float64
	Rate         metrology.Value // s/d, without what all points share through one clock: that cancels
}

// Temperature is what two or three temperatures tell.
type Temperature struct {
	// Coefficient is the change of rate from the coldest to the warmest point, s/d for each °C.
	Coefficient metrology.Value
	// Secondary is the rate at the middle temperature less that of the straight line between the outer two, s/d;
	// nil with two points only.
	Secondary *metrology.Value
}

// ErrTemperatures reports temperatures that no coefficient can be taken from.
var ErrTemperatures = errors.New("give two or three different temperatures, at least 2 °C apart, each with its rate")

// leastTemperatureStepC parts two temperatures; below it the thermometer decides the coefficient.
const leastTemperatureStepC = 2

// TemperatureOf returns the coefficient (and from three points the secondary error) of rate on temperature. It fails
// with ErrTemperatures unless there are two or three points that are apart. The ISO 3159 criterion C is the same
// quotient between 8 °C and 38 °C.
func TemperatureOf(points []TemperaturePoint) (Temperature, error) {
	if len(points) != 2 && len(points) != 3 {
		return Temperature{}, ErrTemperatures
	}
	p := slices.Clone(points)
	slices.SortFunc(p, func(a, b TemperaturePoint) int {
		if a.TemperatureC < b.TemperatureC {
			return -1
		}
		return 1
	})
	for i, x := range p {
		bad := x.Rate.Check() != nil || math.IsNaN(x.TemperatureC) || math.IsInf(x.TemperatureC, 0)
		if bad || i > 0 && x.TemperatureC-p[i-1].TemperatureC < leastTemperatureStepC {
			return Temperature{}, ErrTemperatures
		}
	}
	cold, warm := p[0], p[len(p)-1]
	span := warm.TemperatureC - cold.TemperatureC
	term := func(c float64, x TemperaturePoint) metrology.Term {
		return metrology.Term{Coefficient: c, Value: x.Rate.Value, StdUncertainty: x.Rate.StdUncertainty}
	}
	out := Temperature{Coefficient: metrology.Linear("s/d per °C", term(1/span, warm), term(-1/span, cold))}
	if len(p) == 3 {
		f := (p[1].TemperatureC - cold.TemperatureC) / span
		v := metrology.Linear("s/d", term(1, p[1]), term(f-1, cold), term(-f, warm))
		out.Secondary = &v
	}
	return out, nil
}

// ThermalRatePerC returns the s/d for each °C that a plain balance and spring have by their materials:
//
//	43200 · (β_E + 3·α_spring − 2·α_balance)
//
// β_E the relative change of the spring's modulus, α the expansions, all per °C. A ring's inertia grows with 2α, the
// spring's stiffness E·b·h³/(12·L) with β_E + 3α.
func ThermalRatePerC(betaE, alphaSpring, alphaBalance float64) float64 {
	return SecondsPerDay / 2 * (betaE + 3*alphaSpring - 2*alphaBalance)
}
