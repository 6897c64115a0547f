// Package share says how sure a share of few is, whether one differs from another beyond chance, and where the middle and the
// eighth of ten lie: the statistics that stand behind the shop's figures. It is pure.
package share

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Level is the level of every interval that a page shows: of such intervals 95 in 100 hold the true figure.
const Level = 0.95

// Z is the standard normal deviate that leaves (1 − level)/2 above it.
func Z(level float64) float64 { return distuv.UnitNormal.Quantile((1 + level) / 2) }

// Wilson is the score interval of a share of which k of n were seen, for the normal deviate z (see [Z]):
//
//	(p + z²/2n ± z √(p(1−p)/n + z²/4n²)) / (1 + z²/n), p = k/n
//
// E. B. Wilson, Probable inference, the law of succession, and statistical inference, J. Am. Stat. Assoc. 22 (1927). Of
// nothing it is 0 to 1. It panics unless 0 ≤ k ≤ n.
func Wilson(k, n int, z float64) (lo, hi float64) {
	if k < 0 || k > n {
		panic("share: a count outside of what was counted")
	}
	if n == 0 {
		return 0, 1
	}
	f, of := float64(k), float64(n)
	p, zz := f/of, z*z/of
	middle, half := p+zz/2, z*math.Sqrt(p*(1-p)/of+zz/(4*of))
	lo, hi = (middle-half)/(1+zz), (middle+half)/(1+zz)
	if k == 0 { // exactly, whatever rounding leaves
		lo = 0
	}
	if k == n {
		hi = 1
	}
	return lo, hi
}

// Share is how many of so many.
type Share struct{ K, N int }

// P is the share itself; of nothing it is NaN.
func (s Share) P() float64 { return float64(s.K) / float64(s.N) }

// Interval is Wilson's at [Level].
func (s Share) Interval() (lo, hi float64) { return Wilson(s.K, s.N, Z(Level)) }

// Fewest is of how many a share is said: from there on the interval is at most 41 points wide, whatever was seen. That it asks for the
// number alone keeps few cases from being said just because they came out all alike.
const Fewest = 20

// TooFew reports whether s is of too few to say.
func (s Share) TooFew() bool { return s.N < Fewest }

// Difference is the interval of p1 − p2 by Newcombe's hybrid score method, for the normal deviate z:
//
//	lo = p1 − p2 − √((p1 − l1)² + (u2 − p2)²), hi = p1 − p2 + √((u1 − p1)² + (p2 − l2)²)
//
// with l and u the Wilson intervals of each. R. G. Newcombe, Interval estimation for the difference between independent
// proportions, Statistics in Medicine 17 (1998), method 10. Where either is of nothing it is −1 to 1.
func Difference(a, b Share, z float64) (lo, hi float64) {
	if a.N == 0 || b.N == 0 {
		return -1, 1
	}
	l1, u1 := Wilson(a.K, a.N, z)
	l2, u2 := Wilson(b.K, b.N, z)
	d := a.P() - b.P()
	return d - math.Hypot(a.P()-l1, u2-b.P()), d + math.Hypot(u1-a.P(), b.P()-l2)
}

// Verdict is how one share of several stands to the rest of them together.
type Verdict int

// The verdicts.
const (
	TooFewToSay  Verdict = iota
	NotDifferent         // no further from the rest than chance would bring it
	Above
	Below
)

// together is how sure Compare is of all its verdicts together. It is above 0.95 because Newcombe's intervals are somewhat too
// narrow where shares lie near all or nothing (TestEqualBenchesAreSeldomToldApart counts).
const together = 0.97

// Compare holds each share to all the others together. It calls one different only where the interval of [Difference] leaves out
// zero, at the level of Šidák, together^(1/m) for m shares compared: of shops whose people are all alike at most 5 in 100 are
// told of any difference at all. What is too few to say is not compared.
func Compare(shares []Share) []Verdict {
	var all Share
	m := 0
	for _, s := range shares {
		all.K, all.N = all.K+s.K, all.N+s.N
		if !s.TooFew() {
			m++
		}
	}
	verdicts := make([]Verdict, len(shares))
	for i, s := range shares {
		rest := Share{all.K - s.K, all.N - s.N}
		if s.TooFew() || rest.TooFew() {
			continue
		}
		lo, hi := Difference(s, rest, Z(math.Pow(together, 1/float64(m))))
		switch {
		case lo > 0:
			verdicts[i] = Above
		case hi < 0:
			verdicts[i] = Below
		default:
			verdicts[i] = NotDifferent
		}
	}
	return verdicts
}
