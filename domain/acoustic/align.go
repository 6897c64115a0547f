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
	sums          []float32 // of windows, by fraction of a sample
	plains, some  []float64 // for learn
	told          []window  // whose plain energies were told last
	plain         int       // samples of the window, from its start, by which knocks are told; 0 for all
}

func newSounds(y []float32, centres []float64, ahead, length int) *sounds {
	s := &sounds{y: y, ahead: ahead, length: length, centres: centres,
		lags: make([]float64, len(centres)), loud: make([]float64, len(centres)), use: make([]bool, len(centres)),
		told: make([]window, len(centres)), average: make([]float32, length), work: make([]float32, length)}
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

// fractions is how finely a window is placed between samples: a third of a microsecond, as a standard deviation, at
// 48 kHz. So many classes of windows are added up as they are, and interpolated once.
const fractions = 16

// split returns the sample before the window at the position at, to the nearest fraction, and the fraction's number.
func (s *sounds) split(at float64) (first, class int) {
	n := int(math.Floor(at*fractions + 0.5))
	class = n & (fractions - 1)
	return (n-class)/fractions - s.ahead - 1, class
}

// kernel is the cubic (Catmull-Rom) interpolation at one fraction.
func kernel(class int) (c0, c1, c2, c3 float32) {
	t := float32(class) / fractions
	return t * (-0.5 + t*(1-0.5*t)), 1 + t*t*(-2.5+1.5*t), t * (0.5 + t*(2-1.5*t)), t * t * (-0.5 + 0.5*t)
}

// cut copies the window at the position at, to the nearest fraction of a sample, into dst by interpolation.
func (s *sounds) cut(dst []float32, at float64) {
	first, class := s.split(at)
	in := s.y[first : first+len(dst)+3]
	c0, c1, c2, c3 := kernel(class)
	for i := range dst {
		w := in[i : i+4 : i+4]
		dst[i] = c0*w[0] + c1*w[1] + c2*w[2] + c3*w[3]
	}
}

// learn makes the average of the beats in use. It returns how many they are.
func (s *sounds) learn() int {
	clear(s.average)
	energies := s.energies()
	s.some = append(s.some[:0], energies...)
	bound := 5 * median(s.some)
	span := s.length + 3 // of a window and what its interpolation needs beside
	if len(s.sums) != span*fractions {
		s.sums = make([]float32, span*fractions)
	} else {
		clear(s.sums)
	}
	var counts [fractions]int
	n := 0
	for i, c := range s.centres {
		if !s.use[i] || !s.room(c+s.lags[i], 0) {
			continue
		}
		e := energies[0]
		energies = energies[1:]
		if e > bound {
			continue
		}
		first, class := s.split(c + s.lags[i])
		add(s.sums[class*span:(class+1)*span], s.y[first:first+span])
		counts[class]++
		n++
	}
	for class, count := range counts {
		if count == 0 {
			continue
		}
		in := s.sums[class*span : (class+1)*span]
		c0, c1, c2, c3 := kernel(class)
		share := 1 / float32(n)
		c0, c1, c2, c3 = share*c0, share*c1, share*c2, share*c3
		for i := range s.average {
			w := in[i : i+4 : i+4]
			s.average[i] += c0*w[0] + c1*w[1] + c2*w[2] + c3*w[3]
		}
	}
	s.energy = dot(s.average, s.average)
	return n
}

// energies returns the plain energies of the beats in use.
func (s *sounds) energies() []float64 {
	e := s.plains[:0]
	for i, c := range s.centres {
		if s.use[i] && s.room(c+s.lags[i], 0) {
			e = append(e, s.plainEnergy(i))
		}
	}
	s.plains = e
	return e
}

// plainEnergy is the energy of the part of the window of beat i that tells a knock from the watch. As it need not be exact,
// that of a window an eighth of its length away will do.
func (s *sounds) plainEnergy(i int) float64 {
	first := int(math.Round(s.centres[i]+s.lags[i])) - s.ahead
	n := s.length
	if s.plain > 0 {
		n = s.plain
	}
	last := &s.told[i]
	if off := first - last.first; last.length == n && off <= n/8 && -off <= n/8 {
		return last.energy
	}
	w := s.y[first : first+n]
	*last = window{first, n, dot(w, w)}
	return last.energy
}

// window is a stretch of samples and its energy.
type window struct {
	first, length int
	energy        float64
}

// loudBound is the energy from which on a beat's window holds more than the watch.
func (s *sounds) loudBound() float64 { return 5 * median(s.energies()) }

func dot(a, b []float32) float64 {
	return float64(blas32.Dot(blas32.Vector{N: len(a), Inc: 1, Data: a}, blas32.Vector{N: len(b), Inc: 1, Data: b}))
}

// add adds b to a.
func add(a, b []float32) {
	blas32.Axpy(1, blas32.Vector{N: len(b), Inc: 1, Data: b}, blas32.Vector{N: len(a), Inc: 1, Data: a})
}

// correlate returns the product of the sound around position at with model, at lags from −reach to +reach samples.
func (s *sounds) correlate(dst []float64, model []float32, at float64, reach int) []float64 {
	first := int(math.Round(at)) - s.ahead - reach
	dst = slices.Grow(dst[:0], 2*reach+1)[:2*reach+1]
	for k := range dst {
		dst[k] = dot(s.y[first+k:first+k+len(model)], model)
	}
	return dst
}

// others returns the average of the beats in use other than i, n of them in all.
func (s *sounds) others(i, n int) []float32 {
	if !s.use[i] || n < 2 || !s.room(s.centres[i]+s.lags[i], 0) {
		return s.average
	}
	first, class := s.split(s.centres[i] + s.lags[i])
	in := s.y[first : first+s.length+3]
	c0, c1, c2, c3 := kernel(class)
	scale, share := float32(n)/float32(n-1), -1/float32(n-1)
	c0, c1, c2, c3 = share*c0, share*c1, share*c2, share*c3
	for k, v := range s.average {
		w := in[k : k+4 : k+4]
		s.work[k] = scale*v + c0*w[0] + c1*w[1] + c2*w[2] + c3*w[3]
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
