package acoustic

import "math"

// An onset is found as the moment from which the averaged sound is louder than noise can be: the likelihood that its
// samples, of standard deviation σ before, have from there on the variance σ² + E·exp(−t/τ), against noise alone,
// for the loudness E that fits and the best of a few decay times τ. This is the generalised likelihood ratio for a
// change (Basseville and Nikiforov, Detection of Abrupt Changes, 1993, 2.4.3), the form of the burst being ours.

// burst is one shape of sound: its weights on the squared samples, and what noise would give.
type burst struct {
	weights []float64
	bias    float64
}

// bursts are the shapes tried, for one sampling rate.
type bursts struct {
	decays []float64 // samples
	table  [][]burst // by decay, by loudness
	width  int       // samples of which an onset's loudness is told
	rateHz float64
	ring   float64 // of a sound's level, what may ring just before it
}

const (
	// Loudness is tabled in steps of 2 dB from 10 dB below the noise to 70 dB over it.
	burstLeastDB = -10
	burstStepDB  = 2
	burstSteps   = 41
)

func newBursts(rateHz float64) *bursts {
	b := &bursts{width: int(0.4e-3 * rateHz), rateHz: rateHz}
	for _, ms := range [...]float64{0.12, 0.3, 0.7, 1.6} {
		tau := ms * 1e-3 * rateHz
		b.decays = append(b.decays, tau)
		row := make([]burst, burstSteps)
		for k := range row {
			e := math.Pow(10, (burstLeastDB+float64(k)*burstStepDB)/10)
			n := int(3 * tau)
			w := make([]float64, n)
			var bias float64
			for j := range w {
				v := e * math.Exp(-float64(j)/tau)
				w[j] = 0.5 * v / (1 + v)
				bias += 0.5 * math.Log1p(v)
			}
			row[k] = burst{w, bias}
		}
		b.table = append(b.table, row)
	}
	return b
}

// likelihood returns for each place in z, the squared samples over the noise's variance, the log-likelihood ratio of
// an onset there. Samples from end on are left out.
func (b *bursts) likelihood(dst []float64, z []float64, end int) []float64 {
	dst = dst[:0]
	for range end {
		dst = append(dst, 0)
	}
	for d, tau := range b.decays {
		forget := math.Exp(-1 / tau)
		gain := 1 - forget
		mean := 0.0
		for i := end - 1; i >= 0; i-- {
			mean = forget*mean + gain*z[i]
			loud := 2 * (mean - 1)
			if loud < 0.1 {
				continue
			}
			k := min(max(0, int((10*math.Log10(loud)-burstLeastDB)/burstStepDB+0.5)), burstSteps-1)
			shape := b.table[d][k]
			n := min(len(shape.weights), end-i)
			sum := -shape.bias
			w := shape.weights[:n]
			for j, v := range z[i : i+n] {
				sum += w[j] * v
			}
			if sum > dst[i] {
				dst[i] = sum
			}
		}
	}
	return dst
}

// place is an onset found: its place in samples, with standard uncertainty, its log-likelihood ratio, and by what the
// level grows there.
type place struct {
	at, std, ratio, step float64
}

// range of loudness within which the shapes of bursts are compared. Real bursts aren't exponential, and far above
// the noise their misfit would outweigh where they begin.
const comparedRange = 2000

// limited returns z with its noise raised so far that its loudest stretch lies within comparedRange.
func limited(z []float64, width int) []float64 {
	sum, most := 0.0, 0.0
	for i, v := range z {
		sum += v
		if i >= width {
			sum -= z[i-width]
		}
		most = max(most, sum)
	}
	over := max(1, most/float64(width)/comparedRange)
	out := make([]float64, len(z))
	for i, v := range z {
		out[i] = v / over
	}
	return out
}

// sharpen finds the onset near at exactly: the place from which on to a common end the samples speak most for the
// loudness that follows at. It looks back from reach samples after at, for as long as the sound has not been quiet
// for some while: what lies before a pause is another sound. width samples after the onset tell its loudness; no sample
// before from or from to on counts.
func sharpen(z []float64, at, reach, width, from, to int) place {
	// The loudest stretch near tells the loudness, its loudest sample where to look back from.
	far := min(at+5*reach/2, to)
	start := max(from, at-reach)
	loud, sum, end := 0.0, 0.0, start
	for i := start; i < far; i++ {
		sum += z[i]
		if i >= start+width {
			sum -= z[i-width]
		}
		loud = max(loud, sum)
		if z[i] > z[end] {
			end = i
		}
	}
	end++
	loud = max(loud/float64(width)-1, 0.5)
	weight, bias := 0.5*loud/(1+loud), 0.5*math.Log1p(loud)
	from = max(from, at-3*reach)
	l := make([]float64, max(1, end-from))
	sum = 0
	most := math.Inf(-1)
	best, first := end-1, end-1
	for i := end - 1; i >= from; i-- {
		sum += weight*z[i] - bias
		l[i-from] = sum
		first = i
		if sum > most {
			most, best = sum, i
		}
		if i < at && sum < most-pause {
			break
		}
	}
	p := settlePlace(l[first-from:], best-first, 12)
	p.at += float64(first)
	return p
}

// pause is the log-likelihood ratio lost that makes a quiet spell a pause between two sounds.
const pause = 25

// settlePlace turns the likelihood around its top into the mean and the standard deviation of the onset's place,
// every sample being as likely beforehand.
func settlePlace(l []float64, best, within int) place {
	a, b := max(0, best-within), min(len(l), best+within+1)
	peak := l[best]
	var sum, first, second float64
	for i := a; i < b; i++ {
		w := math.Exp(l[i] - peak)
		d := float64(i - best)
		sum += w
		first += w * d
		second += w * d * d
	}
	mean := first / sum
	return place{at: float64(best) + mean, std: math.Sqrt(math.Max(0, second/sum-mean*mean) + 1.0/12), ratio: peak}
}

func argmax(x []float64) int {
	best := 0
	for i, v := range x {
		if v > x[best] {
			best = i
		}
	}
	return best
}
