package metrology

import (
	"fmt"
	"math"
)

// Term is one input of a linear model y = Σ c·x. Its uncertainty has a part of its own and, optionally, a part
// that it shares with other terms because both have the same cause.
type Term struct {
	Coefficient    float64 // c, the sensitivity of y to x
	Value          float64 // x
	StdUncertainty float64 // of x, independent of every other term

	// Source names the shared cause, for example the clock of the instrument that took the reading; "" for none.
	Source string
	// SharedStdUncertainty is what that cause contributes to x. Terms of one source move together (correlation +1).
	SharedStdUncertainty float64
}

// Linear returns y = Σ c·x with its combined standard uncertainty,
//
//	u²(y) = Σ c²·u²(x) + Σ over sources (Σ c·u_shared)²
//
// the law of propagation for independent inputs (JCGM 100, 5.1.2, equation 10) with the fully correlated case
// (5.2.2, equation 16 and note 1) for each shared cause. A cause shared by a figure and the figure it is taken from
// thus cancels in their difference, and stays whole in their mean. It panics if a term is not finite or an
// uncertainty is negative.
func Linear(unit string, terms ...Term) Value {
	y, own := 0.0, 0.0
	shared := map[string]float64{}
	var sources []string // in order of appearance, so that the sum does not depend on map order
	for _, t := range terms {
		if !finite(t.Coefficient) || !finite(t.Value) {
			panic(fmt.Sprintf("metrology: term %v × %v is not finite", t.Coefficient, t.Value))
		}
		mustBeUncertainty(t.StdUncertainty)
		mustBeUncertainty(t.SharedStdUncertainty)
		y += t.Coefficient * t.Value
		own = math.Hypot(own, t.Coefficient*t.StdUncertainty)
		if t.Source == "" {
			own = math.Hypot(own, t.Coefficient*t.SharedStdUncertainty)
			continue
		}
		if _, seen := shared[t.Source]; !seen {
			sources = append(sources, t.Source)
		}
		shared[t.Source] += t.Coefficient * t.SharedStdUncertainty
	}
	u := own
	for _, s := range sources {
		u = math.Hypot(u, shared[s])
	}
	return Value{Value: y, StdUncertainty: u, Unit: unit}
}
