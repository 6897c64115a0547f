package acoustic

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"ledgerwheel/domain/metrology"
)

// Line is a straight line through figures of a long run, fitted by weighted least squares.
type Line struct {
	Slope  metrology.Value // per unit of x
	Centre metrology.Value // the line at X
	X      float64         // weighted mean of x, where slope and height do not depend on each other
	// LowX and HighX are the ends of what was fitted.
	LowX, HighX float64
	Points      int
	// ReducedChiSquare is the scatter about the line over what the uncertainties explain. Where it is above 1 the
	// uncertainties of Slope and Centre were widened by its root.
	ReducedChiSquare float64

	residualSquare float64 // of y, about the line, by degree of freedom
}

// linePoint is one figure with its standard uncertainties.
type linePoint struct {
	x, xStd, y, yStd float64
	unit             string // of y
}

// At returns the line at x.
func (l Line) At(x float64) metrology.Value {
	return metrology.Value{Value: l.Centre.Value + l.Slope.Value*(x-l.X), Unit: l.Centre.Unit,
		StdUncertainty: math.Hypot(l.Centre.StdUncertainty, l.Slope.StdUncertainty*(x-l.X))}
}

// U95 returns the half-width that holds the line at x to 95 %: by Student's t, for few points leave their own scatter
// uncertain.
func (l Line) U95(x float64) float64 {
	t := distuv.StudentsT{Sigma: 1, Nu: float64(l.Points - 2)}
	return t.Quantile(0.975) * l.At(x).StdUncertainty
}

// leastLinePoints is what a line and its scatter need.
const leastLinePoints = 3

// effectiveRounds of reweighting: the part of x in the variance depends on the slope, and settles at once.
const effectiveRounds = 10

// fitLine fits y on x with errors in both by effective variance: each point weighs 1/(u²(y) + b²·u²(x)), b being the
// slope, found by iteration (York 1966 for independent errors; the line passes the weighted centre, and the slope is
// York's). Errors shared by all points, as that of a clock, must not be in them: they move the whole line. It returns
// nil below three points, or where x does not vary.
func fitLine(points []linePoint) *Line {
	n := len(points)
	if n < leastLinePoints {
		return nil
	}
	least, exact := leastStd(n, func(i int) float64 { return points[i].yStd })
	weight := make([]float64, n)
	l := Line{Points: n, LowX: math.Inf(1), HighX: math.Inf(-1)}
	b := 0.0
	var sxx float64
	for range effectiveRounds {
		var next float64
		var ok bool
		next, sxx, ok = l.york(points, weight, b, least)
		if !ok {
			return nil
		}
		done := math.Abs(next-b) <= 1e-12*math.Abs(next)
		b = next
		if done {
			break
		}
	}
	chi, square, sum := 0.0, 0.0, 0.0
	for i, p := range points {
		residual := p.y - l.Centre.Value - b*(p.x-l.X)
		chi += weight[i] * residual * residual
		square += residual * residual
		sum += weight[i]
		l.LowX, l.HighX = math.Min(l.LowX, p.x), math.Max(l.HighX, p.x)
	}
	free := float64(n - 2)
	l.ReducedChiSquare, l.residualSquare = chi/free, square/free
	widen := math.Sqrt(math.Max(1, l.ReducedChiSquare))
	if exact { // nothing but the scatter says how sure the line is
		widen = math.Sqrt(l.ReducedChiSquare)
	}
	l.Slope = metrology.Value{Value: b, StdUncertainty: widen / math.Sqrt(sxx), Unit: points[0].unit}
	l.Centre.Unit = points[0].unit
	l.Centre.StdUncertainty = widen / math.Sqrt(sum)
	return &l
}

// york makes one round: weights at slope b, the weighted centre, and the slope that follows.
func (l *Line) york(points []linePoint, weight []float64, b, least float64) (slope, sxx float64, ok bool) {
	sum, x, y := 0.0, 0.0, 0.0
	for i, p := range points {
		yStd := math.Max(p.yStd, least)
		weight[i] = 1 / (yStd*yStd + b*b*p.xStd*p.xStd)
		sum += weight[i]
		x += weight[i] * p.x
		y += weight[i] * p.y
	}
	l.X, l.Centre.Value = x/sum, y/sum
	top, bottom := 0.0, 0.0
	for i, p := range points {
		yStd := math.Max(p.yStd, least)
		u, v := p.x-l.X, p.y-l.Centre.Value
		adjusted := weight[i] * (u*yStd*yStd + b*p.xStd*p.xStd*v) // York's adjusted x
		top += weight[i] * adjusted * v
		bottom += weight[i] * adjusted * u
		sxx += weight[i] * adjusted * adjusted
	}
	if !(bottom > 0) || !(sxx > 0) {
		return 0, 0, false
	}
	return top / bottom, sxx, true
}

// leastStd returns the smallest uncertainty above nought, which figures said to be exact are given in a fit, or 1
// where all are exact.
func leastStd(n int, std func(int) float64) (least float64, exact bool) {
	for i := range n {
		if u := std(i); u > 0 && (least == 0 || u < least) {
			least = u
		}
	}
	if least == 0 {
		return 1, true
	}
	return least, false
}
