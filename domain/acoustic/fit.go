package acoustic

import (
	"math"
)

// The beats are fitted with what a balance does. Beat n passes its rest point at
//
//	c(n) = a + P·n ± x/2 + e(n),
//
// P being the period of a beat, x the beat error (+ for tocks, − for ticks) and e the scatter of single beats. The
// unlocking sounds half the lift time before, the drop half of it after: d(n) = c(n) + L(n)/2, u(n) = c(n) − L(n)/2.
// As the amplitude wanders, L wanders slowly, and unlocking and drop move in opposite senses; taken for a random
// walk, it is followed by a Kalman filter beside a, P and x, which so come out by generalised least squares
// (Harvey, Forecasting, Structural Time Series Models and the Kalman Filter, 1989, 3.2).

// heardBeat is one beat as measured, in seconds by the recorder's clock.
type heardBeat struct {
	number int64
	drop   float64
	lift   float64 // unlocking to drop; NaN when the unlocking was not heard
	loud   float64
	wild   bool // left out of the fit
}

func (b heardBeat) sign() float64 {
	if b.number&1 == 1 {
		return 1
	}
	return -1
}

// fitted is the outcome of the fit.
type fitted struct {
	startS  float64 // c of beat 0, without beat error
	periodS float64
	// periodStdS is the standard uncertainty of the period.
	periodStdS float64
	errorS     float64   // x: drops of tocks after those of ticks, less the period
	errorStdS  float64   // by the scatter alone
	scatterS   float64   // of one beat
	lifts      []float64 // smoothed, by beat
	liftStdS   float64   // of the mean lift, by scatter alone
}

// noises are the standard deviations in seconds of what the fit knows of.
type noises struct {
	common float64 // of a beat's passage, shared by its sounds
	drop   float64 // of the drop besides
	unlock float64 // of the unlocking besides
	walk   float64 // of the lift time's step from one beat to the next
}

// fitBeats fits the beats not wild. heardStd are the standard deviations, in seconds, that noise gives the places of
// drop and unlocking, which only tells how to part the scatter between them.
func fitBeats(beats []heardBeat, dropStdS, unlockStdS float64) (fitted, bool) {
	var used []heardBeat
	for _, b := range beats {
		if !b.wild {
			used = append(used, b)
		}
	}
	if len(used) < 6 {
		return fitted{}, false
	}
	drops, _ := robustLine(used, func(b heardBeat) float64 { return b.drop })
	n := estimateNoises(used, drops, dropStdS, unlockStdS)
	f := follow(used, drops, n)
	f.lifts = smoothLifts(beats, used, n)
	return f, true
}

// withLift returns the beats whose lift was heard.
func withLift(beats []heardBeat) []heardBeat {
	var with []heardBeat
	for _, b := range beats {
		if !math.IsNaN(b.lift) {
			with = append(with, b)
		}
	}
	return with
}

// liftOffsets returns the mean lift time by swing: the two swings' sounds need not begin alike.
func liftOffsets(beats []heardBeat) (mean [2]float64) {
	var lifts [2][]float64
	for _, b := range beats {
		if !math.IsNaN(b.lift) {
			lifts[b.number&1] = append(lifts[b.number&1], b.lift)
		}
	}
	for i := range mean {
		for _, v := range lifts[i] {
			mean[i] += v
		}
		mean[i] /= math.Max(1, float64(len(lifts[i])))
	}
	return mean
}

// estimateNoises parts the scatter: the lift time's differences over 1, 2, 4 ... beats have the variance
// 2S + k·q of white scatter S and a random walk q; the passage's scatter about its line is what else there is.
func estimateNoises(beats []heardBeat, drops line, dropStdS, unlockStdS float64) noises {
	with := withLift(beats)
	n := noises{drop: dropStdS, unlock: unlockStdS}
	if len(with) < 8 {
		residuals := make([]float64, len(beats))
		for i, b := range beats {
			residuals[i] = b.drop - drops.at(b)
		}
		total := spread(residuals)
		n.common = math.Sqrt(math.Max(total*total-dropStdS*dropStdS, 0.04*total*total))
		return n
	}
	mean := liftOffsets(with)
	var sk, sy, skk, sky, sw float64
	for k := 1; k <= 32 && k < len(with)/2; k *= 2 {
		var d []float64
		for i := 0; i+k < len(with); i++ {
			a, b := with[i], with[i+k]
			d = append(d, (b.lift-mean[b.number&1])-(a.lift-mean[a.number&1]))
		}
		v := spread(d)
		x, y, w := float64(k), v*v, 1/float64(k)
		sw += w
		sk += w * x
		sy += w * y
		skk += w * x * x
		sky += w * x * y
	}
	q := (sw*sky - sk*sy) / math.Max(sw*skk-sk*sk, 1e-30)
	white := (sy - q*sk) / sw
	if q < 0 {
		q, white = 0, sy/sw
	}
	if white < 0 {
		white, q = 0, sky/skk
	}
	white /= 2
	n.walk = math.Sqrt(math.Max(q, leastWalk((mean[0]+mean[1])/2, drops.slope)))
	if excess := white - dropStdS*dropStdS - unlockStdS*unlockStdS; excess > 0 {
		n.drop = math.Sqrt(dropStdS*dropStdS + excess/2)
		n.unlock = math.Sqrt(unlockStdS*unlockStdS + excess/2)
	}
	middle := func(b heardBeat) float64 { return b.drop - (b.lift-mean[b.number&1])/2 }
	_, scale := robustLine(with, middle)
	rest := scale*scale - (n.drop*n.drop+n.unlock*n.unlock)/4
	n.common = math.Sqrt(math.Max(rest, 0.04*scale*scale))
	return n
}

// breathing is how the amplitude of a watch on the bench walks at random at least, in degrees squared a second: a
// degree in ten seconds. Common practice. Where the lift is too noisy to show it, it is there all the same.
const breathing = 0.1

// leastWalk returns the variance of the lift's step from beat to beat that breathing makes.
func leastWalk(liftS, periodS float64) float64 {
	perDeg := liftS / usualAmplitudeDeg
	return perDeg * perDeg * breathing * periodS
}

// follow runs the Kalman filter over the beats. The state is a, P and x/2, each less the line's, and the lift time
// less its mean.
func follow(beats []heardBeat, about line, n noises) fitted {
	const states = 4
	mean := liftOffsets(beats)
	middle := beats[len(beats)/2].number
	var x [states]float64
	var p [states][states]float64
	const wide = 1.0 // a second: far more than any deviation from the line
	for i := range 3 {
		p[i][i] = wide
	}
	p[3][3] = 0.005 * 0.005 // s²: the lift time moves by a few ms at most
	var squares float64
	var count int
	last := beats[0].number
	update := func(h [states]float64, y, r float64) {
		var ph [states]float64
		var s float64
		e := y
		for i := range states {
			for j := range states {
				ph[i] += p[i][j] * h[j]
			}
			e -= h[i] * x[i]
		}
		s = r
		for i := range states {
			s += h[i] * ph[i]
		}
		if s < wide/1000 { // not while the state is unknown
			squares += e * e / s
			count++
		}
		for i := range states {
			x[i] += ph[i] * e / s
			for j := range states {
				p[i][j] -= ph[i] * ph[j] / s
			}
		}
	}
	// The common scatter of drop and unlocking makes their sum and difference the independent observations: the
	// passage, weighted, and the lift time.
	cc, dd, uu := n.common*n.common, n.drop*n.drop, n.unlock*n.unlock
	for _, b := range beats {
		p[3][3] += n.walk * n.walk * float64(b.number-last)
		last = b.number
		row := [states]float64{1, float64(b.number - middle), b.sign(), 0}
		rd := b.drop - about.at(b)
		if math.IsNaN(b.lift) {
			row[3] = 0.5
			update(row, rd, cc+dd)
			continue
		}
		lift := b.lift - mean[b.number&1]
		ru := rd - lift
		// the weight of the drop that leaves the passage's noise uncorrelated with the lift's
		w := uu / math.Max(uu+dd, 1e-30)
		row[3] = w/2 - (1-w)/2
		update(row, w*rd+(1-w)*ru, cc+w*w*dd+(1-w)*(1-w)*uu)
		update([states]float64{3: 1}, lift, dd+uu)
	}
	grow := 1.0
	if count > 4 {
		grow = math.Max(1, squares/float64(count-3))
	}
	f := fitted{
		startS:     about.start + x[0] - x[1]*float64(middle),
		periodS:    about.slope + x[1],
		periodStdS: math.Sqrt(p[1][1] * grow),
		errorS:     2 * (about.split + x[2]),
		errorStdS:  2 * math.Sqrt(p[2][2]*grow),
		scatterS:   math.Sqrt(cc + dd*uu/math.Max(uu+dd, 1e-30)),
	}
	f.liftStdS = math.Sqrt((dd + uu) / float64(max(1, len(withLift(beats)))))
	return f
}

// smoothLifts follows the lift time through all beats, forwards and backwards (the local level model's smoother, the
// same, 4.1), and returns it with the mean of its swing.
func smoothLifts(all, used []heardBeat, n noises) []float64 {
	out := make([]float64, len(all))
	if len(withLift(used)) < 4 {
		for i := range out {
			out[i] = math.NaN()
		}
		return out
	}
	mean := liftOffsets(used)
	noise := n.drop*n.drop + n.unlock*n.unlock
	q := n.walk * n.walk
	level, variance := make([]float64, len(all)), make([]float64, len(all))
	x, p := 0.0, 0.005*0.005
	for i, b := range all {
		if i > 0 {
			p += q * float64(b.number-all[i-1].number)
		}
		if !b.wild && !math.IsNaN(b.lift) {
			k := p / (p + noise)
			x += k * (b.lift - mean[b.number&1] - x)
			p *= 1 - k
		}
		level[i], variance[i] = x, p
	}
	smooth := level[len(all)-1]
	out[len(all)-1] = smooth + mean[all[len(all)-1].number&1]
	for i := len(all) - 2; i >= 0; i-- {
		ahead := variance[i] + q*float64(all[i+1].number-all[i].number)
		if ahead > 0 {
			smooth = level[i] + variance[i]/ahead*(smooth-level[i])
		}
		out[i] = smooth + mean[all[i].number&1]
	}
	return out
}
