package madeup

import (
	"math"
	"math/cmplx"
	"sync"
)

// SpringKind says what the spring's own error in the vertical positions comes from.
type SpringKind int

// The kinds of the spring's own error.
const (
	NoSpringError SpringKind = iota
	// EvenSpring adds a stiffness that depends on which way is up: the rate is the same at any amplitude.
	EvenSpring
	// TurningCoils is the weight of the coils, each element turning about the staff at its own radius by its share of
	// the swing. It leaves out that the spring breathes, and the staff's push on it.
	TurningCoils
	// ElasticCoils is the weight of the coils of a flat spiral clamped at stud and collet, its shape at each angle solved
	// as an elastic rod: the attached-point effect. What of it acts as a heavy spot of the balance does (J1(A)/A) is left
	// out: no reading can part the two, and poising the balance with its spring takes both away.
	ElasticCoils
)

// potential is a term of the energy that depends on the angle of the balance and on which way the watch is turned.
type potential interface {
	at(theta, turned float64) float64
	// first is <θ·dC/dθ>/A² over a harmonic swing, C being the complex potential: the relative change of frequency by
	// first-order perturbation.
	first(amplitude float64) complex128
}

// even is θ²·cos(turned).
type even struct{}

func (even) at(theta, turned float64) float64 { return theta * theta * math.Cos(turned) }
func (even) first(float64) complex128         { return 1 }

// spiral is a flat hairspring: an Archimedean spiral, stud outside.
type spiral struct {
	coils        float64
	outer, inner float64 // radii, in the outer one's unit
}

// spirals are what made-up watches are fitted with; the part of a coil sets how stud and collet stand to each other.
// Coils and radii are usual of wristwatches (from memory).
var spirals = []spiral{{11.5, 1, 0.22}, {11.75, 1, 0.18}, {12, 1, 0.25}, {12.25, 1, 0.25}, {12.4, 1, 0.22},
	{12.65, 1, 0.25}, {13.1, 1, 0.22}, {13.5, 1, 0.25}}

// greatestSwing is that to which the shapes are tabulated, rad.
const greatestSwing = 6.6

// tabulated is the complex height of the coils' centre of mass as a Chebyshev series over ±greatestSwing: its real part
// after turning by -up is the height.
type tabulated []complex128

// tabulate takes the series of order 2n-1 through 2n nodes.
func tabulate(f func(theta float64) complex128, n int) tabulated {
	values := make([]complex128, 2*n)
	for j := range values {
		values[j] = f(greatestSwing * math.Cos(math.Pi*(float64(j)+0.5)/float64(len(values))))
	}
	return chebyshev(values)
}

// chebyshev returns the coefficients through values at cos(π(j+½)/n).
func chebyshev(values []complex128) tabulated {
	n := len(values)
	c := make(tabulated, n)
	for k := range c {
		for j, v := range values {
			c[k] += v * complex(2/float64(n)*math.Cos(math.Pi*float64(k)*(float64(j)+0.5)/float64(n)), 0)
		}
	}
	c[0] /= 2
	return c
}

// height sums the series (Clenshaw).
func (t tabulated) height(theta float64) complex128 {
	x := complex(2*theta/greatestSwing, 0)
	var b1, b2 complex128
	for k := len(t) - 1; k > 0; k-- {
		b1, b2 = t[k]+x*b1-b2, b1
	}
	return t[0] + x/2*b1 - b2
}

func (t tabulated) at(theta, turned float64) float64 {
	return real(t.height(theta) * cmplx.Rect(1, turned))
}

func (t tabulated) first(amplitude float64) complex128 {
	const nodes, h = 96, 1e-4
	var sum complex128
	for j := range nodes {
		theta := amplitude * math.Cos(math.Pi*(float64(j)+0.5)/nodes)
		slope := (t.height(theta+h) - t.height(theta-h)) / (2 * h)
		sum += complex(theta, 0) * slope
	}
	return sum / complex(nodes*amplitude*amplitude, 0)
}

// shapes are tabulated once: [spiral][turning, elastic].
var shapes = sync.OnceValue(func() [][2]tabulated {
	list := make([][2]tabulated, len(spirals))
	var wait sync.WaitGroup
	for i, s := range spirals {
		wait.Go(func() { list[i] = [2]tabulated{tabulate(s.turning, 16), s.elastic(24).poised()} })
	}
	wait.Wait()
	return list
})

// firstAt220 is a shape's first-order term at 220°, where errors are stated.
func (k SpringKind) firstAt220(spiral int) complex128 {
	if k == EvenSpring {
		return 1
	}
	return termsAt220()[spiral][k-TurningCoils]
}

var termsAt220 = sync.OnceValue(func() [][2]complex128 {
	list := make([][2]complex128, len(spirals))
	for i, s := range shapes() {
		list[i] = [2]complex128{s[0].first(220 * rad), s[1].first(220 * rad)}
	}
	return list
})

// turning is the centre of mass of coils that turn, each element by its share of the swing, and keep their radius:
// ∫ r·exp(i(φ + sθ)) ds, s being the share of the length from the stud.
func (s spiral) turning(theta float64) complex128 {
	const steps = 2400
	length := (s.outer + s.inner) / 2 * 2 * math.Pi * s.coils // of the angle's part; the radial part is below 1e-3 of it
	var sum complex128
	at := 0.0
	d := 2 * math.Pi * s.coils / steps
	for j := range steps {
		phi := (float64(j) + 0.5) * d
		r := s.radius(phi)
		share := r * d / length
		sum += complex(r*share, 0) * cmplx.Rect(1, phi+(at+share/2)*theta)
		at += share
	}
	return sum
}

// radius is that of the spiral at rest, phi radians on from the stud.
func (s spiral) radius(phi float64) float64 {
	return s.outer - (s.outer-s.inner)*phi/(2*math.Pi*s.coils)
}

// shape returns the potential of a kind on one of the spirals, nil for none.
func (k SpringKind) shape(spiral int) potential {
	switch k {
	case EvenSpring:
		return even{}
	case TurningCoils:
		return shapes()[spiral][0]
	case ElasticCoils:
		return shapes()[spiral][1]
	}
	return nil
}
