package chronometer

import (
	"math"
	"math/rand/v2"
)

// endings simulates how a trial may end.
type endings struct {
	known    [Days + 1]float64
	unknown  []int // days to come
	designs  []vector
	measured float64 // variance of a measurement to come, (s/d)²

	lower, upper [7]float64 // in the order of Criteria
	settled      [7]bool    // known from the known days alone
	within       [7]bool    // and how they came out
}

func newEndings(category Category, rates Rates, j Judgement) *endings {
	e := &endings{known: rates.value}
	known := rates.Known()
	for _, day := range known {
		e.measured += rates.cov[day][day] / float64(len(known))
	}
	for day := 1; day <= Days; day++ {
		if rates.exact[day] == nil {
			e.unknown = append(e.unknown, day)
			e.designs = append(e.designs, design(programme[day-1]))
		}
	}
	for i, r := range j.Results {
		e.lower[i], e.upper[i] = math.Inf(-1), math.Inf(1)
		if r.Limits.Lower != nil {
			e.lower[i] = *r.Limits.Lower
		}
		if r.Limits.Upper != nil {
			e.upper[i] = *r.Limits.Upper
		}
		e.settled[i], e.within[i] = r.Standing != Open, r.Standing == Pass
	}
	return e
}

// count returns in how many of n endings all seven pass, and each. Scatters are drawn in proportion to their weights,
// evenly spread over the endings, which leaves less to chance than free draws.
func (e *endings) count(grid []posterior, n int, seed uint64) (all int, each [7]int) {
	const stream = 3159 // any constant: a seed alone tells forecasts apart
	random := rand.New(rand.NewPCG(seed, stream))
	at, below := 0, grid[0].weight
	for k := range n {
		for level := (float64(k) + 0.5) / float64(n); level > below && at < len(grid)-1; {
			at++
			below += grid[at].weight
		}
		p := &grid[at]
		m := e.known
		if len(e.unknown) > 0 {
			beta := p.draw(random)
			noise := math.Sqrt(p.sigma*p.sigma + e.measured)
			for i, day := range e.unknown {
				rate := noise * random.NormFloat64()
				for c, x := range e.designs[i] {
					rate += x * beta[c]
				}
				m[day] = rate
			}
		}
		ok := true
		for i, figure := range figures(&m) {
			within := figure >= e.lower[i] && figure <= e.upper[i]
			if e.settled[i] {
				within = e.within[i]
			}
			if within {
				each[i]++
			}
			ok = ok && within
		}
		if ok {
			all++
		}
	}
	return all, each
}

// figures computes the seven in floating point, in the order of Criteria, for rates that were simulated and need no
// exact decision.
func figures(m *[Days + 1]float64) [7]float64 {
	var mean, variation, greatest, deviation float64
	for day := 1; day <= firstTen; day += 2 {
		mean += (m[day] + m[day+1]) / firstTen
		d := math.Abs(m[day] - m[day+1])
		variation += d / pairs
		greatest = max(greatest, d)
	}
	for day := 1; day <= firstTen; day++ {
		deviation = max(deviation, math.Abs(m[day]-mean))
	}
	six := (m[1] + m[2]) / 2
	return [7]float64{mean, variation, greatest, six - (m[9]+m[10])/2, deviation,
		(m[13] - m[11]) / thermalSpanC, m[15] - six}
}
