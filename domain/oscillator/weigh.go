package oscillator

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"ledgerwheel/domain/metrology"
)

// The readings are weighed at each step of the lift angle's error and of the repeatability: there the model is linear,
// and every unknown but the focus (the last run's spring and poise) is integrated out in closed form. The scales of
// poise and spring are then weighed on the focus alone. What comes out is an average over all of them, each with the
// weight the readings leave it (a mixture of normal distributions), so that no answer jumps when one more tenth of
// misfit passes a threshold.

// vec and sym are vectors and symmetric matrices of the focus.
type (
	vec [focusSize]float64
	sym [focusSize][focusSize]float64
)

// part is one component of the mixture over the focus.
type part struct {
	weight float64
	repeat float64 // s/d
	mean   vec
	cov    sym
}

// node is one step of lift angle and repeatability, with the model solved there.
type node struct {
	weight float64
	repeat float64
	lower  lowerTriangle // Cholesky factor of the normal equations
	z      []float64     // its forward solution
	mean   vec           // of the focus, over the scales
	cov    sym
}

// negligible is the weight below which a step is left out of the average.
const negligible = 1e-3

// idle is the weight below which a part of the mixture is dropped: all that are dropped weigh less than a draw.
const idle = 1e-6

// flatPrecision stands in for no knowledge of the focus while the rest is integrated out.
const flatPrecision = 1e-9

// weigh weighs all steps and keeps the mixture of the focus. extra is variance added to some observations, (s/d)².
func (f *Fit) weigh(extra map[int]float64) error {
	repeats := repeatScales
	if known := f.options.RepeatabilitySPerDay; known > 0 {
		repeats = []weighted{{known, 1}}
	}
	n := len(f.theta)
	var nodes []node
	rows := make([][]entry, len(f.obs))
	own := make([]float64, len(f.obs))
	for i, ob := range f.obs {
		own[i] = f.ownVariance(ob) + extra[i]
		rows[i] = make([]entry, 0, 10)
	}
	f.parts = make([]part, 0, len(liftScales)*len(repeats)*len(poiseScales)*len(springScales))
	for _, lift := range liftScales {
		scale := 1 + lift.value*f.options.liftRel()
		for i, ob := range f.obs {
			rows[i] = f.model.appendRow(rows[i][:0], ob.run, ob.reading.Position, ob.amp*scale,
				f.model.clock(ob.reading.Instrument))
		}
		for _, repeat := range repeats {
			x := node{repeat: repeat.value, lower: lowerTriangle{n, make([]float64, n*n)}, z: make([]float64, n)}
			log := math.Log(lift.weight*repeat.weight) + f.normalEquations(rows, own, &x)
			if !x.lower.cholesky() {
				continue
			}
			x.lower.forward(x.z)
			f.weighFocus(&x, log)
			nodes = append(nodes, x)
		}
	}
	if len(nodes) == 0 {
		return errNoSolution
	}
	f.evidence, f.nodes = f.settleWeights(nodes), nodes
	return nil
}

// normalEquations fills the normal equations and their right side into a node, and returns the logarithm of the
// likelihood's share that does not depend on the unknowns.
func (f *Fit) normalEquations(rows [][]entry, own []float64, x *node) float64 {
	for j, p := range f.model.prior {
		x.lower.row(j)[j] = 1 / (p * p)
		if j >= f.model.focus {
			x.lower.row(j)[j] = flatPrecision
		}
	}
	log := 0.0
	for i, ob := range f.obs {
		v := own[i] + x.repeat*x.repeat
		w := 1 / v
		log -= (math.Log(v) + w*ob.rate*ob.rate) / 2
		for _, a := range rows[i] {
			c := w * a.c
			x.z[a.at] += c * ob.rate
			into := x.lower.row(a.at)
			for _, b := range rows[i] {
				if b.at <= a.at {
					into[b.at] += c * b.c
				}
			}
		}
	}
	return log
}

// weighFocus weighs the scales of poise and spring at one node, and adds the parts with the logarithm of their weight.
func (f *Fit) weighFocus(x *node, log float64) {
	first := f.model.focus
	for j, z := range x.z[:first] {
		log += z*z/2 - math.Log(x.lower.row(j)[j])
	}
	var info sym
	var g vec
	for a := range focusSize {
		for b := range focusSize {
			for c := range min(a, b) + 1 {
				info[a][b] += x.lower.row(first + a)[first+c] * x.lower.row(first + b)[first+c]
			}
			if b <= a {
				g[a] += x.lower.row(first + a)[first+b] * x.z[first+b]
			}
		}
	}
	for _, poise := range poiseScales {
		for _, spring := range springScales {
			p := part{repeat: x.repeat, weight: log + math.Log(poise.weight*spring.weight)}
			with, prior := info, 0.0
			for j := range focusSize {
				std := spring.value
				if j >= 4 {
					std = poise.value * SecondsPerDay * 1e-6
				}
				with[j][j] += 1 / (std * std)
				prior -= 2 * math.Log(std)
			}
			logDet, ok := p.solve(with, g)
			if !ok {
				p.weight = math.Inf(-1)
			}
			quad := 0.0
			for j := range focusSize {
				quad += g[j] * p.mean[j]
			}
			p.weight += (prior - logDet + quad) / 2
			f.parts = append(f.parts, p)
		}
	}
}

// solve sets mean and covariance from the precision and its right side, and returns the logarithm of the determinant.
func (p *part) solve(precision sym, g vec) (logDet float64, ok bool) {
	var l, inv sym
	for i := range focusSize {
		for j := range i + 1 {
			s := precision[i][j]
			for k := range j {
				s -= l[i][k] * l[j][k]
			}
			if i == j {
				if !(s > 0) {
					return 0, false
				}
				l[i][i] = math.Sqrt(s)
				logDet += math.Log(s)
				continue
			}
			l[i][j] = s / l[j][j]
		}
	}
	for c := range focusSize { // inverse of l, column by column
		for i := c; i < focusSize; i++ {
			s := 0.0
			if i == c {
				s = 1
			}
			for k := c; k < i; k++ {
				s -= l[i][k] * inv[k][c]
			}
			inv[i][c] = s / l[i][i]
		}
	}
	for a := range focusSize {
		for b := range a + 1 {
			s := 0.0
			for k := a; k < focusSize; k++ {
				s += inv[k][a] * inv[k][b]
			}
			p.cov[a][b], p.cov[b][a] = s, s
		}
	}
	for a := range focusSize {
		for b := range focusSize {
			p.mean[a] += p.cov[a][b] * g[b]
		}
	}
	return logDet, true
}

// settleWeights turns the logarithms into weights that sum to one, gives each node the mean and covariance of its own
// parts, and returns the logarithm of the evidence.
func (f *Fit) settleWeights(nodes []node) float64 {
	most := math.Inf(-1)
	for _, p := range f.parts {
		most = math.Max(most, p.weight)
	}
	sum := 0.0
	for i := range f.parts {
		f.parts[i].weight = math.Exp(f.parts[i].weight - most)
		sum += f.parts[i].weight
	}
	for i := range f.parts {
		f.parts[i].weight /= sum
	}
	each := len(f.parts) / len(nodes)
	for i := range nodes {
		nodes[i].weight, nodes[i].mean, nodes[i].cov = moments(f.parts[i*each : (i+1)*each])
	}
	f.parts = slices.DeleteFunc(f.parts, func(p part) bool { return p.weight < idle })
	slices.SortFunc(f.parts, func(a, b part) int { return cmp.Compare(b.weight, a.weight) })
	return most + math.Log(sum)
}

// moments returns the weight of some parts, and their common mean and covariance.
func moments(parts []part) (weight float64, mean vec, cov sym) {
	for _, p := range parts {
		weight += p.weight
		for a := range focusSize {
			mean[a] += p.weight * p.mean[a]
		}
	}
	if weight == 0 {
		return 0, mean, cov
	}
	for a := range focusSize {
		mean[a] /= weight
	}
	for _, p := range parts {
		w := p.weight / weight
		for a := range focusSize {
			for b := range focusSize {
				cov[a][b] += w * (p.cov[a][b] + (p.mean[a]-mean[a])*(p.mean[b]-mean[b]))
			}
		}
	}
	return weight, mean, cov
}

// average sets the estimates, their covariance and the repeatability to the average over the nodes, which are then done
// with.
func (f *Fit) average() {
	n, nodes := len(f.theta), f.nodes
	f.nodes = nil
	kept, repeat := 0.0, 0.0
	for _, x := range nodes {
		if x.weight > negligible {
			kept += x.weight
		}
	}
	clear(f.theta)
	second := make([]float64, n*n)
	theta := make([]float64, n)
	for _, x := range nodes {
		if x.weight <= negligible {
			continue
		}
		w := x.weight / kept
		x.whole(f.model.focus, theta, second, w)
		for a := range n {
			f.theta[a] += w * theta[a]
			for b := range a + 1 {
				second[a*n+b] += w * theta[a] * theta[b]
			}
		}
		repeat += w * x.repeat * x.repeat
	}
	f.repeat = math.Sqrt(repeat)
	f.cov = mat.NewSymDense(n, nil)
	for a := range n {
		for b := range a + 1 {
			f.cov.SetSym(a, b, second[a*n+b]-f.theta[a]*f.theta[b])
		}
	}
}

// whole sets theta to the mean of all unknowns at a node, its focus spread as its parts say, and adds w times their
// covariance to the lower half of sum.
func (x *node) whole(first int, theta, sum []float64, w float64) {
	n := len(theta)
	copy(theta, x.z[:first])
	copy(theta[first:], x.mean[:])
	lean := make([]float64, focusSize*first) // how the rest follows each of the focus
	for a := range focusSize {
		la := lean[a*first : (a+1)*first]
		for j, c := range x.lower.row(first + a)[:first] {
			theta[j] -= c * x.mean[a]
			la[j] = -c
		}
		x.lower.backward(la, first)
	}
	x.lower.backward(theta, first)
	inverse := x.lower.inverse(first)
	for k := range first { // inverse of the leading normal equations: sum over k of rows' products
		rk := inverse.row(k)
		for a, xa := range rk {
			xa *= w
			into := sum[a*n : a*n+a+1]
			for b := range into {
				into[b] += xa * rk[b]
			}
		}
	}
	spread := make([]float64, focusSize*first) // covariance of the focus with the rest
	for a := range focusSize {
		sa := spread[a*first : (a+1)*first]
		for b := range focusSize {
			for j, l := range lean[b*first : (b+1)*first] {
				sa[j] += x.cov[a][b] * l
			}
			if b <= a {
				sum[(first+a)*n+first+b] += w * x.cov[a][b]
			}
		}
		for j, s := range sa {
			sum[(first+a)*n+j] += w * s
		}
		for i, l := range lean[a*first : (a+1)*first] {
			for j := range i + 1 {
				sum[i*n+j] += w * l * sa[j]
			}
		}
	}
}

// Repeatability is the standard deviation of a rate when the watch is laid again, by the readings, s/d.
func (f *Fit) Repeatability() metrology.Value {
	mean, second := 0.0, 0.0
	for _, p := range f.parts {
		mean += p.weight * p.repeat
		second += p.weight * p.repeat * p.repeat
	}
	return metrology.Value{Value: mean, StdUncertainty: math.Sqrt(math.Max(0, second-mean*mean)), Unit: "s/d"}
}
