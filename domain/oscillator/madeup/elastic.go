package madeup

import (
	"math"
	"math/cmplx"
)

// rod is the middle line of a spiral at rest, cut into equal steps of its angle: an inextensible rod of even section.
type rod struct {
	spiral
	curvature []float64 // per length, at the half steps: 2·steps + 1 of them
	dl        []float64 // length per angle at the same places
	step      float64   // of angle
}

const stepsPerCoil = 48

func newRod(s spiral) rod {
	steps := int(math.Ceil(s.coils * stepsPerCoil))
	r := rod{spiral: s, step: 2 * math.Pi * s.coils / float64(steps)}
	slope := -(s.outer - s.inner) / (2 * math.Pi * s.coils)
	for j := range 2*steps + 1 {
		radius := s.radius(float64(j) * r.step / 2)
		speed := math.Hypot(radius, slope)
		r.dl = append(r.dl, speed)
		r.curvature = append(r.curvature, (radius*radius+2*slope*slope)/(speed*speed*speed))
	}
	return r
}

// load is what bends the rod: a moment and a force, each over the rod's stiffness in bending.
type load struct{ moment, fx, fy float64 }

// bent is where the rod ends under a load, and the integral of its places over its length.
type bent struct {
	x, y, psi, length float64
	sx, sy            float64
}

// under marches along the rod from the clamped stud. The curvature changes by moment + fx·y - fy·x; Runge-Kutta of
// fourth order.
func (r rod) under(l load) bent {
	// The stud stands at angle 0; the tangent at rest is that of r·exp(iφ).
	slope := -(r.outer - r.inner) / (2 * math.Pi * r.coils)
	b := bent{x: r.outer, psi: math.Atan2(r.outer, slope)}
	rate := func(at int, b bent) bent {
		sin, cos := math.Sincos(b.psi)
		dl := r.dl[at]
		return bent{x: dl * cos, y: dl * sin, psi: dl * (r.curvature[at] + l.moment + l.fx*b.y - l.fy*b.x), length: dl,
			sx: dl * b.x, sy: dl * b.y}
	}
	for j := 0; j+2 < len(r.dl); j += 2 {
		k1 := rate(j, b)
		k2 := rate(j+1, b.plus(k1, r.step/2))
		k3 := rate(j+1, b.plus(k2, r.step/2))
		k4 := rate(j+2, b.plus(k3, r.step))
		b = b.plus(k1, r.step/6).plus(k2, r.step/3).plus(k3, r.step/3).plus(k4, r.step/6)
	}
	return b
}

func (b bent) plus(d bent, h float64) bent {
	return bent{b.x + h*d.x, b.y + h*d.y, b.psi + h*d.psi, b.length + h*d.length, b.sx + h*d.sx, b.sy + h*d.sy}
}

// miss is how far the inner end stands from where the collet holds it when the balance is turned by theta.
func (r rod) miss(b, rest bent, theta float64) [3]float64 {
	held := complex(rest.x, rest.y) * cmplx.Rect(1, theta)
	return [3]float64{b.x - real(held), b.y - imag(held), b.psi - rest.psi - theta}
}

// solve finds the load by Newton's method from a first guess, and returns the centre of mass.
func (r rod) solve(theta float64, guess load, rest bent) (load, complex128) {
	l := guess
	for range 12 {
		b := r.under(l)
		f := r.miss(b, rest, theta)
		if math.Abs(f[0])+math.Abs(f[1])+math.Abs(f[2]) < 1e-11 {
			break
		}
		const h = 1e-7
		var j [3][3]float64
		for c, moved := range []load{{l.moment + h, l.fx, l.fy}, {l.moment, l.fx + h, l.fy}, {l.moment, l.fx, l.fy + h}} {
			g := r.miss(r.under(moved), rest, theta)
			for i := range 3 {
				j[i][c] = (g[i] - f[i]) / h
			}
		}
		d := solve3(j, f)
		l = load{l.moment - d[0], l.fx - d[1], l.fy - d[2]}
	}
	b := r.under(l)
	return l, complex(b.sx/b.length, b.sy/b.length)
}

// parts takes the first-order rate of the coils' weight apart: rolling·J0(A), from the collet's end, which is turned
// and pushed inwards at once; heavy·J1(A)/A, as of a mass on the collet; steady, from the stud's end, the same at any
// amplitude. Least squares from 120 to 320°, where nothing else is left (held by a test).
func (t tabulated) parts() (rolling, heavy, steady complex128) {
	var m [3][3]float64
	var re, im [3]float64
	for deg := 120.0; deg <= 320; deg += 5 {
		a := deg * rad
		row := [3]float64{math.J0(a), math.J1(a) / a, 1}
		z := t.first(a)
		for i := range 3 {
			for j := range 3 {
				m[i][j] += row[i] * row[j]
			}
			re[i] += row[i] * real(z)
			im[i] += row[i] * imag(z)
		}
	}
	x, y := solve3(m, re), solve3(m, im)
	return complex(x[0], y[0]), complex(x[1], y[1]), complex(x[2], y[2])
}

// poised is without what acts as a heavy spot: the height of one that turns with the balance, exp(iθ), has the
// first-order rate -J1(A)/A.
func (t tabulated) poised() tabulated {
	_, heavy, _ := t.parts()
	spot := tabulate(func(theta float64) complex128 { return heavy * cmplx.Rect(1, theta) }, len(t)/2)
	out := make(tabulated, len(t))
	for k := range out {
		out[k] = t[k] + spot[k]
	}
	return out
}

// solve3 solves three linear equations by Cramer's rule.
func solve3(m [3][3]float64, f [3]float64) (x [3]float64) {
	det := func(m [3][3]float64) float64 {
		return m[0][0]*(m[1][1]*m[2][2]-m[1][2]*m[2][1]) - m[0][1]*(m[1][0]*m[2][2]-m[1][2]*m[2][0]) +
			m[0][2]*(m[1][0]*m[2][1]-m[1][1]*m[2][0])
	}
	whole := det(m)
	for c := range 3 {
		n := m
		for i := range 3 {
			n[i][c] = f[i]
		}
		x[c] = det(n) / whole
	}
	return x
}

// elastic is the centre of mass of the clamped spiral as a series through 2n nodes. To first order in gravity the
// energy of the loaded spring is that of the unloaded shape plus its weight's height (the shape is one of least energy,
// so that its own change counts only in second order). Each node starts from its neighbour nearer to rest.
func (s spiral) elastic(n int) tabulated {
	r := newRod(s)
	rest := r.under(load{})
	values := make([]complex128, 2*n)
	for _, side := range [2]int{-1, 1} {
		var l load
		for j := n - 1; j >= 0; j-- {
			at := j
			if side < 0 {
				at = 2*n - 1 - j
			}
			theta := greatestSwing * math.Cos(math.Pi*(float64(at)+0.5)/float64(2*n))
			l, values[at] = r.solve(theta, l, rest)
		}
	}
	return chebyshev(values)
}
