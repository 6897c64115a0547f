package share

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// Bin says that so many had a value.
type Bin struct {
	Value int
	N     int64
}

// Histogram is how values are spread, least first, each value once.
type Histogram []Bin

// HistogramOf puts bins in order and those of one value together; what comes to nothing is left out.
func HistogramOf(bins []Bin) Histogram {
	bins = slices.Clone(bins)
	slices.SortFunc(bins, func(a, b Bin) int { return cmp.Compare(a.Value, b.Value) })
	var h Histogram
	for _, b := range bins {
		if last := len(h) - 1; last >= 0 && h[last].Value == b.Value {
			h[last].N += b.N
		} else {
			h = append(h, b)
		}
	}
	return slices.DeleteFunc(h, func(b Bin) bool { return b.N <= 0 })
}

// N is how many there are.
func (h Histogram) N() (n int64) {
	for _, b := range h {
		n += b.N
	}
	return n
}

// Sum is all values together.
func (h Histogram) Sum() (sum int64) {
	for _, b := range h {
		sum += int64(b.Value) * b.N
	}
	return sum
}

// AtRank is the value of the given rank, 1 the least. It panics outside of 1 to N.
func (h Histogram) AtRank(rank int64) int {
	for _, b := range h {
		if rank <= b.N {
			return b.Value
		}
		rank -= b.N
	}
	panic("share: no such rank")
}

// Quantile is the least value that a share q of all don't pass, 0 < q ≤ 1: Hyndman and Fan's definition 1, the inverse of the
// empirical distribution. It is exact at the resolution of the values. ok is false of nothing.
func (h Histogram) Quantile(q float64) (value int, ok bool) {
	n := h.N()
	if n == 0 {
		return 0, false
	}
	return h.AtRank(min(max(int64(math.Ceil(q*float64(n)-1e-9)), 1), n)), true
}

// Ranks are those of n values between which the quantile q lies with at least the level, whatever the distribution: equal tails of
// the binomial distribution of how many lie below it. ok is false where n is too few for such ranks; held is how sure they are.
// W. J. Conover, Practical Nonparametric Statistics, the confidence interval for a quantile.
func Ranks(n int64, q, level float64) (lo, hi int64, held float64, ok bool) {
	d := distuv.Binomial{N: float64(n), P: q}
	tail := (1 - level) / 2
	for lo < n && d.CDF(float64(lo)) <= tail { // P(fewer than rank lo+1 lie below) stays within the tail
		lo++
	}
	for hi = n; hi > 1 && d.CDF(float64(hi-2)) >= 1-tail; {
		hi--
	}
	if lo < 1 || d.CDF(float64(n-1)) < 1-tail {
		return 0, 0, 0, false
	}
	return lo, hi, d.CDF(float64(hi-1)) - d.CDF(float64(lo-1)), true
}

// Between are the values at Ranks of h, at [Level].
func (h Histogram) Between(q float64) (lo, hi int, ok bool) {
	first, last, _, ok := Ranks(h.N(), q, Level)
	if !ok {
		return 0, 0, false
	}
	return h.AtRank(first), h.AtRank(last), true
}
