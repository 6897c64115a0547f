package acoustic

import "math"

// What sounds before a sound hides where it begins: the tail of the sound before it, echoes, or the ringing that a
// codec's filters put before a loud sound, the same in every beat. So an onset is where the level steps up: the place
// that parts the likeliest two levels of Gaussian sound, one of the stretch before and one of that after (the
// generalised likelihood ratio for a change of variance, Basseville and Nikiforov as in onset.go).
const (
	riseBeforeMs, riseAfterMs = 0.8, 0.4
	// rimMs is left out before an onset when the level before it is told: a soft attack begins there.
	rimMs = 0.1
)

// levels are running sums of squares over the variance of the noise.
type levels struct {
	sums                []float64
	before, after, rimN int
}

func newLevels(z []float64, rateHz float64) levels {
	l := levels{sums: make([]float64, len(z)+1), before: max(4, int(riseBeforeMs*1e-3*rateHz)),
		after: max(3, int(riseAfterMs*1e-3*rateHz)), rimN: int(rimMs * 1e-3 * rateHz)}
	for i, v := range z {
		l.sums[i+1] = l.sums[i] + v
	}
	return l
}

// mean returns the mean level from a to b, at least that of noise.
func (l levels) mean(a, b int) float64 {
	a, b = max(0, a), min(len(l.sums)-1, b)
	if b <= a {
		return 1
	}
	return math.Max(1, (l.sums[b]-l.sums[a])/float64(b-a))
}

// ahead is the level before an onset at k.
func (l levels) ahead(k int) float64 { return l.mean(k-l.before-l.rimN, k-l.rimN) }

// step returns by what the level grows at k, as a ratio.
func (l levels) step(k int) float64 { return l.mean(k, k+l.after) / l.ahead(k) }

// likelihood is the log-likelihood ratio of a step up at k.
func (l levels) likelihood(k int) float64 {
	a, b := l.mean(k-l.before, k), l.mean(k, k+l.after)
	if b <= a {
		return 0
	}
	na, nb := float64(l.before), float64(l.after)
	return 0.5 * ((na+nb)*math.Log((na*a+nb*b)/(na+nb)) - na*math.Log(a) - nb*math.Log(b))
}

// steepest returns the place of the likeliest step up of from to to.
func (l levels) steepest(from, to int) int {
	best, most := from, math.Inf(-1)
	for k := from; k < to; k++ {
		if v := l.likelihood(k); v > most {
			best, most = k, v
		}
	}
	return best
}

// ringShare is the level, over a sound's own, that what a codec lets ring before it may reach just before it. Counted.
const ringShare = 0.03

// sharpenRise finds the onset between from and to exactly, against what sounds before it.
func sharpenRise(z []float64, from, to int, shapes *bursts) place {
	l := newLevels(z, shapes.rateHz)
	at := l.steepest(from, to)
	step := l.step(at)
	if before := l.ahead(at); before > restless {
		before = math.Max(before, shapes.ring*l.mean(at, at+l.after))
		for i := range z {
			z[i] /= before
		}
	}
	p := sharpen(z, at, shapes.width, shapes.width, 0, len(z))
	p.step = step
	return p
}
