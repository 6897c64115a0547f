package metrology

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// PowerLaw is the exponent α of a noise whose density of fractional frequency goes as the α-th power of the Fourier
// frequency (SP 1065, 3.2).
type PowerLaw int

// The noises.
const (
	RandomWalkFM PowerLaw = iota - 2
	FlickerFM
	WhiteFM
	FlickerPM
	WhitePM
)

// String returns the noise's name.
func (n PowerLaw) String() string {
	switch n {
	case RandomWalkFM:
		return "random walk of frequency"
	case FlickerFM:
		return "flicker of frequency"
	case WhiteFM:
		return "white frequency noise"
	case FlickerPM:
		return "flicker of phase"
	case WhitePM:
		return "white phase noise"
	}
	return fmt.Sprintf("PowerLaw(%d)", int(n))
}

// leastForNoise is how many means the lag-1 autocorrelation needs to tell the noise. SP 1065 is content with about 30;
// with those it errs in a sixth of all trials, and intervals come out too narrow.
const leastForNoise = 60

// noise tells the dominant noise at an averaging factor by the lag-1 autocorrelation of the means (Riley and
// Greenhall 2004; SP 1065, 5.5.3 to 5.5.4). Simplified: where the means are too few, that of the longest averaging
// time that has enough is taken; where none has, white frequency noise. Gaps enter as missing pairs.
func (s StabilitySeries) noise(m int) PowerLaw {
	for m > 1 && (len(s.x)-1)/m < leastForNoise {
		m = (m + 1) / 2
	}
	var means []float64
	for i := 0; i+m < len(s.x); i += m {
		d := s.x[i+m] - s.x[i]
		if s.gaps != nil && s.gaps[i+m] != s.gaps[i] {
			d = math.NaN()
		}
		means = append(means, d)
	}
	if len(means) < leastForNoise {
		return WhiteFM
	}
	differenced := 0
	for {
		r1, known := lagOne(means)
		if !known {
			return WhiteFM
		}
		d := r1 / (1 + r1)
		if d < 0.25 || differenced == 1 {
			alpha := -2 * (d + float64(differenced))
			return PowerLaw(math.Round(math.Max(float64(RandomWalkFM), math.Min(float64(WhitePM), alpha))))
		}
		for i := range len(means) - 1 {
			means[i] = means[i+1] - means[i]
		}
		means = means[:len(means)-1]
		differenced++
	}
}

// lagOne is the autocorrelation of neighbours; known is false when nothing varies or too little is left.
func lagOne(z []float64) (r float64, known bool) {
	mean, n := 0.0, 0
	for _, x := range z {
		if !math.IsNaN(x) {
			n++
			mean += (x - mean) / float64(n)
		}
	}
	var own, next float64
	pairs := 0
	for i, x := range z {
		if math.IsNaN(x) {
			continue
		}
		own += (x - mean) * (x - mean)
		if i+1 < len(z) && !math.IsNaN(z[i+1]) {
			next += (x - mean) * (z[i+1] - mean)
			pairs++
		}
	}
	if n < leastForNoise-1 || pairs == 0 || own == 0 {
		return 0, false
	}
	// Scaled for missing pairs, so that gaps don't pull the correlation to nought.
	r = next / own * float64(n-1) / float64(pairs)
	return math.Max(-0.9, math.Min(1, r)), true
}

// interval holds the deviation to 95 % (SP 1065, 5.3.1).
func (p Stability) interval() (lower, upper float64) {
	if p.DegreesOfFreedom <= 0 || math.IsNaN(p.DegreesOfFreedom) {
		return 0, math.Inf(1)
	}
	chi := distuv.ChiSquared{K: p.DegreesOfFreedom}
	at := func(q float64) float64 { return p.Deviation * math.Sqrt(p.DegreesOfFreedom/chi.Quantile(q)) }
	return at(0.975), at(0.025)
}

// coarse is how finely the autocovariance of a smooth kernel is summed at long averaging times.
const coarse = 64

// degreesOfFreedom returns the equivalent degrees of freedom of a statistic at averaging factor m of n phases, by the
// combined algorithm of Greenhall and Riley (2003; SP 1065, 5.4.1). Simplified: instead of its tables for long data
// the sum is taken whole, and at long averaging times over a coarser grid, where the kernel is smooth.
func degreesOfFreedom(kind Instability, noise PowerLaw, m, n int) float64 {
	d := kind.order()
	alpha := int(noise)
	stride := float64(m) // estimates in one averaging time
	if kind == Allan {
		stride = 1
	}
	filter := float64(m)
	span := float64(1 + m*d)
	if kind.modified() {
		filter, span = 1, float64(m*(1+d))
	}
	estimates := 1 + math.Floor(stride*(float64(n)-span)/float64(m))
	if estimates < 1 {
		return 0
	}
	smooth := kind.modified() || alpha <= 0
	if smooth && stride > coarse {
		estimates = math.Max(1, math.Floor(estimates*coarse/stride))
		stride = coarse
	}
	if alpha <= 0 && !kind.modified() {
		filter = math.Inf(1) // phases are instants, not means over an interval of the data
	}
	variance := squaredCovariances(estimates, stride, filter, alpha, d)
	return estimates / variance
}

// squaredCovariances sums the squared correlations of all estimates with one of them: BasicSum of SP 1065.
func squaredCovariances(estimates, stride, filter float64, alpha, d int) float64 {
	last := math.Min(estimates, float64(d+1)*stride)
	own := kernel(0, filter, alpha, d)
	sum := own * own
	for j := 1.0; j < last; j++ {
		c := kernel(j/stride, filter, alpha, d)
		sum += 2 * (1 - j/estimates) * c * c
	}
	c := kernel(last/stride, filter, alpha, d)
	sum += (1 - last/estimates) * c * c
	return sum / (own * own)
}

// kernel is s_z of SP 1065: the generalised autocovariance of d-th differences t averaging times apart.
func kernel(t, filter float64, alpha, d int) float64 {
	at := func(shift float64) float64 { return filtered(t+shift, filter, alpha) }
	if d == 3 {
		return 20*at(0) - 15*(at(-1)+at(1)) + 6*(at(-2)+at(2)) - (at(-3) + at(3))
	}
	return 6*at(0) - 4*(at(-1)+at(1)) + at(-2) + at(2)
}

// filtered is s_x: that of phase through the averaging filter.
func filtered(t, filter float64, alpha int) float64 {
	if math.IsInf(filter, 1) {
		return unfiltered(t, alpha+2)
	}
	return filter * filter * (2*unfiltered(t, alpha) - unfiltered(t-1/filter, alpha) - unfiltered(t+1/filter, alpha))
}

// unfiltered is s_w, |t| to an odd power, or to an even one times its logarithm.
func unfiltered(t float64, alpha int) float64 {
	t = math.Abs(t)
	if t == 0 {
		return 0
	}
	switch alpha {
	case 2:
		return -t
	case 1:
		return t * t * math.Log(t)
	case 0:
		return t * t * t
	case -1:
		return -t * t * t * t * math.Log(t)
	default: // random walk of frequency
		return -t * t * t * t * t
	}
}
