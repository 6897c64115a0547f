package acoustic

import "math"

// line is a straight line fitted to times by number, both swings sharing the slope.
type line struct{ start, slope, split float64 }

func (l line) at(b heardBeat) float64 { return l.start + l.slope*float64(b.number) + b.sign()*l.split }

// robustLine fits a line with Tukey's biweight by iteratively reweighted least squares (Beaton and Tukey 1974;
// tuning constant 4.685, 95 % efficient), from a start that half the beats may spoil: medians of slopes.
func robustLine(beats []heardBeat, value func(heardBeat) float64) (line, float64) {
	l := startLine(beats, value)
	residuals := make([]float64, len(beats))
	var scale float64
	for range 12 {
		for i, b := range beats {
			residuals[i] = value(b) - l.at(b)
		}
		scale = math.Max(spread(residuals), 1e-9)
		next, ok := weightedLine(beats, value, func(i int) float64 {
			t := residuals[i] / (4.685 * scale)
			if t *= t; t < 1 {
				return (1 - t) * (1 - t)
			}
			return 0
		})
		if !ok {
			break
		}
		done := math.Abs(next.slope-l.slope) < 1e-12
		l = next
		if done {
			break
		}
	}
	return l, scale
}

// startLine is a line by medians: of the slopes between beats of one swing half the recording apart, then of what is
// left.
func startLine(beats []heardBeat, value func(heardBeat) float64) line {
	half := len(beats) / 2
	half -= half % 2
	var slopes []float64
	for i := 0; i+half < len(beats); i++ {
		for k := i + half; k < min(i+half+3, len(beats)); k++ {
			if n := beats[k].number - beats[i].number; n > 0 && n%2 == 0 {
				slopes = append(slopes, (value(beats[k])-value(beats[i]))/float64(n))
			}
		}
	}
	l := line{slope: median(slopes)}
	var left [2][]float64
	for _, b := range beats {
		left[b.number&1] = append(left[b.number&1], value(b)-l.slope*float64(b.number))
	}
	a, c := median(left[0]), median(left[1])
	if len(left[1]) == 0 {
		c = a
	}
	if len(left[0]) == 0 {
		a = c
	}
	l.start, l.split = (a+c)/2, (c-a)/2
	return l
}

// weightedLine is the line of weighted least squares.
func weightedLine(beats []heardBeat, value func(heardBeat) float64, weight func(int) float64) (line, bool) {
	if len(beats) == 0 {
		return line{}, false
	}
	// About the middle, for the sake of rounding.
	middle := beats[len(beats)/2].number
	base := value(beats[len(beats)/2])
	var m [3][3]float64
	var v [3]float64
	for i, b := range beats {
		w := weight(i)
		if w == 0 {
			continue
		}
		row := [3]float64{1, float64(b.number - middle), b.sign()}
		y := value(b) - base
		for r := range row {
			for c := range row {
				m[r][c] += w * row[r] * row[c]
			}
			v[r] += w * row[r] * y
		}
	}
	if math.Abs(m[0][2]) == m[0][0] { // one swing alone: it has no split, whatever start is taken
		m[2][2] *= 1 + 1e-6
	}
	x, ok := solve3(m, v)
	if !ok {
		return line{}, false
	}
	return line{start: base + x[0] - x[1]*float64(middle), slope: x[1], split: x[2]}, true
}

// solve3 solves a symmetric positive system of three by Cholesky's decomposition.
func solve3(m [3][3]float64, v [3]float64) (x [3]float64, ok bool) {
	var l [3][3]float64
	for i := range 3 {
		for j := 0; j <= i; j++ {
			s := m[i][j]
			for k := range j {
				s -= l[i][k] * l[j][k]
			}
			if i != j {
				l[i][j] = s / l[j][j]
				continue
			}
			if s <= 1e-12*m[i][i] {
				return x, false
			}
			l[i][i] = math.Sqrt(s)
		}
	}
	var y [3]float64
	for i := range 3 {
		y[i] = v[i]
		for k := range i {
			y[i] -= l[i][k] * y[k]
		}
		y[i] /= l[i][i]
	}
	for i := 2; i >= 0; i-- {
		x[i] = y[i]
		for k := i + 1; k < 3; k++ {
			x[i] -= l[k][i] * x[k]
		}
		x[i] /= l[i][i]
	}
	return x, true
}
