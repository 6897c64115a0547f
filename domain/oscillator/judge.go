package oscillator

import (
	"fmt"
	"math"
	"slices"
	"sync"

	"gonum.org/v1/gonum/mat"

	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
)

// draws of the simulation; the probability is good to about ±0.025 (binomial, at a half).
const draws = 400

// judge adds to a forecast the chance of meeting the limits: the expected rates are drawn with their common
// covariance and the repeatability of a measurement, and each draw is held against the limits, drawn in by the guard
// band of the present run's figures. Limits on amplitude and beat error are taken as the run stands. The generator is
// seeded the same each time, so that a page shows the same figure twice.
func (f *Fit) judge(run int, c correction, out *Forecast) {
	limits := f.options.Limits
	if len(limits.Limits) == 0 {
		out.PassText = "There are no rate limits to hold the expected rates against."
		return
	}
	j := f.judged(run)
	var rateLimits []bounded
	other := 1.0
	var open []string
	for _, l := range j.Limits {
		switch key := l.Limit.Key; {
		case rateKey(key):
			if key == timing.Isochronism && !hasHours(out.Rates, 24) {
				open = append(open, l.Limit.Label())
				continue
			}
			rateLimits = append(rateLimits, f.bound(l))
		case key == timing.GreatestBeatError && c.beat:
		case !l.Statistic.Computable():
			open = append(open, l.Limit.Label())
		default:
			other *= passChance(l)
		}
	}
	p := f.simulate(*out, rateLimits) * other
	out.PassProbability = &p
	out.PassText = fmt.Sprintf("The run would then meet %s with a probability of %s.", limits.Name, chanceText(p))
	if other < 0.5 {
		out.PassText += " Amplitude or beat error as they stand keep it down."
	}
	if len(open) > 0 {
		out.PassText += fmt.Sprintf(" Not judged, for want of readings: %s.", joined(open))
	}
}

// judged is how a run stands by the limits, worked out once.
func (f *Fit) judged(run int) timing.Judgement {
	if f.judgements == nil {
		f.judgements = map[int]timing.Judgement{}
	}
	j, known := f.judgements[run]
	if !known {
		j = timing.Judge(f.Runs[run].Run.Averaged(), f.options.Limits, f.options.Rule, f.options.Instruments)
		f.judgements[run] = j
	}
	return j
}

// chanceText writes a probability no surer than the draws can tell: none of 400 failing still leaves 0.75 %
// (the rule of three).
func chanceText(p float64) string {
	switch {
	case p > 0.99:
		return "over 99 %"
	case p < 0.01:
		return "under 1 %"
	}
	return fmt.Sprintf("about %.0f %%", 100*p)
}

// bounded is a limit on a statistic of rates, drawn in by its guard band.
type bounded struct {
	key          timing.Key
	lower, upper float64
}

func rateKey(k timing.Key) bool {
	return slices.Contains([]timing.Key{timing.MeanRate, timing.DeltaRate, timing.HorizontalLessVertical,
		timing.Isochronism}, k)
}

func hasHours(rates []ExpectedRate, hours float64) bool {
	return slices.ContainsFunc(rates, func(r ExpectedRate) bool { return math.Abs(r.Hours-hours) < 0.005 })
}

func (f *Fit) bound(l timing.JudgedLimit) bounded {
	b := bounded{l.Limit.Key, math.Inf(-1), math.Inf(1)}
	guard := 0.0
	if l.Statistic.Computable() {
		guard = f.options.Rule.GuardFactor * l.Statistic.Value.Expanded()
	}
	if x := l.Limit.Limits.Lower; x != nil {
		b.lower = *x + guard
	}
	if x := l.Limit.Limits.Upper; x != nil {
		b.upper = *x - guard
	}
	return b
}

func passChance(l timing.JudgedLimit) float64 {
	switch l.Verdict {
	case metrology.Pass:
		return 1
	case metrology.Fail:
		return 0
	}
	return l.ProbabilityOfConformity
}

// judgeNormals are the standard normal numbers that rates are drawn with, enough for six positions at all states.
var judgeNormals = sync.OnceValue(func() []float64 { return normals(draws*6*timing.MaxStates, 1, 2) })

// drawn returns n of them.
func drawn(from, n int) []float64 {
	z := judgeNormals()
	if from+n > len(z) { // a run may have more states than a sheet
		from %= len(z) - n + 1
	}
	return z[from : from+n]
}

// simulate returns the share of draws that meet all limits.
func (f *Fit) simulate(out Forecast, limits []bounded) float64 {
	n := len(out.Rates)
	cov := mat.NewSymDense(n, nil)
	cov.CopySym(out.cov)
	noise := f.repeat
	for i := range n {
		cov.SetSym(i, i, cov.At(i, i)+noise*noise)
	}
	var chol mat.Cholesky
	if !chol.Factorize(cov) {
		return 0
	}
	var lower mat.TriDense
	chol.LTo(&lower)
	l := lower.RawTriangular()
	set := f.options.Limits.Positions
	if len(set) == 0 {
		set = timing.Positions()
	}
	needed := make([]bool, n)
	for i, r := range out.Rates {
		needed[i] = slices.Contains(set, r.Position)
	}
	y := make([]float64, n)
	met := 0
	for draw := range draws {
		z := drawn(draw*n, n)
		for i := range y {
			y[i] = out.Rates[i].Rate.Value
			for j := 0; j <= i; j++ {
				y[i] += l.Data[i*l.Stride+j] * z[j]
			}
		}
		if meetsAll(out.Rates, needed, y, limits) {
			met++
		}
	}
	return float64(met) / draws
}

// sums of one draw.
type sums struct{ all, flat, hung, later, n, nFlat, nHung, nLater, low, high float64 }

func meetsAll(rates []ExpectedRate, needed []bool, y []float64, limits []bounded) bool {
	s := sums{low: math.Inf(1), high: math.Inf(-1)}
	for i, r := range rates {
		if !needed[i] {
			continue
		}
		switch {
		case r.Hours < 0.005:
			s.add(r.Position.Horizontal(), y[i])
		case math.Abs(r.Hours-24) < 0.005:
			s.later, s.nLater = s.later+y[i], s.nLater+1
		}
	}
	for _, l := range limits {
		x := s.of(l.key)
		if x < l.lower || x > l.upper {
			return false
		}
	}
	return true
}

func (s *sums) add(flat bool, y float64) {
	s.all, s.n = s.all+y, s.n+1
	s.low, s.high = math.Min(s.low, y), math.Max(s.high, y)
	if flat {
		s.flat, s.nFlat = s.flat+y, s.nFlat+1
	} else {
		s.hung, s.nHung = s.hung+y, s.nHung+1
	}
}

func (s sums) of(key timing.Key) float64 {
	switch key {
	case timing.MeanRate:
		return s.all / s.n
	case timing.DeltaRate:
		return s.high - s.low
	case timing.HorizontalLessVertical:
		return s.flat/s.nFlat - s.hung/s.nHung
	}
	return s.later/s.nLater - s.all/s.n // isochronism
}
