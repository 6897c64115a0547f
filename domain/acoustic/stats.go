package acoustic

import (
	"math"
	"slices"
)

// median returns the median of x, which it reorders. It is 0 of nothing.
func median(x []float64) float64 {
	if len(x) == 0 {
		return 0
	}
	slices.Sort(x)
	if n := len(x); n%2 == 0 {
		return (x[n/2-1] + x[n/2]) / 2
	}
	return x[len(x)/2]
}

// normalMAD makes the median absolute deviation of a normal quantity its standard deviation.
const normalMAD = 1.4826

// spread returns the standard deviation of x about its median by the median absolute deviation.
func spread(x []float64) float64 {
	c := slices.Clone(x)
	m := median(c)
	for i, v := range c {
		c[i] = math.Abs(v - m)
	}
	return normalMAD * median(c)
}

// secondsPerDay is the length of a day.
const secondsPerDay = 86400
