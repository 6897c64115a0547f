package acoustic

import (
	"math"

	"gonum.org/v1/gonum/blas/blas64"
)

// fold lays the loudness g over itself with a period of two beats and returns the mean at each point of it: a ring of as
// many points as the period has, to the nearest whole number, of which no turn is shifted by more than that. Between
// points it is interpolated, so that no comb of roundings arises.
func fold(g []float64, periodS float64, stepHz float64) []float64 {
	span := 2 * periodS * stepHz
	n := int(math.Round(span))
	if n < 8 {
		return nil
	}
	ring, turns, last := make([]float64, n), 0.0, 0
	for at := 0.0; ; at += span {
		first := int(at)
		last = min(n, len(g)-1-first)
		if last <= 0 {
			last = n
			break
		}
		w := at - float64(first)
		into := blas64.Vector{N: last, Inc: 1, Data: ring}
		blas64.Axpy(1-w, blas64.Vector{N: last, Inc: 1, Data: g[first:]}, into)
		blas64.Axpy(w, blas64.Vector{N: last, Inc: 1, Data: g[first+1:]}, into)
		if last < n {
			break
		}
		turns++
	}
	for i := range ring {
		if i < last && last < n { // of the turn that was not finished
			ring[i] /= turns + 1
		} else {
			ring[i] /= math.Max(turns, 1)
		}
	}
	return ring
}

// smoothRing returns the mean of each width points of the ring f, centred.
func smoothRing(f []float64, width int) []float64 {
	n := len(f)
	out := make([]float64, n)
	sum := 0.0
	at := func(i int) float64 { return f[((i%n)+n)%n] }
	for i := -width / 2; i < width-width/2; i++ {
		sum += at(i)
	}
	for i := range out {
		out[i] = sum / float64(width)
		sum += at(i+width-width/2) - at(i-width/2)
	}
	return out
}

// greatestBeatErrorShare bounds the beat error sought, as a share of the beat: a watch further out hardly runs.
const greatestBeatErrorShare = 0.09

// pairing is how well a folded loudness looks like the two swings of one watch.
type pairing struct {
	quality float64
	noise   float64 // of a point of the fold
	weaker  float64 // the weaker of the two bursts
	between float64 // the loudest midway between the bursts, the weaker side
	shift   int     // from the first burst to the second, in points of the fold
	at      int
}

// pair finds the two bursts of sound, about half a ring apart, that hold the most together.
func pair(f []float64) pairing {
	s := smoothRing(f, 3)
	n := len(s)
	half := n / 2
	within := max(1, int(greatestBeatErrorShare*float64(half)))
	var best pairing
	top := 0.0
	for i := 0; i < n; i++ {
		for d := half - within; d <= half+within; d++ {
			j := i + d
			if j >= n {
				j -= n
			}
			a, b := s[i], s[j]
			if sum := a + b; sum > top {
				top = sum
				best = pairing{at: i, shift: d, weaker: min(a, b)}
			}
		}
	}
	best.quality = top / 2
	best.noise = spread(s)
	best.between = min(loudestNear(s, best.at+best.shift/2, within), loudestNear(s, best.at+best.shift+(n-best.shift)/2,
		within))
	return best
}

// loudestNear returns the greatest value of the ring s within some points of i.
func loudestNear(s []float64, i, within int) float64 {
	n := len(s)
	top := math.Inf(-1)
	for k := i - within; k <= i+within; k++ {
		top = max(top, s[((k%n)+n)%n])
	}
	return top
}

// telling is how far over the fold's noise a burst must stand to be one.
const telling = 5

// halved reports whether every other beat was missed: there are bursts midway too.
func (p pairing) halved() bool { return p.between > telling*p.noise && p.between > 0.1*p.quality }

// lopsided reports whether one of the two bursts is none.
func (p pairing) lopsided() bool { return p.weaker < telling*p.noise }

// findCadence searches the loudness for the beat of a watch. stated is the beats per hour told, or 0.
func findCadence(g []float64, stepHz, stated float64) (cadence, bool) {
	if float64(len(g)) < stepHz {
		return cadence{}, false
	}
	l := spectrum(g, stepHz)
	low, high := leastBeatsPerHour*(1-offRate)/3600, greatestBeatsPerHour*(1+offRate)/3600
	if stated > 0 {
		low, high = stated*(1-offRate)/3600, stated*(1+offRate)/3600
	}
	found := l.combs(low, high, 6)
	if len(found) == 0 {
		return cadence{}, false
	}
	best, ok := l.choose(g, stepHz, found, low, high)
	if !ok {
		return cadence{}, false
	}
	return best, true
}

// kin are the ratios at which a comb is confused with another of the same watch: every other line, or lines of the
// two swings' difference taken for beats.
var kin = [...]float64{1, 0.5, 2, 2.0 / 3, 1.5, 1.0 / 3, 3}

// choose decides between the combs and their kin by folding: the watch is where two bursts half a ring apart hold
// the most loudness for the number of beats.
func (l lines) choose(g []float64, stepHz float64, found []peak, low, high float64) (cadence, bool) {
	var best cadence
	var bestWorth float64
	tried := map[int]bool{}
	for rank, p := range found {
		if rank > 2 && p.score < 0.5*found[0].score {
			break
		}
		for _, ratio := range kin {
			f := p.at * ratio
			key := int(f * 500)
			if f < low || f > high || tried[key] {
				continue
			}
			tried[key] = true
			f, score := l.refine(f, f/(highestLineHz*l.perHz)*2)
			if score < 4 {
				continue
			}
			periodS := 1 / f
			got := pair(fold(g, periodS, stepHz))
			beats := float64(len(g)) / stepHz * f
			worth := got.quality * math.Sqrt(beats)
			if got.lopsided() || got.halved() && 2*f <= high {
				worth *= 0.4
			}
			if u := nearestUsual(f * 3600); math.Abs(f*3600-u) < usualWithin*u {
				worth *= 1.1
			}
			if worth > bestWorth {
				bestWorth = worth
				first := float64(got.at) / stepHz
				best = cadence{periodS: periodS, score: score, phaseS: [2]float64{first, first + float64(got.shift)/stepHz}}
			}
		}
	}
	return best, bestWorth > 0
}
