package oscillator

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
)

// ComparedRate is one expected rate beside what was measured.
type ComparedRate struct {
	Position                       timing.Position
	Hours                          float64
	Expected, Measured, Difference metrology.Value // s/d; difference is measured less expected
}

// Comparison is what became of a forecast.
type Comparison struct {
	Rates []ComparedRate
	// MeanShift is the mean of the differences: how the watch was set, rather than what was corrected.
	MeanShift metrology.Value
	// ChiSquare of the differences with their mean taken out, and its degrees of freedom.
	ChiSquare        float64
	DegreesOfFreedom int
	Probability      float64 // of differences as large by chance alone
	Text             string
}

// Compare holds a forecast against the next run. The pattern over positions is judged with the mean taken out, since
// the mean is set anew after most corrections.
func (f *Fit) Compare(forecast Forecast, next timing.Run) Comparison {
	var out Comparison
	var at []int
	var own []float64
	for i, e := range forecast.Rates {
		r, ok := next.Reading(e.Position, e.Hours)
		if !ok || r.RateSPerDay == nil {
			continue
		}
		u := math.Hypot(r.RateSPerDay.Independent(), f.repeat)
		measured := metrology.Value{Value: r.RateSPerDay.Value, StdUncertainty: u, Unit: "s/d"}
		out.Rates = append(out.Rates, ComparedRate{e.Position, e.Hours, e.Rate, measured, metrology.Value{
			Value: measured.Value - e.Rate.Value, StdUncertainty: math.Hypot(u, e.Rate.StdUncertainty), Unit: "s/d"}})
		at, own = append(at, i), append(own, u)
	}
	n := len(at)
	if n < 2 {
		out.Text = "Fewer than two of the expected rates were measured, so nothing can be compared."
		return out
	}
	// A free common shift is a generalised least squares mean; what it leaves is χ² with n − 1.
	cov := mat.NewSymDense(n, nil)
	d, one := mat.NewVecDense(n, nil), mat.NewVecDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			cov.SetSym(i, j, forecast.cov.At(at[i], at[j]))
		}
		cov.SetSym(i, i, cov.At(i, i)+own[i]*own[i])
		d.SetVec(i, out.Rates[i].Difference.Value)
		one.SetVec(i, 1)
	}
	var chol mat.Cholesky
	if !chol.Factorize(cov) {
		out.Text = "The expected rates are too uncertain to be compared."
		return out
	}
	var cd, c1 mat.VecDense
	_ = chol.SolveVecTo(&cd, d) // a large condition number only warns
	_ = chol.SolveVecTo(&c1, one)
	weight := mat.Dot(one, &c1)
	shift := mat.Dot(one, &cd) / weight
	out.MeanShift = metrology.Value{Value: shift, StdUncertainty: 1 / math.Sqrt(weight), Unit: "s/d"}
	out.ChiSquare = math.Max(0, mat.Dot(d, &cd)-shift*shift*weight)
	out.DegreesOfFreedom = n - 1
	out.Probability = distuv.ChiSquared{K: float64(n - 1)}.Survival(out.ChiSquare)
	out.Text = comparisonWords(out)
	return out
}

func comparisonWords(c Comparison) string {
	switch {
	case c.Probability >= 0.05:
		return "The positions came out as expected, within the stated uncertainty."
	case c.Probability >= 0.001:
		return "The positions came out further from what was expected than their uncertainty explains. Another look before the " +
			"next correction is worth while."
	}
	return "The positions came out otherwise than expected. The cause taken may not be the right one, or something else " +
		"changed with the correction."
}

// CurvePoint is one point of the rate against amplitude, with the half-width of its 95 % band.
type CurvePoint struct {
	AmplitudeDeg float64
	RateSPerDay  float64
	BandSPerDay  float64
}

// Curve is the fitted rate against amplitude in one position, with the readings it goes through.
type Curve struct {
	Position timing.Position
	Points   []CurvePoint
	Readings []CurveReading
}

// CurveReading is a reading to be drawn on a curve.
type CurveReading struct {
	Hours           float64
	Amplitude, Rate metrology.Value
	Wild            bool
}

// Curve returns the fitted rate of one position from one amplitude to another in steps of 5° or less.
// It panics unless run is one of the fit's and 0 < from < to < 360.
func (f *Fit) Curve(run int, p timing.Position, fromDeg, toDeg float64) Curve {
	if !(fromDeg > 0 && fromDeg < toDeg && toDeg < 360) || !p.Valid() {
		panic("oscillator: a curve needs a position and amplitudes in order")
	}
	out := Curve{Position: p}
	n := int(math.Ceil((toDeg - fromDeg) / 5))
	for i := 0; i <= n; i++ {
		a := fromDeg + (toDeg-fromDeg)*float64(i)/float64(n)
		row := f.model.row(run, p, a, -1)
		out.Points = append(out.Points, CurvePoint{a, dot(row, f.theta),
			metrology.CoverageFactor * math.Sqrt(math.Max(0, f.rowVariance(row)))})
	}
	for _, ob := range f.obs {
		if ob.run != run || ob.reading.Position != p {
			continue
		}
		out.Readings = append(out.Readings, CurveReading{ob.reading.HoursAfterWinding,
			metrology.Value{Value: ob.amp, StdUncertainty: ob.ampStd, Unit: "°"},
			metrology.Value{Value: ob.rate, StdUncertainty: math.Hypot(ob.rateStd, f.repeat), Unit: "s/d"}, f.isWild(ob)})
	}
	return out
}

// Curves returns the curves of all positions read in a run, over its amplitudes with 20° to spare.
func (f *Fit) Curves(run int) []Curve {
	low, high := math.Inf(1), math.Inf(-1)
	read := map[timing.Position]bool{}
	for _, ob := range f.obs {
		if ob.run == run {
			low, high = math.Min(low, ob.amp), math.Max(high, ob.amp)
			read[ob.reading.Position] = true
		}
	}
	var out []Curve
	for _, p := range timing.Positions() {
		if read[p] {
			out = append(out, f.Curve(run, p, math.Max(60, low-20), math.Min(345, high+20)))
		}
	}
	return out
}

func (f *Fit) isWild(ob observation) bool {
	for _, w := range f.Wild {
		if w.Run == ob.run && w.Position == ob.reading.Position && w.Hours == ob.reading.HoursAfterWinding {
			return true
		}
	}
	return false
}

func joined(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return fmt.Sprintf("%s and %s", strings.Join(words[:len(words)-1], ", "), words[len(words)-1])
}
