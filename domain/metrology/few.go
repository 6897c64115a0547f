package metrology

import "gonum.org/v1/gonum/stat/distuv"

// leastFreedom bounds WidenedForFew: with one degree of freedom Student's t would widen seven times, which says only
// that one pair of readings shows next to nothing.
const leastFreedom = 2

// WidenedForFew returns by what a standard deviation found from few readings is multiplied so that twice it holds
// 95.45 % all the same: half of Student's t for its degrees of freedom (JCGM 100, G.3 and Table G.2). From one degree of
// freedom the factor of two is taken, and twice it holds 86 %. It panics unless freedom is 1 or more.
func WidenedForFew(freedom int) float64 {
	if freedom < 1 {
		panic("metrology: a standard deviation without degrees of freedom")
	}
	t := distuv.StudentsT{Sigma: 1, Nu: float64(max(freedom, leastFreedom))}
	return t.Quantile(0.5+0.9545/2) / 2
}
