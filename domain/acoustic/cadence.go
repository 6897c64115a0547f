package acoustic

import (
	"math"
	"slices"
)

// The beats per hour that are sought unaided.
const (
	leastBeatsPerHour    = 12000
	greatestBeatsPerHour = 43200
)

// usualBeatsPerHour are the values of calibres made in numbers. Common practice.
var usualBeatsPerHour = []float64{12000, 14400, 16200, 17280, 18000, 19800, 20160, 20222, 21000, 21306, 21600, 25200,
	28800, 32400, 36000, 43200}

const (
	// binsJoined bins make one point of the loudness that is searched for a cadence: a millisecond.
	binsJoined = 2
	// highestLineHz bounds the harmonics used: above it a beat's sounds, a few ms long, have little to say.
	highestLineHz = 300
	// lineCap bounds what one line of the spectrum may contribute, so that hum in the loudness cannot pass for a
	// comb.
	lineCap = 300
	// offRate is how far a watch may be from its nominal beat: 2 % is half an hour a day.
	offRate = 0.02
	// least usual: a watch further than this from a usual value is taken for an odd calibre.
	usualWithin = 0.004
)

// cadence is a train of beats: period in seconds, the time of the first tick and tock after the start.
type cadence struct {
	periodS  float64 // of one beat
	phaseS   [2]float64
	loudness []float64 // in which it was found
	score    float64   // of the comb: standard deviations above what noise gives
	echoes   bool      // the sounds of a beat die away slowly
}

// loudness turns bin energies into a curve in which a knock weighs little more than a beat: the
// logarithm of the energy over its median, its slow part taken away.
func loudness(bins []float32) []float64 {
	n := len(bins) / binsJoined
	g := make([]float64, n)
	for i := range g {
		var e float64
		for _, b := range bins[i*binsJoined : (i+1)*binsJoined] {
			e += float64(b)
		}
		g[i] = e
	}
	floor := middleOf(g, 2048)
	if floor <= 0 {
		floor = math.SmallestNonzeroFloat32
	}
	scale := 1 / floor
	for i, e := range g {
		g[i] = math.Log(1 + e*scale)
	}
	return flatten(g, binsPerS/binsJoined/4)
}

// middleOf returns the median of a sample of g of some most values.
func middleOf(g []float64, most int) float64 {
	step := max(1, len(g)/most)
	some := make([]float64, 0, len(g)/step+1)
	for i := 0; i < len(g); i += step {
		some = append(some, g[i])
	}
	return median(some)
}

// flatten takes the mean over ±half points from each point of g.
func flatten(g []float64, half int) []float64 {
	out := make([]float64, len(g))
	var sum float64 // of the points from a to b
	a, b := 0, 0
	for i, v := range g {
		for ; b < min(len(g), i+half+1); b++ {
			sum += g[b]
		}
		for ; a < i-half; a++ {
			sum -= g[a]
		}
		out[i] = v - sum/float64(b-a)
	}
	return out
}

// lines is the power spectrum of the loudness: each point over the noise around it, capped, less the one that noise
// has in the mean.
type lines struct {
	power []float64
	perHz float64 // points per hertz
}

func spectrum(g []float64, stepHz float64) lines {
	n := transformLength(len(g) + len(g)/3)
	plan := plans.take(n)
	defer plans.give(plan)
	copy(plan.padded, g)
	clear(plan.padded[len(g):])
	coefficients := plan.fft.Coefficients(plan.coefficients, plan.padded)
	perHz := float64(n) / stepHz
	top := min(len(coefficients), int(highestLineHz*perHz)+2)
	power := make([]float64, top)
	for i := range power {
		c := coefficients[i]
		power[i] = real(c)*real(c) + imag(c)*imag(c)
	}
	whiten(power, int(12*perHz))
	for i, p := range power {
		power[i] = math.Min(p, lineCap) - 1
	}
	return lines{power: power, perHz: perHz}
}

// transformLength returns the least length, from n on, of few small factors.
func transformLength(n int) int {
	best := math.MaxInt
	for _, odd := range [...]int{1, 3, 5, 9, 15} {
		length := odd
		for length < n {
			length *= 2
		}
		best = min(best, length)
	}
	return best
}

// whiten divides each stretch of the spectrum by its noise, taken as median/ln 2: power of noise is exponential.
// Lines of a comb are few among the points, so the median hardly sees them.
func whiten(power []float64, width int) {
	for a := 0; a < len(power); a += width {
		b := min(a+width, len(power))
		if a = max(0, b-width); b-a < 8 {
			return
		}
		noise := middleOf(power[a:b], 200) / math.Ln2
		if noise <= 0 {
			noise = math.SmallestNonzeroFloat64
		}
		for i := a; i < b; i++ {
			power[i] /= noise
		}
		if b == len(power) {
			return
		}
	}
}

// comb returns how far the lines at the multiples of f stand above noise, in standard deviations: each capped line
// of pure noise has mean and variance of nearly one.
func (l lines) comb(f float64) float64 {
	// In binary fractions of a point, half of one being added to round.
	const point = 1 << 32
	step := uint64(f * l.perHz * point)
	var sum float64
	count := 0
	for x := step + point/2; ; x += step {
		i := x / point
		if i >= uint64(len(l.power)) {
			break
		}
		sum += l.power[i]
		count++
	}
	if count == 0 {
		return 0
	}
	return sum / math.Sqrt(float64(count))
}

// refine climbs from f to the top of its comb.
func (l lines) refine(f, within float64) (best, score float64) {
	best, score = f, l.comb(f)
	for step := within; step > within/64; step /= 2 {
		for moved := true; moved; {
			moved = false
			for _, at := range [2]float64{best - step, best + step} {
				if s := l.comb(at); s > score {
					best, score, moved = at, s, true
				}
			}
		}
	}
	return best, score
}

// combs returns the tops of the comb score between two beat frequencies, best first, at most most.
func (l lines) combs(low, high float64, most int) []peak {
	var found []peak
	// The highest line moves by half a resolution from one trial to the next.
	f := low
	before, here := 0.0, 0.0
	atHere := f
	for ; f <= high; f += f / (highestLineHz * l.perHz) {
		next := l.comb(f)
		if here > before && here >= next && here > 4 {
			found = append(found, peak{at: atHere, score: here})
		}
		before, here, atHere = here, next, f
	}
	slices.SortFunc(found, func(a, b peak) int { return compare(b.score, a.score) })
	var kept []peak
	for _, p := range found {
		near := func(k peak) bool { return math.Abs(k.at-p.at) < 0.004*p.at }
		if !slices.ContainsFunc(kept, near) {
			kept = append(kept, p)
		}
		if len(kept) == most {
			break
		}
	}
	return kept
}

type peak struct{ at, score float64 }

func compare(a, b float64) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}

// nearestUsual returns the usual beats per hour nearest to found.
func nearestUsual(found float64) float64 {
	best := usualBeatsPerHour[0]
	for _, u := range usualBeatsPerHour {
		if math.Abs(u-found) < math.Abs(best-found) {
			best = u
		}
	}
	return best
}

// nominal returns the beats per hour that a watch found to beat found times an hour was made for.
func nominal(found float64) float64 {
	if u := nearestUsual(found); math.Abs(found-u) <= usualWithin*u {
		return u
	}
	return math.Round(found)
}
