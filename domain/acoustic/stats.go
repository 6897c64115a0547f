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
	n := len(x)
	upper := selectNth(x, n/2)
	if n%2 == 0 {
		return (slices.Max(x[:n/2]) + upper) / 2
	}
	return upper
}

// selectNth returns the value that would stand at k if x were sorted, and reorders x so that nothing before k is greater
// and nothing after it less (Hoare, Algorithm 65: Find, Communications of the ACM 4, 1961, with the middle of three as
// the pivot).
func selectNth(x []float64, k int) float64 {
	const few = 12
	low, high := 0, len(x)-1
	for high-low > few {
		a, b, c := x[low], x[low+(high-low)/2], x[high]
		pivot := max(min(a, b), min(max(a, b), c))
		i, j := low, high
		for i <= j {
			for x[i] < pivot {
				i++
			}
			for x[j] > pivot {
				j--
			}
			if i <= j {
				x[i], x[j] = x[j], x[i]
				i++
				j--
			}
		}
		switch {
		case k <= j:
			high = j
		case k >= i:
			low = i
		default:
			return x[k]
		}
	}
	for i := low + 1; i <= high; i++ {
		v, j := x[i], i
		for ; j > low && x[j-1] > v; j-- {
			x[j] = x[j-1]
		}
		x[j] = v
	}
	return x[k]
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
