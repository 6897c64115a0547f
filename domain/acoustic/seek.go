package acoustic

import (
	"math"
	"slices"
)

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
