package recorder

import (
	"math"
	"slices"
)

const (
	// standsOut is how many robust standard deviations of the folded sound a pulse must stand above it. The fold is looked
	// at in 41 periods × 1000 phases; of as many normal figures the greatest is about 4.2.
	standsOut = 7
	// leastExcess is the least that the logarithm of a pulse's energy in a millisecond stands above: 0.3 is 1.3 dB.
	leastExcess = 0.3
	// sameStrength is within how much of the pulse's own strength another phase is one more pulse a second: ln 10 is 10
	// dB.
	sameStrength = math.Ln10
	// ownMs is how far from its peak a pulse's own rebound may reach. The fastest watches beat every 83 ms.
	ownMs        = 60
	binsASecond  = 1000
	periodStep   = 50 // ppm
	shapeBefore  = 10 // ms before the peak that are looked at
	shapeAfter   = 20 // ms after it
	shapeMarginN = 1  // ms added at both ends
	medoidOf     = 12
)

// learn finds a train of one pulse a second in some twenty seconds of filtered sound. The error is ErrNoPulses or
// ErrManyPulses.
func learn(sound []float32, base int64, rateHz float64) (*follower, error) {
	bins := loudness(sound, rateHz)
	peak, err := fold(bins)
	if err != nil {
		return nil, err
	}
	from, to := peak.extent()
	binN := rateHz / binsASecond
	length := int(float64(to-from) * binN)
	search := int(searchMs * binN)
	w := &follower{period: peak.period * binN, search: search}
	w.due = (float64(peak.phase) + 0.5) * binN
	ahead := int(float64(peak.phase-from) * binN)
	var pieces [2][][]float32
	for k := int64(0); ; k++ {
		start := int(w.due+float64(k)*w.period) - ahead - search
		if start+length+2*search > len(sound) {
			break
		}
		if start >= 0 {
			pieces[k&1] = append(pieces[k&1], sound[start:start+length+2*search])
		}
	}
	for parity := range pieces {
		s, ok := average(pieces[parity], length, search, ahead)
		if !ok {
			return nil, ErrNoPulses
		}
		w.pulse[parity] = s
	}
	w.due += float64(base)
	return w, nil
}

// loudness is the logarithm of the energy in each millisecond. Digital silence is given a floor far below what is
// heard, so that it stays finite.
func loudness(sound []float32, rateHz float64) []float64 {
	step := rateHz / binsASecond
	bins := make([]float64, int(float64(len(sound))/step))
	greatest := 0.0
	for i := range bins {
		for _, x := range sound[int(float64(i)*step):int(float64(i+1)*step)] {
			bins[i] += float64(x) * float64(x)
		}
		greatest = max(greatest, bins[i])
	}
	floor := greatest*1e-9 + 1e-30
	for i := range bins {
		bins[i] = math.Log(bins[i] + floor)
	}
	return bins
}

// peak is where a folded second stands out.
type peak struct {
	period  float64 // bins
	phase   int     // bin
	profile []float64
	centre  float64 // of the profile
	spread  float64 // its robust standard deviation
}

// fold looks for the period, within ±1000 ppm of a second, at which one phase stands out most.
func fold(bins []float64) (peak, error) {
	best, most := peak{}, 0.0
	for ppm := -maxPPM; ppm <= maxPPM; ppm += periodStep {
		period := binsASecond * (1 + float64(ppm)*1e-6)
		profile := folded(bins, period)
		if len(profile) == 0 {
			return peak{}, ErrNoPulses
		}
		if top := slices.Max(profile); best.profile == nil || top > most {
			best, most = peak{period: period, phase: slices.Index(profile, top), profile: profile}, top
		}
	}
	best.centre = median(best.profile)
	off := make([]float64, len(best.profile))
	for i, v := range best.profile {
		off[i] = math.Abs(v - best.centre)
	}
	best.spread = max(madToSigma*median(off), 0.02)
	if !best.out(best.phase) {
		return peak{}, ErrNoPulses
	}
	for i, v := range best.profile {
		if apart := abs(i - best.phase); min(apart, binsASecond-apart) > ownMs && best.out(i) &&
			v > best.profile[best.phase]-sameStrength {
			return peak{}, ErrManyPulses
		}
	}
	return best, nil
}

// out reports whether a phase stands out of the folded second.
func (p peak) out(i int) bool {
	return p.profile[i]-p.centre > max(standsOut*p.spread, leastExcess)
}

func abs(i int) int { return max(i, -i) }

// folded is the median over the seconds at each phase.
func folded(bins []float64, period float64) []float64 {
	seconds := int(float64(len(bins)-1)/period) - 1
	if seconds < 6 {
		return nil
	}
	profile, column := make([]float64, binsASecond), make([]float64, seconds)
	for phase := range profile {
		for k := range column {
			column[k] = bins[phase+int(float64(k)*period+0.5)]
		}
		slices.Sort(column)
		profile[phase] = column[seconds/2]
	}
	return profile
}

// extent is the stretch of bins round the peak that the pulse is heard in, its margins included.
func (p peak) extent() (from, to int) {
	limit := max(p.spread*3, (p.profile[p.phase]-p.centre)*0.15)
	loud := func(offset int) bool {
		return p.profile[((p.phase+offset)%binsASecond+binsASecond)%binsASecond]-p.centre > limit
	}
	first, last := 0, 0
	for i := 1; i <= shapeBefore; i++ {
		if loud(-i) {
			first = -i
		}
	}
	for i := 1; i <= shapeAfter; i++ {
		if loud(i) {
			last = i
		}
	}
	return p.phase + first - shapeMarginN, p.phase + last + 1 + shapeMarginN
}

// average lays the pulses of one parity on one another and averages them. It begins with the one that the others are
// most like. ok is false when too few of them are alike.
func average(pieces [][]float32, length, search, ahead int) (shape, bool) {
	if len(pieces) < 3 || length < 4 {
		return shape{}, false
	}
	least := max(0.3, 5.5/math.Sqrt(float64(length)*0.8)) // far above what independent noise of that length reaches
	best, most := shape{}, -1.0
	candidates := pieces[:min(len(pieces), medoidOf)]
	for i, p := range candidates {
		s, ok := shapeOf(p[search:search+length], ahead)
		if !ok {
			continue
		}
		var alike []float64
		for j, q := range candidates {
			if j != i {
				_, like, _ := s.find(q, search)
				alike = append(alike, like)
			}
		}
		if m := median(alike); m > most {
			best, most = s, m
		}
	}
	if most < 0 {
		return shape{}, false
	}
	for range 3 {
		sum, n := make([]float32, length), 0
		for _, p := range pieces {
			best.least = min(least, 0.3)
			at, _, ok := best.find(p, search)
			if !ok {
				continue
			}
			whole := math.Round(at)
			lag := int(whole) - ahead
			if lag < taps || lag+length+taps > len(p) {
				continue
			}
			for i := range sum {
				sum[i] += float32(between(p, lag+i, at-whole))
			}
			n++
		}
		if 5*n < 3*len(pieces) {
			return shape{}, false
		}
		next, ok := shapeOf(sum, ahead)
		if !ok {
			return shape{}, false
		}
		best = next
	}
	best.least = least
	heard := 0
	for _, p := range pieces {
		if _, _, ok := best.find(p, search); ok {
			heard++
		}
	}
	return best, 5*heard >= 3*len(pieces)
}

// shapeOf gives a piece of sound unit energy; ok is false for silence.
func shapeOf(piece []float32, ahead int) (shape, bool) {
	energy := 0.0
	for _, x := range piece {
		energy += float64(x) * float64(x)
	}
	if energy == 0 {
		return shape{}, false
	}
	s := shape{wave: make([]float64, len(piece)), ahead: ahead}
	for i, x := range piece {
		s.wave[i] = float64(x) / math.Sqrt(energy)
	}
	return s, true
}
