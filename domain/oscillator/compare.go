package oscillator

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

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
		read := r.RateSPerDay.Independent()
		u := math.Hypot(read, f.repeat)
		measured := metrology.Value{Value: r.RateSPerDay.Value, StdUncertainty: u, Unit: "s/d"}
		out.Rates = append(out.Rates, ComparedRate{e.Position, e.Hours, e.Rate, measured, metrology.Value{
			Value: measured.Value - e.Rate.Value, StdUncertainty: math.Hypot(u, e.Rate.StdUncertainty), Unit: "s/d"}})
		at, own = append(at, i), append(own, read)
	}
	n := len(at)
	if n < 2 {
		out.Text = "Fewer than two of the expected rates were measured, so nothing can be compared."
		return out
	}
	alike := pattern{n: n, cov: make([]float64, n*n), d: make([]float64, n)}
	for i := range n {
		alike.d[i] = out.Rates[i].Difference.Value
		for j := range i + 1 {
			alike.cov[i*n+j] = forecast.cov.At(at[i], at[j])
		}
		alike.cov[i*n+i] += own[i] * own[i]
	}
	q, ok := alike.hold(f.repeat)
	if !ok {
		out.Text = "The expected rates are too uncertain to be compared."
		return out
	}
	out.MeanShift = metrology.Value{Value: q.shift, StdUncertainty: 1 / math.Sqrt(q.weight), Unit: "s/d"}
	out.ChiSquare, out.DegreesOfFreedom = q.chi2, n-1
	out.Probability = f.averagedOverRepeats(func(repeat float64) float64 {
		q, _ := alike.hold(repeat)
		return distuv.ChiSquared{K: float64(n - 1)}.Survival(q.chi2)
	})
	out.Text = comparisonWords(out)
	return out
}

// pattern is differences of rates with their covariance, the repeatability apart, by its lower half.
type pattern struct {
	n      int
	cov, d []float64
}

// held is a pattern with its mean taken out: a free common shift is a generalised least squares mean, and what it leaves
// is χ² with n − 1 degrees of freedom.
type held struct{ shift, weight, chi2 float64 }

func (p pattern) hold(repeat float64) (held, bool) {
	l := lowerTriangle{p.n, slices.Clone(p.cov)}
	one := make([]float64, p.n)
	for i := range p.n {
		l.row(i)[i] += repeat * repeat
		one[i] = 1
	}
	if !l.cholesky() {
		return held{}, false
	}
	d := slices.Clone(p.d)
	l.forward(d)
	l.forward(one)
	var h held
	squares := 0.0
	for i := range p.n {
		h.weight += one[i] * one[i]
		h.shift += one[i] * d[i]
		squares += d[i] * d[i]
	}
	h.shift /= h.weight
	h.chi2 = math.Max(0, squares-h.shift*h.shift*h.weight)
	return h, true
}

// averagedOverRepeats is the mean of a chance over what the repeatability may be by the readings: it is not known so well
// that one value of it would do.
func (f *Fit) averagedOverRepeats(chance func(repeat float64) float64) float64 {
	weights := map[float64]float64{}
	for _, p := range f.parts {
		weights[p.repeat] += p.weight
	}
	sum := 0.0
	for _, repeat := range slices.Sorted(maps.Keys(weights)) {
		if w := weights[repeat]; w > negligible {
			sum += w * chance(repeat)
		}
	}
	return math.Min(sum, 1)
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
