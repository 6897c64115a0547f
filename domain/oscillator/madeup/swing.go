package madeup

import "math"

const (
	secondsPerDay = 86400
	rad           = math.Pi / 180
	ppm           = 1e-6
)

// swing is a balance of unit inertia on a spring of unit stiffness, in one position: undisturbed its period is 2π.
type swing struct {
	heavy    float64   // m·g·r/k of the heavy spot, rad
	heavyUp  float64   // the spot's angle from straight up at rest, rad
	quartic  float64   // the spring's torque is -θ(1 + quartic·θ²)
	spring   float64   // factor of the spring's own term, rad
	springUp float64   // how far that term is turned, rad
	shape    potential // of the spring's own term; nil for none
}

// energy is the potential at angle theta, in units of the spring's stiffness. The height of the heavy spot is
// r·cos(heavyUp + θ), so that its weight adds heavy·cos(heavyUp + θ).
func (s swing) energy(theta float64) float64 {
	v := theta * theta * (0.5 + 0.25*s.quartic*theta*theta)
	v += s.heavy * math.Cos(s.heavyUp+theta)
	if s.shape != nil {
		v += s.spring * s.shape.at(theta, s.springUp)
	}
	return v
}

// swingNodes of the quadrature: the error falls exponentially with their number, and half as many give the same rate
// to 1e-6 s/d up to 350° (held by a test).
const swingNodes = 64

// rateSPerDay is the rate against the undisturbed balance, from the period at an amplitude.
func (s swing) rateSPerDay(amplitudeDeg float64) float64 {
	return secondsPerDay * (2*math.Pi/period(s.energy, amplitudeDeg*rad, swingNodes) - 1)
}

// period returns that of unit inertia swinging over 2·amplitude (rad) in a potential. By conservation of energy
//
//	T = 2 ∫ dθ / √(2(V(end) - V(θ))),
//
// from turning point to turning point; θ = c + A·sin u takes the ends' singularity away and leaves a smooth periodic
// function of u, for which equal steps converge exponentially.
func period(v func(float64) float64, amplitude float64, nodes int) float64 {
	c := centre(v, amplitude)
	end := 0.5 * (v(c+amplitude) + v(c-amplitude)) // equal but for rounding
	sum := 0.0
	for j := range nodes {
		sin, cos := math.Sincos(math.Pi * ((float64(j)+0.5)/float64(nodes) - 0.5))
		sum += amplitude * cos / math.Sqrt(2*(end-v(c+amplitude*sin)))
	}
	return 2 * math.Pi / float64(nodes) * sum
}

// centre is the middle of the swing: both turning points have the same energy. Found by the secant method.
func centre(v func(float64) float64, amplitude float64) float64 {
	uneven := func(c float64) float64 { return v(c+amplitude) - v(c-amplitude) }
	c0, f0 := 0.0, uneven(0)
	c1 := -f0 / (2 * amplitude) // exact for a parabola that is moved aside
	for range 20 {
		f1 := uneven(c1)
		if f1 == f0 || math.Abs(c1-c0) < 1e-14 {
			break
		}
		c0, c1, f0 = c1, c1-f1*(c1-c0)/(f1-f0), f1
	}
	return c1
}
