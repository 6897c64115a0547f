package metrology

import (
	"math"
	"slices"
)

// madToSigma makes the median absolute deviation of a normal scatter its standard deviation: 1/Φ⁻¹(3/4).
const madToSigma = 1.482602218505602

// Middle returns the median of some figures and their spread: the median absolute deviation from it, as a standard
// deviation would be. Neither is moved far by one figure that is wrong (P. J. Huber, Robust Statistics, 1981, 5.1, from
// memory). Both are NaN for none.
func Middle(figures []float64) (median, spread float64) {
	if len(figures) == 0 {
		return math.NaN(), math.NaN()
	}
	median = middleOf(figures)
	off := make([]float64, len(figures))
	for i, x := range figures {
		off[i] = math.Abs(x - median)
	}
	return median, madToSigma * middleOf(off)
}

func middleOf(figures []float64) float64 {
	sorted := slices.Clone(figures)
	slices.Sort(sorted)
	half := len(sorted) / 2
	if len(sorted)%2 == 1 {
		return sorted[half]
	}
	return (sorted[half-1] + sorted[half]) / 2
}
