package recorder

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// line is a robust straight line through points of which some do not belong to it.
type line struct {
	slope, std float64 // and its standard uncertainty
	scatter    float64 // standard deviation of one point about it, in y's unit
	kept       []bool  // which points were used
	used       int
}

const (
	// outlierSigmas is how far off a point is left out. Of points that scatter normally one in 150 000 is.
	outlierSigmas = 4.5
	// madToSigma makes the median absolute deviation of a normal scatter its standard deviation: 1/Φ⁻¹(3/4).
	madToSigma = 1.482602218505602
	// leastGroup is the fewest points that get an intercept of their own.
	leastGroup = 8
	fitPasses  = 10
)

// fitLine fits y = a + slope·x. Where group tells two kinds of point apart each has its own a: the steps of a quartz
// motor alternate in polarity, and so may sound a little early and a little late in turn. x must be increasing.
//
// It begins with the median slope of the pairs that lie half of the points apart (a one-pass variety of the estimator
// of Theil 1950 and Sen 1968), leaves out what lies more than 4.5 robust standard deviations off, and solves least
// squares on the rest until the choice stands. The uncertainty of the slope is the greater of that of ordinary least
// squares,
//
//	u² = s²/Σ(x − x̄)²
//
// and the one that allows for neighbours that err together (Newey and West 1987, Bartlett's weights), since a quartz
// watch that corrects itself once a minute errs in saw teeth; both widened by t₀.₉₇₅(ν)/1.96 for few points, so that k
// = 2 still covers about 95 %. It needs at least five points.
func fitLine(x, y []float64, group []bool) line {
	n := len(x)
	group = ownIntercepts(group, n)
	slope := medianSlope(x, y)
	l := line{kept: make([]bool, n)}
	r := make([]float64, n)
	for pass := range fitPasses {
		residuals(r, x, y, group, slope, l.kept, pass > 0)
		if !l.choose(r) && pass > 0 {
			break
		}
		slope = leastSquares(x, y, group, l.kept)
	}
	residuals(r, x, y, group, slope, l.kept, true)
	l.slope = slope
	l.judge(x, r, group)
	return l
}

// ownIntercepts drops the groups where one of them is too small to stand alone.
func ownIntercepts(group []bool, n int) []bool {
	odd := 0
	for _, g := range group {
		if g {
			odd++
		}
	}
	if odd < leastGroup || n-odd < leastGroup {
		return make([]bool, n)
	}
	return group
}

func medianSlope(x, y []float64) float64 {
	half := len(x) / 2
	slopes := make([]float64, 0, len(x)-half)
	for i := range len(x) - half {
		if dx := x[i+half] - x[i]; dx > 0 {
			slopes = append(slopes, (y[i+half]-y[i])/dx)
		}
	}
	return median(slopes)
}

func index(g bool) int {
	if g {
		return 1
	}
	return 0
}

// residuals sets r to what is left of y, with each group centred: by its median over all points to begin with, by its
// mean over the kept points later.
func residuals(r, x, y []float64, group []bool, slope float64, kept []bool, chosen bool) {
	var of [2][]float64
	for i := range x {
		r[i] = y[i] - slope*x[i]
		if !chosen || kept[i] {
			of[index(group[i])] = append(of[index(group[i])], r[i])
		}
	}
	var centre [2]float64
	for g := range of {
		switch {
		case len(of[g]) == 0:
		case chosen:
			centre[g] = mean(of[g])
		default:
			centre[g] = median(of[g])
		}
	}
	for i := range r {
		r[i] -= centre[index(group[i])]
	}
}

// choose keeps the points that belong to the line, and reports whether the choice changed.
func (l *line) choose(r []float64) bool {
	off := make([]float64, len(r))
	for i := range r {
		off[i] = math.Abs(r[i])
	}
	limit := outlierSigmas * madToSigma * median(off)
	if limit == 0 { // most points lie on the line exactly, as made-up ones do
		limit = 1e-12
	}
	changed := false
	l.used = 0
	for i := range r {
		keep := math.Abs(r[i]) <= limit
		changed = changed || keep != l.kept[i]
		l.kept[i] = keep
		l.used += index(keep)
	}
	return changed
}

// leastSquares returns the slope common to both groups of the kept points.
func leastSquares(x, y []float64, group, kept []bool) float64 {
	mx, my := groupMeans(x, group, kept), groupMeans(y, group, kept)
	sxx, sxy := 0.0, 0.0
	for i := range x {
		if g := index(group[i]); kept[i] {
			dx := x[i] - mx[g]
			sxx += dx * dx
			sxy += dx * (y[i] - my[g])
		}
	}
	return sxy / sxx
}

func groupMeans(v []float64, group, kept []bool) (m [2]float64) {
	var n [2]float64
	for i := range v {
		if g := index(group[i]); kept[i] {
			n[g]++
			m[g] += (v[i] - m[g]) / n[g]
		}
	}
	return m
}

// judge finds the scatter and the slope's uncertainty from the residuals of the kept points.
func (l *line) judge(x, r []float64, group []bool) {
	mx := groupMeans(x, group, l.kept)
	var seen [2]bool
	var score []float64 // x·r, whose sum is nought
	sxx, srr := 0.0, 0.0
	for i := range x {
		if !l.kept[i] {
			continue
		}
		g := index(group[i])
		seen[g] = true
		dx := x[i] - mx[g]
		sxx += dx * dx
		srr += r[i] * r[i]
		score = append(score, dx*r[i])
	}
	freedom := float64(l.used - 1 - index(seen[0]) - index(seen[1]))
	if freedom < 1 || sxx == 0 {
		l.std, l.scatter = math.Inf(1), math.Inf(1)
		return
	}
	l.scatter = math.Sqrt(srr / freedom)
	ordinary := l.scatter / math.Sqrt(sxx)
	together := math.Sqrt(longRun(score)*float64(l.used)/freedom) / sxx
	t := distuv.StudentsT{Sigma: 1, Nu: freedom}
	l.std = max(ordinary, together) * t.Quantile(0.975) / distuv.UnitNormal.Quantile(0.975)
}

// longestLag is how many neighbours are taken to err together at most: a minute and a half of pulses, so that what
// happens once a minute is seen whole.
const longestLag = 90

// longRun is the variance of the sum of the scores, neighbours taken together with Bartlett's weights.
func longRun(score []float64) float64 {
	lags := min(longestLag, len(score)/6)
	sum := 0.0
	for lag := range lags + 1 {
		c := 0.0
		for i := lag; i < len(score); i++ {
			c += score[i] * score[i-lag]
		}
		if lag > 0 {
			c *= 2 * (1 - float64(lag)/float64(lags+1))
		}
		sum += c
	}
	return max(0, sum)
}

func mean(v []float64) float64 {
	m := 0.0
	for i, x := range v {
		m += (x - m) / float64(i+1)
	}
	return m
}

// median returns the median of v, which it leaves as it is; 0 for none.
func median(v []float64) float64 {
	if len(v) == 0 {
		return 0
	}
	s := slices.Clone(v)
	slices.Sort(s)
	if h := len(s) / 2; len(s)%2 == 1 {
		return s[h]
	} else {
		return (s[h-1] + s[h]) / 2
	}
}
