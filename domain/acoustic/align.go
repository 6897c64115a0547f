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

// likeness is how much two sounds of one kind are alike, of 1, from which on each is surely that sound: windows of noise
// so long reach a third of it.
const likeness = 0.7

// seed starts the average from the one beat that the others resemble most, of a few tried. It reports whether they are
// all surely the same sound, and false ok when there are too few of them.
func (s *sounds) seed(reach int) (sure, ok bool) {
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
		return false, false
	}
	slices.SortFunc(order, func(a, b loud) int { return compare(a.energy, b.energy) })
	model := make([]float32, s.length)
	best, bestScore := -1, 0.0
	var c []float64
	step := max(1, len(order)/20)
	asked := make([]bool, len(s.centres))
	for _, share := range [...]float64{0.35, 0.5, 0.65, 0.8, 0.9} {
		pick := order[int(share*float64(len(order)-1))].i
		s.cut(model, s.centres[pick])
		norm := math.Sqrt(dot(model, model))
		if norm == 0 {
			continue
		}
		var heights, alike []float64
		for k := 0; k < len(order); k += step {
			i := order[k].i
			if i == pick {
				continue
			}
			c = s.correlate(c, model, s.centres[i], reach)
			lag, h := top(c)
			s.lags[i], asked[i] = math.Round(s.centres[i])-float64(reach)+lag-s.centres[i], true
			heights = append(heights, h/norm)
			alike = append(alike, h/norm/math.Sqrt(s.energyAt(i)))
		}
		if score := median(heights); score > bestScore {
			best, bestScore = pick, score
		}
		if sure = median(alike) > likeness; sure {
			best = pick
			break
		}
	}
	if best < 0 {
		return false, false
	}
	// The seed itself may lie off the others: they are asked where they lie from it, near the line through those asked
	// already where these are sure.
	s.cut(s.average, s.centres[best])
	s.energy = dot(s.average, s.average)
	if sure {
		sure = s.ask(lineThrough(s.lags, asked), reach/3) > likeness
	}
	if !sure {
		s.ask(make([]float64, len(s.centres)), reach)
	}
	s.centre()
	return sure, true
}

// ask seeks each beat where it agrees best with the average, within reach samples of centre plus about. It returns the
// share that surely has the sound.
func (s *sounds) ask(about []float64, reach int) float64 {
	var c []float64
	asked, found := 0, 0
	for i, centre := range s.centres {
		at := centre + about[i]
		if s.use[i] = s.room(at, reach); !s.use[i] {
			continue
		}
		c = s.correlate(c, s.average, at, reach)
		lag, height := top(c)
		s.lags[i] = math.Round(at) - float64(reach) + lag - centre
		s.loud[i] = height / s.energy
		asked++
		if s.sureOf(i) {
			found++
		}
	}
	return float64(found) / float64(max(1, asked))
}

// again is the share of itself that a sound found once more must have for one place to be taken for the other.
const again = 0.9

// alone reports whether the sound is not heard again further than within from where it is, up to reach, as a tone is.
func (s *sounds) alone(within, reach int) bool {
	wide := *s
	wide.ahead, wide.length = s.ahead+reach, s.length+2*reach
	wide.average, wide.work = make([]float32, wide.length), make([]float32, wide.length)
	wide.learn()
	here := dot(wide.average[reach:reach+s.length], s.average)
	for lag := within + 1; lag <= reach; lag++ {
		before, after := wide.average[reach-lag:], wide.average[reach+lag:]
		if max(dot(before[:s.length], s.average), dot(after[:s.length], s.average)) > again*here {
			return false
		}
	}
	return true
}

// lineThrough returns the line through the lags of the beats asked, by the median of the slopes between those half the
// recording apart and the median of what is left (after Theil and Sen).
func lineThrough(lags []float64, asked []bool) []float64 {
	var index []int
	for i, ok := range asked {
		if ok {
			index = append(index, i)
		}
	}
	var slopes, left []float64
	for k := range (len(index) + 1) / 2 {
		a, b := index[k], index[k+len(index)/2]
		slopes = append(slopes, (lags[b]-lags[a])/float64(max(1, b-a)))
	}
	slope := median(slopes)
	for _, i := range index {
		left = append(left, lags[i]-slope*float64(i))
	}
	start := median(left)
	line := make([]float64, len(lags))
	for i := range line {
		line[i] = start + slope*float64(i)
	}
	return line
}

// centre moves all beats alike, so that they lie in the middle about where they were expected: the seed may not have.
func (s *sounds) centre() {
	lags := s.some[:0]
	for i, lag := range s.lags {
		if s.loud[i] > 0 {
			lags = append(lags, lag)
		}
	}
	s.some = lags
	middle := median(lags)
	for i := range s.lags {
		s.lags[i] -= middle
	}
}

// energyAt returns the energy of the window of beat i where it was found.
func (s *sounds) energyAt(i int) float64 {
	first := int(math.Round(s.centres[i]+s.lags[i])) - s.ahead
	w := s.y[first : first+s.length]
	return dot(w, w)
}

// sureOf reports whether beat i surely has the sound where it was found last.
func (s *sounds) sureOf(i int) bool {
	return s.loud[i] > 0 && s.loud[i]*s.loud[i]*s.energy > likeness*likeness*s.energyAt(i)
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
