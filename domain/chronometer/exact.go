package chronometer

import (
	"math/big"

	"ledgerwheel/domain/metrology"
)

// pairs is the number of pairs of days in one position among the first ten.
const pairs = firstTen / 2

// figure computes one criterion exactly and its sensitivity to each day's rate. Every day that c needs is known.
//
// Where a size is taken, the sensitivity is that of the signed figure; at a difference of exactly zero it is taken as
// that of a gain. For Vmax and P it is that of the pair or the day that came out greatest; that it was chosen as the
// greatest is left out, as is common practice.
func (r Rates) figure(c Criterion) (x *big.Rat, sensitivity [Days + 1]float64) {
	switch c {
	case MeanDailyRate:
		for _, day := range tenDays {
			sensitivity[day] = 1.0 / firstTen
		}
		return r.mean(tenDays...), sensitivity
	case MeanVariation:
		x = new(big.Rat)
		for k := range pairs {
			d, sign := r.pair(k)
			x.Add(x, d)
			sensitivity[2*k+1], sensitivity[2*k+2] = sign/pairs, -sign/pairs
		}
		return x.Quo(x, big.NewRat(pairs, 1)), sensitivity
	case GreatestVariation:
		for k := range pairs {
			if d, sign := r.pair(k); x == nil || d.Cmp(x) > 0 {
				x, sensitivity = d, [Days + 1]float64{}
				sensitivity[2*k+1], sensitivity[2*k+2] = sign, -sign
			}
		}
		return x, sensitivity
	case HorizontalVerticalDifference:
		sensitivity[1], sensitivity[2], sensitivity[9], sensitivity[10] = 0.5, 0.5, -0.5, -0.5
		return new(big.Rat).Sub(r.mean(1, 2), r.mean(9, 10)), sensitivity
	case LargestDeviation:
		return r.largestDeviation()
	case ThermalVariation:
		sensitivity[13], sensitivity[11] = 1.0/thermalSpanC, -1.0/thermalSpanC
		x = new(big.Rat).Sub(r.exact[13], r.exact[11])
		return x.Quo(x, big.NewRat(thermalSpanC, 1)), sensitivity
	case RateResumption:
		sensitivity[15], sensitivity[1], sensitivity[2] = 1, -0.5, -0.5
		return new(big.Rat).Sub(r.exact[15], r.mean(1, 2)), sensitivity
	}
	panic("chronometer: no criterion " + string(c))
}

func (r Rates) largestDeviation() (x *big.Rat, sensitivity [Days + 1]float64) {
	m := r.mean(tenDays...)
	most, sign := 0, 1.0
	for _, day := range tenDays {
		d := new(big.Rat).Sub(r.exact[day], m)
		s := 1.0
		if d.Sign() < 0 {
			s = -1
			d.Neg(d)
		}
		if x == nil || d.Cmp(x) > 0 {
			x, most, sign = d, day, s
		}
	}
	for _, day := range tenDays {
		sensitivity[day] = -sign / firstTen
	}
	sensitivity[most] += sign
	return x, sensitivity
}

// mean returns the exact mean over days that are known.
func (r Rates) mean(days ...int) *big.Rat {
	sum := new(big.Rat)
	for _, day := range days {
		sum.Add(sum, r.exact[day])
	}
	return sum.Quo(sum, big.NewRat(int64(len(days)), 1))
}

// pair returns |M1 - M2| for k = 0, |M3 - M4| for k = 1 and so on, with the sign of the difference.
func (r Rates) pair(k int) (size *big.Rat, sign float64) {
	d := new(big.Rat).Sub(r.exact[2*k+1], r.exact[2*k+2])
	if d.Sign() < 0 {
		return d.Neg(d), -1
	}
	return d, 1
}

// least returns the least figure that a criterion can still come out at whatever the days not yet known bring, or nil
// when every figure is still possible. It is exact for each criterion taken alone.
func (r Rates) least(c Criterion) *big.Rat {
	switch c {
	case MeanVariation, GreatestVariation:
		sum, greatest := new(big.Rat), new(big.Rat)
		for k := range pairs {
			if r.exact[2*k+1] == nil || r.exact[2*k+2] == nil {
				continue
			}
			d, _ := r.pair(k)
			sum.Add(sum, d)
			if d.Cmp(greatest) > 0 {
				greatest = d
			}
		}
		if c == GreatestVariation {
			return greatest
		}
		return sum.Quo(sum, big.NewRat(pairs, 1))
	case LargestDeviation:
		return r.leastDeviation()
	}
	return nil
}

// leastDeviation returns the least P that the first ten rates can still make. With k rates known, from a to b with mean
// x̄, and the other m = 10 - k all equal (which is best for any mean M), their own distance from M is k/m·|M - x̄|, so
// that
//
//	P ≥ min over M of max(b - M, M - a, k/m·|M - x̄|)
//
// The least of such a convex figure of straight pieces lies where two pieces meet, or at x̄.
func (r Rates) leastDeviation() *big.Rat {
	var known []int
	for _, day := range tenDays {
		if r.exact[day] != nil {
			known = append(known, day)
		}
	}
	k, m := len(known), firstTen-len(known)
	if k == 0 {
		return new(big.Rat)
	}
	if m == 0 {
		x, _ := r.largestDeviation()
		return x
	}
	a, b := r.exact[known[0]], r.exact[known[0]]
	for _, day := range known {
		if r.exact[day].Cmp(a) < 0 {
			a = r.exact[day]
		}
		if r.exact[day].Cmp(b) > 0 {
			b = r.exact[day]
		}
	}
	mean, slope := r.mean(known...), big.NewRat(int64(k), int64(m))
	// M at which the distance to an end equals k/m·|M - x̄|, between x̄ and the end
	weighted := func(end *big.Rat) *big.Rat {
		x := new(big.Rat).Mul(slope, mean)
		x.Add(x, end)
		return x.Quo(x, new(big.Rat).Add(slope, big.NewRat(1, 1)))
	}
	middle := new(big.Rat).Add(a, b)
	middle.Quo(middle, big.NewRat(2, 1))
	var best *big.Rat
	for _, at := range []*big.Rat{mean, middle, weighted(a), weighted(b)} {
		p := greatest(new(big.Rat).Sub(b, at), new(big.Rat).Sub(at, a),
			new(big.Rat).Mul(slope, new(big.Rat).Abs(new(big.Rat).Sub(at, mean))))
		if best == nil || p.Cmp(best) < 0 {
			best = p
		}
	}
	return best
}

func greatest(list ...*big.Rat) *big.Rat {
	g := list[0]
	for _, x := range list[1:] {
		if x.Cmp(g) > 0 {
			g = x
		}
	}
	return g
}

// uncertain gives an exact figure its standard uncertainty, u² = Σ Σ c(i)·c(j)·cov(i, j) (JCGM 100, 5.2.2,
// equation 13).
func (r Rates) uncertain(x *big.Rat, sensitivity [Days + 1]float64, unit string) metrology.Value {
	v, _ := x.Float64()
	return metrology.Value{Value: v, StdUncertainty: r.std(sensitivity), Unit: unit}
}
