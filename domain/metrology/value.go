package metrology

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat"
)

// CoverageFactor is the k of the expanded uncertainty U = k·u used throughout: about 95 % for a normal
// distribution (JCGM 100, 6.3.3).
const CoverageFactor = 2.0

// Value is the best estimate of a quantity, its standard uncertainty in the same unit, and that unit.
type Value struct {
	Value          float64
	StdUncertainty float64 // one standard deviation, never negative; 0 means exact
	Unit           string  // as printed, for example "s/d"
}

// Expanded returns U = k·u with k = CoverageFactor, in v's unit (JCGM 100, 6.2.1).
func (v Value) Expanded() float64 { return CoverageFactor * v.StdUncertainty }

// Check says in plain words why v cannot be used, or returns nil: the figure and its uncertainty must be finite
// and the uncertainty not negative.
func (v Value) Check() error {
	switch {
	case !finite(v.Value):
		return errors.New("the figure is not a finite number")
	case !finite(v.StdUncertainty):
		return errors.New("the uncertainty is not a finite number")
	case v.StdUncertainty < 0:
		return errors.New("the uncertainty is negative")
	}
	return nil
}

// FromHalfWidth returns the standard uncertainty a/√3 of a quantity that lies anywhere within ±a with equal
// likelihood (rectangular distribution, JCGM 100, 4.3.7). It panics unless a is finite and not negative.
func FromHalfWidth(a float64) float64 {
	mustBeUncertainty(a)
	return a / math.Sqrt(3)
}

// FromResolution returns the standard uncertainty d/√12 that a display of least step d adds to what it shows
// (JCGM 100, F.2.2.1). It panics unless d is finite and not negative.
func FromResolution(d float64) float64 { return FromHalfWidth(d / 2) }

// Quadrature combines independent standard uncertainties: the root of the sum of their squares
// (JCGM 100, 5.1.2 with unit sensitivities). No contribution gives 0. It panics unless each is finite and not
// negative.
func Quadrature(contributions ...float64) float64 {
	sum := 0.0
	for _, u := range contributions {
		mustBeUncertainty(u)
		sum = math.Hypot(sum, u)
	}
	return sum
}

// ErrTooFew reports that a spread cannot be found from fewer than two observations.
var ErrTooFew = errors.New("at least two observations are needed")

// FromObservations returns the mean of repeated independent observations and the experimental standard deviation
// of that mean, s/√n (Type A evaluation, JCGM 100, 4.2.1 to 4.2.3). It fails with ErrTooFew, or where an
// observation is not finite.
func FromObservations(observations []float64, unit string) (Value, error) {
	n := len(observations)
	if n < 2 {
		return Value{}, fmt.Errorf("mean of %d observations: %w", n, ErrTooFew)
	}
	for i, x := range observations {
		if !finite(x) {
			return Value{}, fmt.Errorf("observation %d is not a finite number", i+1)
		}
	}
	mean, s := stat.MeanStdDev(observations, nil)
	return Value{Value: mean, StdUncertainty: s / math.Sqrt(float64(n)), Unit: unit}, nil
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

func mustBeUncertainty(u float64) {
	if !finite(u) || u < 0 {
		panic(fmt.Sprintf("metrology: %v is not an uncertainty", u))
	}
}
