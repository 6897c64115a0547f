package metrology

import (
	"errors"
	"fmt"
	"math"
)

// Source of this file: W. J. Riley, D. A. Howe, Handbook of Frequency Stability Analysis, NIST Special Publication
// 1065 (2008), chapter 5.

// Instability names a statistic of the instability of a frequency.
type Instability uint8

// The statistics. All but TimeDeviation have the unit of the frequency data, which is 1 for fractional frequencies;
// TimeDeviation is in seconds times that unit.
const (
	Allan               Instability = iota // of successive means, SP 1065, 5.2.2
	OverlappingAllan                       // of all means: more sure of the same figure, 5.2.4
	ModifiedAllan                          // tells white from flicker phase noise, 5.2.5
	TimeDeviation                          // τ/√3 of the modified Allan deviation, 5.2.6
	OverlappingHadamard                    // blind to a steady drift of the frequency, 5.2.9
)

// String returns the statistic's name.
func (k Instability) String() string {
	switch k {
	case Allan:
		return "Allan deviation"
	case OverlappingAllan:
		return "overlapping Allan deviation"
	case ModifiedAllan:
		return "modified Allan deviation"
	case TimeDeviation:
		return "time deviation"
	case OverlappingHadamard:
		return "overlapping Hadamard deviation"
	}
	return fmt.Sprintf("Instability(%d)", uint8(k))
}

// order is that of the differences of phase which the statistic squares.
func (k Instability) order() int {
	if k == OverlappingHadamard {
		return 3
	}
	return 2
}

func (k Instability) modified() bool { return k == ModifiedAllan || k == TimeDeviation }

// Stability is one point of a stability curve.
type Stability struct {
	TauS      float64 // averaging time, in s
	Averaged  int     // TauS in intervals of the data
	Deviation float64
	// Lower and Upper hold the deviation to 95 %, from a chi-squared distribution with DegreesOfFreedom.
	Lower, Upper     float64
	DegreesOfFreedom float64 // equivalent, fractional
	Noise            PowerLaw
	Terms            int // squared differences that entered
}

// StabilitySeries is evenly spaced data of frequency or phase. Make it with FrequencySeries or PhaseSeries.
type StabilitySeries struct {
	tau0S float64
	x     []float64 // phase; NaN where missing
	gaps  []int     // missing frequencies before each x; nil when none is missing
}

// ErrSeries reports data that are no series: fewer than three frequencies, or one that is infinite.
var ErrSeries = errors.New("at least three figures, none of them infinite, at a positive interval are needed")

// FrequencySeries takes fractional frequencies, each the mean over tau0S seconds that follow each other at once. NaN
// stands for a missing one: differences that would reach over it are left out.
func FrequencySeries(frequencies []float64, tau0S float64) (StabilitySeries, error) {
	if !(tau0S > 0) || math.IsInf(tau0S, 0) {
		return StabilitySeries{}, ErrSeries
	}
	mean, n := 0.0, 0
	for _, y := range frequencies {
		if math.IsInf(y, 0) {
			return StabilitySeries{}, ErrSeries
		}
		if !math.IsNaN(y) {
			n++
			mean += (y - mean) / float64(n)
		}
	}
	if n < 3 {
		return StabilitySeries{}, ErrSeries
	}
	s := StabilitySeries{tau0S: tau0S, x: make([]float64, len(frequencies)+1)}
	if n < len(frequencies) {
		s.gaps = make([]int, len(frequencies)+1)
	}
	for i, y := range frequencies {
		s.x[i+1] = s.x[i]
		if !math.IsNaN(y) {
			s.x[i+1] += (y - mean) * tau0S // the mean has no part in any difference; without it the sum stays small
		}
		if s.gaps != nil {
			s.gaps[i+1] = s.gaps[i]
			if math.IsNaN(y) {
				s.gaps[i+1]++
			}
		}
	}
	return s, nil
}

// PhaseSeries takes phases (time errors, in s) every tau0S seconds. NaN stands for a missing one: differences that
// need it are left out.
func PhaseSeries(phases []float64, tau0S float64) (StabilitySeries, error) {
	known := 0
	for _, x := range phases {
		if math.IsInf(x, 0) {
			return StabilitySeries{}, ErrSeries
		}
		if !math.IsNaN(x) {
			known++
		}
	}
	if known < 4 || !(tau0S > 0) || math.IsInf(tau0S, 0) {
		return StabilitySeries{}, ErrSeries
	}
	return StabilitySeries{tau0S: tau0S, x: phases}, nil
}

// Octaves are the averaging factors 1, 2, 4 and so on of which the data hold at least three spans.
func (s StabilitySeries) Octaves() []int {
	var out []int
	for m := 1; 3*m <= len(s.x)-1; m *= 2 {
		out = append(out, m)
	}
	return out
}

// Curve returns the statistic at every octave where the data, with their gaps, have at least one difference of it.
func (s StabilitySeries) Curve(kind Instability) []Stability {
	var curve []Stability
	for _, m := range s.Octaves() {
		if p, found := s.At(kind, m); found {
			curve = append(curve, p)
		}
	}
	return curve
}

// At returns the statistic at an averaging time of m intervals, in time proportional to the length of the data. found
// is false where the data have no difference of it.
func (s StabilitySeries) At(kind Instability, m int) (p Stability, found bool) {
	order := kind.order()
	if m < 1 || m > (len(s.x)-1)/order {
		return Stability{}, false
	}
	var sum float64
	var terms, possible int
	switch {
	case kind.modified():
		sum, terms, possible = s.averagedSquares(m)
	case kind == Allan:
		sum, terms, possible = s.squares(order, m, m)
	default:
		sum, terms, possible = s.squares(order, m, 1)
	}
	if terms == 0 {
		return Stability{}, false
	}
	p = Stability{TauS: float64(m) * s.tau0S, Averaged: m, Terms: terms, Noise: s.noise(m)}
	// Σ of squared binomial coefficients' share: 2 for second, 6 for third differences.
	norm := map[int]float64{2: 2, 3: 6}[order]
	p.Deviation = math.Sqrt(sum/float64(terms)/norm) / p.TauS
	if kind == TimeDeviation {
		p.Deviation *= p.TauS / math.Sqrt(3)
	}
	p.DegreesOfFreedom = degreesOfFreedom(kind, p.Noise, m, len(s.x)) * float64(terms) / float64(possible)
	p.Lower, p.Upper = p.interval()
	return p, true
}

// squares sums the squared differences of phase, beginning every stride-th point.
func (s StabilitySeries) squares(order, m, stride int) (sum float64, terms, possible int) {
	for i := 0; i+order*m < len(s.x); i += stride {
		possible++
		if d := s.difference(order, i, m); !math.IsNaN(d) {
			sum += d * d
			terms++
		}
	}
	return sum, terms, possible
}

// averagedSquares sums the squares of second differences averaged over m neighbours. The average moves along by one
// difference that enters and one that leaves.
func (s StabilitySeries) averagedSquares(m int) (sum float64, terms, possible int) {
	last := len(s.x) - 1 - 2*m // beginning of the last difference
	inside, missing := 0.0, 0
	for i := 0; i <= last; i++ {
		if d := s.difference(2, i, m); math.IsNaN(d) {
			missing++
		} else {
			inside += d
		}
		if i >= m {
			if d := s.difference(2, i-m, m); math.IsNaN(d) {
				missing--
			} else {
				inside -= d
			}
		}
		if i < m-1 {
			continue
		}
		possible++
		if missing == 0 {
			mean := inside / float64(m)
			sum += mean * mean
			terms++
		}
	}
	return sum, terms, possible
}

// difference is that of phases m apart, beginning at i; NaN where a figure is missing.
func (s StabilitySeries) difference(order, i, m int) float64 {
	if s.gaps != nil && s.gaps[i+order*m] != s.gaps[i] {
		return math.NaN()
	}
	x := s.x
	if order == 3 {
		return x[i+3*m] - 3*x[i+2*m] + 3*x[i+m] - x[i]
	}
	return x[i+2*m] - 2*x[i+m] + x[i]
}
