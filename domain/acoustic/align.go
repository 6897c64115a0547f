package acoustic

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/blas/blas32"
)

// sounds finds one kind of sound, the same in every beat but for its loudness, at about known places, and says where
// each lies to a fraction of a sample. The sound itself is not known: it is the average of the beats as aligned so
// far, each beat being compared with the average of the others.
type sounds struct {
	y             []float32
	ahead, length int       // the window of the sound: from centre − ahead on, length samples
	centres       []float64 // where each is expected, in samples
	lags          []float64 // found less expected
	loud          []float64 // loudness relative to the average; around 1
	use           []bool    // whether the beat enters the average
	average       []float32
	energy        float64 // of the average
	work          []float32
	plain         int // samples of the window, from its start, by which knocks are told; 0 for all
}

func newSounds(y []float32, centres []float64, ahead, length int) *sounds {
	s := &sounds{y: y, ahead: ahead, length: length, centres: centres,
		lags: make([]float64, len(centres)), loud: make([]float64, len(centres)), use: make([]bool, len(centres)),
		average: make([]float32, length), work: make([]float32, length)}
	for i := range s.use {
		s.use[i] = true
	}
	return s
}

// room reports whether the window at sample position at, with margin more on both sides, lies inside the sound.
func (s *sounds) room(at float64, margin int) bool {
	first := int(math.Floor(at)) - s.ahead - margin - 1
	return first >= 0 && first+s.length+2*margin+4 <= len(s.y)
}

// cut copies the window at the fractional position at into dst by cubic (Catmull-Rom) interpolation.
func (s *sounds) cut(dst []float32, at float64) {
	whole := math.Floor(at)
	t := float32(at - whole)
	first := int(whole) - s.ahead
	in := s.y[first-1 : first+len(dst)+2]
	c0 := t * (-0.5 + t*(1-0.5*t))
	c1 := 1 + t*t*(-2.5+1.5*t)
	c2 := t * (0.5 + t*(2-1.5*t))
	c3 := t * t * (-0.5 + 0.5*t)
	for i := range dst {
		dst[i] = c0*in[i] + c1*in[i+1] + c2*in[i+2] + c3*in[i+3]
	}
}

// learn makes the average of the beats in use. It returns how many they are.
func (s *sounds) learn() int {
	clear(s.average)
	bound := s.loudBound()
	n := 0
	for i, c := range s.centres {
		if !s.use[i] || !s.room(c+s.lags[i], 0) {
			continue
		}
		if s.plainEnergy(i) > bound {
			continue
		}
		s.cut(s.work, c+s.lags[i])
		for k, v := range s.work {
			s.average[k] += v
		}
		n++
	}
	if n > 0 {
		for k := range s.average {
			s.average[k] /= float32(n)
		}
	}
	s.energy = dot(s.average, s.average)
	return n
}

// plainEnergy is the energy of the part of the window of beat i that tells a knock from the watch.
func (s *sounds) plainEnergy(i int) float64 {
	first := int(math.Round(s.centres[i]+s.lags[i])) - s.ahead
	n := s.length
	if s.plain > 0 {
		n = s.plain
	}
	w := s.y[first : first+n]
	return dot(w, w)
}

// loudBound is the energy from which on a beat's window holds more than the watch.
func (s *sounds) loudBound() float64 {
	var e []float64
	for i, c := range s.centres {
		if s.use[i] && s.room(c+s.lags[i], 0) {
			e = append(e, s.plainEnergy(i))
		}
	}
	return 5 * median(e)
}

func dot(a, b []float32) float64 {
	return float64(blas32.Dot(blas32.Vector{N: len(a), Inc: 1, Data: a}, blas32.Vector{N: len(b), Inc: 1, Data: b}))
}

// correlate returns the product of the sound around position at with model, at lags from −reach to +reach samples.
func (s *sounds) correlate(dst []float64, model []float32, at float64, reach int) []float64 {
	first := int(math.Round(at)) - s.ahead - reach
	dst = dst[:0]
	for k := 0; k <= 2*reach; k++ {
		dst = append(dst, dot(s.y[first+k:first+k+len(model)], model))
	}
	return dst
}

// others returns the average of the beats in use other than i, n of them in all.
func (s *sounds) others(i, n int) []float32 {
	if !s.use[i] || n < 2 || !s.room(s.centres[i]+s.lags[i], 0) {
		return s.average
	}
	s.cut(s.work, s.centres[i]+s.lags[i])
	scale, share := float32(n)/float32(n-1), 1/float32(n-1)
	for k, v := range s.work {
		s.work[k] = scale*s.average[k] - share*v
	}
	return s.work
}

// top returns the place of the greatest of c with the parabola through it and its neighbours, in points, and its
// height.
func top(c []float64) (at, height float64) {
	best := 0
	for i, v := range c {
		if v > c[best] {
			best = i
		}
	}
	return parabola(c, best)
}

// parabola returns the top of the parabola through c[i] and its neighbours.
func parabola(c []float64, i int) (at, height float64) {
	if i == 0 || i == len(c)-1 {
		return float64(i), c[i]
	}
	a, b, d := c[i-1], c[i], c[i+1]
	curve := a - 2*b + d
	if curve >= 0 {
		return float64(i), b
	}
	shift := 0.5 * (a - d) / curve
	return float64(i) + shift, b - 0.25*(a-d)*shift
}

// seek moves each beat to where it agrees best with the average of the others, within reach samples of centre plus
// about.
func (s *sounds) seek(about []float64, reach int, n int) {
	var c []float64
	for i, centre := range s.centres {
		at := centre + about[i]
		if !s.room(at, reach) {
			s.use[i], s.loud[i] = false, 0
			continue
		}
		model := s.others(i, n)
		c = s.correlate(c, model, at, reach)
		lag, height := top(c)
		s.lags[i] = math.Round(at) - float64(reach) + lag - centre
		s.loud[i] = height / math.Max(s.energy, math.SmallestNonzeroFloat32)
	}
}

// seed starts the average from the one beat that the others resemble most, of a few tried.
func (s *sounds) seed(reach int) bool {
	type loud struct {
		i      int
		energy float64
	}
	var order []loud
	for i, c := range s.centres {
		if s.room(c, reach) {
			first := int(math.Round(c)) - s.ahead
			w := s.y[first : first+s.length]
			order = append(order, loud{i, dot(w, w)})
		}
	}
	if len(order) < 4 {
		return false
	}
	slices.SortFunc(order, func(a, b loud) int { return compare(a.energy, b.energy) })
	model := make([]float32, s.length)
	best, bestScore := -1, 0.0
	var c []float64
	step := max(1, len(order)/20)
	for _, share := range [...]float64{0.35, 0.5, 0.65, 0.8, 0.9} {
		pick := order[int(share*float64(len(order)-1))].i
		s.cut(model, s.centres[pick])
		norm := math.Sqrt(dot(model, model))
		if norm == 0 {
			continue
		}
		var heights []float64
		for k := 0; k < len(order); k += step {
			if i := order[k].i; i != pick {
				c = s.correlate(c, model, s.centres[i], reach)
				_, h := top(c)
				heights = append(heights, h/norm)
			}
		}
		if score := median(heights); score > bestScore {
			best, bestScore = pick, score
		}
	}
	if best < 0 {
		return false
	}
	// The seed itself may lie off the others: they are asked where they lie from it.
	s.cut(s.average, s.centres[best])
	s.energy = dot(s.average, s.average)
	for i, centre := range s.centres {
		if !s.room(centre, reach) {
			s.use[i] = false
			continue
		}
		c = s.correlate(c, s.average, centre, reach)
		lag, height := top(c)
		s.lags[i] = math.Round(centre) - float64(reach) + lag - centre
		s.loud[i] = height / s.energy
	}
	return true
}

// settle repeats learning and seeking with ever less reach.
func (s *sounds) settle(reach, rounds int) {
	for r := 0; r < rounds; r++ {
		s.choose()
		n := s.learn()
		if n < 3 {
			return
		}
		about := smoothLags(s.lags, s.use)
		s.seek(about, max(reach>>r, 8), n)
	}
	s.choose()
	s.learn()
}

// choose keeps the beats that sound like the others and lie near their neighbours for the average.
func (s *sounds) choose() {
	about := smoothLags(s.lags, s.use)
	var off []float64
	for i := range s.lags {
		if s.loud[i] > 0 {
			off = append(off, math.Abs(s.lags[i]-about[i]))
		}
	}
	bound := math.Max(5*normalMAD*median(off), 3)
	var louds []float64
	for i := range s.loud {
		if s.loud[i] > 0 {
			louds = append(louds, s.loud[i])
		}
	}
	usual := median(louds)
	for i := range s.use {
		s.use[i] = s.loud[i] > 0.4*usual && s.loud[i] < 3*usual && math.Abs(s.lags[i]-about[i]) <= bound
	}
}

// smoothLags returns for each beat the median lag of the up to nine beats in use around it: a trend that a wild beat
// cannot bend.
func smoothLags(lags []float64, use []bool) []float64 {
	const each = 4
	out := make([]float64, len(lags))
	var index []int
	for i, ok := range use {
		if ok {
			index = append(index, i)
		}
	}
	if len(index) == 0 {
		return out
	}
	near := make([]float64, 0, 2*each+1)
	k := 0
	for i := range lags {
		for k+1 < len(index) && index[k+1] <= i {
			k++
		}
		a, b := max(0, k-each), min(len(index), k+each+1)
		near = near[:0]
		for _, j := range index[a:b] {
			near = append(near, lags[j])
		}
		out[i] = median(near)
	}
	return out
}
