package acoustic

import (
	"math"

	"gonum.org/v1/gonum/blas/blas32"
)

// Noise of a room is not white, and the likelihoods below take it for white. Where it is far from white the sound is
// passed through the prediction error filter of its quiet stretches (Makhoul, Linear prediction: a tutorial review,
// Proc. IEEE 63, 1975): its output is white, and as it is causal with its first tap 1, onsets stay where they are.

const (
	whitenOrder = 12
	// whitenGain is the ratio of the noise's power before and after that makes the filter worth its time.
	whitenGain = 1.25
)

// silent is the rms of a sample below which a recorder gave no sound at all: half of the last of 24 bits.
const silent = 1.0 / (1 << 24)

// silentBin is the energy of a bin so quiet.
func (b *block) silentBin() float32 { return float32(silent * silent * b.rateHz / b.binHz) }

// quietStretches calls visit with the stretches of y in which bins are no louder than usual, at most most samples. Where
// the recorder gave nothing there is nothing to be learnt of the room.
func (b *block) quietStretches(visit func([]float32), most int) {
	perBin := int(math.Round(b.rateHz / b.binHz))
	least, bound := b.silentBin(), float32(1.6)*float32(b.medianBin())
	const run = 12 // bins: 6 ms
	step := max(run, len(b.bins)*perBin*run/(most*4)/run*run)
	for i := 0; i+run <= len(b.bins) && most > 0; i += step {
		quiet := true
		for _, e := range b.bins[i : i+run] {
			quiet = quiet && e <= bound && e > least
		}
		if quiet {
			visit(b.y[i*perBin : (i+run)*perBin])
			most -= run * perBin
		}
	}
}

func (b *block) medianBin() float64 { return medianEnergy(b.bins, b.silentBin()) }

// medianEnergy returns the median energy of the bins above least, of a sample of them where they are many.
func medianEnergy(bins []float32, least float32) float64 {
	some := make([]float64, 0, 4096)
	step := max(1, len(bins)/2048)
	for i := 0; i < len(bins); i += step {
		if bins[i] > least {
			some = append(some, float64(bins[i]))
		}
	}
	return median(some)
}

// binEnergies returns the energy of y by bins, n of them.
func binEnergies(y []float32, perBin, n int) []float32 {
	bins := make([]float32, n)
	for i := range bins {
		w := y[i*perBin : (i+1)*perBin]
		bins[i] = float32(dot(w, w))
	}
	return bins
}

// predictor returns the prediction error filter of the quiet stretches, by the autocorrelation method and Levinson's
// recursion, the noise's power and what is left of it.
func (b *block) predictor() (filter [whitenOrder + 1]float64, power, left float64) {
	var r [whitenOrder + 1]float64
	var n float64
	b.quietStretches(func(y []float32) {
		for k := range r {
			r[k] += dot(y[:len(y)-k], y[k:])
		}
		n += float64(len(y))
	}, 1<<17)
	filter[0] = 1
	if n == 0 || r[0] <= 0 {
		return filter, 0, 0
	}
	power = r[0] / n
	left = r[0] * (1 + 1e-6)
	for m := 1; m <= whitenOrder; m++ {
		sum := r[m]
		for k := 1; k < m; k++ {
			sum += filter[k] * r[m-k]
		}
		reflection := -sum / left
		next := filter
		for k := 1; k < m; k++ {
			next[k] = filter[k] + reflection*filter[m-k]
		}
		next[m] = reflection
		filter = next
		left *= 1 - reflection*reflection
	}
	return filter, power, left / n
}

// whiten passes y through the prediction error filter where that is worth it.
func (b *block) whiten() {
	filter, power, left := b.predictor()
	if left <= 0 || power < whitenGain*left {
		return
	}
	out := make([]float32, len(b.y))
	copy(out, b.y)
	// In pieces that stay in the cache.
	const piece = 1 << 12
	for a := 0; a < len(out); a += piece {
		e := min(a+piece, len(out))
		for k := 1; k <= whitenOrder; k++ {
			from := max(a, k)
			if from >= e {
				continue
			}
			blas32.Axpy(float32(filter[k]),
				blas32.Vector{N: e - from, Inc: 1, Data: b.y[from-k : e-k]},
				blas32.Vector{N: e - from, Inc: 1, Data: out[from:e]})
		}
	}
	b.y = out
	b.bins = binEnergies(out, int(math.Round(b.rateHz/b.binHz)), len(b.bins))
}
