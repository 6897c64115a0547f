package acoustic

import "math"

// Noise is not everywhere the same. What a codec leaves out of a frame it makes up for by noise that spreads over the
// whole frame, before a loud sound too; echoes of other sounds, and a recorder that rides the gain, come and go with the
// beats. All of it differs from beat to beat, which the watch hardly does: so how much neighbouring beats differ at
// each place tells the noise there.

const (
	// noiseWidthMs is over how much the noise is averaged, and noiseLagMs how long before a place it is taken: what
	// differs from the onset on is of the sound itself, as its loudness, and no noise to it.
	noiseWidthMs, noiseLagMs = 0.5, 0.25
)

// lagged averages the squares d over the half millisecond that ends a little before each place.
func lagged(d []float64, rateHz float64) []float64 {
	width, lag := max(1, int(noiseWidthMs*1e-3*rateHz)), int(noiseLagMs*1e-3*rateHz)
	sums := make([]float64, len(d)+1)
	for i, v := range d {
		sums[i+1] = sums[i] + v
	}
	out := make([]float64, len(d))
	for i := range out {
		end := min(max(i-lag, width), len(d))
		out[i] = (sums[end] - sums[max(0, end-width)]) / float64(min(width, end))
	}
	return out
}

// unrest returns, for each place of the window, the variance that the noise there gives the average of the beats in
// use, by the differences of neighbouring beats.
func (s *sounds) unrest(rateHz float64) []float64 {
	d := make([]float64, s.length)
	before := make([]float32, s.length)
	bound := s.loudBound()
	n := 0
	for i, c := range s.centres {
		if !s.use[i] || !s.room(c+s.lags[i], 0) || s.plainEnergy(i) > bound {
			continue
		}
		s.cut(s.work, c+s.lags[i])
		if n > 0 {
			for k, v := range s.work {
				e := float64(v - before[k])
				d[k] += e * e
			}
		}
		before, s.work = s.work, before
		n++
	}
	scale := 1 / (2 * math.Max(1, float64(n-1)) * math.Max(1, float64(n)))
	for k := range d {
		d[k] *= scale
	}
	return lagged(d, rateHz)
}
